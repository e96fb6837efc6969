"""Times from edges that may have waited: what they are worth, and when they count."""

import pytest

from pulldrop.measure.rig.counts.edges import Span
from pulldrop.measure.rig.counts.latency import PIN, End, TimedMake, made, may_have_waited, prompt, room, waiting
from pulldrop.model.raw import Contact

NO, NC = Contact.NO, Contact.NC
MADE, BROKEN, LANDED = End(NO, True, True), End(NC, False, True), End(NC, True, True)
CLOSES, OPENS = PIN["closes"][0], PIN["opens"][0]
PROMPT, BEHIND = 8450, 8440
"""Ticks at which an edge of NC cannot have waited, and at which it may have, for the sampling: up to 19."""


def test_only_an_edge_of_nc_may_have_waited_and_only_where_an_interrupt_has_just_ended() -> None:
    assert [may_have_waited(BEHIND, c) for c in (NC, NO, None)] == [19, 0, 0]
    assert may_have_waited(PROMPT, NC) == 0
    assert may_have_waited(7870, NC) == 37  # the tick of the millisecond: 1870 after a multiple of 2000


def test_the_latency_of_both_edges_is_taken_off() -> None:
    assert made(Span(0, 8000), None, MADE).ticks == pytest.approx(8000 - 6.3 - 0.5 - CLOSES)
    assert made(Span(PROMPT, 10_000), BROKEN, MADE).ticks == pytest.approx(1550 + 6.0 - 0.5 + OPENS - CLOSES)
    assert made(Span(PROMPT, PROMPT + 700), LANDED, LANDED).ticks == 700


def test_an_opening_without_a_load_supply_is_known_less_well_and_a_bounce_has_one_pin() -> None:
    alone = End(NC, False, False)
    assert made(Span(PROMPT, 10_000), alone, MADE).ticks > made(Span(PROMPT, 10_000), BROKEN, MADE).ticks + 30
    assert room(alone, MADE).std_dev > 5 * room(BROKEN, MADE).std_dev > 5 * room(MADE, MADE).std_dev


def test_a_wait_is_taken_for_half_of_the_longest() -> None:
    assert made(Span(BEHIND, 10_000), BROKEN, MADE) == TimedMake(
        pytest.approx(1560 + 9.5 + 5.5 + OPENS - CLOSES), 9.5, 0.0
    )
    assert made(Span(0, BEHIND), None, LANDED) == TimedMake(pytest.approx(8440 - 9.5 - 12.3 - CLOSES), 0.0, 9.5)


def test_a_throw_that_closes_cleanly_has_bounced_for_exactly_nothing_even_behind_an_interrupt() -> None:
    assert made(Span(BEHIND, BEHIND), LANDED, LANDED) == TimedMake(0.0, 0.0, 0.0)


def test_makes_that_may_have_waited_do_not_count_while_others_are_left() -> None:
    clear = [TimedMake(1000, 0, 0), TimedMake(1001, 0, 0), TimedMake(1002, 0, 0)]
    assert prompt([*clear, *[TimedMake(1012, 11, 0)] * 7], 3) == clear
    assert waiting(clear).std_dev == 0


def test_where_too_few_are_left_all_count_with_the_doubt_of_the_wait() -> None:
    makes = [TimedMake(1000, 0, 0), TimedMake(1001, 0, 0), *[TimedMake(1012, 11, 0)] * 8]
    assert prompt(makes, 3) == makes
    assert waiting(makes).std_dev == pytest.approx(8.8 / 3**0.5)


def test_two_makes_are_told_by_both() -> None:
    clear, waited = TimedMake(1000, 0, 0), TimedMake(1002, 11, 0)
    assert prompt([clear, clear], 3) == [clear, clear]
    assert prompt([clear, waited], 3) == [clear, waited]


def test_both_ends_of_a_bounce_wait_apart_from_each_other() -> None:
    assert waiting([TimedMake(700, 3, 4)] * 2).std_dev == pytest.approx(5 / 3**0.5)
