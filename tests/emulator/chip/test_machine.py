"""Cause before effect, to the microsecond: the real firmware against a relay that switches when the test says."""

from pathlib import Path

import pytest
import yaml
from desk import Desk
from fake_bench import FakeBench

from pulldrop.emulator import i2c_parts, machine
from pulldrop.emulator.machine import STOP
from pulldrop.plant.bench.frontend import Frontend
from pulldrop.wire import messages as wire

DAC, ON_MS, LIMIT = 1843, 1000, 1000
BOTH = 3
NC_BIT, CLOSED_BIT = 1 << 30, 1 << 31
TICK_S = 0.5e-6
START_S = 3.5e-6
"""The firmware reads its timer this long before it switches the coil; every time it tells is longer by that."""
LATE_S = START_S + 2 * TICK_S


def step(desk: Desk, on: bool, window_ms: int = 20) -> list[tuple[float, str, bool]]:
    """One coil step; its edges as (seconds, throw, closed)."""
    done = desk.ask(wire.STEP_COIL, (DAC, on, 0, BOTH, ON_MS, LIMIT, window_ms, 4, 0))
    assert done.result is wire.Result.DONE
    words = desk.ask(wire.READ_EDGES, (0,)).numbers("edges")
    assert len(words) == done.number("edges")
    return [((w & 0x3FFFFFFF) * TICK_S, "NC" if w & NC_BIT else "NO", bool(w & CLOSED_BIT)) for w in words]


@pytest.mark.parametrize("operate_s", [0.000_3, 0.002, 0.007_123, 0.019_9])
def test_operate_time_comes_back_to_two_ticks(fake_desk: Desk, fake: FakeBench, operate_s: float) -> None:
    fake.operate_s = operate_s
    edges = {(throw, closed): at for at, throw, closed in step(fake_desk, True)}
    assert 0 <= edges["NO", True] - operate_s <= LATE_S, "input capture"
    assert 0 <= edges["NC", False] - operate_s <= LATE_S + 10e-6, "pin change: behind the other interrupt"
    assert len(edges) == 2


def test_equal_steps_differ_by_a_tick_at_most(fake_desk: Desk) -> None:
    times = []
    for _ in range(4):
        times += [at for at, throw, _ in step(fake_desk, True) if throw == "NO"]
        step(fake_desk, False)
    assert max(times) - min(times) <= TICK_S


def test_release_time_comes_back_to_two_ticks(fake_desk: Desk, fake: FakeBench) -> None:
    step(fake_desk, True)
    fake.release_s = 0.004_567
    edges = {(throw, closed): at for at, throw, closed in step(fake_desk, False)}
    assert 0 <= edges["NO", False] - 0.004_567 <= LATE_S


def test_a_fast_clock_counts_more_ticks(elf: Path) -> None:
    told = []
    for tick in (0.0, 0.005):
        with Desk(elf, FakeBench(operate_s=0.1, frontend=Frontend(tick=tick))) as desk:
            desk.run(0.01)
            told.append(next(at for at, throw, _ in step(desk, True, window_ms=150) if throw == "NO"))
    assert told[1] - told[0] == pytest.approx(0.1 * 0.005, abs=2 * TICK_S)


def test_the_plant_is_put_back_when_the_program_acts(fake_desk: Desk, fake: FakeBench) -> None:
    fake_desk.run(0.05)
    before = fake.restored
    fake_desk.run(0.05)
    assert fake.restored == before, "nothing happens, nothing is undone"
    step(fake_desk, True)
    assert fake.restored > before
    assert fake.time_s == pytest.approx(fake_desk.machine.time_s, abs=1e-6)


def test_the_coil_current_is_sampled_from_the_step_on(fake_desk: Desk, fake: FakeBench) -> None:
    fake.amps = 0.1
    done = fake_desk.ask(wire.STEP_COIL, (DAC, 1, 0, BOTH, ON_MS, LIMIT, 20, 4, 0))
    assert done.number("samples") == 100
    samples = fake_desk.ask(wire.READ_SAMPLES, (0,)).numbers("samples")
    assert set(samples[1:]) == {int(0.1 * 0.82 * 20 / 5 * 1024)}


def test_an_adc_sum_is_that_of_the_plant(fake_desk: Desk, fake: FakeBench) -> None:
    fake.volts = {1: 2.5, 2: 2.551, 3: 0.1}
    sums = [fake_desk.ask(wire.SENSE_ANALOG, (channel,)).number("sum") for channel in (1, 2, 3)]
    assert sums == [16 * int(volts / 5 * 1024) for volts in (2.5, 2.551, 0.1)]


def test_a_converter_whose_reference_is_high_gives_lower_codes(elf: Path, fake: FakeBench) -> None:
    fake.frontend = Frontend(vcc=0.04)
    fake.volts[2] = 2.551
    with Desk(elf, fake) as desk:
        desk.run(0.01)
        assert desk.ask(wire.SENSE_ANALOG, (2,)).number("sum") == 16 * int(2.551 / 5.2 * 1024)


def test_converters_on_the_bus_give_the_counts_of_the_plant(fake_desk: Desk, fake: FakeBench) -> None:
    fake.ina = (10_800, -7)
    sensed = fake_desk.ask(wire.SENSE_COIL)
    assert (sensed.number("bus"), sensed.number("shunt")) == (10_800, -7)
    fake.ads = {"no": 2500, "nc": -3, "shunt": 6250}
    step(fake_desk, True)
    for throw, name in ((1, "no"), (2, "nc")):
        pulse = fake_desk.ask(wire.LOAD_PULSE, (throw, 1, 2, 3, 50, 4))
        assert pulse.numbers("drop") == (fake.ads[name],) * 3
        assert pulse.numbers("shunt") == (6250,) * 3
        assert set(fake.asked) == {(name, 4), ("shunt", 5)}
        fake.asked.clear()


def test_a_feed_that_is_put_on_shows_the_contact_at_once(fake_desk: Desk) -> None:
    assert fake_desk.ask(wire.STATUS).number("contacts") == 0, "an unfed terminal reads as open"
    fake_desk.ask(wire.HOLD_COIL, (0, 0, 0, BOTH, ON_MS, LIMIT))
    assert fake_desk.ask(wire.STATUS).number("contacts") == 2


def test_the_plant_gets_the_volts_only_when_the_dac_has_them(fake_desk: Desk, fake: FakeBench) -> None:
    fake_desk.ask(wire.HOLD_COIL, (DAC, 1, 0, 0, ON_MS, LIMIT))
    assert (fake.pins.dac, fake.pins.coil) == (DAC, True)
    fake_desk.ask(wire.ALL_OFF)
    assert (fake.pins.dac, fake.pins.coil) == (0, False)


def test_no_press_of_the_stop_is_lost_however_the_runs_fall(fake_desk: Desk) -> None:
    """One that came due in the cycle in which a run ended was never told to the chip."""
    machine = fake_desk.machine
    for cycles in range(-4, 12):
        for opened in (True, False):
            machine.open_stop(opened)
            turns = machine._stop_turns
            assert turns
            machine.run((turns.cycle + cycles - machine.chip.cycle) / machine._hz)
            machine.run(1e-5)
            assert machine.chip.level(*STOP) is opened, f"run that ended {cycles} cycles after it"


def test_two_runs_of_one_course_are_the_same(elf: Path) -> None:
    def course() -> tuple[list[tuple[float, str, bool]], int]:
        with Desk(elf, FakeBench()) as desk:
            desk.run(0.01)
            return step(desk, True), desk.machine.chip.cycle

    assert course() == course()


def test_the_machine_knows_the_pins_of_the_pin_list(request: pytest.FixtureRequest) -> None:
    listed = yaml.safe_load((request.config.rootpath / "hardware" / "pins.yaml").read_text())
    ports = {pin["name"]: pin["port"] for pin in listed["pins"]}

    def bit(name: str) -> int:
        port = ports[name]
        return 1 << ("BCD".index(port[1]) * 8 + int(port[2]))

    assert bit("coil_switch") == machine.COIL
    assert bit("clamp_diode") == machine.DIODE
    assert [bit("throw_no"), bit("throw_nc")] == [1 << machine.THROWS, 2 << machine.THROWS]
    assert [bit("dry_no"), bit("dry_nc")] == [1 << machine.DRY, 2 << machine.DRY]
    branches = [bit(f"branch_{amps}a") for amps in (1, 5, 10, 20)]
    assert branches == [1 << machine.BRANCHES + i for i in range(4)]
    inputs = [1 << (port * 8 + pin) for port, pin in (*machine.EDGES, machine.STOP)]
    assert [bit("edge_no"), bit("edge_nc"), bit("stop")] == inputs
    assert (ports["temperature"], ports["load_supply"], ports["coil_low_side"]) == ("PC1", "ADC6", "ADC7")
    assert list(machine.SLOW) == [1, 6, 7]
    addresses = {part["part"]: part["address"] for part in listed["i2c"]}
    for name in ("INA226", "ADS1115", "MCP4725"):
        assert addresses[name] == getattr(i2c_parts, name)
