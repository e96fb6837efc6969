"""The worst case in use: how far each net, current and power goes, calculated from the circuit; faults are in `faults`.

Rule: a net not named in a case stays as in use, and in use within the 5 V rail. Ends are chosen for the worse.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import log
from typing import TypeVar

from making.circuit import Circuit

T = TypeVar("T")
Range = tuple[float, float]
Figures = dict[str, tuple[float, str]]
"""Amps or watts by reference, each with its reason."""
SUPPLY_MOST_V = 33.0
"""Coil supply: 32 V and 3 %."""
RAIL_MOST_V = 5.25
"""U1 with R1 and R2 may give 4.70 to 5.32 V; the guide asks for 4.8 to 5.2 V on the meter, and for another R2 if need
be. What stage 1 to 3 put on the rail bears 5.5 V meanwhile."""
COIL_MOST_V = 5.25 * 6.0
BATTERY_MOST_V = 14.8
"""A 12 V battery on charge."""
CONTACT_DROP_LEAST_OHM = 0.002


@dataclass(frozen=True)
class Case:
    """One case. `across`: volts between two pins where the ranges alone would be too pessimistic; `amps` and `watts`
    by reference; each figure comes with its reason. `pulsed`: parts whose watts or amps last for some ms only."""

    name: str
    fault: bool
    nets: Mapping[str, Range]
    across: Mapping[tuple[str, str, str], tuple[float, str]] = field(default_factory=dict)
    amps: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    watts: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    pulsed: frozenset[str] | set[str] = frozenset()


def each(names: str, one: float, other: T) -> dict[str, tuple[float, T]]:
    """The same pair for every name: a range for nets, a figure and its reason for references."""
    return dict.fromkeys(names.split(), (one, other))


def ohm(circuit: Circuit, ref: str, sign: int = 0) -> float:
    """Resistance at nominal (0) or at the end of its tolerance (-1, +1)."""
    kind = circuit[ref].type
    return kind.number("ohm") * (1 + sign * kind.number("tol"))


def coil_limit(circuit: Circuit) -> Range:
    """Least and most amps of the hardware limit: base-emitter volts of Q2 over R14."""
    least, _, most = circuit["Q2"].type.bounds("vbe_30ma")
    return least / ohm(circuit, "R14", 1), most / ohm(circuit, "R14", -1)


def clamp_v(circuit: Circuit, ref: str, amps: float) -> float:
    """Most volts of a TVS at a current, on the line from breakdown to the pulse rating."""
    kind = circuit[ref].type
    most = kind.bounds("vz")[2]
    return most + (kind.number("vc") - most) * amps / kind.number("a")


def lockout(circuit: Circuit) -> Range:
    """Battery volts above which K1 stays open, least and most; Z1 then carries R52's little current, below its knee."""
    kind = circuit["Z1"].type
    least, _, most = kind.bounds("vz")
    low, _, high = circuit["Q11"].type.bounds("vbe")
    least -= kind.number("zzk") * kind.number("izk") * log(kind.number("izt") * ohm(circuit, "R52", 1) / low)
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


SHARES = {
    "Q12": {"R53": 1.0},
    "Q13": {"R54": 1.0, "R55": 1.0},
    "Q14": {"R56": 1.0},
    "Q15": {"R57": 0.5, "R58": 0.5},
}
"""Share of a branch's current in each of its resistors, by its transistor."""


def follower_w(circuit: Circuit, ref: str, gate_v: float, battery_v: float, series_ohm: float) -> float:
    """Most watts of a transistor behind a resistor whose source any part lifts, a lamp or a burnt contact: its gate
    stays at `gate_v`, so the source stops a threshold and what the current needs below."""
    kind = circuit[ref].type
    gain = 1 / (kind.number("ron") * (4.9 - kind.bounds("vth")[1]))  # A/V^2, as in the decks
    most = battery_v / series_ohm

    def watts(amps: float) -> float:
        source_v = max(gate_v - kind.bounds("vth")[2] - (2 * amps / gain) ** 0.5, 0.0)
        return amps * (battery_v - source_v - amps * series_ohm)

    return max(watts(most * i / 200) for i in range(200))


def load_side(circuit: Circuit, battery_v: float) -> tuple[Figures, Figures]:
    """Amps and watts of the load side at a battery voltage, all four branches on, a good contact."""
    ron = circuit["Q16"].type.number("ron") * 1.6
    why = "all branches on, resistors at the low end"
    ohms = branch_ohm(circuit, -1)
    common = ron + CONTACT_DROP_LEAST_OHM + ohm(circuit, "R30", -1)
    total = battery_v / (1 / sum(1 / (r + ron) for r in ohms.values()) + common)
    gate_v = rail_set(circuit, -1) * _held(circuit)
    least, _, most = circuit["Q16"].type.bounds("vth")
    amps = each("K1 Q16 Q17 F2 J2 J3", total, why)
    apart = (total * (most - least), "a lamp or a burnt contact, its threshold above that of the branches")
    watts: Figures = dict.fromkeys(("Q16", "Q17"), apart) | {"R30": (total**2 * ohm(circuit, "R30", 1), why)}
    for ref, r in ohms.items():
        alone = battery_v / (r + 2 * ron + CONTACT_DROP_LEAST_OHM + ohm(circuit, "R30", -1))
        amps[ref] = (alone, "the branch alone")
        series = r + ohm(circuit, "R30", -1)
        watts[ref] = (follower_w(circuit, ref, gate_v, battery_v, series), "a lamp or a burnt contact lifts its source")
        for resistor, share in SHARES[ref].items():
            watts[resistor] = ((alone * share) ** 2 * ohm(circuit, resistor, -1), "the branch alone, for one pulse")
    return amps, watts


def _held(circuit: Circuit) -> float:
    """Share of a pin's volts that its pull-down leaves at the gate of a branch."""
    pull = ohm(circuit, "R74", -1)
    return pull / (pull + ohm(circuit, "R63", 1))


def rail_limit(circuit: Circuit, sign: int, amps: float = 0.0) -> float:
    """Volts at which U9 holds the 5 V rail, at one end of the tolerances, while it sinks some amps."""
    kind = circuit["U9"].type
    lift = 1 + ohm(circuit, "R9", sign) / ohm(circuit, "R24", -sign)
    return (kind.bounds("vref")[1 + sign] + amps * kind.number("zka")) * lift


PULSE_DIODE_V = (0.40, 0.50)
"""D45 at some 40 uA, least and most (1N4148, typical curve, 10 to 45 degC, from memory)."""
USB_LEAST_V = 4.5


def pulse_cut(circuit: Circuit, rail_most_v: float = 0.0) -> Range:
    """Seconds after which U8 cuts a load pulse, least and most: C40 charges through R76 to U8's threshold. The 5 V are
    at most those of U1 if not given."""
    ends = []
    for sign, rail, diode in (
        (-1, rail_most_v or rail_set(circuit, 1), PULSE_DIODE_V[0]),
        (1, USB_LEAST_V, PULSE_DIODE_V[1]),
    ):
        c40 = circuit["C40"].type
        full, share = rail - diode, circuit["U8"].type.bounds("vth")[1 + sign]
        farad = c40.number("farad") * (1 + sign * c40.number("tol"))
        ends.append(ohm(circuit, "R76", sign) * farad * log(full / (full - share * rail)))
    return ends[0], ends[1]


def rail_set(circuit: Circuit, sign: int) -> float:
    """Volts to which U1, R1 and R2 set the 5 V rail, at one end of their tolerances (LM317 data sheet)."""
    kind, top = circuit["U1"].type, ohm(circuit, "R2", sign)
    return kind.bounds("vref")[1 + sign] * (1 + top / ohm(circuit, "R1", -sign)) + kind.bounds("adj_a")[1 + sign] * top


def scan_a(circuit: Circuit) -> float:
    """Most amps of the scan through a part: from a line to terminal 30, which is ground."""
    drive = ohm(circuit, "R88", -1) + circuit["U11"].type.bounds("ron")[0]
    return RAIL_MOST_V / (drive + ohm(circuit, "R82", -1))


def through_a(circuit: Circuit) -> float:
    """Most amps of the scan when both its ends are on one line; the firmware allows that with all else off."""
    ends = ohm(circuit, "R88", -1) + ohm(circuit, "R89", -1)
    return RAIL_MOST_V / (ends + circuit["U11"].type.bounds("ron")[0] + circuit["U12"].type.bounds("ron")[0])


def fire_a(circuit: Circuit) -> Range:
    """Least and most amps of U9 at which Q5 fires the crowbar: its base-emitter volts over R28."""
    least, _, most = circuit["Q5"].type.bounds("vbe")
    return least / ohm(circuit, "R28", 1), most / ohm(circuit, "R28", -1)


def rail_loads(circuit: Circuit) -> dict[str, float]:
    """Amps out of the 5 V rail, each at its most and all at once; what is not calculated is from memory of sheets."""
    lamp = (RAIL_MOST_V - circuit["D5"].type.number("vf")) / ohm(circuit, "R5", -1)
    coils = {ref: RAIL_MOST_V / (0.9 * circuit[ref].type.number("coil_ohm")) for ref in ("K2", "K3", "K4", "K5")}
    modules = 0.003 * sum(part.type.name in ("ads1115", "ina226", "mcp4725") for part in circuit.parts.values())
    return coils | {
        "Nano": 0.025,
        "modules, a lamp on each": modules,
        "other circuits": 0.002,
        "lamp": lamp,
        "dry sources": 2 * 0.0053,
        "scan": scan_a(circuit),
        "bus held low": 2 * RAIL_MOST_V / ohm(circuit, "R3", -1),
        "U9 and its divider": circuit["U9"].type.number("off_a") + RAIL_MOST_V / 22e3,
        "pull-ups": 6 * RAIL_MOST_V / 10e3,
    }


def in_use(circuit: Circuit) -> Case:
    """Everything as meant, at the ends of the supplies and of the tolerances."""
    amps, watts = load_side(circuit, BATTERY_MOST_V)
    bus_v = circuit["Z2"].type.bounds("vz")[2]
    across = {
        ("Q1", "b", "e"): (-0.8, "D10 keeps the base within a diode of the emitter"),
        ("D10", "k", "a"): (1.8, "base above output by Q1 and R14"),
        ("Q2", "c", "e"): (2.5, "base of Q1 above the output"),
        ("Q16", "d", "s"): (BATTERY_MOST_V, "load bus at the battery while nothing flows"),
        ("Q17", "d", "s"): (BATTERY_MOST_V, "load bus at the battery while nothing flows"),
        **{(q, "g", "s"): (bus_v, "load bus at the battery by leakage, Z2 to Z5 hold") for q in SHARES},
        ("C11", "1", "2"): (SUPPLY_MOST_V, "output against input"),
        ("R100", "1", "2"): (36.0, "a vehicle's 24 V at its most"),
    }
    return Case("in use", False, _nets(circuit), across, amps | _amps(circuit), watts | _watts(circuit))


def _nets(circuit: Circuit) -> dict[str, Range]:
    clamp = clamp_v(circuit, "D12", coil_limit(circuit)[1])
    # a throw switch is a follower: its gate stands at 5 V, so its source cannot pass 5 V less the least threshold
    follower = RAIL_MOST_V - circuit["Q16"].type.bounds("vth")[0]
    return {
        **each("coil_in coil_fused coil_d coil_rail reg_in drive base emitter", 0.0, SUPPLY_MOST_V),
        **each("limit x86 x85 w1 w2 w3 w4", 0.0, COIL_MOST_V),
        **each("coil_reg ina_plus", -0.35, COIL_MOST_V),
        **each("coil_plus t86_sense ina_minus ina_bus", -0.40, COIL_MOST_V),
        **each("coil_minus t85_sense clamp_k", -0.35, clamp),
        **each("load_in load_fused load k1_fused k1_feed k1_hot k1_plus k1_gate over_z", 0.0, BATTERY_MOST_V),
        **each("b1 b5 b5_mid b10 b20", 0.0, BATTERY_MOST_V),
        "k1_minus": (0.0, BATTERY_MOST_V + 0.9),
        **each("load_bus t87 t87a t87_sense t87a_sense", 0.0, follower),
        **each("t30 t30_sense shunt_plus load_minus fast over_b", -0.05, 0.4),
        **each("vin1 vin2 vin3 vin4 out30 out30_fused out87", -36.0, 36.0),
        "dummy_f": (-36.0, 36.0),
        "dummy_d": (-0.9, 36.0),
    }


def _amps(circuit: Circuit) -> Figures:
    """All but the load side."""
    logic = sum(rail_loads(circuit).values())
    return {
        **each("Q1 Q3 D11 D13 K2 D12", coil_limit(circuit)[1], "hardware limit at its most"),
        **each("J1 F1 D1", coil_limit(circuit)[1] + logic, "hardware limit at its most, and all that U1 feeds"),
        **each("U1 D3", logic, "all loads of the 5 V rail at once"),
        "S1": (coil_limit(circuit)[1], "coil pole"),
        **each(
            "F5 Q10 TS1 D40 D41", BATTERY_MOST_V / circuit["K1"].type.number("coil_ohm") * 1.1, "coil of K1, 10 % low"
        ),
        **each("Z2 Z3 Z4 Z5", 0.0001, "leakage of the branch transistors"),
        **each("K3 K4", 0.010, "scan"),
        **each("U11 U12", through_a(circuit), "both ends of the scan on one line"),
        "Q20": (2 * rail_loads(circuit)["K3"], "two reeds"),
        "K5": (8.0, "fuse of 10 A"),
        **each("Q22 S3", rail_loads(circuit)["K5"], "coil of K5"),
        "U9": (circuit["U9"].type.number("off_a"), "not conducting yet"),
        "S2": (0.0006, "pull-up"),
        "F4": (8.0, "stated load"),
        **each("Q21 F3", 0.38, "36 V over 100 ohm"),
        "Q11": (0.0002, "R50"),
        "Q2": (circuit["U4"].type.number("short_a"), "U4 in its own limit"),
    }


def _watts(circuit: Circuit) -> Figures:
    """All but the load side."""
    limit, sink = coil_limit(circuit)[1], circuit["U4"].type.number("short_a")
    logic = sum(rail_loads(circuit).values())
    return {
        **{r: (limit**2 * ohm(circuit, r, 1), "hardware limit at its most") for r in ("R14", "R17", "R18")},
        "Q1": (SUPPLY_MOST_V * 0.3, "12 V part at 3 V from a 32 V supply, current at the trip limit"),
        "U1": ((SUPPLY_MOST_V - 5) * logic, "from 32 V, all loads of the 5 V rail at once"),
        "U9": (RAIL_MOST_V * circuit["U9"].type.number("off_a"), "not conducting yet"),
        **each("R28 R29 R47", 0.0001, "off"),
        **each("R25 R26 R27", 0.0001, "input current of U5"),
        "Q3": (limit**2 * circuit["Q3"].type.number("ron") * 1.8, "hot"),
        "D12": (0.5 * 0.5 * limit**2 * 10, "0.5 H released ten times a second"),
        "Q10": (0.2, "on"),
        "Q20": (0.003, "on"),
        "Q22": (rail_loads(circuit)["K5"] * 0.3, "on"),
        "R124": (0.02, "base current"),
        "Q21": (0.15**2, "on"),
        "Q11": (0.01, "on"),
        "Q2": (sink * 2.5, "in limit, all that U4 gives"),
        "R15": (0.01, "base current"),
        "R13": (0.1, "1 V"),
        **each("R38 R39", 0.006, "5 mA"),
        **each("R19 R121 R71 R73", 0.0001, "gate"),
        **{
            r: (through_a(circuit) ** 2 * ohm(circuit, r, 1), "both ends of the scan on one line")
            for r in ("R88", "R89")
        },
        **{
            r: (scan_a(circuit) ** 2 * ohm(circuit, r, 1), "a line joined to terminal 30")
            for r in ("R80", "R81", "R82", "R83", "R84", "R85", "R86", "R87", "R95")
        },
        **each("R31 R33 R35 R21", 0.001, "bias"),
        **each("R32 R34 R36 R37", 0.001, "sense"),
        **each("R101 R102 R103 R104 R105 R106 R107 R108", 0.001, "sense"),
        "R7": (0.001, "pull-up"),
        "R51": (0.001, "off"),
        **each("R70 R72", 0.02, "cut"),
        **each("Z1 Z2 Z3 Z4 Z5 Z6 Z7", 0.0, "off"),
    }
