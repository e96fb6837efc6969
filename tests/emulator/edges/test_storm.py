"""Edges without end at a contact's pin: the guard's time goes on, and everything is off when it must be."""

import shutil
import subprocess
from dataclasses import dataclass
from math import ceil
from pathlib import Path

import pytest
from desk import Desk
from fake_bench import NC, NO, FakeBench

from pulldrop.plant.bench.bench import PinEdge, Pins
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Message, Result, Trip

FIRMWARE = Path(__file__).parents[3] / "firmware"
ON = (1843, 1, 0, 3, 60_000, 1000)
STEP, HOT = (*ON, 200, 100, 0), (*ON, 200, 100, 1, 4, 100, 1)


@dataclass
class Storm(FakeBench):
    """A throw toggles every `every_s` from `after_s` after the coil came on, for `lasts_s`."""

    throw: int = NC
    every_s: float = 3e-6
    after_s: float = 1e-3
    lasts_s: float = 0.6
    began_s: float | None = None

    def drive(self, pins: Pins) -> None:
        if pins.coil and not self.pins.coil and self.began_s is None:
            self.began_s = self.time_s + self.after_s
        self.pins = pins

    def toggles(self, until_s: float) -> int:
        """How many there were until then."""
        if self.began_s is None:
            return 0
        return max(0, ceil((min(until_s, self.began_s + self.lasts_s) - self.began_s) / self.every_s))

    def advance(self, until_s: float) -> list[PinEdge]:
        first, last = self.toggles(self.time_s), self.toggles(until_s)
        self.time_s = until_s
        began = self.began_s or 0.0
        return [PinEdge(began + n * self.every_s, self.throw, n % 2 == 0) for n in range(first, last)]

    def closed(self) -> int:
        return self.toggles(self.time_s) % 2 << self.throw

    def snapshot(self) -> object:
        return self.time_s, self.pins, self.began_s

    def restore(self, snapshot: object) -> None:
        self.time_s, self.pins, self.began_s = snapshot  # type: ignore[misc]  # what snapshot() made


STACK_SPARE = 512
"""Bytes of RAM that the stack may never reach: 563 of 714 were left by the worst of 84 storms, an edge's interrupt with
sampling and millisecond in it, on top of work that answers the line (29 November 2026)."""


def all_off(desk: Desk) -> bool:
    pins = desk.machine.pins
    return not (pins.coil or pins.branches or pins.throws)


@pytest.mark.parametrize(("message", "values"), [(wire.STEP_COIL, STEP), (wire.HOT_STEP, HOT)], ids=["step", "hot"])
@pytest.mark.parametrize("throw", [NO, NC], ids=["87", "87a"])
def test_a_storm_keeps_nothing_on(elf: Path, message: Message, values: tuple[int, ...], throw: int) -> None:
    """The interrupt of 87a outranks the millisecond: edges every 3 us stopped it, and the coil was on for 1.5 s."""
    with Desk(elf, Storm(throw=throw)) as desk:
        desk.run(0.01)
        sequence = desk.send(message, values)
        desk.run(0.02)
        assert desk.machine.pins.coil
        if message is wire.HOT_STEP:
            assert desk.machine.pins.branches
            assert desk.seconds_until(lambda: not desk.machine.pins.branches, 0.6) <= 0.1
        assert desk.seconds_until(lambda: all_off(desk), 0.6) + 0.02 <= 0.5
        status = desk.ask(wire.STATUS)
        assert status.number("trip") == Trip.LEASE
        assert desk.machine.restarts == 0
        done = next(answer for answer in desk.answers if answer.sequence == sequence)
        if message is wire.STEP_COIL:
            assert done.result is Result.DONE
            assert (done.number("edges"), done.number("edges_lost")) == (40, 1)
        assert desk.ask(wire.GREET).number("stack_spare") >= STACK_SPARE


OVER = (1843, 1, 0, 3, 60_000, 500, 200, 100, 0)
OVER_AMPS = 0.2


@pytest.mark.parametrize("every_s", [1e-6, 3e-6, 15e-6], ids=["1us", "3us", "15us"])
@pytest.mark.parametrize("throw", [NO, NC], ids=["87", "87a"])
def test_too_much_current_is_cut_in_a_storm_as_without_one(elf: Path, throw: int, every_s: float) -> None:
    """Edges outrank the sampling too: every 3 us on 87a they kept the coil on for 3.7 ms, every 1 us on 87 for 1.8."""
    with Desk(elf, Storm(throw=throw, every_s=every_s, after_s=50e-6, amps=OVER_AMPS)) as desk:
        desk.run(0.01)
        desk.send(wire.STEP_COIL, OVER)
        desk.seconds_until(lambda: desk.machine.pins.coil, 0.1, 5e-5)
        assert 0.9e-3 <= desk.seconds_until(lambda: not desk.machine.pins.coil, 0.1, 5e-5) <= 1.3e-3
        for _ in range(10):
            desk.run(0.0005)  # while edges come the line is not heard
        assert desk.ask(wire.STATUS).number("trip") == Trip.OVER_CURRENT


def test_a_storm_that_begins_at_the_end_of_the_window_keeps_nothing_on(elf: Path) -> None:
    """With room left in the log, and no edge that belongs into it."""
    with Desk(elf, Storm(after_s=20e-3 - 40e-6)) as desk:
        desk.run(0.01)
        desk.send(wire.STEP_COIL, (*ON, 20, 100, 0))
        assert (
            desk.seconds_until(lambda: desk.machine.pins.coil, 0.1) + desk.seconds_until(lambda: all_off(desk), 0.6)
            <= 0.5
        )
        assert desk.machine.restarts == 0


@pytest.mark.parametrize("every_s", [2e-6, 60e-6, 300e-6, 8e-3])
@pytest.mark.parametrize("throw", [NO, NC], ids=["87", "87a"])
def test_a_status_tells_a_pin_that_moves_until_it_has_rested_for_10_ms(elf: Path, throw: int, every_s: float) -> None:
    """Edges of either direction are seen between two looks, and after a step, too, whose edges an interrupt takes."""
    with Desk(elf, Storm(throw=throw, every_s=every_s, after_s=0.0, lasts_s=0.04)) as desk:
        desk.run(0.01)
        assert desk.ask(wire.STEP_COIL, (1843, 1, 0, 3, 60_000, 1000, 20, 20, 0)).result is Result.DONE
        seen = [desk.ask(wire.STATUS).number("restless") for _ in range(5)]
        assert all(one & 1 << throw for one in seen)  # and the other throw's: edges of a step count for both
        desk.run(0.04)
        assert desk.ask(wire.STATUS).number("restless") == 0


def test_a_board_whose_clock_stands_still_restarts_though_its_loop_runs(tmp_path: Path) -> None:
    """The interrupt of the millisecond does nothing at all: the last thing that turns off is the watchdog."""
    folder = tmp_path / "pulldrop" / "firmware"
    shutil.copytree(FIRMWARE, folder, ignore=shutil.ignore_patterns("build"))
    clock = folder / "nano" / "clock.c"
    text = clock.read_text()
    assert text.count("    ms++;\n    ticked();\n") == 1
    clock.write_text(text.replace("    ms++;\n    ticked();\n", ""))
    subprocess.run(["make", "-s", "-C", str(folder)], check=True, capture_output=True)
    with Desk(folder / "build" / "pulldrop.elf", FakeBench()) as desk:
        desk.run(0.01)
        assert desk.ask(wire.HOLD_COIL, (1843, 1, 0, 0, 60_000, 1000)).result is Result.DONE
        assert desk.machine.pins.coil
        assert desk.seconds_until(lambda: desk.machine.restarts == 1, 0.4) <= 0.14
        assert all_off(desk)
