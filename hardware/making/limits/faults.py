"""The worst cases in each foreseeable fault, calculated from the circuit; one fault a function.

Rule: each fault comes by itself, and what it does not name stays as in use (`worst`).
"""

from making.circuit import Circuit
from making.limits import stress
from making.limits.worst import (
    BATTERY_MOST_V,
    COIL_MOST_V,
    SUPPLY_MOST_V,
    Case,
    clamp_v,
    coil_limit,
    each,
    fire_a,
    in_use,
    load_side,
    lockout,
    ohm,
    rail_limit,
)

BATTERY_24_V = 28.8
"""A 24 V battery on charge."""
TRANSIENT_V = 60.0
CLAMP_MOST_V = 1.25
"""Of a BAV199 at 150 mA (its sheet, from memory)."""
PIN_DIODE_V = 0.5
"""Drop of a pin's own clamp (assumed)."""


NANO_LEAST_A = 0.010
"""What the Nano always draws from its 5 V (from memory: 15 to 20 mA)."""


def _rail_v(circuit: Circuit) -> float:
    """5 V as U9 holds it at its most, when the input clamps push more into it than the logic draws."""
    return rail_limit(circuit, 1, circuit["U9"].type.number("a"))


def _clamped_a(circuit: Circuit, ref: str, volts: float = COIL_MOST_V, sign: int = -1) -> float:
    """Most amps through a resistor from some volts, the coil supply's at most, into an input clamp."""
    diode = circuit["D30"].type.number("vf")
    return (volts - rail_limit(circuit, sign) - diode) / ohm(circuit, ref, -1)


def _clamped_w(circuit: Circuit, ref: str, volts: float = COIL_MOST_V) -> float:
    return _clamped_a(circuit, ref, volts) ** 2 * ohm(circuit, ref, 1)


def _sunk(circuit: Circuit, pushed_a: float, why: str) -> dict[str, dict[str, tuple[float, str]]]:
    """Amps and watts of U9 while clamps push into the rail, the Nano alone drawing from it."""
    amps = pushed_a - NANO_LEAST_A
    return {"amps": {"U9": (amps, why)}, "watts": {"U9": (amps * _rail_v(circuit), why)}}


def battery_below_lockout(circuit: Circuit) -> Case:
    most = lockout(circuit)[1]
    amps, watts = load_side(circuit, most)
    return Case(
        "battery just below the lock-out", True, each("load load_fused load_in", 0.0, most), amps=amps, watts=watts
    )


def burnt_contact(circuit: Circuit) -> Case:
    """A throw switch or branch that is turned down by the contact's drop bears power, most at half of the volts."""
    watts, _ = load_side(circuit, lockout(circuit)[1])[1]["Q15"]
    why = "20 A branch, burnt contact, half the volts on the switch"
    return Case("burnt contact under load", True, {}, watts={"Q15": (watts, why)})


def battery_24_v_on_load(circuit: Circuit) -> Case:
    zener_a = (BATTERY_24_V - circuit["Z1"].type.bounds("vz")[0] - 1.5) / ohm(circuit, "R51", -1)
    return Case(
        "24 V battery on the 12 V load input",
        True,
        each("load_in load_fused k1_fused k1_feed k1_hot k1_plus k1_minus", 0.0, BATTERY_24_V),
        across={
            ("K1", "86", "85"): (0.5, "Q10 is off"),
            ("Z1", "k", "a"): (15.3, "zener"),
            ("R50", "1", "2"): (BATTERY_24_V, "Q11 on"),
        },
        amps={"Q11": (0.0003, "R50")},
        watts={
            "Z1": (zener_a * 15.3, "15 V zener"),
            "R51": (zener_a**2 * ohm(circuit, "R51", 1), "zener current"),
            "R52": (0.001, "0.7 V"),
        },
    )


def battery_reversed(_: Circuit) -> Case:
    fed = each("load_in load_fused k1_fused k1_feed k1_hot", -BATTERY_MOST_V, 0.0)
    return Case("battery reversed", True, fed | each("k1_plus k1_minus load", 0.0, 0.0))


def coil_supply_reversed(_: Circuit) -> Case:
    nets = {**each("coil_in coil_fused", -SUPPLY_MOST_V, 0.0), "coil_d": (0.0, 0.0)}
    return Case("coil supply reversed", True, nets)


def coil_supply_48_v(circuit: Circuit) -> Case:
    overload_a = 1.5
    held = clamp_v(circuit, "D2", overload_a)
    return Case(
        "48 V on the coil supply",
        True,
        each("coil_d coil_rail reg_in drive", 0.0, held),
        across={("Q1", "c", "e"): (held, "output at 0")},
        amps={"D2": (overload_a, "a supply of 1 A, 1.5 A in overload, until F1 opens")},
        watts={"D2": (5.0, "until F1 opens; D2 may be used up, and then conducts for good")},
    )


def short_86_to_ground(circuit: Circuit) -> Case:
    limit, sink = coil_limit(circuit)[1], circuit["U4"].type.number("short_a")
    return Case(
        "86 shorted to ground",
        True,
        each("coil_plus t86_sense", -0.35, 0.1),
        across={("Q1", "c", "e"): (SUPPLY_MOST_V, "output at 0")},
        amps={"Q1": (limit, "hardware limit")},
        watts={
            "Q1": (SUPPLY_MOST_V * limit, "for as long as it lasts"),
            "R13": (sink**2 * ohm(circuit, "R13", 1), "U4 in its own limit"),
            "U4": ((SUPPLY_MOST_V - 2.5 - sink * ohm(circuit, "R13")) * sink, "in its own limit"),
            "Q2": (sink * 2.5, "all that U4 gives"),
        },
    )


def short_85_to_86(circuit: Circuit) -> Case:
    limit = coil_limit(circuit)[1]
    return Case(
        "85 shorted to 86, coil switch on",
        True,
        each("coil_minus t85_sense", 0.0, 0.4),
        amps={"Q3": (limit, "hardware limit")},
        watts={
            "R18": (limit**2 * ohm(circuit, "R18", 1), "limit"),
            "Q1": (SUPPLY_MOST_V * limit, "for as long as it lasts"),
        },
    )


def part_30_and_86_exchanged(circuit: Circuit) -> Case:
    """The coil supply comes in at the throws: into dry sources, scan lines, edge pins and the gates of the load."""
    rail, diode = _rail_v(circuit), circuit["D30"].type.number("vf")
    push, line = _clamped_a(circuit, "R31"), _clamped_a(circuit, "R82")
    sunk = _sunk(circuit, push + line, "nothing but the Nano draws")
    gate_a = (COIL_MOST_V - circuit["Z6"].type.bounds("vz")[0]) / ohm(circuit, "R60", -1)
    gate_v, zeners = clamp_v(circuit, "Z6", gate_a), "Z2 Z3 Z4 Z5 Z6 Z7"
    edge_a = (COIL_MOST_V - rail - PIN_DIODE_V) / ohm(circuit, "R40", -1)
    switches = ("Q12", "Q13", "Q14", "Q15", "Q16", "Q17")
    return Case(
        "part with 30 and 86 exchanged: coil supply on 87 or 87a",
        True,
        {**each("t87 t87a t87_sense t87a_sense load_bus", 0.0, COIL_MOST_V), **_lifted(circuit)},
        across={(q, "g", "s"): (gate_v, "Z2 to Z7 hold") for q in switches}
        | {(q, "d", "s"): (-0.9, "body diode") for q in switches}
        | {(d, "m", "a"): (rail + 1, "clamped") for d in ("D30", "D31", "D53", "D54")},
        amps={
            "D30": (push, "through R31"),
            "D31": (push, "through R33"),
            "D53": (line, "through R82"),
            "D54": (line, "through R83"),
            **each("U11 U12", line / 2, "half of the line's current"),
            "U7": ((diode - PIN_DIODE_V) / ohm(circuit, "R32", -1), "what D30 leaves"),
            "U2": (max(gate_a, edge_a), "gate resistor into a low pin"),
            **each(zeners, gate_a, "gate resistor into a low pin"),
            **sunk["amps"],
        },
        watts={
            **{r: (_clamped_w(circuit, r), "clamped") for r in ("R31", "R33", "R82", "R83")},
            **sunk["watts"],
            **each(zeners, gate_a * gate_v, "gate resistor into a low pin"),
            **{r: (edge_a**2 * ohm(circuit, r, 1), "clamped") for r in ("R40", "R42")},
            **{
                r: (gate_a**2 * ohm(circuit, r, 1), "what Z2 to Z7 leave")
                for r in ("R60", "R61", "R62", "R63", "R71", "R73")
            },
        },
    )


def scan_relays_stuck(circuit: Circuit) -> Case:
    line = _clamped_a(circuit, "R80")
    sunk = _sunk(circuit, 2 * line, "nothing but the Nano draws")
    return Case(
        "scan relays stuck closed with the coil driven",
        True,
        {**each("x85 x86", 0.0, COIL_MOST_V), **_lifted(circuit)},
        amps={
            "D51": (line, "through R80"),
            "D52": (line, "through R81"),
            **each("U11 U12", line / 2, "half of the line's current"),
            **sunk["amps"],
        },
        watts={**{r: (_clamped_w(circuit, r), "clamped") for r in ("R80", "R81")}, **sunk["watts"]},
    )


def scan_relay_stuck_at_switch_off(circuit: Circuit) -> Case:
    """K3 closed as a coil lets go: 85 flies to the clamp D12, for some ms, and K4 holds 86 at the coil supply."""
    limit = coil_limit(circuit)[1]
    peak = clamp_v(circuit, "D12", limit)
    line, why = _clamped_a(circuit, "R80", peak), "85 at the clamp for some ms"
    sunk = _sunk(circuit, line + _clamped_a(circuit, "R81"), why)
    drive = (CLAMP_MOST_V - PIN_DIODE_V) / ohm(circuit, "R95", -1)
    look = (peak - rail_limit(circuit, -1) - PIN_DIODE_V) / ohm(circuit, "R101", -1)
    return Case(
        "scan relays stuck closed as the coil is switched off",
        True,
        {"x85": (-0.35, peak), "x86": (0.0, COIL_MOST_V), **_lifted(circuit)},
        amps={
            "D51": (line, why),
            **each("U11 U12", drive, "through R95, all into one of the two"),
            "U13": (look, "through R101"),
            **sunk["amps"],
        },
        watts={
            "R80": (line**2 * ohm(circuit, "R80", 1), why),
            "R81": (_clamped_w(circuit, "R81"), "clamped"),
            "R101": (look**2 * ohm(circuit, "R101", 1), why),
            **sunk["watts"],
        },
        pulsed={"R80"},
    )


def battery_on_loose_lead(circuit: Circuit) -> Case:
    line, watts = _clamped_a(circuit, "R84", BATTERY_24_V), _clamped_w(circuit, "R84", BATTERY_24_V)
    sunk = _sunk(circuit, 4 * line, "four leads at once, nothing but the Nano draws")
    return Case(
        "24 V battery on a loose lead",
        True,
        {**each("w1 w2 w3 w4", 0.0, BATTERY_24_V), **_lifted(circuit)},
        amps={
            **each("D55 D56 D57 D58", line, "through its 1 kohm"),
            **each("U11 U12", line / 2, "half of a line's current"),
            **sunk["amps"],
        },
        watts={**each("R84 R85 R86 R87", watts, "clamped"), **sunk["watts"]},
    )


def vehicle_transient(circuit: Circuit) -> Case:
    return Case(
        "vehicle input at a 60 V transient",
        True,
        each("vin1 vin2 vin3 vin4 dummy_f dummy_d", 0.0, TRANSIENT_V),
        across={("D61", "1", "2"): (TRANSIENT_V, "below breakdown")},
        amps={
            "Q21": (0.63, "60 V over 95 ohm"),
            "U15": (TRANSIENT_V / ohm(circuit, "R111", -1), "through R111"),
        },
        watts={"R100": (TRANSIENT_V**2 / 95, "0.4 s")},
    )


def vehicle_reversed(circuit: Circuit) -> Case:
    return Case(
        "vehicle input with a 24 V battery reversed",
        True,
        {**each("vin1 vin2 vin3 vin4 dummy_f", -BATTERY_24_V, 0.0), "dummy_d": (-0.9, 0.0)},
        amps={
            "U15": (BATTERY_24_V / ohm(circuit, "R111", -1), "through R111"),
            **each("F3 Q21", BATTERY_24_V / ohm(circuit, "R100", -1), "body diode of Q21"),
        },
        watts={"R100": (BATTERY_24_V**2 / ohm(circuit, "R100", -1), "for as long as it lasts")},
    )


def regulator_unset(circuit: Circuit) -> Case:
    """ADJ or R2 open: U1 gives all it has, U9 holds until Q5 fires Q4, and Q4 carries what F1 lets through for good.

    For some microseconds the rail goes further, until Q4 conducts and C2 is empty (a deck shows how far).
    """
    sunk, held = fire_a(circuit)[1], circuit["F1"].type.number("trip_40c_a")
    rail, until = rail_limit(circuit, 1, sunk), "until Q4 fires"
    gate = (rail - circuit["Q4"].type.bounds("vgt")[0]) / ohm(circuit, "R29", -1)
    why = "a supply of just less than opens F1 at 40 degC, until it is unplugged"
    return Case(
        "5 V regulator that lost its setting: R2 or ADJ open",
        True,
        {"v5": (0.0, rail), "v5_port": (0.0, rail - 0.38), "v5_over": (0.0, rail), "fire": (0.0, rail)},
        across={("Q4", "a", "k"): (SUPPLY_MOST_V, until), ("Q5", "e", "c"): (rail, until)},
        amps={"U9": (sunk, until), "Q5": (gate, "gate of Q4"), **each("Q4 D1", held, why)},
        watts={
            "Q4": (held * circuit["Q4"].type.number("von"), why),
            "R28": (sunk**2 * ohm(circuit, "R28", 1), until),
            "R29": (gate**2 * ohm(circuit, "R29", -1), until),
            "R47": (circuit["Q4"].type.bounds("vgt")[2] ** 2 / ohm(circuit, "R47", -1), until),
        },
        pulsed={"U9"},
    )


def _lifted(circuit: Circuit) -> dict[str, tuple[float, float]]:
    """5 V, here and behind D50, while clamps push into it."""
    rail = _rail_v(circuit)
    return {"v5": (0.0, rail), "v5_port": (0.0, rail - 0.38)}


FAULTS = (
    battery_below_lockout,
    burnt_contact,
    battery_24_v_on_load,
    battery_reversed,
    coil_supply_reversed,
    coil_supply_48_v,
    regulator_unset,
    short_86_to_ground,
    short_85_to_86,
    part_30_and_86_exchanged,
    scan_relays_stuck,
    scan_relay_stuck_at_switch_off,
    battery_on_loose_lead,
    vehicle_transient,
    vehicle_reversed,
)


def cases(circuit: Circuit) -> list[Case]:
    """In use first, then each foreseeable fault by itself."""
    return [in_use(circuit), *(fault(circuit) for fault in FAULTS)]


def table(circuit: Circuit) -> list[stress.Row]:
    """The stress of every part in every case."""
    return stress.table(circuit, cases(circuit))
