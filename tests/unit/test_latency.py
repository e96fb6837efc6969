"""When the firmware logs an edge: 87 by capture at once, 87a by an interrupt that may have to wait."""

from statistics import median

from pulldrop.board.latency import logged
from pulldrop.plant.bench import PinEdge
from pulldrop.plant.noise import Chance
from pulldrop.plant.relay import NC, NO


def late_us(throw: int, chance: Chance | None) -> list[float]:
    edges = [PinEdge(n * 1e-3, throw, n % 2 == 0) for n in range(500)]
    return [1e6 * (seen.time_s - edge.time_s) for seen, edge in zip(logged(edges, chance), edges, strict=True)]


def test_nc_is_logged_some_microseconds_late_and_later_behind_the_sampling() -> None:
    late = late_us(NC, Chance(1))
    assert 2.0 < median(late) < 5.0
    assert 10.0 < max(late) < 15.0
    assert 0.1 < sum(us > 3.5 for us in late) / len(late) < 0.25


def test_no_is_logged_within_a_tick() -> None:
    assert max(late_us(NO, Chance(1))) < 0.5


def test_a_throw_that_closes_again_before_the_interrupt_looks_was_never_seen_open() -> None:
    blink = [PinEdge(1e-3, NC, False), PinEdge(1.001e-3, NC, True), PinEdge(2e-3, NC, False)]
    assert [(round(1e3 * e.time_s), e.closed) for e in logged(blink, None)] == [(2, False)]


def test_three_edges_before_it_looks_are_one() -> None:
    edges = [PinEdge(1e-3 + n * 0.5e-6, NC, n % 2 == 1) for n in range(3)]
    assert [e.closed for e in logged(edges, None)] == [False]


def test_edges_of_both_throws_come_in_order_of_the_times_at_which_they_were_logged() -> None:
    edges = [PinEdge(1e-3, NC, False), PinEdge(1.001e-3, NO, True)]
    assert [e.throw for e in logged(edges, None)] == [NO, NC]
