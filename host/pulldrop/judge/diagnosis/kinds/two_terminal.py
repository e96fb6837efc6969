"""What is wrong with a fuse or a lamp, by its readings: its clues, its table of faults, and which of them explains all.

Rule: one fault at a time; the part as sound is one of the causes, and while it is the best nothing is named.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pulldrop.judge.diagnosis.bands import Anything, Band, Expected, Missing, agreement, outside
from pulldrop.judge.diagnosis.evidence.clue import Clue
from pulldrop.judge.diagnosis.fault import RARE, PartFault
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.kinds.two_terminal import TwoTerminalRating
from pulldrop.model.part.rating import KindRating
from pulldrop.model.quantity import show
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.run.fault import Evidence, NamedFault

KIND = "two-terminal"
SHOWN_FROM, RIVAL_FROM = 0.10, 0.05
"""A cause less probable than this is not named; one that the best does not outweigh by twenty rivals it (assumed)."""
LARGEST_OHM = 1.1e-3
"""Of a maxi fuse of 50 A, cold, typical (a maker's sheet, second hand): no fuse of these sizes has much less."""
EMF_OHM = 0.04
"""Ohms at a few mA that cannot be told from none: the converter's zero over 5 mA."""
HOT = ((8.0, 13.7), (35.0, 14.8), (math.inf, 16.6))
"""Hot ohms over cold ones by watts up to which: filaments of 2,550, 2,780 and 3,050 K (tungsten table, Forsythe and
Worthing 1925; which lamps burn how hot from memory)."""
HIGHER_V = 18.0
"""Between the systems of 12 and 24 V."""
SURELY_OPEN = Band(800.0, 1e10)

THROW = "Throw it away; fit one of the printed rating, and look for what made it blow before the next one blows."
NEVER = "Never fit it: throw it away."
FUSE_FAULTS = (
    PartFault("fuse_blown", "the fuse is blown", THROW,
              {"dry": SURELY_OPEN, "ohm": Missing(), "scatter": Missing(), "least": Missing(), "film": Missing()}),
    PartFault("fuse_larger", "it is a larger fuse than it says", f"{NEVER} It lets a wire burn that it should protect.",
              {"ohm": Band(0.03, 0.8), "least": Band(0.9, 100.0)}, share=RARE * 3,
              further="Read the print on the other side; weigh it against a sure one of that rating."),
    PartFault("fuse_bridged", "its element is bridged: wire, solder or foil", f"{NEVER} It is no fuse.",
              {"ohm": Band(1e-4, 0.6), "least": Band(0.003, 0.75), "dry": Band(1e-3, EMF_OHM)}, share=RARE * 3,
              further="Hold it against the light: is its element whole and of its own metal?"),
    PartFault("fuse_smaller", "it is a smaller fuse than it says", "Fit it nowhere: it blows early.",
              {"ohm": Band(1.28, 30.0)}, share=RARE * 3,
              further="Read the print on the other side; test another one of the same box."),
    PartFault("fuse_cracked", "its element is cracked: another resistance with every load", f"{NEVER} It opens when it"
              " is shaken or warm.", {"ohm": Band(1.05, 200.0), "scatter": Band(0.06, 50.0), "film": Band(0.25, 4.0),
              "dry": Band(1e-3, 10.0)},
              further="Push it in anew and test it again: a loose blade reads otherwise then, a crack does not."),
    PartFault("fuse_blades", "its blades are corroded: they read high at a few mA and much less under load",
              "Clean its blades and clips, push it in and out three times, and test it again.",
              {"ohm": Band(1.05, 60.0), "dry": Band(0.06, 300.0), "scatter": Band(0.004, 0.6),
              "film": Band(2.0, 1e4)}, fate="fit with care",
              further="Clean its blades and test it again."),
)  # fmt: skip
FUSE_SOUND: dict[str, Expected] = {
    "dry": Band(1e-3, EMF_OHM), "ohm": Band(0.86, 1.14), "scatter": Band(0.001, 0.03), "least": Band(0.9, 100.0),
    "film": Band(0.7, 1.4),
}  # fmt: skip
LAMP_FAULTS = (
    PartFault("lamp_open", "its filament is broken", "Throw it away.",
              {"dry": SURELY_OPEN, "amps": Missing(), "cold": Missing(), "warming": Missing(),
               "print": Anything()}),
    PartFault("lamp_shorted", "it is shorted: its leads touch, or its base is bridged", "Throw it away.",
              {"dry": Band(1e-3, 0.06), "amps": Band(1.5, 1e4), "cold": Missing(), "warming": Missing()},
              share=RARE * 3),
    PartFault("lamp_higher", "it is a lamp for a higher voltage", "Fit it only where that voltage is: here it is dim.",
              {"amps": Band(0.28, 0.43), "cold": Band(1.18, 1.6), "print": Band(2.6, 5.5)}, share=RARE * 3,
              fate="fit with care", further="Read the volts on its base."),
    PartFault("lamp_lower", "it is a lamp for a lower voltage", "Fit it only where that voltage is: here it burns out.",
              {"amps": Band(2.3, 3.6), "cold": Band(0.62, 0.86), "print": Band(0.18, 0.36)}, share=RARE * 3,
              fate="fit with care", further="Read the volts on its base."),
    PartFault("lamp_weaker", "it is a lamp of less power than it should be", "Fit it only where such a one belongs.",
              {"amps": Band(0.03, 0.76), "print": Band(1.3, 40.0)}, share=RARE * 3,
              fate="fit with care", further="Read the watts on its base."),
    PartFault("lamp_stronger", "it is a lamp of more power than it should be", "Fit it only where such a one belongs:"
              " here it overheats holder and wire.", {"amps": Band(1.3, 30.0), "print": Band(0.03, 0.76)},
              share=RARE * 3,
              fate="fit with care", further="Read the watts on its base."),
    PartFault("lamp_base", "its base is corroded: resistance in series with the filament",
              "Clean its base and test it again.", {"amps": Band(0.1, 0.97, or_missing=0.4),
              "cold": Band(1.3, 30.0, or_missing=0.4), "dry": Anything(), "print": Band(1.3, 1e4),
              "warming": Band(15.0, 900.0)}, fate="fit with care",
              further="Clean its base and test it again."),
    PartFault("lamp_none", "there is no filament in it: a resistor, or electronics", "It is no filament lamp; where a"
              " flasher or a control unit counts the lamp's current it will not do.",
              {"amps": Missing(), "cold": Missing(), "warming": Band(88.0, 125.0), "print": Anything()}, share=RARE * 3,
              fate="fit with care"),
)  # fmt: skip
LAMP_SOUND: dict[str, Expected] = {
    "dry": Band(0.06, 600.0), "amps": Band(0.83, 1.18), "cold": Band(0.9, 1.12), "warming": Band(180.0, 1500.0),
    "print": Band(0.75, 1.35),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Table:
    """Of one component: what a sound part reads, by clue, and its faults."""

    sound: dict[str, Expected]
    faults: tuple[PartFault, ...]


TABLES = {"fuse": Table(FUSE_SOUND, FUSE_FAULTS), "lamp": Table(LAMP_SOUND, LAMP_FAULTS)}


def named(rating: KindRating, findings: Iterable[Finding], failed: bool = False) -> tuple[NamedFault, ...]:
    """See `Named`; nothing of a component that has no table."""
    assert isinstance(rating, TwoTerminalRating)
    table = _table(rating)
    found = clues(rating, findings)
    if table is None or not found:
        return ()
    logs = {"": _log(found, table.sound) if not failed else -math.inf}
    for fault in table.faults:
        logs[fault.id] = math.log(fault.share) + _log(found, table.sound | fault.does)
    most = max(logs.values())
    total = sum(math.exp(log - most) for log in logs.values())
    weights = {id: math.exp(log - most) / total for id, log in logs.items()}
    if weights[""] == max(weights.values()):
        return ()
    ranked = sorted(table.faults, key=lambda one: -weights[one.id])
    shown = [one for one in ranked if one is ranked[0] or weights[one.id] >= SHOWN_FROM]
    return tuple(_named(one, ranked[0], table, weights, found) for one in shown)


def _table(rating: TwoTerminalRating) -> Table | None:
    """That of its component, without lamps of another system that there are none of below 12 and above 24 V."""
    table, system_v = TABLES.get(rating.component), rating.system_v
    no = "lamp_lower" if system_v < HIGHER_V else "lamp_higher"
    return table and Table(table.sound, tuple(one for one in table.faults if one.id != no))


def clues(rating: TwoTerminalRating, findings: Iterable[Finding]) -> dict[str, Clue]:
    """What is known of the part, by clue."""
    found: dict[str, Clue] = {}
    findings = tuple(findings)
    for key, id, scale, least in _scales(rating):
        for one in findings:
            if one.id == id and (clue := _clue(key, one, scale, least)):
                found[key] = clue
    by_id = {one.id: one for one in findings}
    if rating.component == "lamp" and (cold := _cold(rating, by_id)):
        found["cold"] = cold
    if rating.component == "lamp" and "amps" not in found and (printed := _printed(rating, by_id)):
        found["print"] = printed
    if rating.component == "fuse" and (film := _film(by_id)):
        found["film"] = film
    return found


def _scales(rating: TwoTerminalRating) -> list[tuple[str, str, float, float]]:
    """Clue, the id that it comes from, what that is divided by, and the least that can be told."""
    if rating.component == "lamp":
        current = rating.current or 1.0
        return [
            ("dry", "pair_dry", 1.0, 1e-3),
            ("amps", "lamp_current", current, 1e-3),
            ("warming", "lamp_warming", 1, 1),
        ]
    plain = [("dry", "pair_dry", 1.0, 1e-3), ("least", "pair_resistance", LARGEST_OHM, 1e-3)]
    if rating.resistance is None:
        return plain
    return [
        *plain,
        ("ohm", "pair_resistance", rating.resistance, 1e-3),
        ("scatter", "pair_scatter", rating.resistance, 1e-3),
    ]


def _clue(key: str, one: Finding, scale: float, least: float) -> Clue | None:
    if isinstance(one, NotTested):
        return Clue(key, one.id, "not measured", missing=True) if one.because == "part" else None
    assert one.value is not None
    bound = {"=": "", ">": "more than ", "<": "less than "}[one.bound]
    shown = f"{bound}{show(one.value, one.unit, one.expanded_uncertainty)}"
    return Clue(key, one.id, shown, one.value / scale, one.standard_uncertainty / scale, one.bound, least=least)


def _printed(rating: TwoTerminalRating, by_id: Mapping[str, Finding]) -> Clue | None:
    """Where its current is not known: cold ohms over those of a lamp as it is printed."""
    cold = by_id.get("pair_dry")
    if not isinstance(cold, Reading) or cold.bound != "=" or not rating.nominal or not rating.current:
        return None
    watts = rating.nominal * rating.current
    expected = rating.nominal / rating.current / next(ratio for most, ratio in HOT if watts <= most)
    shown = f"{show(cold.number, 'ohm', cold.expanded_uncertainty)}, {show(expected, 'ohm')} by its print"
    return Clue("print", "pair_dry", shown, cold.number / expected, cold.standard_uncertainty / expected, least=1e-2)


def _film(by_id: Mapping[str, Finding]) -> Clue | None:
    """Ohms at a few mA over those under load, neither taken below what can be told: a film breaks under load."""
    dry, loaded = by_id.get("pair_dry"), by_id.get("pair_resistance")
    if isinstance(loaded, NotTested) and loaded.because == "part":
        return Clue("film", "pair_dry", "not measured", missing=True)
    if not (isinstance(dry, Reading) and isinstance(loaded, Reading)):
        return None
    over, under = max(dry.number, EMF_OHM), max(loaded.number, EMF_OHM)
    u = math.hypot(dry.standard_uncertainty / over, loaded.standard_uncertainty / under) * over / under
    shown = f"{show(dry.number, 'ohm', dry.expanded_uncertainty)}, and {show(loaded.number, 'ohm')} under load"
    return Clue("film", "pair_dry", shown, over / under, u)


def _cold(rating: TwoTerminalRating, by_id: Mapping[str, Finding]) -> Clue | None:
    """Cold ohms times current at rated volts, over what a filament of those volts has: they go with each other."""
    warming, amps = by_id.get("lamp_warming"), by_id.get("lamp_current")
    if isinstance(amps, NotTested) and amps.because == "part":
        return Clue("cold", "lamp_current", "not measured", missing=True)
    if not (isinstance(warming, Reading) and isinstance(amps, Reading)):
        return None
    told = {one.name: one.value for one in warming.conditions if one.value}
    volts, load = told.get("volts across"), told.get("load")
    if not volts or not load or not rating.nominal:
        return None
    cold_ohm = volts / load / (warming.number / 100)
    watts = rating.nominal * amps.number
    expected = rating.nominal / amps.number / next(ratio for most, ratio in HOT if watts <= most)
    u = math.hypot(warming.standard_uncertainty / warming.number, amps.standard_uncertainty / amps.number)
    ratio = cold_ohm / expected
    return Clue(
        "cold", "lamp_warming", f"{show(cold_ohm, 'ohm')} cold, {show(expected, 'ohm')} expected", ratio, u * ratio
    )


def _log(found: Mapping[str, Clue], expected: Mapping[str, Expected]) -> float:
    return sum(math.log(agreement(clue, expected[key])) for key, clue in found.items())


def _named(
    fault: PartFault, best: PartFault, table: Table, weights: Mapping[str, float], found: Mapping[str, Clue]
) -> NamedFault:
    rivals = [one for one in table.faults if one is not fault and weights[one.id] >= RIVAL_FROM * weights[best.id]]
    told = []
    for key, clue in found.items():
        text = f"{MEASUREMENTS[clue.id].title}: {clue.shown}"
        if key in fault.does and outside(clue, table.sound[key]) and not outside(clue, fault.does[key]):
            told.append(Evidence(id=clue.id, text=text, speaks="for"))
        elif outside(clue, (table.sound | fault.does)[key]):
            told.append(Evidence(id=clue.id, text=text, speaks="against"))
    return NamedFault(
        id=fault.id,
        title=fault.title,
        weight=min(weights[fault.id], 1.0),
        advice=fault.advice,
        never_fit=fault.fate == "never fit",
        evidence=tuple(sorted(told, key=lambda one: one.speaks == "against")),
        rivals=tuple(one.id for one in rivals),
        rival_titles=tuple(one.title for one in rivals),
        further=fault.further,
    )
