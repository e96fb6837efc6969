"""The input pins of the compiled firmware, in volts: each bench has its own chip and resistors, and levels are seen."""

from pathlib import Path

import pytest
from desk import Desk

from pulldrop.plant.bench import inputs
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.specimen import Specimen
from pulldrop.wire import messages as wire

GOOD = Specimen(title="invented: a good relay")
BOTH = 3
OPERATE = (1800, 1, 0, BOTH, 2000, 1000)


@pytest.mark.parametrize("seed", range(1, 9))
def test_a_closed_contact_is_seen_by_every_chip(elf: Path, seed: int) -> None:
    with Desk(elf, Bench(GOOD, seed)) as desk:
        desk.run(0.01)
        desk.ask(wire.HOLD_COIL, (0, 0, 0, BOTH, 1000, 1000))
        assert desk.ask(wire.STATUS).number("contacts") == 2
        desk.ask(wire.HOLD_COIL, OPERATE)
        desk.run(0.05)
        assert desk.ask(wire.STATUS).number("contacts") == 1


def test_the_firmware_leaves_the_pull_ups_of_the_edge_pins_off_on_a_full_build(elf: Path) -> None:
    """With them the pin of a closed contact would stand above VIL; a pin that no contact holds has R41 or R43."""
    with Desk(elf, Bench(GOOD, None)) as desk:
        desk.run(0.05)
        assert desk.machine.pins.pull_ups == 0


def test_the_stop_is_seen_when_its_capacitor_is_charged(elf: Path) -> None:
    bench = Bench(GOOD, 3)
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        desk.ask(wire.HOLD_COIL, OPERATE)
        desk.machine.open_stop(True)
        late_s = desk.seconds_until(lambda: not desk.machine.pins.coil, 0.01, 2e-5)
        assert late_s == pytest.approx(bench.inputs.stop_s(True, True, bench.frontend.vcc_v), abs=1e-4)
        assert late_s < 1e-3
        assert bench.coil_rail_v == 0


def test_levels_keep_a_margin_to_what_the_maker_guarantees() -> None:
    """Any bench, any leakage: a closed contact below 0.3 of the supply, an open one above 0.6 of it."""
    for seed in range(1, 2000):
        bench = inputs.drawn(seed)
        assert inputs.LOW_SHARE <= bench.falls_at < bench.rises_at <= inputs.HIGH_SHARE
        for throw in (0, 1):
            for vcc_v in (4.8, 5.2):
                assert bench.edge_v(throw, 0.05, False, vcc_v) < 0.75 * inputs.LOW_SHARE * vcc_v
                assert bench.edge_v(throw, vcc_v, False, vcc_v) > 1.5 * inputs.HIGH_SHARE * vcc_v
                assert bench.edge_v(throw, 0.05, True, vcc_v) > inputs.LOW_SHARE * vcc_v, "why no pull-up may be on"
        assert bench.stop_v(False, True, 5.0) < 0.5 * inputs.LOW_SHARE * 5.0
