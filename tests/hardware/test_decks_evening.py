"""The whole evening build in ngspice: what it reads in each state, every wire off, every part shorted, time by time."""

from dataclasses import replace

import pytest
from making import circuit, files
from making.copper import neighbours, onboard
from making.decks.spice import node, run
from making.evening import cases, loose, pulse, states
from making.limits import stress, worst

WHOLE = circuit.load("evening")
BOARD = onboard.build(circuit.listed("evening/board.yaml"))
LOW, HIGH = 0.3, 0.6


def seen(name: str, whole: circuit.Circuit = WHOLE, **changes: object) -> dict[str, float]:
    return states.seen(whole, states.at(name, **changes))


@pytest.mark.parametrize("usb_v", [4.5, 5.25])
@pytest.mark.parametrize("knob", [None, 0.0, 1.0])
def test_a_dry_source_tells_an_open_throw_from_a_closed_one(usb_v: float, knob: float | None) -> None:
    """With K1 open its current also leaves by body diode, F1 and D1 into the knob: still surely high."""
    for state, closed, open_ in (("dry, link in 30 and 87", "no", "nc"), ("dry, link in 30 and 87a", "nc", "no")):
        got = seen(state, usb_v=usb_v, knob=knob)
        assert got[f"edge_{closed}"] < LOW * got["v5_v"] / 2
        assert got[f"edge_{open_}"] > 1.3 * HIGH * got["v5_v"]
        assert abs(got[f"drop_{closed}"]) < 1e-3 and got[f"drop_{open_}"] > 2.0
        assert 0.004 < got["load_a"] < 0.006


@pytest.mark.parametrize(("state", "throw"), [("load, link in 30 and 87", "no"), ("load, link in 30 and 87a", "nc")])
def test_the_load_gives_ten_amps_and_the_shunt_reads_them(state: str, throw: str) -> None:
    got = seen(state)
    assert 9.0 < got["load_a"] < 10.5
    assert got["shunt"] == pytest.approx(0.005 * got["load_a"], rel=0.002)
    assert got[f"drop_{throw}"] == pytest.approx(0.0002 * got["load_a"], rel=0.01)


def test_current_of_coil_and_main_relay_is_not_in_the_shunts_reading() -> None:
    """Their return has a wire of its own: 0.4 A in 20 mohm of the star's wire would read as 1.6 A."""
    assert abs(seen("relay on")["shunt"] - 0.005 * seen("relay on")["load_a"]) < 25e-6


def test_the_coil_is_read_twice_and_agrees() -> None:
    got = seen("relay on")
    assert got["coil_shunt"] / 0.1 == pytest.approx(got["coil_a"], rel=0.01)
    assert got["coil_current"] / (0.82 * 20.1) == pytest.approx(got["coil_a"], rel=0.01)
    assert got["bus"] > 11.7  # 0.3 V of 12.6 V stay in R136


@pytest.mark.parametrize("offset_v", [-0.5e-3, 0.5e-3])
def test_the_offset_of_the_op_amp_is_less_than_a_milliampere(offset_v: float) -> None:
    assert WHOLE["U6"].type.number("offset_v") / 0.82 < 0.7e-3
    base = WHOLE["U6"]
    moved = replace(base, pins={**base.pins, "+": "fast_seen"})
    shifted = replace(WHOLE, parts={**WHOLE.parts, "U6": moved})
    got = run(states.whole(shifted, states.at("relay on"), (f"voffset fast_seen fast {offset_v}",)))
    assert got["coil_current"] / (0.82 * 20.1) == pytest.approx(got["coil_a"], abs=1.2e-3)


def test_the_look_reads_ohms_at_a_few_milliamperes() -> None:
    for ohm in (50.0, 85.0, 130.0):
        got = seen("look at a relay", coil_ohm=ohm)
        low_side = got["coil_a"] * (0.82 + 0.053)
        assert 0.009 < got["coil_a"] < 0.020
        assert (got["bus"] - low_side) / (got["coil_shunt"] / 0.1) == pytest.approx(ohm, rel=0.01)


def test_a_reversed_diode_shows_as_a_clamp_in_the_look() -> None:
    """Coils of 60 ohm and more carry 0.7 V and more, and the diode takes what is above."""
    state = states.at("look at a relay", coil_ohm=85.0)
    got = run(states.whole(WHOLE, state, ("dpart coil_plus coil_minus m_rectifier",)))
    assert got["bus"] < 0.75 < seen("look at a relay")["bus"]


def test_the_knob_reaches_from_nothing_to_above_every_pull_in() -> None:
    assert seen("relay on, knob at half", knob=0.0)["bus"] < 0.1
    assert seen("relay on, knob at half", knob=1.0, coil_ohm=60.0)["bus"] > 10.0
    steps = [seen("relay on, knob at half", knob=share / 10)["bus"] for share in range(11)]
    assert steps == sorted(steps)


@pytest.mark.parametrize("socket", ["relay", "link", "link_nc"])
@pytest.mark.parametrize("pins", [True, False])
@pytest.mark.parametrize("usb_v", [0.0, 5.0])
def test_nothing_is_energised_at_rest_in_a_reset_or_without_usb(socket: str, pins: bool, usb_v: float) -> None:
    got = seen("rest", socket=socket, pins=pins, usb_v=usb_v)
    assert abs(got["coil_a"]) < 1e-3 and abs(got["load_a"]) < 1e-3 and got["k1_v"] < 0.5


def test_without_usb_the_battery_lifts_the_five_volts_below_what_wakes_the_nano() -> None:
    """R77 passes a milliampere into the 5 V; a processor of 2.7 V brown-out stays in reset. The Nano's own lamp and
    bridge draw that at 2 V (here 20 mA at 5 V, in proportion above 1.8 V)."""
    got = seen("rest", usb_v=0.0, battery_v=14.8)
    assert got["v5_v"] < 2.5


def test_without_the_battery_nothing_of_usb_reaches_a_coil() -> None:
    got = seen("relay on", battery_v=0.0)
    assert got["coil_a"] < 6e-3 and abs(got["k1_v"]) < 0.5


def test_a_reversed_battery_feeds_nothing_whatever_the_nano_does() -> None:
    for name in ("rest", "relay on", "load, link in 30 and 87", "look at a relay"):
        got, right = seen(name, battery_v=-14.8), seen(name, battery_v=0.0)
        assert got["k1_v"] > -1.0 and abs(got["load_a"]) < 6e-3
        assert got["coil_a"] == pytest.approx(right["coil_a"], abs=1e-3)
        assert got["load_supply"] > -1.0 and got["v5_v"] > 4.5


@pytest.mark.parametrize("battery_v", [11.0, 14.8, 17.5, 28.8])
def test_k1_closes_on_a_battery_of_12_v_and_not_on_one_of_24(battery_v: float) -> None:
    """The lamp lit, as by the firmware or a boot loader."""
    got = seen("lamp", battery_v=battery_v)
    assert (got["k1_v"] > 8.5) == (got["bus"] > 10) == (battery_v < 15)
    assert battery_v < 15 or got["k1_v"] < 1.5
    least, most = worst.lockout(WHOLE)
    assert least > 14.8 and most < 17.0


def test_the_stop_ends_coil_and_load_though_the_nano_goes_on() -> None:
    for state in loose.STOPPED:
        got = states.seen(WHOLE, state)
        assert abs(got["coil_a"]) < 1e-3 and abs(got["load_a"]) < 1e-3
        assert got["stop"] > HIGH * got["v5_v"]


@pytest.mark.parametrize("battery_v", [12.6, 14.8])
def test_the_five_volts_stay_below_what_chips_bear_while_clamps_push(battery_v: float) -> None:
    """Both throws at the battery, as by a part with 30 and 86 exchanged, nothing but half a Nano drawing."""
    more = (f"vpush push 0 {battery_v}", "rp1 push t87 0.1", "rp2 push t87a 0.1", "bless 0 v5 i=0.010*min(v(v5)/5, 1)")
    got = run(states.whole(WHOLE, states.at("rest", usb_v=5.25), more))
    assert got["v5_v"] < 5.8


def shorted(ref: str, one: str, other: str) -> tuple[str, ...]:
    nets = (WHOLE[ref].net(one), WHOLE[ref].net(other))
    return (f"rshort {nets[0]} {nets[1]} 0.05".replace(" gnd", " 0"),)


LITTLE_A = 0.011
"""5 V through 470 ohm, as a shorted clamp gives: it moves no contact and marks none."""
SHORTS = [
    (ref, *pair)
    for ref, part in WHOLE.parts.items()
    if part.type.kind not in ("ic", "connector", "fuse") and ref != "P1"
    for pair in ((("30", "87"),) if ref == "K1" else (("d", "s"), ("d", "g")) if part.type.kind == "nmos"
                 else (("c", "e"), ("b", "c")) if part.type.kind == "npn" else (("I+", "I-"),) if ref == "R30"
                 else (tuple(part.pins)[:2],))
]  # fmt: skip


@pytest.mark.parametrize(("ref", "one", "other"), SHORTS, ids=lambda value: value if isinstance(value, str) else "")
def test_no_part_that_fails_short_energises_a_part_at_rest_or_against_the_stop(ref: str, one: str, other: str) -> None:
    """The second means: K1 for the coil switch and the load gates, these for K1; the stop opens K1 and is seen."""
    more = shorted(ref, one, other)
    for socket in ("relay", "link"):
        got = run(states.whole(WHOLE, states.at("rest", socket=socket), more))
        assert abs(got["coil_a"]) < LITTLE_A and abs(got["load_a"]) < LITTLE_A, socket
        got = run(states.whole(WHOLE, states.at("rest", socket=socket, stop=True), more))
        assert abs(got["coil_a"]) < LITTLE_A and abs(got["load_a"]) < LITTLE_A, (socket, "stop")


def amps_of(
    state: states.State, whole: circuit.Circuit, more: tuple[str, ...] = (), out: tuple[str, ...] = ()
) -> float:
    got = run(states.whole(whole, state, more, out=out))
    return max(abs(got["coil_a"]), abs(got["load_a"]))


TWO_LEGS = [ref for ref, part in WHOLE.parts.items() if part.type.kind not in ("ic", "connector", "relay", "switch")]
IDLE = [states.at(name, socket=socket) for name in ("rest", "reset") for socket in ("relay", "link")]


def test_no_part_that_opens_energises_a_part_at_rest_or_in_a_reset() -> None:
    """Or one of its legs that is not soldered."""
    found = [ref for ref in TWO_LEGS for state in IDLE if amps_of(state, WHOLE, out=(ref,)) > LITTLE_A]
    assert len(TWO_LEGS) > 80 and found == []


def test_no_bridge_between_neighbouring_copper_energises_a_part_at_rest_or_against_the_stop() -> None:
    """Of solder, or a hair in a cut. From K1's coil to a dry source's resistor: 13 mA, which mark no contact either."""
    pairs = [(one, other) for one, other, _ in neighbours.beside(WHOLE, BOARD)]
    stopped = [replace(state, stop=True) for state in IDLE[:2]]
    found = [
        (one, other)
        for one, other in pairs
        for state in (*IDLE[:2], *stopped)
        if amps_of(state, WHOLE, (f"rbridge {node(one)} {node(other)} 0.01",)) > 0.015
    ]
    assert len(pairs) > 80 and found == []


def test_a_wire_off_energises_nothing_and_a_reading_shows_it() -> None:
    found = loose.found(WHOLE, BOARD)
    assert len(found) == len(BOARD.wires)
    assert {one.wire.number for one in found if one.off_a > 1e-3 or one.stopped_a > 1e-3} == set()
    assert {one.net for one in found if not one.shown} == set(loose.LATENT)
    assert files.stale({"evening/loose_wires.md": loose.written(WHOLE, BOARD, found)}) == []


@pytest.mark.parametrize("throw", ["no", "nc"])
def test_the_pulse_limit_cuts_each_gate(throw: str) -> None:
    got = run(pulse.pulse_limit(WHOLE, throw))
    assert got["on_v"] > 4.5 and got["off_v"] < 0.6
    assert stress.FIRMWARE_S < got["on_s"] < 0.75


@pytest.mark.parametrize("sign", [-1, 1])
def test_the_pulse_limit_holds_at_the_ends_of_its_parts(sign: int) -> None:
    vcc, share = (5.25, 0.62) if sign < 0 else (4.5, 0.71)
    values = {"R76": worst.ohm(WHOLE, "R76", sign), "C40": 470e-9 * (1 + 0.05 * sign), "U8": share}
    got = run(pulse.pulse_limit(WHOLE, "no", vcc, values))
    least, most = worst.pulse_cut(WHOLE, worst.RAIL_MOST_V)
    assert 0.98 * least < got["on_s"] < 1.02 * most


@pytest.mark.parametrize(("ohm", "henry"), [(60.0, 0.5), (85.0, 0.3)])
def test_a_coil_is_clamped_when_it_is_switched_off(ohm: float, henry: float) -> None:
    got = run(pulse.flyback(WHOLE, ohm, henry))
    assert 55 < got["peak_v"] < 85 < WHOLE["Q3"].type.number("v")
    assert got["sense_v"] < 4.5, "A7 at the least USB"
    assert got["ina_most_v"] < 16 and got["ina_least_v"] > -0.4


def test_a_stop_under_current_leaves_the_current_meter_whole() -> None:
    """INA226: inputs down to -0.3 V by its sheet; its own diodes carry what is below for some ms, no more than 1 mA."""
    got = run(pulse.stopped(WHOLE, 60.0, 0.5))
    assert got["before_a"] > 0.18 and got["after_a"] < 0.002
    assert got["ina_least_v"] > -0.35


def test_the_clamp_dying_does_not_end_the_pin() -> None:
    """Without D12 Q3 avalanches at 110 V and more; A7 gets a milliampere through R22."""
    assert (130 * 4.7 / 104.7 - 5.0) < 1.0
    assert (130 - 5.5) / 100e3 < 1.3e-3


def test_a_coil_short_drives_the_guards_input_to_its_end() -> None:
    """R18 turns Q3 down to some amps, and the firmware's guard trips at once; without it F1 would, in seconds."""
    got = seen("relay on", coil_ohm=0.05)
    assert 2 < got["coil_a"] < 5.3
    assert got["coil_current"] > 0.95 * got["v5_v"]


@pytest.mark.parametrize("socket", ["empty", "relay"])
def test_eighty_six_at_ground_leaves_the_current_meters_shunt_whole(socket: str) -> None:
    """14.8 V, S4 at supply, F1 cold: no more than the shunt bears for the second until F1 opens. The guard is blind."""
    state, more = states.at("lamp", socket=socket, battery_v=14.8), ("rtouch coil_plus 0 0.01",)
    values = {"F1": WHOLE["F1"].type.number("ohm_least"), "R136": worst.ohm(WHOLE, "R136", -1)}
    got = run(states.whole(WHOLE, state, more, values))
    amps = got["coil_shunt"] / 0.1
    assert 4.0 < amps < 1.02 * cases.short_a(WHOLE)
    assert 0.1 * amps**2 < WHOLE["U5"].type.number("overload_w") / 1.5
    assert got["coil_current"] < 0.05


def test_without_its_resistor_that_short_would_cost_the_shunt() -> None:
    state, more = states.at("lamp", battery_v=14.8), ("rtouch coil_plus 0 0.01",)
    got = run(states.whole(WHOLE, state, more, {"F1": 0.5, "R136": 1e-3}))
    assert 0.1 * (got["coil_shunt"] / 0.1) ** 2 > 4 * WHOLE["U5"].type.number("overload_w")
