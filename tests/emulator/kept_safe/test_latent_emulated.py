"""Faults of the bench that change no reading, seen by the compiled firmware with the shorting link in the socket."""

from pathlib import Path

import pytest
from broken_bench.bench import BrokenBench
from broken_bench.latent import SOUND, Latent
from desk import Desk

from pulldrop.plant.bench.instruments import Garage, empty
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result

NO, A1, A10 = 1, 1, 4
AMPS = 0.256 / 32768 / 0.005


@pytest.mark.parametrize(
    ("fault", "throws", "branches", "amps"),
    [
        (SOUND, NO, 0, 0.0),
        (SOUND, 0, A10, 0.0),
        (Latent(branches=A10), NO, 0, 9.5),
        (Latent(throws=NO), 0, A1, 1.0),
    ],
)
def test_what_must_not_flow(elf: Path, fault: Latent, throws: int, branches: int, amps: float) -> None:
    bench = BrokenBench(Garage(None).link(), None)
    bench.latent = fault
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        answer = desk.ask(wire.WATCH_LOAD, (throws, branches, 40))
        assert answer.result is Result.DONE
        assert answer.number("first") * AMPS == pytest.approx(amps, abs=0.1 + 0.1 * amps)


@pytest.mark.parametrize(("fault", "volts"), [(SOUND, 0.0), (Latent(supply=True), 13.5)])
def test_the_coil_supply_alone_is_held_at_zero_after_its_time_or_is_seen_not_to_be(
    elf: Path, fault: Latent, volts: float
) -> None:
    bench = BrokenBench(empty(), None)
    bench.latent = fault
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        assert desk.ask(wire.HOLD_COIL, (1843, 0, 0, 0, 10, 1000)).result is Result.DONE
        desk.run(0.05)
        assert desk.ask(wire.SENSE_COIL).number("bus") * 1.25e-3 == pytest.approx(volts, abs=0.05)


@pytest.mark.parametrize(("dead", "cut"), [(False, range(665, 700)), (True, range(1))])
def test_the_pulse_limit_cuts_or_is_seen_not_to(elf: Path, dead: bool, cut: range) -> None:
    bench = BrokenBench(Garage(None).link(), None)
    bench.latent = Latent(limiter=dead)
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        sequence = desk.send(wire.WATCH_LOAD, (NO, A1, 950))
        for _ in range(9):
            desk.run(0.1)
            desk.ask(wire.STATUS)
        assert desk.answer(sequence).number("cut_ms") in cut


def test_a_stuck_logic_pole_leaves_the_board_in_ignorance_and_the_load_dead(elf: Path) -> None:
    bench = BrokenBench(Garage(None).link(), None)
    bench.latent = Latent(poles=frozenset({"logic"}))
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        desk.machine.open_stop(True)
        desk.run(0.01)
        assert desk.ask(wire.STATUS).number("stop") == 0
        assert desk.ask(wire.SENSE_ANALOG, (2,)).number("sum") < 300
