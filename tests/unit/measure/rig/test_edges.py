"""Statements about the times that are read from edges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.measure.rig.counts import edges
from pulldrop.model.raw import Capture, Contact, Edge

NO, NC = Contact.NO, Contact.NC


def capture(*listed: tuple[int, Contact, bool], lost: int = 0) -> Capture:
    found = tuple(Edge(tick=t, contact=c, closed=closed) for t, c, closed in listed)
    return Capture(edges=found, contacts_before=NC, samples=(), sample_ticks=100, window_ticks=60_000, edges_lost=lost)


OPERATE = capture(
    (6000, NC, False), (6100, NC, True), (6200, NC, False), (8000, NO, True), (8400, NO, False), (8900, NO, True)
)


def test_operate_ends_at_the_first_closing_and_excludes_bounce() -> None:
    assert edges.first_closing(OPERATE, NO) == 8000


def test_bounce_runs_from_first_to_last_edge() -> None:
    assert edges.bouncing(OPERATE, NO) == (8000, 8900)
    assert edges.bounce(OPERATE, NO) == 900


def test_a_clean_closing_has_no_bounce() -> None:
    assert edges.bounce(capture((8000, NO, True)), NO) == 0


def test_transfer_begins_at_the_last_opening_of_nc_before_no_closes() -> None:
    assert edges.transfer(OPERATE) == (6200, 8000)


def test_a_throw_that_ends_open_has_no_bounce_time() -> None:
    assert edges.bounce(capture((8000, NO, True), (8400, NO, False)), NO) is None


def test_lost_edges_make_bounce_unknown() -> None:
    assert edges.bounce(capture((8000, NO, True), (8100, NO, False), (8200, NO, True), lost=3), NO) is None


@pytest.mark.parametrize(("last", "told"), [(54_000, 46_000), (54_001, None), (59_999, None)])
def test_the_end_of_a_bounce_counts_once_the_throw_has_rested_for_3_ms(last: int, told: int | None) -> None:
    """A bounce that the window's end cut short was a shorter one."""
    between = [(tick, NO, i % 2 == 0) for i, tick in enumerate(range(8000, 52_001, 4000))]
    assert edges.bounce(capture(*between, (last, NO, True)), NO) == told
    assert edges.bounce(capture((8000, NO, True), (last, NC, False)), NO) == 0, "what the other throw does is its own"


def test_no_closing_no_times() -> None:
    silent = capture((6000, NC, False))
    assert edges.first_closing(silent, NO) is None
    assert edges.transfer(silent) is None
    assert edges.first_opening(silent, NC) == 6000


def chatter(gaps: list[int]) -> Capture:
    """NO closes at 4000, then has an edge after each of these gaps."""
    ticks = [4000 + sum(gaps[:i]) for i in range(len(gaps) + 1)]
    return capture(*((t, NO, i % 2 == 0) for i, t in enumerate(ticks)))


GAPS = st.lists(st.integers(1, 1200), max_size=40).filter(lambda gaps: len(gaps) % 2 == 0)


@given(GAPS)
def test_bounce_of_alternating_edges_is_last_less_first(gaps: list[int]) -> None:
    assert edges.bounce(chatter(gaps), NO) == sum(gaps)


@given(GAPS.filter(bool), st.integers(edges.REST_TICKS + 1, 10_000), st.data())
def test_a_throw_that_rests_for_3_ms_amid_its_edges_does_not_bounce(
    gaps: list[int], rest: int, data: st.DataObject
) -> None:
    """A spark 12 ms after a clean closing was a bounce of 12 ms."""
    gaps[data.draw(st.integers(0, len(gaps) - 1))] = rest
    assert edges.bounce(chatter(gaps), NO) is None
    assert edges.moves_again(chatter(gaps), NO) and not edges.moves_again(chatter(gaps), NC)


def test_an_opening_is_the_last_one_from_a_closed_throw_at_rest() -> None:
    noise, chattering = [(2000, NO, False), (2400, NO, True)], [(9000, NO, False), (9300, NO, True), (9500, NO, False)]
    assert edges.opening(capture(*noise, *chattering), NO) == 9000
    assert edges.opening(capture(*noise), NO) is edges.opening(capture(), NO) is None
    assert edges.opening(capture(*chattering, lost=1), NO) is None


def test_a_change_counts_in_a_throw_that_ends_so() -> None:
    back = ((2000, NO, True), (2400, NO, False))
    assert edges.change(capture(*back), NO, closes=True) is None
    assert edges.change(capture(*back, (5000, NO, True)), NO, closes=True) == 2000
    assert edges.change(capture(*back, lost=1), NO, closes=True) == 2000
