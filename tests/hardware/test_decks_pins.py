"""Every input pin in ngspice, at its corners, and against the arithmetic of the virtual bench."""

from dataclasses import replace
from itertools import product

import pytest
from broken_bench.contact_side import Feeds, contact_side
from making import circuit
from making.decks import input_pins

from pulldrop.measure.rig.counts.latency import PIN
from pulldrop.model.raw import TICKS_PER_S
from pulldrop.plant.bench import inputs
from pulldrop.plant.bench.frontend import ADS_OHM
from pulldrop.plant.bench.inputs import HIGH_SHARE, LEAK_A, LOW_SHARE, Inputs

WHOLE = circuit.load()
LATE_CORNERS = [
    (4.5, 2.0, 2.0, 1, -LEAK_A, 15e-9),
    (4.5, 2.0, 2.0, 1, LEAK_A, 15e-9),
    (5.2, 0.4, 0.5, -1, LEAK_A, 7e-9),
]
"""5 V, stray farads and those of the load bus over the typical ones, resistors, leakage, gates of the load transistors
(10 nF typical; their ends are assumed)."""
CORNERS = [(vcc, leak) for vcc in (4.8, 5.2) for leak in (-LEAK_A, LEAK_A)]
COUNT_V = 5 / 1024


@pytest.mark.parametrize("pin", ["edge_no", "edge_nc"])
@pytest.mark.parametrize(("vcc", "leak_a"), CORNERS)
def test_an_edge_pin_keeps_both_levels_and_the_virtual_bench_has_them(pin: str, vcc: float, leak_a: float) -> None:
    seen = input_pins.edge(WHOLE, pin, vcc, leak_a)
    assert seen["closed_v"] < LOW_SHARE * vcc / 2
    assert seen["open_v"] > 1.5 * HIGH_SHARE * vcc
    mine = Inputs(leak_a=(leak_a, leak_a))
    throw = ("edge_no", "edge_nc").index(pin)
    assert mine.edge_v(throw, seen["terminal_v"], False, vcc) == pytest.approx(seen["closed_v"], abs=1e-3)
    assert mine.edge_v(throw, vcc, False, vcc) == pytest.approx(seen["open_v"], abs=2e-3)


@pytest.mark.parametrize("pull_up_ohm", [20e3, 35e3, 50e3])
def test_with_the_chips_own_pull_up_a_closed_contact_would_not_read_low(pull_up_ohm: float) -> None:
    seen = input_pins.edge(WHOLE, "edge_no", 5.0, 0.0, pull_up_ohm)
    assert seen["closed_v"] > LOW_SHARE * 5.0
    mine = Inputs(pull_up_ohm=pull_up_ohm)
    assert mine.edge_v(0, seen["terminal_v"], True, 5.0) == pytest.approx(seen["closed_v"], abs=1e-3)


def with_gates(farad: float) -> circuit.Circuit:
    """All load transistors with so many farads between gate and source."""
    parts = {
        ref: replace(part, type=replace(part.type, figures={**part.type.figures, "ciss": farad}))
        for ref, part in WHOLE.parts.items()
        if part.type.name == "q_fet_load"
    }
    return replace(WHOLE, parts={**WHOLE.parts, **parts})


KINDS = {"closes": (False, True), "opens": (True, True), "opens, no load": (True, False)}
"""How an edge comes to its pin: whether the contact opens, and whether there is a load supply."""


@pytest.mark.parametrize("kind", KINDS)
def test_the_virtual_bench_has_an_edge_at_its_pin_when_the_deck_has(kind: str) -> None:
    opens, load = KINDS[kind]
    for share, late_us in zip(inputs.LATE_SHARES, inputs.LATE_US[kind], strict=True):
        mine = Inputs(falls_at=share, rises_at=share).late_s(not opens, load)
        assert mine == pytest.approx(late_us * 1e-6)
        seen = input_pins.edge_late(WHOLE, "edge_no", 5.0, share * 5.0, opens, load)
        assert seen == pytest.approx(mine, rel=0.02, abs=0.02e-6)


@pytest.mark.parametrize("pin", ["edge_no", "edge_nc"])
@pytest.mark.parametrize(("kind", "without"), [(kind, False) for kind in KINDS] + [("closes", True)])
def test_an_edge_comes_to_its_pin_within_what_a_time_is_budgeted_with(pin: str, kind: str, without: bool) -> None:
    """At both ends of the chip's threshold and of everything else, with the load supply and without. Before, a time had
    a quarter of a microsecond for it."""
    opens, load = KINDS[kind]
    middle, room = PIN[kind]
    for level, (vcc, stray, bus, sign, leak_a, farad) in product((LOW_SHARE, HIGH_SHARE), LATE_CORNERS):
        late_s = input_pins.edge_late(
            with_gates(farad), pin, vcc, level * vcc, opens, load and not without, stray, bus, sign, leak_a
        )
        assert abs(late_s * TICKS_PER_S - middle) <= room
    drawn_s = [inputs.drawn(seed).late_s(not opens, load) for seed in range(300)]
    assert all(abs(late_s * TICKS_PER_S - middle) <= room for late_s in drawn_s)
    assert max(drawn_s) - min(drawn_s) > 0.7 * room / TICKS_PER_S


@pytest.mark.parametrize("pull_up_ohm", [None, 20e3, 50e3])
def test_the_stop_pin_keeps_its_levels_and_turns_over_when_the_virtual_bench_says(pull_up_ohm: float | None) -> None:
    mine = replace(Inputs(), pull_up_ohm=pull_up_ohm or 35e3)
    pulled = pull_up_ohm is not None
    for vcc, leak_a in CORNERS:
        seen = input_pins.stop(WHOLE, vcc, leak_a, pull_up_ohm, mine.rises_at * vcc)
        assert seen["closed_v"] < LOW_SHARE * vcc / 2
        assert seen["open_v"] > 1.5 * HIGH_SHARE * vcc
        assert mine.stop_v(False, pulled, vcc) == pytest.approx(seen["closed_v"], abs=2e-3)
        late_s = seen["passed_s"] - 5e-3
        assert mine.stop_s(True, pulled, vcc) == pytest.approx(late_s, rel=0.02)
        assert late_s < 1e-3


@pytest.mark.parametrize(("pin", "channel", "source", "share"), [
    ("coil_current", 0, ("fast_out", 3.0), 1.0),
    ("temperature", 1, ("v5", 5.0), 0.5),
    ("load_supply", 2, ("load", 12.0), 2.7 / 12.7),
    ("coil_low_side", 3, ("coil_minus", 68.0), 4.7 / 104.7),
])  # fmt: skip
def test_a_converter_pin_is_sampled_to_a_tenth_of_a_count_and_leakage_is_known(
    pin: str, channel: int, source: tuple[str, float], share: float
) -> None:
    dry = input_pins.analog(WHOLE, pin, source, 0.0)
    assert dry["pin_v"] == pytest.approx(source[1] * share, abs=0.1 * COUNT_V)
    assert dry["sampled_v"] == pytest.approx(dry["pin_v"], abs=0.1 * COUNT_V)
    leaking = input_pins.analog(WHOLE, pin, source, LEAK_A)
    lifted_v = leaking["pin_v"] - dry["pin_v"]
    assert replace(Inputs(), analog_leak_a=LEAK_A).analog_v(channel) == pytest.approx(lifted_v, rel=0.02, abs=1e-5)
    assert lifted_v < 1.1 * COUNT_V
    assert inputs.ANALOG_LEAK_A * inputs.SOURCE_OHM[channel] < 0.11 * COUNT_V


@pytest.mark.parametrize("pin", ["p1", "p2", "p3", "p4"])
def test_a_scan_line_is_seen_within_what_the_host_allows(pin: str) -> None:
    """Switch, leakage and the converter's input take 0.15 % at most, and 1 mV."""
    for leak_a in (-0.1e-6, 0.1e-6):
        assert input_pins.look(WHOLE, pin, 4.0, leak_a) == pytest.approx(4.0, rel=0.0015, abs=1.1e-3)


OPEN_WIRES = {"none": (True, False, frozenset()), "87s": (False, False, {"87s"}), "30s": (False, True, {"30s"})}


@pytest.mark.parametrize("gain", [1, 4, 5])
@pytest.mark.parametrize("wire", OPEN_WIRES)
def test_sense_wires_whole_and_open_read_as_on_the_virtual_bench(wire: str, gain: int) -> None:
    """An open one stands where R44 to R46 put it, 0.3 V and more: no contact drops that, and none reads 0."""
    intact, open_30, cut = OPEN_WIRES[wire]
    feeds = Feeds(5.0, (1025.0, None), (220e3, 220e3), (27e3, 27e3), 0.0, (None, None), 0.005)
    mine = contact_side(feeds, (0.010, None), ADS_OHM[gain], frozenset(cut), ()).sensed_v[0]
    seen = input_pins.sense(WHOLE, 0.010 * 5 / 1025, ADS_OHM[gain], intact, open_30)
    assert seen == pytest.approx(mine, rel=0.02, abs=10e-6)
    assert abs(seen) < 100e-6 if intact else abs(seen) > 0.25


@pytest.mark.parametrize("wire", [(True, False), (False, False), (False, True)])
def test_the_sense_of_87a_is_that_of_87(wire: tuple[bool, bool]) -> None:
    intact, open_30 = wire
    no, nc = (input_pins.sense(WHOLE, 5e-5, ADS_OHM[5], intact, open_30, throw) for throw in ("87", "87a"))
    assert nc == pytest.approx(no, rel=1e-6)


def test_the_shunts_input_loses_nothing_to_its_resistor() -> None:
    for amps in (0.2, 1.0, 20.0):
        assert input_pins.shunt(WHOLE, amps, ADS_OHM[5]) == pytest.approx(0.005 * amps, rel=0.001)


def test_the_ends_of_the_scan_tell_the_current_through_a_part() -> None:
    """A0 below A3 over R88, A1 over R89: with leakage either way within 1 % and 1 uA."""
    for ohm in (0.1, 100.0, 10e3):
        for leak_a in (-LEAK_A, LEAK_A):
            seen = input_pins.scan_ends(WHOLE, ohm, leak_a)
            true_a = 5.0 / (2 * (100 + 80 + 1000) + ohm)
            assert (5.0 - seen["drive_v"]) / 100 == pytest.approx(true_a, rel=0.01, abs=2e-6)
            assert seen["sink_v"] / 100 == pytest.approx(true_a, rel=0.01, abs=2e-6)


def test_the_coil_meter_sees_its_shunt_through_10_ohm_at_each_input() -> None:
    """10 uA into each input (typical) and a tenth apart: 10 uV, a tenth of a milliampere; VBUS loses 0.002 %."""
    seen = input_pins.coil_meter(WHOLE, 24.0, 0.1, 10e-6, 1e-6)
    assert seen["shunt_v"] == pytest.approx(0.1 * 0.1, abs=15e-6)
    assert seen["bus_v"] == pytest.approx(24.0 - 0.1 * 0.1, rel=2e-5)


def test_the_button_keeps_its_levels() -> None:
    for leak_a in (-LEAK_A, LEAK_A):
        assert input_pins.button(WHOLE, True, leak_a) < 0.2 * 5
        assert input_pins.button(WHOLE, False, leak_a) > 0.8 * 5
