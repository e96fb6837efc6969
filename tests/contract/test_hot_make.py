"""What every board answers to a contact that closes or opens with its load on; the part is test_contract.py's."""

from collections.abc import Callable

import pytest
from orders import MS, ZERO, first, hot, light, medium, off, on, pull_in

from pulldrop.board.contract import Board, Trip
from pulldrop.board.errors import Refused, Tripped
from pulldrop.board.request_types import Branch, Pulse
from pulldrop.model.raw import Contact, Edge


def test_a_hot_make_shows_no_closing_on_its_load_with_every_bounce_and_what_flows_then(board: Board) -> None:
    board.hold_coil(off())
    board.wait(0.03)
    capture, pair = board.hot_step(on(board), hot(), window_ms=20, divider=1)
    assert capture.contacts_before == Contact.NC
    opens, closes = first(capture, Contact.NC, closed=False), first(capture, Contact.NO, closed=True)
    assert 1 * MS < opens.tick < closes.tick < 12 * MS
    assert sum(edge.contact == Contact.NO for edge in capture.edges) >= 3  # it closes, and bounces once at least
    assert {edge.contact: edge.closed for edge in capture.edges} == {Contact.NC: False, Contact.NO: True}
    assert 8.5 < pair.shunt[0] * 0.256 / 32768 / 0.005 < 10.5
    assert pair.gain == 1
    assert 0.001 < pair.drop[0] * 4.096 / 32768 < 0.1


def test_after_a_hot_make_the_load_is_off_the_coil_is_on_and_the_release_is_seen_dry(board: Board) -> None:
    board.hot_step(on(board), hot(), window_ms=20, divider=1)
    status = board.status()
    assert (status.on, status.contacts) == (True, Contact.NO)
    unloaded = board.load_pulse(Pulse(Contact.NO, Branch.NONE, settle_ms=5, samples=2, limit_ms=60))
    assert all(-ZERO < count < ZERO + 10 for count in unloaded.shunt)
    release = board.step_coil(off(), window_ms=20, divider=1)
    assert first(release, Contact.NO, closed=False).tick < 15 * MS
    assert release.edges[-1] == Edge(tick=release.edges[-1].tick, contact=Contact.NC, closed=True)


def test_a_hot_make_of_nc_is_a_release_under_load(board: Board) -> None:
    pull_in(board)
    branch, amps = medium(board)
    capture, pair = board.hot_step(off(), hot(Contact.NC, branch), window_ms=20, divider=1)
    opens, closes = first(capture, Contact.NO, closed=False), first(capture, Contact.NC, closed=True)
    assert 0 < opens.tick < closes.tick < 15 * MS
    assert pair.shunt[0] * 0.256 / 32768 / 0.005 == pytest.approx(amps, rel=0.11)
    status = board.status()
    assert (status.on, status.contacts) == (False, Contact.NC)


def test_a_release_with_the_load_on_no_breaks_it_and_nothing_flows_at_the_end(board: Board) -> None:
    pull_in(board)
    capture, pair = board.hot_step(off(), hot(branches=medium(board)[0]), window_ms=20, divider=1)
    assert capture.contacts_before == Contact.NO
    assert 0 < first(capture, Contact.NO, closed=False).tick < 15 * MS
    assert -ZERO < pair.shunt[0] < ZERO
    assert board.status().contacts == Contact.NC


def test_a_load_on_a_throw_that_stays_open_carries_nothing_and_its_drop_shows_it_open(board: Board) -> None:
    board.hold_coil(off())
    board.wait(0.03)
    capture, pair = board.hot_step(off(), hot(branches=light(board)), window_ms=10, divider=1)
    assert not [edge for edge in capture.edges if edge.contact == Contact.NO]
    assert -ZERO < pair.shunt[0] < ZERO
    assert pair.drop[0] * 4.096 / 32768 > 2.5


def test_a_hot_make_ends_at_its_own_limit_and_the_load_does_not_come_back(board: Board) -> None:
    with pytest.raises(Refused) as refused:
        board.hot_step(on(board), hot(limit_ms=10), window_ms=60, divider=1)
    assert refused.value.reason == "stopped"
    unloaded = board.load_pulse(Pulse(Contact.NO, Branch.NONE, settle_ms=5, samples=2, limit_ms=60))
    assert all(-ZERO < count < ZERO + 10 for count in unloaded.shunt)


def test_over_current_ends_a_hot_make_with_everything_off(board: Board) -> None:
    with pytest.raises(Tripped) as tripped:
        board.hot_step(on(board, limit=100), hot(), window_ms=40, divider=1)
    assert tripped.value.trip is Trip.OVER_CURRENT
    assert not board.status().on


def test_a_hot_make_with_the_emergency_stop_open_moves_nothing(board: Board, stop: Callable[[bool], None]) -> None:
    stop(True)
    with pytest.raises(Tripped) as tripped:
        board.hot_step(on(board), hot(), window_ms=20, divider=1)
    assert tripped.value.trip is Trip.EMERGENCY_STOP
    assert not board.status().on


def test_hot_makes_beyond_ten_percent_of_the_time_are_refused_with_nothing_moved(board: Board) -> None:
    with pytest.raises(Refused) as refused:
        for _ in range(12):
            board.hot_step(on(board), hot(branches=light(board), limit_ms=250), window_ms=200, divider=4)
            board.hold_coil(off())
            board.wait(0.03)
    assert refused.value.reason == "duty"
    assert not board.status().on
