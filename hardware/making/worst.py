"""The worst cases: how far each net goes in use and in each foreseeable fault, calculated from the circuit.

Rule: a net not named in a case stays as in use, and in use within the 5 V rail. Ends are chosen for the worse.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from making.circuit import Circuit

Range = tuple[float, float]
SUPPLY_MOST_V = 33.0
"""Coil supply: 32 V and 3 %."""
RAIL_MOST_V = 5.25
COIL_MOST_V = 5.25 * 6.0
BATTERY_MOST_V = 14.8
"""A 12 V battery on charge."""
CONTACT_DROP_LEAST_OHM = 0.002
PULSE_S = 0.86
"""Longest load pulse that the hardware lets pass; see the pulse limit in margins."""


@dataclass(frozen=True)
class Case:
    """One case. `across`: volts between two pins where the ranges alone would be too pessimistic; `amps` and `watts`
    by reference; each figure comes with its reason."""

    name: str
    fault: bool
    nets: Mapping[str, Range]
    across: Mapping[tuple[str, str, str], tuple[float, str]] = field(default_factory=dict)
    amps: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    watts: Mapping[str, tuple[float, str]] = field(default_factory=dict)


def ohm(circuit: Circuit, ref: str, sign: int = 0) -> float:
    """Resistance at nominal (0) or at the end of its tolerance (-1, +1)."""
    kind = circuit[ref].type
    return kind.number("ohm") * (1 + sign * kind.number("tol"))


def coil_limit(circuit: Circuit) -> Range:
    """Least and most amps of the hardware limit: base-emitter volts of Q2 over R14."""
    least, _, most = circuit["Q2"].type.bounds("vbe_30ma")
    return least / ohm(circuit, "R14", 1), most / ohm(circuit, "R14", -1)


def clamp_v(circuit: Circuit, amps: float) -> float:
    """Most volts of D12 at a current, on the line from breakdown to the pulse rating."""
    kind = circuit["D12"].type
    most = kind.bounds("vz")[2]
    return most + (kind.number("vc") - most) * amps / kind.number("a")


def lockout(circuit: Circuit) -> Range:
    """Battery volts above which K1 stays open, least and most."""
    least, _, most = circuit["Z1"].type.bounds("vz")
    low, _, high = circuit["Q11"].type.bounds("vbe")
    lift = 1 + ohm(circuit, "R51") / ohm(circuit, "R52")
    diode = circuit["D41"].type.number("vf")
    return least + low * lift + diode - 0.15, most + high * lift + diode


def branch_ohm(circuit: Circuit, sign: int = 0) -> dict[str, float]:
    """Resistance of each load branch, by its transistor."""
    pair = (
        ohm(circuit, "R57", sign) * ohm(circuit, "R58", sign) / (ohm(circuit, "R57", sign) + ohm(circuit, "R58", sign))
    )
    series = ohm(circuit, "R54", sign) + ohm(circuit, "R55", sign)
    return {"Q12": ohm(circuit, "R53", sign), "Q13": series, "Q14": ohm(circuit, "R56", sign), "Q15": pair}


def _load(circuit: Circuit, battery_v: float) -> tuple[dict[str, tuple[float, str]], dict[str, tuple[float, str]]]:
    """Amps and watts of the load side at a battery voltage, all four branches on, a good contact."""
    ron = circuit["Q16"].type.number("ron") * 1.6
    why = "all branches on, resistors at the low end"
    ohms = branch_ohm(circuit, -1)
    common = ron + CONTACT_DROP_LEAST_OHM + ohm(circuit, "R30", -1)
    total = battery_v / (1 / sum(1 / (r + ron) for r in ohms.values()) + common)
    amps = {ref: (total, why) for ref in ("K1", "Q16", "Q17", "F2", "J2", "J3")}
    watts = {ref: (total**2 * ron, why) for ref in ("Q16", "Q17")}
    watts["R30"] = (total**2 * ohm(circuit, "R30", 1), why)
    for ref, r in ohms.items():
        alone = battery_v / (r + 2 * ron + CONTACT_DROP_LEAST_OHM + ohm(circuit, "R30", -1))
        amps[ref] = (alone, "the branch alone")
        share = {
            "Q12": {"R53": 1.0},
            "Q13": {"R54": 1.0, "R55": 1.0},
            "Q14": {"R56": 1.0},
            "Q15": {"R57": 0.5, "R58": 0.5},
        }
        for resistor, part in share[ref].items():
            watts[resistor] = ((alone * part) ** 2 * ohm(circuit, resistor, -1), "the branch alone, for one pulse")
    return amps, watts


def in_use(circuit: Circuit) -> Case:
    """Everything as meant, at the ends of the supplies and of the tolerances."""
    limit = coil_limit(circuit)[1]
    clamp = clamp_v(circuit, limit)
    sink = circuit["U4"].type.number("short_a")
    supply, coil, load = (0.0, SUPPLY_MOST_V), (0.0, COIL_MOST_V), (0.0, BATTERY_MOST_V)
    # a throw switch is a follower: its gate stands at 5 V, so its source cannot pass 5 V less the least threshold
    follower = (0.0, RAIL_MOST_V - circuit["Q16"].type.bounds("vth")[0])
    nets = {n: supply for n in ("coil_in", "coil_fused", "coil_d", "coil_rail", "reg_in", "drive", "base", "emitter")}
    nets |= {n: coil for n in ("limit", "coil_reg", "clamp_k", "x86", "x85", "w1", "w2", "w3", "w4")}
    nets |= {"coil_plus": (-0.35, COIL_MOST_V), "coil_minus": (-0.35, clamp), "clamp_k": (-0.35, clamp)}
    nets |= {n: load for n in ("load_in", "load_fused", "load", "k1_feed", "k1_hot", "k1_plus", "k1_gate", "over_z")}
    nets |= {n: load for n in ("b1", "b5", "b5_mid", "b10", "b20")} | {"k1_minus": (0.0, BATTERY_MOST_V + 0.9)}
    nets |= {n: follower for n in ("load_bus", "t87", "t87a", "t87_sense", "t87a_sense")}
    nets |= {n: (-0.05, 0.4) for n in ("t30", "t30_sense", "shunt_plus", "load_minus", "fast", "over_b")}
    nets |= {n: (-36.0, 36.0) for n in ("vin1", "vin2", "vin3", "vin4", "out30", "out30_fused", "out87")}
    nets |= {n: (0.0, 36.0) for n in ("dummy_f", "dummy_d")}
    amps, watts = _load(circuit, BATTERY_MOST_V)
    why = "hardware limit at its most"
    amps |= {ref: (limit, why) for ref in ("Q1", "Q3", "D1", "D11", "D13", "K2", "D12", "J1", "F1")}
    amps["S1"] = (limit, "coil pole")
    amps["Q10"] = (BATTERY_MOST_V / circuit["K1"].type.number("coil_ohm") * 1.1, "coil of K1, 10 % low")
    amps |= {"K3": (0.010, "scan"), "K4": (0.010, "scan"), "Q20": (0.021, "two reeds"), "K5": (8.0, "fuse of 10 A")}
    amps |= {"Q22": (0.083, "coil of K5"), "S3": (0.083, "coil of K5"), "TS1": amps["Q10"], "D41": amps["Q10"]}
    amps |= {
        "U1": (0.090, "logic, lamp, reeds"),
        "D40": amps["Q10"],
        "S2": (0.0006, "pull-up"),
        "F4": (8.0, "stated load"),
    }
    amps |= {
        "Q21": (0.38, "36 V over 100 ohm"),
        "F3": (0.38, "36 V over 100 ohm"),
        "Q11": (0.0002, "R50"),
        "Q2": (sink, "U4 in its own limit"),
    }
    watts |= {r: (limit**2 * ohm(circuit, r, 1), why) for r in ("R14", "R17", "R18")}
    watts["Q1"] = (SUPPLY_MOST_V * 0.3, "12 V part at 3 V from a 32 V supply, current at the trip limit")
    watts["U1"] = ((SUPPLY_MOST_V - 5) * 0.090, "from 32 V")
    watts["Q3"] = (limit**2 * circuit["Q3"].type.number("ron") * 1.8, "hot")
    watts["D12"] = (0.5 * 0.5 * limit**2 * 10, "0.5 H released ten times a second")
    watts |= {
        "Q10": (0.2, "on"),
        "Q20": (0.003, "on"),
        "Q22": (0.035, "on"),
        "Q21": (0.15**2, "on"),
        "Q11": (0.01, "on"),
    }
    watts |= {"Q2": (sink * 2.5, "in limit, all that U4 gives"), "R15": (0.01, "base current"), "R13": (0.1, "1 V")}
    watts |= {r: (0.006, "5 mA") for r in ("R38", "R39")} | {r: (0.0001, "gate") for r in ("R19", "R121", "R71", "R73")}
    watts |= {r: (0.004, "at most 2.5 mA") for r in ("R88", "R89")} | {r: (0.01, "2.5 mA") for r in _lines()}
    watts |= {"R31": (0.001, "bias"), "R33": (0.001, "bias"), "R35": (0.001, "bias"), "R21": (0.001, "bias")}
    watts |= {r: (0.001, "sense") for r in ("R32", "R34", "R36", "R37")} | {
        "R7": (0.001, "pull-up"),
        "R51": (0.001, "off"),
    }
    watts |= {r: (0.001, "sense") for r in (f"R{n}" for n in range(101, 109))} | {
        "R70": (0.02, "cut"),
        "R72": (0.02, "cut"),
    }
    watts |= {"D4": (0.0, "off"), "Z1": (0.0, "off")} | {f"Z{n}": (0.0, "off") for n in range(2, 8)}
    across = {
        ("Q1", "b", "e"): (-0.8, "D10 keeps the base within a diode of the emitter"),
        ("D10", "k", "a"): (1.8, "base above output by Q1 and R14"),
        ("Q2", "c", "e"): (2.5, "base of Q1 above the output"),
        ("Q16", "d", "s"): (BATTERY_MOST_V, "load bus at the battery while nothing flows"),
        ("Q17", "d", "s"): (BATTERY_MOST_V, "load bus at the battery while nothing flows"),
        ("C11", "1", "2"): (SUPPLY_MOST_V, "output against input"),
    }
    return Case("in use", False, nets, across, amps, watts)


def _lines() -> list[str]:
    return [f"R{n}" for n in range(80, 88)]


def faults(circuit: Circuit) -> list[Case]:
    """Each foreseeable fault by itself."""
    limit = coil_limit(circuit)[1]
    lock = lockout(circuit)[1]
    sink = circuit["U4"].type.number("short_a")
    diode = circuit["D30"].type.number("vf")
    rail = circuit["D4"].type.bounds("vz")[2]
    high = (0.0, COIL_MOST_V)
    push = (COIL_MOST_V - rail - diode) / ohm(circuit, "R31", -1)
    line = (COIL_MOST_V - rail - diode) / ohm(circuit, "R80", -1)
    gate_a = (COIL_MOST_V - 1.4) / ohm(circuit, "R60", -1)
    edge_a = (COIL_MOST_V - rail - 0.5) / ohm(circuit, "R40", -1)
    amps, watts = _load(circuit, lock)
    least = min(branch_ohm(circuit, -1)[q] for q in ("Q12", "Q13", "Q14", "Q15"))
    linear = (lock - 2.5) ** 2 / (4 * least)
    burnt = {q: (linear, "20 A branch, burnt contact, half the volts on the switch") for q in ("Q15",)}
    zener_a = (28.8 - circuit["Z1"].type.bounds("vz")[0] - 1.5) / ohm(circuit, "R51", -1)
    kind = circuit["D2"].type
    sag = kind.bounds("vz")[2] + (kind.number("vc") - kind.bounds("vz")[2]) * 1.5 / kind.number("a")
    return [
        Case(
            "battery just below the lock-out",
            True,
            {"load": (0, lock), "load_fused": (0, lock), "load_in": (0, lock)},
            {},
            amps,
            watts,
        ),
        Case("burnt contact under load", True, {}, {}, {}, burnt),
        Case(
            "24 V battery on the 12 V load input",
            True,
            {n: (0.0, 28.8) for n in ("load_in", "load_fused", "k1_feed", "k1_hot", "k1_plus", "k1_minus")},
            {
                ("K1", "86", "85"): (0.5, "Q10 is off"),
                ("Z1", "k", "a"): (15.3, "zener"),
                ("R50", "1", "2"): (28.8, "Q11 on"),
            },
            {"Q11": (0.0003, "R50")},
            {
                "Z1": (zener_a * 15.3, "15 V zener"),
                "R51": (zener_a**2 * ohm(circuit, "R51", 1), "zener current"),
                "R52": (0.001, "0.7 V"),
            },
        ),
        Case(
            "battery reversed",
            True,
            {
                "load_in": (-BATTERY_MOST_V, 0.0),
                "load_fused": (-BATTERY_MOST_V, 0.0),
                "k1_feed": (-BATTERY_MOST_V, 0.0),
                "k1_hot": (-BATTERY_MOST_V, 0.0),
                "k1_plus": (0, 0),
                "k1_minus": (0, 0),
                "load": (0, 0),
            },
        ),
        Case(
            "coil supply reversed",
            True,
            {"coil_in": (-SUPPLY_MOST_V, 0.0), "coil_fused": (-SUPPLY_MOST_V, 0.0), "coil_d": (0.0, 0.0)},
        ),
        Case(
            "48 V on the coil supply",
            True,
            {n: (0.0, sag) for n in ("coil_d", "coil_rail", "reg_in", "drive")},
            {("Q1", "c", "e"): (sag, "output at 0")},
            {"D2": (1.5, "a supply of 1 A, 1.5 A in overload, until F1 opens")},
            {"D2": (5.0, "until F1 opens; D2 may be used up, and then conducts for good")},
        ),
        Case(
            "86 shorted to ground",
            True,
            {"coil_plus": (-0.35, 0.1)},
            {("Q1", "c", "e"): (SUPPLY_MOST_V, "output at 0")},
            {"Q1": (limit, "hardware limit")},
            {
                "Q1": (SUPPLY_MOST_V * limit, "for as long as it lasts"),
                "R13": (sink**2 * ohm(circuit, "R13", 1), "U4 in its own limit"),
                "U4": ((SUPPLY_MOST_V - 2.5 - sink * ohm(circuit, "R13")) * sink, "in its own limit"),
                "Q2": (sink * 2.5, "all that U4 gives"),
            },
        ),
        Case(
            "85 shorted to 86, coil switch on",
            True,
            {"coil_minus": (0.0, 0.4)},
            {},
            {"Q3": (limit, "hardware limit")},
            {
                "R18": (limit**2 * ohm(circuit, "R18", 1), "limit"),
                "Q1": (SUPPLY_MOST_V * limit, "for as long as it lasts"),
            },
        ),
        Case(
            "part with 30 and 86 exchanged: coil supply on 87 or 87a",
            True,
            {
                "t87": high,
                "t87a": high,
                "t87_sense": high,
                "t87a_sense": high,
                "load_bus": high,
                "v5": (0, rail),
                "v5_port": (0, rail - 0.38),
            },
            {(q, "g", "s"): (-0.9, "zener in forward") for q in ("Q12", "Q13", "Q14", "Q15", "Q16", "Q17")}
            | {(q, "d", "s"): (-0.9, "body diode") for q in ("Q12", "Q13", "Q14", "Q15", "Q16", "Q17")}
            | {(z, "k", "a"): (-0.9, "forward") for z in ("Z2", "Z3", "Z4", "Z5", "Z6", "Z7")}
            | {(d, p, q): (rail + 1, "clamped") for d in ("D30", "D31", "D53", "D54") for p, q in (("m", "a"),)},
            {
                "D30": (push, "through R31"),
                "D31": (push, "through R33"),
                "D53": (line, "through R82"),
                "D54": (line, "through R83"),
                "U11": (line / 2, "half of the line's current"),
                "U12": (line / 2, "half of the line's current"),
                "U7": ((rail + diode - rail - 0.5) / ohm(circuit, "R32", -1), "what D30 leaves"),
                "U2": (max(gate_a, edge_a), "gate resistor into a low pin"),
            },
            {
                "R31": (push**2 * ohm(circuit, "R31", 1), "clamped"),
                "R33": (push**2 * ohm(circuit, "R33", 1), "clamped"),
                "R82": (line**2 * ohm(circuit, "R82", 1), "clamped"),
                "R83": (line**2 * ohm(circuit, "R83", 1), "clamped"),
                "D4": ((push + line) * rail, "nothing else draws"),
                "R40": (edge_a**2 * ohm(circuit, "R40", 1), "clamped"),
                "R42": (edge_a**2 * ohm(circuit, "R42", 1), "clamped"),
                **{
                    r: (gate_a**2 * ohm(circuit, r, 1), "zener in forward")
                    for r in ("R60", "R61", "R62", "R63", "R71", "R73")
                },
            },
        ),
        Case(
            "scan relays stuck closed with the coil driven",
            True,
            {"x85": (0, COIL_MOST_V), "x86": (0, COIL_MOST_V), "v5": (0, rail), "v5_port": (0, rail - 0.38)},
            {},
            {"D51": (line, "through R80"), "D52": (line, "through R81")},
            {
                "R80": (line**2 * ohm(circuit, "R80", 1), "clamped"),
                "R81": (line**2 * ohm(circuit, "R81", 1), "clamped"),
                "D4": (2 * line * rail, "nothing else draws"),
            },
        ),
        Case(
            "24 V battery on a loose lead",
            True,
            {f"w{n}": (0, 28.8) for n in range(1, 5)} | {"v5": (0, rail), "v5_port": (0, rail - 0.38)},
            {},
            {f"D5{n}": (line * 0.95, "through its 1 kohm") for n in range(5, 9)},
            {f"R8{n}": (line**2 * 0.9 * ohm(circuit, "R84", 1), "clamped") for n in range(4, 8)}
            | {"D4": (4 * line * rail, "four leads at once, nothing else draws")},
        ),
        Case(
            "vehicle input at a 60 V transient",
            True,
            {f"vin{n}": (0.0, 60.0) for n in range(1, 5)} | {"dummy_f": (0, 60.0), "dummy_d": (0, 60.0)},
            {(f"D6{n}", "1", "2"): (60.0, "below breakdown") for n in range(1, 5)},
            {"Q21": (0.63, "60 V over 95 ohm"), "U15": (60.0 / ohm(circuit, "R111", -1), "through R111")},
            {"R100": (60.0**2 / 95, "0.4 s")},
        ),
        Case(
            "vehicle input with a 24 V battery reversed",
            True,
            {f"vin{n}": (-28.8, 0.0) for n in range(1, 5)},
            {},
            {"U15": (28.8 / ohm(circuit, "R111", -1), "through R111")},
        ),
    ]


def cases(circuit: Circuit) -> list[Case]:
    """In use first, then the faults."""
    return [in_use(circuit), *faults(circuit)]
