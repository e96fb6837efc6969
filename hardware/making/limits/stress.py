"""Stress of every part in every worst case, against its rating less a stated derating; a table and its check."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import log

from making.circuit import Circuit, CircuitError, Part
from making.limits.worst import RAIL_MOST_V, Case, Range, ohm
from making.lists import MADE, markdown_table

DERATING = {"V": 0.80, "A": 0.80, "W": 0.70}
"""Share of a rating that a part may bear in use (common practice); in a fault it may bear all of it."""
MAY_OPEN = "amps before it may open in 0.5 s"
LIMITS = {"supply volts", "stand-off volts", "coil volts", "hold amps at 40 degC", MAY_OPEN}
"""Figures that are limits and not ratings: in use they may be used up."""
FIRMWARE_S = 0.5
"""The firmware's longest load pulse."""
REVERSE = {"diode": ("k", "a"), "schottky": ("k", "a"), "zener": ("k", "a"), "tvs": ("k", "a"), "led": ("k", "a")}


@dataclass(frozen=True)
class Row:
    """One figure of one part in one case. `share` is worst over rating; `allowed` what it may be."""

    case: str
    fault: bool
    ref: str
    what: str
    worst: float
    rating: float
    unit: str
    why: str

    @property
    def share(self) -> float:
        return self.worst / self.rating

    @property
    def allowed(self) -> float:
        """1 in a fault, less in use; a pulse of 0.9 s on a rating for 5 s bears 80 %."""
        if self.what.endswith("one pulse") and not self.fault:
            return 0.8
        return 1.0 if self.fault or self.what in LIMITS else DERATING[self.unit]


def span(case: Case, use: Case, net: str) -> Range:
    """Least and most volts of a net in a case."""
    if net == "gnd":
        return (0.0, 0.0)
    return case.nets.get(net, use.nets.get(net, (0.0, RAIL_MOST_V)))


def fuse_a(rated: float, seconds: float) -> float:
    """Amps that a blade fuse surely bears for some seconds: it may open after 0.75 s at 1.35 of its rating and after
    0.15 s at 2.0 (ISO 8820-3, from memory), and on the line between them in logarithms."""
    slope = log(0.15 / 0.75) / log(2.0 / 1.35)
    return rated * 1.35 * float((seconds / 0.75) ** (1 / slope))


class _Table:
    def __init__(self, circuit: Circuit, case: Case, use: Case) -> None:
        self.circuit, self.case, self.use = circuit, case, use

    def volts(self, part: Part, plus: str, minus: str) -> tuple[float, str]:
        """Most volts of one pin above another."""
        for (ref, a, b), (volts, why) in self.case.across.items():
            if (ref, a, b) == (part.ref, plus, minus):
                return abs(volts), why
        for (ref, a, b), (volts, why) in self.use.across.items():
            if (ref, a, b) == (part.ref, plus, minus) and not self.case.fault:
                return abs(volts), why
        high, low = span(self.case, self.use, part.net(plus)), span(self.case, self.use, part.net(minus))
        return max(high[1] - low[0], 0.0), f"{part.net(plus)} against {part.net(minus)}"

    def both_ways(self, part: Part, one: str, other: str) -> tuple[float, str]:
        forth, back = self.volts(part, one, other), self.volts(part, other, one)
        return forth if forth[0] >= back[0] or (part.ref, one, other) in self.case.across else back

    def touched(self, part: Part) -> bool:
        """In a fault only parts whose nets or figures it changes are listed."""
        named = any(ref == part.ref for ref, _, _ in self.case.across)
        listed = part.ref in self.case.amps or part.ref in self.case.watts or named
        return not self.case.fault or listed or any(net in self.case.nets for net in part.pins.values())

    def row(self, part: Part, what: str, worst: float, rating: float, unit: str, why: str) -> Row:
        return Row(self.case.name, self.case.fault, part.ref, what, worst, rating, unit, why)

    def rows(self, part: Part) -> Iterator[Row]:
        kind = part.type
        pins = list(part.pins)
        own = kind.kind == "ic" and "overload_w" in kind.figures and part.ref in self.case.watts  # a module's own shunt
        if own or kind.kind in ("resistor", "shunt", "ntc", "potentiometer"):
            yield from self._watts(part, pins)
        elif kind.kind == "capacitor":
            yield self.row(part, "volts", *self._rated(self.both_ways(part, *pins), kind.number("v"), "V"))
        elif kind.kind in REVERSE and kind.kind not in ("zener", "tvs"):
            yield self.row(
                part, "reverse volts", *self._rated(self.volts(part, *REVERSE[kind.kind]), kind.number("v"), "V")
            )
        elif kind.kind == "tvs" and part.ref != "D12" and part.ref not in self.case.amps:
            yield self.row(part, "stand-off volts", *self._rated(self.volts(part, "k", "a"), kind.number("v"), "V"))
        elif kind.kind == "tvs_both" and part.ref not in self.case.amps:
            yield self.row(
                part, "stand-off volts", *self._rated(self.both_ways(part, "1", "2"), kind.bounds("vz")[0], "V")
            )
        elif kind.kind == "diode_pair":
            yield self.row(part, "reverse volts", *self._rated(self.volts(part, "k", "a"), kind.number("v"), "V"))
        elif kind.kind == "connector":
            volts = max(abs(v) for net in part.pins.values() for v in span(self.case, self.use, net))
            yield self.row(part, "volts", volts, kind.number("v"), "V", "highest net")
        elif kind.kind == "npn":
            yield self.row(part, "collector volts", *self._rated(self.volts(part, "c", "e"), kind.number("v"), "V"))
        elif kind.kind == "pnp":
            yield self.row(part, "collector volts", *self._rated(self.volts(part, "e", "c"), kind.number("v"), "V"))
        elif kind.kind == "thyristor":
            yield self.row(part, "blocking volts", *self._rated(self.volts(part, "a", "k"), kind.number("v"), "V"))
        elif kind.kind == "nmos":
            yield self.row(part, "drain volts", *self._rated(self.volts(part, "d", "s"), kind.number("v"), "V"))
            yield self.row(part, "gate volts", *self._rated(self.both_ways(part, "g", "s"), kind.number("vgs"), "V"))
        yield from self._amps(part)
        if kind.kind in ("npn", "nmos", "thyristor", "zener", "tvs", "tvs_both") or part.ref in ("U1", "U4", "U9"):
            yield from self._listed_watts(part)

    @staticmethod
    def _rated(worst: tuple[float, str], rating: float, unit: str) -> tuple[float, float, str, str]:
        return worst[0], rating, unit, worst[1]

    def _watts(self, part: Part, pins: list[str]) -> Iterator[Row]:
        pulse = part.type.figures.get("overload_w")
        if part.ref in self.case.watts:
            watts, why = self.case.watts[part.ref]
            short = part.ref in self.case.pulsed or part.block in ("branches", "contact", "vehicle", "load")
            pulsed = pulse is not None and short
            rating = float(pulse) if pulse and short else part.type.number("w")
            yield self.row(part, "watts for one pulse" if pulsed else "watts", watts, rating, "W", why)
            return
        if part.ref in self.use.watts and self.case.fault:
            return
        volts, why = self.both_ways(part, pins[0], pins[1])
        yield self.row(part, "watts", volts**2 / ohm(self.circuit, part.ref, -1), part.type.number("w"), "W", why)

    def _listed_watts(self, part: Part) -> Iterator[Row]:
        kind = part.type
        if part.ref not in self.case.watts:
            return
        watts, why = self.case.watts[part.ref]
        if "pulse_rth" in kind.figures and (part.ref in self.case.pulsed or part.block in ("branches", "load")):
            yield self.row(part, "watts for one pulse", watts, (175 - 60) / kind.number("pulse_rth"), "W", why)
            return
        hottest = float(kind.figures.get("tj", 150))
        limit = (hottest - 45) / kind.number("rth") if "rth" in kind.figures else kind.number("w")
        yield self.row(part, "watts at 45 degC", watts, min(limit, kind.number("w")), "W", why)

    def _amps(self, part: Part) -> Iterator[Row]:
        if part.ref not in self.case.amps:
            return
        amps, why = self.case.amps[part.ref]
        if part.type.name == "hc4051" and not self.case.fault:
            yield self.row(part, "amps through a switch", amps, SWITCH_A, "A", why)
        elif part.type.name in PIN_A:
            yield self.row(part, "amps into a pin", amps, PIN_A[part.type.name], "A", why)
        elif "hold_40c_a" in part.type.figures:
            yield self.row(part, "hold amps at 40 degC", amps, part.type.number("hold_40c_a"), "A", why)
        elif part.ref == "F2":
            if not self.case.fault:  # in a fault it may open, which is its task
                yield self.row(part, MAY_OPEN, amps, fuse_a(part.type.number("a"), FIRMWARE_S), "A", why)
        else:
            short = part.ref in self.case.pulsed
            second = short and "second_a" in part.type.figures
            rating = part.type.number("second_a" if second else "abs_a" if part.type.kind == "ic" and short else "a")
            pulsed = part.ref in ("K1", "J2", "J3")
            what = "amps for one pulse" if pulsed else "amps for a second" if second else "amps"
            yield self.row(part, what, amps, rating * (2 if pulsed else 1), "A", why)


PIN_A = {"ads1115": 0.010, "ads1115_plain": 0.010, "hc4051": 0.020, "nano": 0.020}
"""Most amps into one pin (makers' absolute ratings; for the Nano half of it)."""
SWITCH_A = 0.025
"""Most amps through a switch of a 74HC4051 that is on (makers' absolute rating)."""


SUPPLY = {"nano": "5V", "mcp4725": "VDD", "ina226": "VCC", "ina180": "VS", "ads1115": "VDD", "timer": "VCC"}
SUPPLY |= {"mcp23017": "VDD", "hc4051": "VCC", "opamp": "v+", "lm317": "in"}
SUPPLY |= {"ina226_own": "VCC", "ads1115_plain": "VDD", "opamp_low": "v+"}
"""The supply pin of each type of circuit."""


def supplies(circuit: Circuit, case: Case, use: Case) -> Iterator[Row]:
    """Supply volts of circuits: operating limit in use, absolute limit in a fault; and the relay coils."""
    for ref, part in circuit.parts.items():
        if part.type.name not in SUPPLY:
            continue
        net = part.net(SUPPLY[part.type.name])
        if case.fault and net not in case.nets:
            continue
        volts = span(case, use, net)[1] - (5.0 if part.type.name == "lm317" else 0.0)
        rating = part.type.figures.get("abs_v", part.type.number("v")) if case.fault else part.type.number("v")
        yield Row(case.name, case.fault, ref, "supply volts", volts, rating, "V", net)
    if case.fault:
        return
    bus = circuit["U5"].type.number("bus_v")
    yield Row(case.name, False, "U5", "bus volts", span(case, use, "coil_plus")[1], bus, "V", "coil_plus")
    for ref, volts in (("K1", 14.8 - 0.7), ("K2", RAIL_MOST_V), ("K3", RAIL_MOST_V), ("K5", RAIL_MOST_V)):
        if ref in circuit.parts:
            rating = circuit[ref].type.number("v")
            share = 1 if ref[1] in "23" else 0.8
            yield Row(case.name, False, ref, "coil volts", volts, rating / share, "V", "supply")


def table(circuit: Circuit, every: Sequence[Case]) -> list[Row]:
    """Every row of every case; the first is the one in use."""
    use = every[0]
    known = circuit.nets()
    found: list[Row] = []
    for case in every:
        if missing := [net for net in case.nets if net not in known]:
            raise CircuitError(f"case '{case.name}' names nets that circuit.yaml lacks: {missing}")
        look = _Table(circuit, case, use)
        for part in circuit.parts.values():
            if look.touched(part):
                found += look.rows(part)
        found += supplies(circuit, case, use)
    return found


def broken(rows: list[Row]) -> list[Row]:
    """Rows beyond what is allowed."""
    return [row for row in rows if row.share > row.allowed + 1e-9]


def markdown(circuit: Circuit, every: Sequence[Case], ends_s: float) -> str:
    """The table by case, heaviest first; in use, for each part and figure; ratings shown as used. `ends_s`: when the
    hardware ends a load pulse."""
    rows = table(circuit, every)
    text = ["# Stress at worst case", f"<!-- {MADE} -->", ""]
    text.append("Share is worst over rating. In use a part may bear 80 % of its volts and amps and 70 % of its watts;")
    text.append(
        "in a fault all of them. Limits that are not ratings (supply volts, stand-off) may be used up to the limit."
    )
    text.append(f"Ratings at 5 s overload are used for one load pulse, which the hardware ends within {ends_s:.2f} s.")
    for name in dict.fromkeys(row.case for row in rows):
        own = sorted((r for r in rows if r.case == name), key=lambda r: -r.share / r.allowed)
        cells = [
            (
                r.ref,
                r.what,
                f"{r.worst:.3g} {r.unit}",
                f"{r.rating:.3g} {r.unit}",
                f"{100 * r.share:.0f} %",
                f"{100 * r.allowed:.0f} %",
                r.why,
            )
            for r in own
            if r.worst > 0.0005
        ]
        text += [
            "",
            f"## {name[0].upper()}{name[1:]}",
            "",
            markdown_table(("part", "figure", "worst", "rating", "share", "allowed", "because"), cells).rstrip(),
        ]
    return "\n".join(text) + "\n"
