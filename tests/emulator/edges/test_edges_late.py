"""How late the compiled firmware logs an edge: as the arithmetic takes it off, and as the virtual board puts it on."""

import random
from collections.abc import Iterable
from pathlib import Path
from statistics import mean, median

import pytest
from desk import Desk
from fake_bench import NC, NO, Toggling

from pulldrop.board.virtual import latency
from pulldrop.measure.rig.counts.latency import LATENCY, STEP_LATENCY, WAITS, may_have_waited
from pulldrop.model.raw import TICKS_PER_S, Contact
from pulldrop.plant.bench.bench import PinEdge
from pulldrop.wire import messages as wire

STEPS, WINDOW_MS, TICKS = 30, 30, (1 << 30) - 1


def logged(elf: Path, throw: int) -> list[tuple[float, int]]:
    """Seconds of many edges after the coil's switch, at every place in a millisecond, and the ticks logged."""
    chance, found = random.Random(throw), []
    bench = Toggling(throw=throw)
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        for step in range(STEPS):
            desk.answers.clear()  # sequence numbers come round again
            bench.after_s = tuple(1e-3 * (n + 1) + chance.uniform(0, 0.99e-3) for n in range(WINDOW_MS - 4))
            on = 1 - step % 2
            desk.ask(wire.STEP_COIL, (1843, on, 0, 3, 1000, 1000, WINDOW_MS, 2, 1 - on))
            words: list[int] = []
            while more := desk.ask(wire.READ_EDGES, (len(words),)).numbers("edges"):
                words += more
            found += zip(bench.after_s, (word & TICKS for word in words), strict=False)
            desk.run(0.01 + chance.uniform(0, 3e-3))
    assert len(found) > 0.9 * STEPS * (WINDOW_MS - 4)
    return found


@pytest.fixture(scope="module")
def of_nc(elf: Path) -> list[tuple[float, int]]:
    return logged(elf, NC)


def late(at_s: float, tick: int) -> float:
    """Ticks by which an edge was logged later than it came; counting in whole ticks is right on average."""
    return tick - at_s * TICKS_PER_S


def share(flags: Iterable[bool]) -> float:
    listed = list(flags)
    return sum(listed) / len(listed)


def test_an_edge_of_no_is_logged_as_late_as_is_taken_off(elf: Path) -> None:
    taken_off = STEP_LATENCY[0] + LATENCY[Contact.NO][0]
    off = [late(at_s, tick) - taken_off for at_s, tick in logged(elf, NO)]
    assert abs(mean(off)) < STEP_LATENCY[1]
    assert share(abs(one) < 1.5 for one in off) > 0.99


def test_so_is_an_edge_of_nc_unless_it_is_logged_where_one_may_have_waited(of_nc: list[tuple[float, int]]) -> None:
    taken_off = STEP_LATENCY[0] + LATENCY[Contact.NC][0]
    off = [late(at_s, tick) - taken_off for at_s, tick in of_nc if not may_have_waited(tick, Contact.NC)]
    assert abs(mean(off)) < STEP_LATENCY[1]
    assert share(abs(one) < 2.5 for one in off) > 0.99
    assert 0.65 < len(off) / len(of_nc) < 0.75


def test_and_then_it_has_waited_no_longer_than_is_said(of_nc: list[tuple[float, int]]) -> None:
    taken_off = STEP_LATENCY[0] + LATENCY[Contact.NC][0]
    waited = [(late(at_s, tick) - taken_off, may_have_waited(tick, Contact.NC)) for at_s, tick in of_nc]
    assert share(one < most + 2.5 for one, most in waited if most) > 0.99
    assert max(one for one, _ in waited) > 20


def test_from_nc_opening_to_no_closing_the_difference_of_both_is_taken_off(
    elf: Path, of_nc: list[tuple[float, int]]
) -> None:
    nc = mean(late(at_s, tick) for at_s, tick in of_nc if not may_have_waited(tick, Contact.NC))
    no = mean(late(at_s, tick) for at_s, tick in logged(elf, NO))
    assert nc - no == pytest.approx(LATENCY[Contact.NC][0] - LATENCY[Contact.NO][0], abs=0.5)


def test_the_virtual_board_logs_an_edge_of_nc_when_the_firmware_does(of_nc: list[tuple[float, int]]) -> None:
    edges = [PinEdge(at_s, NC, False) for at_s, _ in of_nc]
    virtual = [latency.logged([edge], disturbed=True)[0].time_s * TICKS_PER_S for edge in edges]
    apart = [tick + 0.5 - ours for ours, (_, tick) in zip(virtual, of_nc, strict=True)]
    assert share(abs(one) < 3 for one in apart) > 0.95


def test_and_keeps_one_waiting_for_the_millisecond_until_the_firmware_does(of_nc: list[tuple[float, int]]) -> None:
    """It did so for 5 us longer, where the firmware's millisecond had been before. Most wait as long as it does; some
    for a look at the contacts more."""
    first, last = WAITS[1].first, WAITS[1].last
    taken_off = STEP_LATENCY[0] + LATENCY[Contact.NC][0]
    seen = [tick % 2000 for at_s, tick in of_nc if late(at_s, tick) - taken_off > 3 and first <= tick % 2000 <= last]
    ends_s = latency.BUSY_S[1][2] + latency.TYPICAL.nc_s
    assert len(seen) > 5
    assert median(seen) == pytest.approx(ends_s * TICKS_PER_S, abs=6)
