"""The worst cases of the evening build, in use and in each foreseeable fault, calculated from its circuit.

Rule: as in making/limits: a net that a case does not name stays as in use, and in use within the 5 V.
"""

from making.circuit import Circuit
from making.limits import stress
from making.limits.worst import (
    BATTERY_MOST_V,
    CONTACT_DROP_LEAST_OHM,
    RAIL_MOST_V,
    USB_LEAST_V,
    Case,
    Figures,
    Range,
    clamp_v,
    each,
    follower_w,
    ohm,
    pulse_cut,
    rail_limit,
)

COIL_LEAST_OHM = 54.0
"""A strong coil of 12 V, 60 ohm, 10 % low (from memory)."""
BATTERY_24_V = 28.8
"""A 24 V battery on charge."""
DIODE_3A_V = 0.5
"""Drop of an SB360 at 2 to 3 A (from memory)."""
NANO_LEAST_A, PIN_DIODE_V = 0.010, 0.5
"""What the Nano always draws from its 5 V, and the drop of a pin's own clamp (from memory)."""


def coil_a(circuit: Circuit) -> float:
    """Most amps of a coil."""
    return BATTERY_MOST_V / COIL_LEAST_OHM


def main_coil_a(circuit: Circuit) -> float:
    """Most amps of K1's coil, 10 % low."""
    return BATTERY_MOST_V / (0.9 * circuit["K1"].type.number("coil_ohm"))


def load_a(circuit: Circuit, volts: float = BATTERY_MOST_V) -> float:
    """Most amps of the load through a good contact, resistors at the low end."""
    ron = circuit["Q16"].type.number("ron")
    return volts / (ohm(circuit, "R56", -1) + ron + CONTACT_DROP_LEAST_OHM + ohm(circuit, "R30", -1))


def lifted_w(circuit: Circuit) -> float:
    """Most watts of a throw switch whose source a lamp or a burnt contact lifts, at the weakest USB."""
    pull = ohm(circuit, "R79", -1)
    gate_v = USB_LEAST_V * pull / (pull + ohm(circuit, "R71", 1) + ohm(circuit, "R70", 1))
    return follower_w(circuit, "Q16", gate_v, BATTERY_MOST_V, ohm(circuit, "R56", -1) + ohm(circuit, "R30", -1))


def in_use(circuit: Circuit) -> Case:
    """Everything as meant, at the ends of battery, USB and tolerances."""
    across = {
        ("Q1", "b", "e"): (-0.8, "the emitter falls with the base"),
        ("Q16", "d", "s"): (BATTERY_MOST_V, "load bus at the battery while nothing flows"),
        ("Q17", "d", "s"): (BATTERY_MOST_V, "load bus at the battery while nothing flows"),
        ("C12", "1", "2"): (BATTERY_MOST_V, "knob at its end, no part"),
        ("Q10", "c", "e"): (BATTERY_MOST_V + 0.9, "D40 as K1 opens"),
        ("Z1", "k", "a"): (BATTERY_MOST_V - 0.8, "below its volts"),
    }
    return Case("in use", False, _nets(circuit), across, _amps(circuit), _watts(circuit))


def _nets(circuit: Circuit) -> dict[str, Range]:
    follower = RAIL_MOST_V - circuit["Q16"].type.bounds("vth")[0]
    fed = "load_in load_fused k1_fused k1_feed k1_hot k1_plus load coil_f coil_rail wiper base emitter load_bus coil_p"
    return {
        **each(fed, 0.0, BATTERY_MOST_V),
        **each("coil_reg coil_plus ina_bus", -0.35, BATTERY_MOST_V),
        "look_k": (-0.35, BATTERY_MOST_V),
        "coil_minus": (-0.35, clamp_v(circuit, "D12", coil_a(circuit))),
        "k1_minus": (0.0, BATTERY_MOST_V + 0.9),
        "k1_base": (0.0, 0.9),
        "over_z": (0.0, 0.7),
        "over_b": (0.0, 0.7),
        **each("t87 t87a t87_sense t87a_sense", 0.0, follower),
        **each("t30 t30_sense shunt_plus load_minus fast", -0.05, 0.4),
    }


def _amps(circuit: Circuit) -> Figures:
    coil, main, load = coil_a(circuit), main_coil_a(circuit), load_a(circuit)
    return {
        **each("F1 D1 S4 U5 D11 Q1 Q3 D12", coil, f"a coil of {COIL_LEAST_OHM:g} ohm at {BATTERY_MOST_V:g} V"),
        **each("F5 S1 TS1 D41 D40 Q10", main, "coil of K1, 10 % low"),
        **each("K1 J3 F2 J9", load, "load at the low end of R56"),
        **each("Q16 Q17", load, "load at the low end of R56"),
        "U9": (circuit["U9"].type.number("off_a"), "not conducting yet"),
        "Q11": (0.0001, "off"),
    }


def _watts(circuit: Circuit) -> Figures:
    coil, load = coil_a(circuit), load_a(circuit)
    look = RAIL_MOST_V / ohm(circuit, "R131", -1)
    return {
        "R56": (load**2 * ohm(circuit, "R56", -1), "one pulse"),
        "R30": (load**2 * ohm(circuit, "R30", 1), "one pulse"),
        **each("Q16 Q17", lifted_w(circuit), "a lamp or a burnt contact lifts its source"),
        "Q1": (BATTERY_MOST_V**2 / (4 * COIL_LEAST_OHM), "knob where half of the volts are left"),
        "Q3": (coil**2 * circuit["Q3"].type.number("ron") * 1.8, "hot"),
        "Q10": (main_coil_a(circuit) * 0.3, "on"),
        "R136": (coil**2 * ohm(circuit, "R136", 1), "coil"),
        "U5": (coil**2 * circuit["U5"].type.number("ohm"), "its 0.1 ohm"),
        "R18": (coil**2 * ohm(circuit, "R18", 1), "coil"),
        "D12": (0.5 * 0.5 * coil**2 * 10, "0.5 H released ten times a second"),
        "U9": (RAIL_MOST_V * circuit["U9"].type.number("off_a"), "not conducting yet"),
        "P1": (BATTERY_MOST_V**2 / ohm(circuit, "P1", -1), "its whole track"),
        "R13": ((coil / 1000) ** 2 * ohm(circuit, "R13", 1), "base current at a gain of 1000"),
        "R131": (look**2 * ohm(circuit, "R131", 1), "look into a short"),
        "R134": ((RAIL_MOST_V - 0.7) ** 2 / ohm(circuit, "R134", -1), "base of Q10"),
        "R135": (0.9**2 / ohm(circuit, "R135", -1), "base of Q10"),
        **each("R38 R39", 0.006, "5 mA"),
        **each("R70 R72", 0.02, "cut"),
        **each("R71 R73 R19 R27 R21 R132 R133", 0.001, "no current to speak of"),
        **each("R31 R33 R35 R32 R34 R36 R37", 0.001, "sense"),
        "R7": (0.001, "pull-up"),
        **each("Z1 R51 R52 Q11", 0.001, "off"),
    }


def battery_reversed(circuit: Circuit) -> Case:
    """K1 cannot close, so nothing but F5, the stop and R77 sees it."""
    fed = each("load_in load_fused k1_fused k1_feed k1_hot", -BATTERY_MOST_V, 0.0)
    pin_a = (BATTERY_MOST_V - PIN_DIODE_V) / ohm(circuit, "R77", -1)
    return Case(
        "battery reversed",
        True,
        fed | each("k1_plus k1_minus", 0.0, 0.0),
        amps={"D67": (pin_a, "through R77")},
        watts={"R77": (pin_a**2 * ohm(circuit, "R77", 1), "into D67")},
    )


def battery_24_v(circuit: Circuit) -> Case:
    """Q11 holds Q10 off, so K1 stays open, also in the flashes of a boot loader."""
    least, _, most = circuit["Z1"].type.bounds("vz")
    zener_a = (BATTERY_24_V - least - 1.5) / ohm(circuit, "R51", -1)
    pin_v = BATTERY_24_V * ohm(circuit, "R78") / (ohm(circuit, "R77") + ohm(circuit, "R78"))
    fed = "load_in load_fused k1_fused k1_feed k1_hot k1_plus k1_minus"
    return Case(
        "24 V battery",
        True,
        each(fed, 0.0, BATTERY_24_V),
        across={
            ("Q10", "c", "e"): (BATTERY_24_V, "K1 stays open"),
            ("Z1", "k", "a"): (most, "zener"),
            ("K1", "86", "85"): (0.8, "Z1's current"),
        },
        amps={
            "Q10": (0.0, "off"),
            "Q11": (RAIL_MOST_V / ohm(circuit, "R134", -1), "the lamp's base current"),
            "D48": ((pin_v - RAIL_MOST_V + 0.5) / ohm(circuit, "R77", -1), "A6"),
        },
        watts={
            "Z1": (zener_a * most, "15 V zener"),
            "R51": (zener_a**2 * ohm(circuit, "R51", 1), "zener current"),
            "R52": (0.001, "0.7 V"),
            "R77": ((BATTERY_24_V - RAIL_MOST_V) ** 2 / ohm(circuit, "R77", -1), "A6"),
        },
    )


def throws_at_the_battery(circuit: Circuit) -> Case:
    """A throw switch that failed short, or a part with 30 and 86 exchanged: 87 and 87a stand at the battery."""
    rail, diode = rail_limit(circuit, 1, circuit["U9"].type.number("a")), 0.75
    push = (BATTERY_MOST_V - rail_limit(circuit, -1) - diode) / ohm(circuit, "R31", -1)
    sunk, edge = 2 * push - NANO_LEAST_A, (BATTERY_MOST_V - RAIL_MOST_V - PIN_DIODE_V) / ohm(circuit, "R40", -1)
    why = "through its 470 ohm"
    return Case(
        "87 and 87a at the battery: Q16 or Q17 short, or a part with 30 and 86 exchanged",
        True,
        {**each("t87 t87a t87_sense t87a_sense load_bus", 0.0, BATTERY_MOST_V), "v5": (0.0, rail)},
        across={(q, "g", "s"): (BATTERY_MOST_V, "gate at 0 V") for q in ("Q16", "Q17")}
        | {(q, "d", "s"): (0.9, "body diode") for q in ("Q16", "Q17")},
        amps={
            **each("D30 D31", push, why),
            "U7": ((0.85 - PIN_DIODE_V) / ohm(circuit, "R32", -1), "what D30 leaves"),
            "U2": (edge, "edge pin through R40"),
            "U9": (sunk, "two throws, nothing but the Nano draws"),
        },
        watts={
            **{r: (push**2 * ohm(circuit, r, 1), why) for r in ("R31", "R33")},
            **{r: (edge**2 * ohm(circuit, r, 1), "clamped") for r in ("R40", "R42")},
            **each("R38 R39", 0.001, "D33, D34 block"),
            "U9": (sunk * rail, "two throws, nothing but the Nano draws"),
        },
    )


def load_left_on(circuit: Circuit) -> Case:
    """Firmware and U8 have failed: 13 A until TS1 opens K1."""
    amps, why = load_a(circuit), "until TS1 opens K1"
    return Case(
        "load left on",
        True,
        {},
        amps={**each("Q16 Q17 K1 J3 J9", amps, why)},
        watts={
            "R56": (amps**2 * ohm(circuit, "R56", -1), why),
            "R30": (amps**2 * ohm(circuit, "R30", 1), why),
            **each("Q16 Q17", amps**2 * circuit["Q16"].type.number("ron") * 1.6, why),
        },
    )


def coil_shorted(circuit: Circuit) -> Case:
    """85 and 86 joined with the coil switch on: the guard ends it within some ms; later F1 would, and cost Q3."""
    path = 0.5 + circuit["U5"].type.number("ohm") + ohm(circuit, "R18", -1)
    amps = (RAIL_MOST_V - circuit["Q3"].type.bounds("vth")[0]) / ohm(circuit, "R18", -1)
    why = "R18 turns Q3 down, until the guard trips"
    return Case(
        "85 shorted to 86, coil switch on",
        True,
        each("coil_minus", 0.0, BATTERY_MOST_V),
        amps={"Q3": (amps, why)},
        watts={"Q3": (amps * (BATTERY_MOST_V - amps * path), why)},
        pulsed={"Q3"},
    )


def eighty_six_to_ground(circuit: Circuit) -> Case:
    """86 touches ground while K1 is closed, by the knob: R18 does not see it. At worst Q1 and what is before it share
    the volts, until F1 opens, which may hold its trip current for longer; Q1 bears both for 5 s."""
    amps = circuit["F1"].type.number("trip_40c_a")
    most = (BATTERY_MOST_V - DIODE_3A_V) ** 2 / (4 * _feed_ohm(circuit))
    return Case(
        "86 shorted to ground, by the knob",
        True,
        each("coil_plus ina_bus", -0.35, 0.1),
        amps={"Q1": (amps, "F1 opens above"), "D1": (amps, "F1 opens above")},
        watts={"Q1": (max(amps * BATTERY_MOST_V, most), "R136 has the other half of the volts")},
        pulsed={"Q1"},
    )


def _feed_ohm(circuit: Circuit) -> float:
    """Least ohms from the battery to 86."""
    return circuit["F1"].type.number("ohm_least") + ohm(circuit, "R136", -1) + circuit["U5"].type.number("ohm")


def short_a(circuit: Circuit) -> float:
    """Most amps from 86 to ground, the coil fed by the supply: what F1 cold, R136 and the module's 0.1 ohm let pass."""
    return (BATTERY_MOST_V - circuit["D1"].type.number("vf")) / _feed_ohm(circuit)


def eighty_six_to_ground_fed(circuit: Circuit) -> Case:
    """86 touches ground while K1 is closed, S4 at supply: R18 and the guard do not see it; F1 ends it within a second
    (4 s at 2.5 A at most by its sheet, from memory, and a quarter of that at twice the current)."""
    amps, why = short_a(circuit), "until F1 opens, about a second"
    return Case(
        "86 shorted to ground, by the supply",
        True,
        each("coil_plus ina_bus", -0.35, 0.1),
        amps=each("D1 S4", amps, why),
        watts={
            "R136": (amps**2 * ohm(circuit, "R136", -1), why),
            "U5": (amps**2 * circuit["U5"].type.number("ohm"), why),
        },
        pulsed={"R136", "U5", "D1", "S4"},
    )


FAULTS = (
    battery_reversed,
    battery_24_v,
    throws_at_the_battery,
    load_left_on,
    coil_shorted,
    eighty_six_to_ground,
    eighty_six_to_ground_fed,
)


def cases(circuit: Circuit) -> list[Case]:
    """In use first, then each foreseeable fault by itself."""
    return [in_use(circuit), *(fault(circuit) for fault in FAULTS)]


def table(circuit: Circuit) -> list[stress.Row]:
    """The stress of every part in every case."""
    return stress.table(circuit, cases(circuit))


def text(circuit: Circuit) -> str:
    """stress.md."""
    return stress.markdown(circuit, cases(circuit), pulse_cut(circuit, RAIL_MOST_V)[1])
