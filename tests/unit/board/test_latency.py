"""When the firmware logs an edge: 87 by capture at once, 87a by an interrupt that may have to wait."""

from statistics import median

from pulldrop.board.virtual.latency import EDGE_ROOM_S, STEP_ROOM_S, TYPICAL, logged, of_board
from pulldrop.plant.bench.bench import PinEdge
from pulldrop.plant.noise import Chance
from pulldrop.plant.relay.relay import NC, NO


def late_us(throw: int, disturbed: bool) -> list[float]:
    edges = [PinEdge(n * 1.0137e-3, throw, n % 2 == 0) for n in range(500)]
    pairs = zip(logged(edges, disturbed), edges, strict=True)
    return [1e6 * (seen.time_s - TYPICAL.step_s - edge.time_s) for seen, edge in pairs]


def test_nc_is_logged_some_microseconds_late_and_later_behind_the_sampling() -> None:
    late = late_us(NC, disturbed=True)
    assert 2.0 < median(late) < 5.0
    assert 10.0 < max(late) < 25.0
    assert 0.15 < sum(us > 3.5 for us in late) / len(late) < 0.3


def test_nothing_waits_on_an_undisturbed_board() -> None:
    assert max(late_us(NC, disturbed=False)) < 3.0


def test_no_is_logged_within_a_tick() -> None:
    assert max(late_us(NO, disturbed=True)) < 0.5


def test_parts_that_switch_at_the_same_moment_after_the_step_wait_alike() -> None:
    behind = [logged([PinEdge(n * 50e-6 + 7e-6, NC, False)], disturbed=True)[0] for n in range(5)]
    assert [round(1e6 * edge.time_s % 50, 2) for edge in behind] == [17.55] * 5


def test_boards_differ_within_their_rooms_and_one_board_is_always_the_same() -> None:
    boards = [of_board(Chance(seed)) for seed in range(200)]
    for name, room in (("step_s", STEP_ROOM_S), ("no_s", EDGE_ROOM_S), ("nc_s", EDGE_ROOM_S)):
        off = [getattr(board, name) - getattr(TYPICAL, name) for board in boards]
        assert 0.9 * room < max(off) <= room and -room <= min(off) < -0.9 * room
    assert boards[7] == of_board(Chance(7))


def test_a_throw_that_closes_again_before_the_interrupt_looks_was_never_seen_open() -> None:
    blink = [PinEdge(1e-3, NC, False), PinEdge(1.001e-3, NC, True), PinEdge(2e-3, NC, False)]
    assert [(round(1e3 * e.time_s), e.closed) for e in logged(blink, disturbed=False)] == [(2, False)]


def test_three_edges_before_it_looks_are_one() -> None:
    edges = [PinEdge(1e-3 + n * 0.5e-6, NC, n % 2 == 1) for n in range(3)]
    assert [e.closed for e in logged(edges, disturbed=False)] == [False]


def test_edges_of_both_throws_come_in_order_of_the_times_at_which_they_were_logged() -> None:
    edges = [PinEdge(1e-3, NC, False), PinEdge(1.001e-3, NO, True)]
    assert [e.throw for e in logged(edges, disturbed=False)] == [NO, NC]
