"""What every board answers: one suite, the same statements for virtual and emulated boards, full and evening.

A test that names an ability is asked of the boards that have it.
The part is a sound 12 V changeover relay. Each test starts with everything off and no trip latched.
"""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest
from orders import BOTH, MS, SETS_VOLTS, ZERO, battery_v, fed, fed_v, first, hot, light, medium, off, on, pull_in

from pulldrop.board.contract import Board, Trip
from pulldrop.board.errors import Refused, Tripped
from pulldrop.board.request_types import Analog, Branch, Drive, Pulse, Stairs
from pulldrop.model.raw import Contact


def test_a_board_says_what_it_is(board: Board) -> None:
    assert board.identity.simulated
    assert board.identity.kind in ("virtual", "emulated")
    assert board.identity.load_supply


def test_at_rest_everything_is_off_and_nothing_is_tripped(board: Board) -> None:
    status = board.status()
    assert not status.on
    assert status.trip is Trip.NONE
    assert not status.emergency_stop


def test_the_contacts_follow_the_coil(board: Board) -> None:
    board.hold_coil(off())
    board.wait(0.03)
    assert board.status().contacts == Contact.NC
    pull_in(board)
    status = board.status()
    assert status.on
    assert status.contacts == Contact.NO
    board.hold_coil(off())
    board.wait(0.03)
    assert board.status().contacts == Contact.NC


def test_a_throw_that_is_not_fed_reads_open(board: Board) -> None:
    board.hold_coil(Drive(dac=0, on=False, on_ms=2000, dry=Contact.NO))
    board.wait(0.01)
    assert board.status().contacts == Contact.NONE


def test_the_dry_sources_alone_go_off_when_their_time_is_over_and_nothing_trips(board: Board) -> None:
    board.hold_coil(Drive(dac=0, on=False, on_ms=40))
    board.wait(0.1)
    assert board.status().contacts == Contact.NONE
    assert board.status().trip is Trip.NONE


def test_the_coil_supply_alone_goes_off_when_its_time_is_over_and_nothing_trips(board: Board) -> None:
    """Its DAC keeps the code; the lamp's pin holds it at 0."""
    board.hold_coil(Drive(dac=fed(board), on=False, on_ms=100))
    assert board.sense_coil().bus == pytest.approx(fed_v(board) / 1.25e-3, rel=0.08)
    board.wait(0.15)
    assert board.sense_coil().bus < 30
    assert board.status().trip is Trip.NONE
    board.hold_coil(on(board))
    assert board.sense_coil().bus == pytest.approx(fed_v(board) / 1.25e-3, rel=0.08)


def test_a_status_tells_whether_the_coil_supply_is_let_on_and_dry_pulses_do_not_stop_its_time(board: Board) -> None:
    assert not board.status().supplied
    board.hold_coil(Drive(dac=fed(board), on=False, on_ms=150))
    assert board.status().supplied
    for _ in range(3):
        pulse = board.load_pulse(Pulse(Contact.NC, Branch.NONE, settle_ms=80, samples=1, limit_ms=150))
        assert pulse.drop[0] < 32_000
    assert not board.status().supplied
    assert board.status().contacts == Contact.NONE


@pytest.mark.parametrize("dry", [Contact.NONE, BOTH])
def test_a_step_whose_time_is_over_before_it_is_not_made(board: Board, dry: Contact) -> None:
    with pytest.raises(Refused) as refused:
        board.step_coil(replace(on(board), on_ms=2, dry=dry), 1, 1)
    assert refused.value.reason == "stopped"
    assert board.status().contacts == Contact.NONE and not board.status().supplied


def test_off_releases_the_relay(board: Board) -> None:
    pull_in(board)
    board.off()
    assert not board.status().on
    board.hold_coil(off())
    board.wait(0.03)
    assert board.status().contacts == Contact.NC


def test_a_board_that_is_opened_again_is_off_and_the_same(board: Board) -> None:
    known = board.identity
    pull_in(board)
    board.reopen()
    assert not board.status().on
    assert (board.identity.kind, board.identity.serial, board.identity.build) == (known.kind, known.serial, known.build)
    pull_in(board)
    assert board.status().contacts == Contact.NO


def test_a_step_up_shows_nc_opening_and_then_no_closing(board: Board) -> None:
    capture = board.step_coil(on(board), window_ms=20, divider=1)
    assert capture.contacts_before == Contact.NC
    assert capture.edges_lost == 0
    assert capture.window_ticks == 20 * MS
    assert all(a.tick <= b.tick for a, b in pairwise(capture.edges))
    opens, closes = first(capture, Contact.NC, closed=False), first(capture, Contact.NO, closed=True)
    assert 1 * MS < opens.tick < closes.tick < 12 * MS
    assert capture.edges[0] == opens
    last = {edge.contact: edge.closed for edge in capture.edges}
    assert last == {Contact.NC: False, Contact.NO: True}


def test_a_step_down_shows_no_opening_and_then_nc_closing(board: Board) -> None:
    pull_in(board)
    capture = board.step_coil(off(), window_ms=20, divider=1)
    assert capture.contacts_before == Contact.NO
    opens, closes = first(capture, Contact.NO, closed=False), first(capture, Contact.NC, closed=True)
    assert 0 < opens.tick < closes.tick < 15 * MS
    last = {edge.contact: edge.closed for edge in capture.edges}
    assert last == {Contact.NC: True, Contact.NO: False}


@SETS_VOLTS
def test_a_diode_across_the_coil_makes_the_release_slower(board: Board) -> None:
    released = []
    for diode in (False, True):
        pull_in(board)
        capture = board.step_coil(Drive(dac=0, on=False, on_ms=2000, diode=diode), window_ms=40, divider=2)
        released.append(first(capture, Contact.NC, closed=True).tick)
        board.wait(0.03)
    assert released[1] > 1.5 * released[0]


def test_the_coil_current_rises_dips_as_the_armature_closes_and_rises_again(board: Board) -> None:
    capture = board.step_coil(on(board), window_ms=18, divider=1)
    assert capture.sample_ticks == MS // 20
    assert len(capture.samples) == 360
    assert capture.samples[0] < 20
    seats = first(capture, Contact.NO, closed=True).tick // capture.sample_ticks
    before = capture.samples[: seats + 10]
    peak = max(before)
    valley = min(capture.samples[before.index(peak) : seats + 60])
    end = sum(capture.samples[-20:]) / 20
    assert peak - valley > 15
    assert end > valley + 15
    assert 300 < end < 700


def test_a_slower_divider_covers_a_longer_window_with_fewer_samples(board: Board) -> None:
    capture = board.step_coil(on(board), window_ms=40, divider=4)
    assert capture.sample_ticks == 4 * MS // 20
    assert 198 <= len(capture.samples) <= 200


@SETS_VOLTS
def test_a_staircase_up_lands_where_the_relay_pulls_in(board: Board) -> None:
    landing = board.staircase(
        Stairs(on(board, 400, 20_000), step=68, count=30, dwell_ms=20, watch=BOTH, wanted=Contact.NO)
    )
    assert landing.stopped
    assert landing.dac == 400 + 68 * landing.index
    assert landing.contacts == Contact.NO
    assert 4.0 < landing.dac * 30 / 4096 < 8.5


@SETS_VOLTS
def test_a_staircase_down_lands_where_the_relay_drops_out(board: Board) -> None:
    pull_in(board)
    landing = board.staircase(
        Stairs(on(board, 1100, 20_000), step=-68, count=17, dwell_ms=20, watch=BOTH, wanted=Contact.NC)
    )
    assert landing.stopped
    assert landing.dac == 1100 - 68 * landing.index
    assert 1.0 < landing.dac * 30 / 4096 < 5.0


@SETS_VOLTS
def test_a_staircase_that_is_too_short_says_that_it_did_not_stop(board: Board) -> None:
    landing = board.staircase(
        Stairs(on(board, 100, 5000), step=10, count=5, dwell_ms=10, watch=BOTH, wanted=Contact.NO)
    )
    assert not landing.stopped
    assert landing.index == 4
    assert landing.dac == 140
    assert landing.contacts == Contact.NC


def test_the_coil_takes_the_current_of_its_resistance(board: Board) -> None:
    board.hold_coil(off())
    board.wait(0.05)
    zero = board.sense_coil().shunt
    pull_in(board)
    board.wait(0.05)
    counts = board.sense_coil()
    volts, amps = counts.bus * 1.25e-3, (counts.shunt - zero) * 25e-6
    assert volts == pytest.approx(fed_v(board), rel=0.06)
    assert 60 < volts / amps - 0.87 < 120


def test_a_load_pulse_shows_load_current_and_a_small_drop(board: Board) -> None:
    pull_in(board)
    counts = board.load_pulse(Pulse(Contact.NO, Branch.A10, settle_ms=5, samples=4, limit_ms=60))
    assert len(counts.drop) == len(counts.shunt) == 4
    amps = [count * 0.256 / 32768 / 0.005 for count in counts.shunt]
    assert all(8.5 < a < 10.5 for a in amps)
    drops = [count * 0.256 / 32768 for count in counts.drop]
    assert all(0.002 < d < 0.1 for d in drops)
    assert not board.status().on or board.status().contacts == Contact.NO


def test_a_pulse_through_the_resting_throw_is_measured_too(board: Board) -> None:
    board.hold_coil(off())
    board.wait(0.03)
    branch, amps = medium(board)
    counts = board.load_pulse(Pulse(Contact.NC, branch, settle_ms=5, samples=2, limit_ms=60))
    assert all(count * 0.256 / 32768 / 0.005 == pytest.approx(amps, rel=0.11) for count in counts.shunt)
    assert all(0.001 < count * 0.256 / 32768 < 0.05 for count in counts.drop)


def test_without_a_branch_only_the_dry_source_flows(board: Board) -> None:
    pull_in(board)
    counts = board.load_pulse(Pulse(Contact.NO, Branch.NONE, settle_ms=5, samples=2, limit_ms=60))
    assert all(-ZERO < count < ZERO + 10 for count in counts.shunt)  # 5 mA in 5 mohm are 3 counts


def test_an_open_throw_carries_nothing(board: Board) -> None:
    board.hold_coil(off())
    board.wait(0.03)
    counts = board.load_pulse(Pulse(Contact.NO, light(board), settle_ms=5, samples=2, limit_ms=60, gain=1))
    assert all(-ZERO < count < ZERO for count in counts.shunt)


def test_the_slow_channels_read_a_room_and_a_load_supply(board: Board) -> None:
    assert 16 * 400 < board.sense_analog(Analog.BENCH_TEMPERATURE) < 16 * 640
    supply = board.sense_analog(Analog.LOAD_SUPPLY) / 16384 * 12.7 / 2.7
    assert supply * board.identity.able.reference_v == pytest.approx(battery_v(board), rel=0.085)
    assert board.sense_analog(Analog.COIL_CURRENT) < 16 * 10


def test_too_much_coil_current_trips_and_stays_latched_until_acknowledged(board: Board) -> None:
    with pytest.raises(Tripped) as tripped:
        board.hold_coil(on(board, limit=100))
        board.wait(0.05)
    assert tripped.value.trip is Trip.OVER_CURRENT
    status = board.status()
    assert (status.trip, status.on) == (Trip.OVER_CURRENT, False)
    with pytest.raises(Tripped):
        board.hold_coil(on(board))
    board.acknowledge()
    assert board.status().trip is Trip.NONE
    pull_in(board)
    assert board.status().contacts == Contact.NO


def test_the_current_limit_is_where_it_was_set(board: Board) -> None:
    capture = board.step_coil(on(board), window_ms=60, divider=4)
    counts = sum(capture.samples[-20:]) / 20
    board.hold_coil(on(board, limit=round(1.05 * counts)))
    board.wait(0.05)
    assert board.status().trip is Trip.NONE
    with pytest.raises(Tripped) as tripped:
        board.hold_coil(on(board, limit=round(0.95 * counts)))
        board.wait(0.05)
    assert tripped.value.trip is Trip.OVER_CURRENT


def test_over_current_in_a_step_is_told_and_the_capture_is_not_believed(board: Board) -> None:
    with pytest.raises(Tripped) as tripped:
        board.step_coil(on(board, limit=100), window_ms=20, divider=1)
    assert tripped.value.trip is Trip.OVER_CURRENT


@SETS_VOLTS
def test_a_trip_ends_a_staircase(board: Board) -> None:
    with pytest.raises(Tripped) as tripped:
        board.staircase(
            Stairs(on(board, 100, 20_000, limit=100), step=50, count=40, dwell_ms=10, watch=BOTH, wanted=BOTH)
        )
    assert tripped.value.trip is Trip.OVER_CURRENT
    assert not board.status().on


@SETS_VOLTS
def test_current_that_has_yet_to_fall_below_a_new_limit_trips(board: Board) -> None:
    # From full volts to 2 V the current takes several ms to fall: a limit made for 2 V is passed until then.
    board.hold_coil(on(board))
    board.wait(0.1)
    with pytest.raises(Tripped) as tripped:
        board.staircase(
            Stairs(on(board, 270, limit=160), step=-1, count=5, dwell_ms=20, watch=Contact.NC, wanted=Contact.NC)
        )
    assert tripped.value.trip is Trip.OVER_CURRENT


def test_a_coil_that_is_on_for_longer_than_allowed_trips(board: Board) -> None:
    board.hold_coil(on(board, on_ms=60))
    with pytest.raises(Tripped) as tripped:
        board.wait(0.2)
    assert tripped.value.trip is Trip.ON_TIME
    assert not board.status().on


PULSE = Pulse(Contact.NO, Branch.A1, settle_ms=5, samples=1, limit_ms=60)
OUT_OF_RANGE: dict[str, Callable[[Board], object]] = {
    "dac too high": lambda b: b.hold_coil(on(b, dac=4096)),
    "no on-time": lambda b: b.hold_coil(on(b, on_ms=0)),
    "on-time too long": lambda b: b.hold_coil(on(b, on_ms=60_001)),
    "limit too high": lambda b: b.hold_coil(on(b, limit=1001)),
    "low end with the coil on": lambda b: b.step_coil(on(b), window_ms=20, divider=1, low_side=True),
    "no window": lambda b: b.step_coil(on(b), window_ms=0, divider=1),
    "window too long": lambda b: b.step_coil(on(b), window_ms=201, divider=1),
    "divider zero": lambda b: b.step_coil(on(b), window_ms=20, divider=0),
    "pulse over 500 ms": lambda b: b.load_pulse(replace(PULSE, limit_ms=501)),
    "too many samples": lambda b: b.load_pulse(replace(PULSE, samples=13)),
    "no settling": lambda b: b.load_pulse(replace(PULSE, settle_ms=0)),
    "no such gain": lambda b: b.load_pulse(replace(PULSE, gain=6)),
    "both throws": lambda b: b.load_pulse(replace(PULSE, throw=BOTH)),
    "hot step without a branch": lambda b: b.hot_step(on(b), hot(branches=Branch.NONE), 20, 1),
    "hot step on both throws": lambda b: b.hot_step(on(b), hot(BOTH), 20, 1),
    "hot step over 500 ms": lambda b: b.hot_step(on(b), hot(limit_ms=501), 20, 1),
    "hot step with no window": lambda b: b.hot_step(on(b), hot(), 0, 1),
    "no throw": lambda b: b.load_pulse(replace(PULSE, throw=Contact.NONE)),
}


BAD_STAIRS: dict[str, Callable[[Board], object]] = {
    "no steps": lambda b: b.staircase(Stairs(on(b), 1, 0, 10, BOTH, BOTH)),
    "stairs end too high": lambda b: b.staircase(Stairs(on(b, 4000), 1, 100, 10, BOTH, BOTH)),
    "stairs end below zero": lambda b: b.staircase(Stairs(on(b, 50), -1, 100, 10, BOTH, BOTH)),
    "dwell too long": lambda b: b.staircase(Stairs(on(b), 1, 10, 1001, BOTH, BOTH)),
}


@SETS_VOLTS
@pytest.mark.parametrize("call", BAD_STAIRS.values(), ids=BAD_STAIRS)
def test_stairs_out_of_range_are_refused_and_nothing_moves(board: Board, call: Callable[[Board], object]) -> None:
    test_a_value_out_of_range_is_refused_and_nothing_moves(board, call)


@pytest.mark.parametrize("call", OUT_OF_RANGE.values(), ids=OUT_OF_RANGE)
def test_a_value_out_of_range_is_refused_and_nothing_moves(board: Board, call: Callable[[Board], object]) -> None:
    with pytest.raises(Refused) as refused:
        call(board)
    assert refused.value.reason == "argument"
    assert not board.status().on


def test_the_emergency_stop_turns_everything_off_and_is_latched(board: Board, stop: Callable[[bool], None]) -> None:
    pull_in(board)
    stop(True)
    with pytest.raises(Tripped) as tripped:
        board.wait(0.05)
    assert tripped.value.trip is Trip.EMERGENCY_STOP
    status = board.status()
    assert (status.on, status.emergency_stop, status.trip) == (False, True, Trip.EMERGENCY_STOP)
    with pytest.raises(Tripped):
        board.acknowledge()
    stop(False)
    board.acknowledge()
    assert board.status().trip is Trip.NONE


def test_bench_time_passes_as_one_waits(board: Board) -> None:
    before = board.elapsed()
    board.wait(0.1)
    assert 0.0999 <= board.elapsed() - before < 0.3


def test_load_pulses_beyond_ten_percent_of_the_time_are_refused(board: Board) -> None:
    pulses = 0
    with pytest.raises(Refused) as refused:
        while pulses < 12:
            board.load_pulse(Pulse(Contact.NC, light(board), settle_ms=200, samples=1, limit_ms=250))
            pulses += 1
            board.wait(1.0)
    assert refused.value.reason == "duty"
    assert 3 <= pulses <= 5


def test_pulses_close_upon_each_other_are_500_ms_at_most(board: Board) -> None:
    board.wait(10.3)
    pulse = Pulse(Contact.NC, light(board), settle_ms=200, samples=1, limit_ms=250)
    board.load_pulse(pulse)
    board.load_pulse(pulse)
    with pytest.raises(Refused) as refused:
        board.load_pulse(pulse)
    assert refused.value.reason == "duty"
    board.wait(1.0)
    board.load_pulse(pulse)
