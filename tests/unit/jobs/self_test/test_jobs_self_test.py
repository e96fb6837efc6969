"""The bench tests itself with an empty socket, and notices each thing that can be wrong with it."""

from contextlib import suppress
from dataclasses import replace

import pytest
from broken_bench.boards import BrokenBoard
from broken_bench.effect import Effect

from pulldrop.board.contract import Status, Trip
from pulldrop.board.errors import BoardLost, Refused, Tripped
from pulldrop.board.request_types import Analog, Drive, Pulse, Scan
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import self_test
from pulldrop.measure.self_test.check import Check
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import CoilCounts, Line, PulseCounts, ScanCounts


class Bench(BrokenBoard):
    """A virtual board with one planted fault; remembers what was driven."""

    def __init__(self, part: str = "", seed: int | None = 1, **fault: object) -> None:
        super().__init__((specimens.find(part) if part else specimens.empty_socket()).specimen, seed)
        self.fault = fault
        self.driven: list[Drive] = []

    def status(self) -> Status:
        told = super().status()
        return replace(told, emergency_stop="stop" in self.fault, bus_silent="silent" in self.fault)

    def hold_coil(self, drive: Drive) -> None:
        self.driven.append(drive)
        super().hold_coil(drive)

    def sense_coil(self) -> CoilCounts:
        counts = super().sense_coil()
        if "no_ina" in self.fault:
            raise Refused("bus", "INA226: no answer")
        return CoilCounts(bus=round(counts.bus * self.fault.get("bus", 1.0)), shunt=counts.shunt)  # type: ignore[operator]

    def sense_analog(self, channel: Analog) -> int:
        planted = self.fault.get(channel.name.lower())
        return planted if isinstance(planted, int) else super().sense_analog(channel)

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        if "no_ads" in self.fault:
            raise Refused("bus", "ADS1115: no answer")
        counts = super().load_pulse(pulse)
        return counts.model_copy(update={"shunt": (900,) * len(counts.shunt)}) if "shunt" in self.fault else counts


def checked(bench: Bench) -> dict[str, Check]:
    return {check.title: check for check in self_test(bench, nominal(0))}


def wrong(bench: Bench) -> set[str]:
    return {title for title, check in checked(bench).items() if check.state == "wrong"}


def test_a_board_none_of_whose_parts_answers_is_named_and_nothing_is_driven() -> None:
    """A board of the guide's first stage, too: emergency stop and temperature must be right there."""
    bench = Bench(silent=True)
    checks = checked(bench)
    assert list(checks) == ["greeting", "emergency stop", "I2C bus", "bench temperature", "stage"]
    assert wrong(bench) == {"I2C bus"} and bench.driven == []


@pytest.mark.parametrize("seed", range(1, 21))
def test_every_sound_bench_is_well(seed: int) -> None:
    assert wrong(Bench(seed=seed)) == set()


@pytest.mark.parametrize(
    ("fault", "named"),
    [
        ({"bus": 0.7}, {"coil supply at 3 V", "coil supply at 12 V"}),
        ({"bus": 1.3}, {"coil supply at 3 V", "coil supply at 12 V"}),
        ({"no_ina": True}, {"coil supply at 3 V", "coil supply at 12 V"}),
        ({"no_ads": True}, {"contact converter"}),
        ({"shunt": True}, {"contact converter"}),
        ({"bench_temperature": 0}, {"bench temperature"}),
        ({"bench_temperature": 16_368}, {"bench temperature"}),
        ({"coil_current": 16 * 30}, {"coil current zero"}),
        ({"load_supply": 16 * 400}, {"load supply"}),
    ],
    ids=lambda planted: str(planted) if isinstance(planted, dict) else "",
)
def test_a_planted_fault_is_named_and_nothing_else(fault: dict[str, object], named: set[str]) -> None:
    assert wrong(Bench(**fault)) == named


STAGES = {
    2: ({"ina", "scan", "ports"}, {"coil supply at 3 V", "coil supply at 12 V", "scan lines"}),
    3: ({"ina"}, {"coil supply at 3 V", "coil supply at 12 V"}),
    4: (set[str](), set[str]()),
}
"""Of hardware/guide.md: what is not on the bus yet, and what then is wrong."""


@pytest.mark.parametrize("stage", STAGES)
def test_a_board_built_up_to_a_stage_is_told_what_is_missing_and_looked_at_otherwise(stage: int) -> None:
    deaf, missing = STAGES[stage]
    bench = Bench()
    bench.plant.wires = Effect(deaf=frozenset(deaf), no_load=True)
    checks = checked(bench)
    assert {title for title, check in checks.items() if check.state == "wrong"} == missing
    told = {"greeting", "emergency stop", "coil socket", "contact socket", "contact converter", "bench temperature"}
    assert {checks[title].state for title in told} == {"ok"}
    assert checks["load supply"].state == "noted"


def test_without_the_dac_the_coil_stays_off_and_the_rest_is_looked_at() -> None:
    bench = Bench()
    bench.plant.wires = Effect(deaf=frozenset({"dac"}))
    checks = checked(bench)
    assert {title for title, check in checks.items() if check.state == "wrong"} == {"coil socket", "contact socket"}
    assert checks["coil supply"].state == "not done" and "known to be empty" in checks["coil supply"].found
    assert checks["contact converter"].state == checks["terminals"].state == checks["scan lines"].state == "ok"


def test_a_trip_is_a_finding_of_the_self_test_and_not_its_end() -> None:
    class Tripping(Bench):
        def sense_coil(self) -> CoilCounts:
            raise Tripped(Trip.OVER_CURRENT, "the coil took more current than its limit")

    checks = checked(Tripping())
    assert checks["coil supply at 3 V"].state == "wrong" and "more current" in checks["coil supply at 3 V"].found
    assert checks["coil supply held at 0"].state == "not done", "it was left out without a word"
    assert checks["load supply"].state == "ok"


class Dark(Bench):
    """Its lamp dark, `weak` of what the DAC would give is left; `stalled`: the computer then does nothing for 0.6 s."""

    def sense_coil(self) -> CoilCounts:
        pins = self.plant.pins
        dark = pins.dac > 0 and not pins.lamp
        if dark and "stalled" in self.fault:
            self._guard.let_pass(0.6)
            self.plant.drive(replace(pins, dac=0))  # as firmware/core/board.c does when the lease has lapsed
        if dark and "weak" in self.fault:
            left_v = self.plant.frontend.coil_v(pins.dac) * float(self.fault["weak"])  # type: ignore[arg-type]
            return CoilCounts(bus=round(left_v / 1.25e-3), shunt=0)
        return super().sense_coil()


def test_a_coil_supply_that_is_held_by_a_weak_transistor_is_found() -> None:
    """30 ohm leave 0.35 of 12 V, and at 3 V too little to see; 190 ohm 0.47 of 3 V, and 5 V of the most that the DAC
    asks for (simulated)."""
    for weak in (0.35 / 12, 0.47 / 3):
        assert wrong(Dark(weak=weak)) == {"coil supply held at 0"}


def test_zero_volts_that_the_board_made_itself_do_not_say_that_the_supply_is_held() -> None:
    bench = Dark(stalled=True)
    bench.plant.wires = Effect(unheld=True)
    check = checked(bench)["coil supply held at 0"]
    assert check.state == "wrong" and "Run this again" in check.found


def test_a_missing_load_supply_is_noted_and_no_fault() -> None:
    check = checked(Bench(load_supply=0))["load supply"]
    assert check.state == "noted"
    assert "never a pass" in check.found


def test_with_the_emergency_stop_pressed_nothing_is_energised() -> None:
    bench = Bench(stop=True)
    assert wrong(bench) == {"emergency stop"}
    assert bench.driven == []


@pytest.mark.parametrize("part", ["good-12v-changeover", "good-24v-changeover", "good-12v-normally-open"])
def test_a_part_in_the_socket_is_noticed_and_never_energised(part: str) -> None:
    bench = Bench(part)
    assert "coil socket" in wrong(bench)
    assert not any(drive.on for drive in bench.driven)


def test_a_part_with_an_open_coil_is_noticed_by_its_contacts() -> None:
    assert wrong(Bench("open-coil")) == {"contact socket", "terminals"}


class BareBench(VirtualBoard):
    """A virtual bare board on which one line reads wrong; energising is refused, so trying it is an error."""

    def __init__(self, part: str = "", dead: Line | None = None, seed: int | None = 1) -> None:
        super().__init__((specimens.find(part) if part else specimens.empty_socket()).specimen, seed, bare=True)
        self.dead = dead

    def scan(self, scan: Scan) -> ScanCounts:
        counts = super().scan(scan)
        return counts.model_copy(update={"source": 8000}) if scan.source is self.dead else counts


def bare_lines(bench: BareBench) -> dict[str, Check]:
    return {check.title: check for check in self_test(bench, nominal(0))}


@pytest.mark.parametrize("seed", range(1, 21))
def test_every_sound_bare_board_is_well_and_is_asked_only_for_what_it_has(seed: int) -> None:
    checks = bare_lines(BareBench(seed=seed))
    assert {title: check.state for title, check in checks.items()} == {
        "greeting": "ok", "scan lines": "ok", "terminals": "ok", "bench temperature": "ok",
    }  # fmt: skip
    assert "bare build" in checks["greeting"].found


def test_a_line_of_a_bare_board_whose_resistor_is_missing_is_named() -> None:
    check = bare_lines(BareBench(dead=Line.T87))["scan lines"]
    assert check.state == "wrong"
    assert check.found.startswith("not so: 87;")


def test_a_part_left_in_a_bare_board_is_named_by_the_terminals_that_it_joins() -> None:
    check = bare_lines(BareBench("good-12v-changeover"))["terminals"]
    assert check.state == "wrong"
    assert set(check.found.removeprefix("joined: ").split(";")[0].split(", ")) == {"30-87a", "85-86"}


def test_scan_parts_that_do_not_answer_are_told_and_end_nothing() -> None:
    class NoScan(Bench):
        def scan(self, scan: Scan) -> ScanCounts:
            raise Refused("bus", "MCP23017: no answer")

    checks = checked(NoScan())
    assert checks["scan lines"].state == "wrong"
    assert checks["load supply"].state == "ok"


def test_leads_that_touch_are_named_on_a_full_build_too() -> None:
    class Touching(Bench):
        def scan(self, scan: Scan) -> ScanCounts:
            counts = super().scan(scan)
            touch = {scan.source, scan.sink} == {Line.T85, Line.T87A}
            return counts.model_copy(update={"sunk": 20_000}) if touch else counts

    assert checked(Touching())["terminals"].found.startswith("joined: 85-87a;")


def test_everything_is_off_at_the_end_whatever_happens() -> None:
    class Unplugged(Bench):
        def sense_coil(self) -> CoilCounts:
            raise BoardLost("unplugged")

    for bench in (Bench(), Unplugged()):
        with suppress(BoardLost):
            list(self_test(bench, nominal(0)))
        assert not bench.status().on
