"""Random switches of every kind, with what they truly join, and random people who turn them.

Rule: what is true is worked out here from the drawn pairs alone, by other code than the bench's.
"""

import random
from dataclasses import dataclass
from typing import Any

from turned import switch

from pulldrop.plant.parts.switch import SwitchSpecimen
from pulldrop.plant.switch.person import Habits

KINDS = ("toggle", "rocker", "momentary", "rotary", "pull", "ignition", "hazard", "ladder", "scrambled")
NAMES = ("30", "15", "56", "56a", "56b", "58", "57", "31", "L", "R", "49", "49a", "50", "53", "53a", "54")
Joined = frozenset[frozenset[str]]
E24 = (51.0, 91.0, 150.0, 270.0, 470.0, 1000.0, 2700.0)


@dataclass(frozen=True)
class TrueSwitch:
    """`rows`: what the visited positions join, along the knob; `springs`: rows that spring back, and to which row;
    `ladder_ohm`: between the two terminals, by row; `overlaps`: make before break; `inside`: parts built in; `loose`:
    a wiggle opens a pair; `lacks`: the person skips a position, or leaves."""

    kind: str
    rows: tuple[Joined, ...]
    springs: dict[int, int]
    ladder_ohm: tuple[float, ...]
    overlaps: bool
    inside: int
    loose: bool
    film: bool
    live: bool
    lacks: bool


@dataclass(frozen=True)
class DrawnSwitch:
    """One switch, whoever turns it, and what is true of it."""

    specimen: SwitchSpecimen
    habits: Habits
    expected: int | None
    bare: bool
    truth: TrueSwitch


def draw(chance: random.Random) -> DrawnSwitch:
    """One of each. States are all different, as a table of an unknown switch can show no others."""
    kind = chance.choice(KINDS)
    while True:
        given = _design(kind, chance)
        rows = [joined(pairs, ()) for pairs in given["positions"].values()]
        if kind == "ladder" or len(set(rows)) == len(rows):
            break
    return _with_person(kind, given, chance)


def joined(pairs: list[str], films: tuple[str, ...]) -> Joined:
    """Groups of terminals that pairs without a film join."""
    groups: list[set[str]] = []
    for pair in pairs:
        if pair in films:
            continue
        ends = set(pair.split("-"))
        touched = [one for one in groups if one & ends]
        groups = [one for one in groups if not one & ends] + [ends.union(*touched)]
    return frozenset(frozenset(one) for one in groups)


def _design(kind: str, chance: random.Random) -> dict[str, Any]:
    names = chance.sample(NAMES, 8)
    return {
        "toggle": _toggle, "rocker": _rocker, "momentary": _momentary, "rotary": _rotary, "pull": _pull,
        "ignition": _ignition, "hazard": _hazard, "ladder": _ladder, "scrambled": _scrambled,
    }[kind](names, chance)  # fmt: skip


def _toggle(names: list[str], chance: random.Random) -> dict[str, Any]:
    poles = [names[3 * i : 3 * i + 3] for i in range(chance.choice((1, 1, 2)))]
    up, down = ([f"{common}-{ends[way]}" for common, *ends in poles] for way in (0, 1))
    given = {"up": up, "off": [], "down": down} if chance.random() < 0.5 else {"up": up, "down": down}
    return {"positions": given if chance.random() < 0.7 else {"off": [], "up": up}}


def _rocker(names: list[str], chance: random.Random) -> dict[str, Any]:
    feed, load, ground = names[:3]
    lamp = {"between": f"{load}-{ground}", **_lamp(chance)}
    return {"positions": {"off": [], "on": [f"{feed}-{load}"]}, "inside": [lamp]}


def _lamp(chance: random.Random) -> dict[str, Any]:
    if chance.random() < 0.5:
        volts = chance.choice((12.0, 24.0))
        return {"kind": "filament", "volts": volts, "watts": chance.choice((1.2, 2.0)) * volts / 12}
    return {"kind": chance.choice(("red led", "white led")), "ohm": chance.uniform(470, 2200)}


def _momentary(names: list[str], chance: random.Random) -> dict[str, Any]:
    feed, one, other = names[:3]
    if chance.random() < 0.5:
        return {"positions": {"off": [], "on": [f"{feed}-{one}"]}, "springs": {"on": "off"}}
    positions = {"one": [f"{feed}-{one}"], "off": [], "other": [f"{feed}-{other}"]}
    return {"positions": positions, "springs": {"one": "off", "other": "off"}}


def _rotary(names: list[str], chance: random.Random) -> dict[str, Any]:
    outputs = names[1 : 1 + chance.randint(3, 7)]
    positions = {f"p{i}": [f"{names[0]}-{one}"] for i, one in enumerate(outputs)}
    return {"positions": ({"off": []} if chance.random() < 0.5 else {}) | positions}


def _pull(names: list[str], chance: random.Random) -> dict[str, Any]:
    steps = chance.randint(2, 4)
    more = {f"pull {i}": [f"{names[0]}-{one}" for one in names[1 : i + 1]] for i in range(1, steps + 1)}
    lamps = [{"between": f"{names[1]}-{names[7]}", **_lamp(chance)}] if chance.random() < 0.3 else []
    return {"positions": {"in": [], **more}, "inside": lamps}


def _ignition(names: list[str], chance: random.Random) -> dict[str, Any]:
    feed, acc, ign, start, other, second = names[:6]
    on = [f"{feed}-{acc}", f"{feed}-{ign}", f"{other}-{second}"]
    positions = {"lock": [], "acc": [f"{feed}-{acc}"], "on": on, "start": [f"{feed}-{ign}", f"{feed}-{start}"]}
    if chance.random() < 0.3:
        del positions["acc"]
    return {"positions": positions, "springs": {"start": "on"}}


def _hazard(names: list[str], chance: random.Random) -> dict[str, Any]:
    on = [f"{names[0]}-{names[1]}", f"{names[2]}-{names[3]}", f"{names[2]}-{names[4]}"]
    off = [f"{names[5]}-{names[1]}"] if chance.random() < 0.7 else []
    return {"positions": {"off": off, "on": on}}


def _ladder(names: list[str], chance: random.Random) -> dict[str, Any]:
    keys = chance.randint(3, 6)
    points = [names[0], *(f"n{i}" for i in range(keys))]
    chain = [
        {"between": f"{a}-{b}", "kind": "resistor", "ohm": ohm * chance.uniform(0.98, 1.02)}
        for a, b, ohm in zip(points, points[1:], E24, strict=False)
    ]
    positions: dict[str, list[str]] = {f"key {i}": [f"{point}-{names[1]}"] for i, point in enumerate(points[1:])}
    return {"positions": positions, "inside": chain, "terminals": names[:2]}


def _scrambled(names: list[str], chance: random.Random) -> dict[str, Any]:
    used = names[: chance.randint(3, 8)]
    pairs = [f"{a}-{b}" for i, a in enumerate(used) for b in used[i + 1 :]]
    rows = {f"p{i}": chance.sample(pairs, chance.randint(0, min(4, len(pairs)))) for i in range(chance.randint(2, 8))}
    if not any(rows.values()):
        rows["p0"] = [pairs[0]]
    return {"positions": rows, "terminals": used}


def _with_person(kind: str, given: dict[str, Any], chance: random.Random) -> DrawnSwitch:
    names = list(given["positions"])
    pairs = sorted({pair for one in given["positions"].values() for pair in one})
    overlaps = chance.random() < 0.5
    given |= {
        "overlap": chance.uniform(0.08, 0.4) * (1 if overlaps else -1),
        "bounce_ms": chance.uniform(0.2, 12.0) if chance.random() < 0.95 else chance.uniform(12, 100),
        "contact_mohm": chance.lognormvariate(2.3, 0.8),
        "start": chance.choice(names),
    }
    films = (chance.choice(pairs),) if kind != "ladder" and chance.random() < 0.06 else ()
    loose = not films and kind != "ladder" and chance.random() < 0.1
    live = chance.random() < 0.03
    terminals = given.get("terminals") or list(dict.fromkeys(name for pair in pairs for name in pair.split("-")))
    faults: dict[str, Any] = {"films": {one: 10 ** chance.uniform(0.9, 3.3) for one in films}}
    if loose:
        faults["dead"] = [_edge(chance.choice(pairs), given, chance)]
    if live:
        faults["live"] = {chance.choice(terminals): chance.choice((12.6, 24.8))}
    skips, leaves = _absent(len(names), chance)
    skips -= {names.index(one) for one in (given["start"], *given.get("springs", {}).values())}
    deaf = chance.random() < 0.1
    habits = Habits(
        reacts_s=(chance.uniform(0.15, 0.5), chance.uniform(0.6, 3.0)), step_s=(0.04, chance.uniform(0.1, 1.0)),
        slow_s=chance.uniform(1.5, 5.0), wiggles=chance.random(), wiggle_steps=chance.uniform(0.01, 0.07), deaf=deaf,
        dwell_s=(chance.uniform(0.3, 2.0), chance.uniform(2.5, 6.0)), skips=skips, leaves_after=leaves,
        forgets=chance.uniform(0, 0.1),
    )  # fmt: skip
    expected = len(names) if chance.random() < 0.5 else None
    kept = [i for i in range(len(names)) if i not in skips]
    rows = [joined(given["positions"][names[i]], films) for i in kept]
    springs = {names.index(a): names.index(b) for a, b in given.get("springs", {}).items()}
    if kind == "ladder":
        rows = [frozenset()] * len(kept)
    specimen = switch(**given, faults=faults)
    ohms = [sum(part["ohm"] for part in given["inside"][: i + 1]) for i in kept] if kind == "ladder" else []
    truth = TrueSwitch(
        kind=kind, rows=tuple(rows), springs={kept.index(a): kept.index(b) for a, b in springs.items() if a in kept},
        ladder_ohm=tuple(ohms), overlaps=overlaps, inside=len(given.get("inside", ())) if kind != "ladder" else 0,
        loose=loose, film=bool(films), live=live, lacks=bool(skips) or leaves is not None,
    )  # fmt: skip
    bare = len(specimen.outside) <= 5 and chance.random() < 0.35
    return DrawnSwitch(specimen, habits, expected, bare, truth)


def _edge(pair: str, given: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """A dead spot just beside a position in which the pair is closed."""
    at = chance.choice([i for i, one in enumerate(given["positions"].values()) if pair in one])
    near = chance.uniform(0.01, 0.05)
    return {"pair": pair, "low": at + near, "high": at + 0.3}


def _absent(count: int, chance: random.Random) -> tuple[frozenset[int], int | None]:
    """A position that is skipped, or after how many words the person leaves."""
    draw = chance.random()
    if draw < 0.05 and count >= 3:
        return frozenset({chance.randrange(1, count - 1)}), None
    return frozenset(), chance.randint(0, 2 * count) if draw > 0.97 else None
