"""Drawn vehicles with a relay's socket: sound, with one fault or two, a lamp as ground, a trickle, a weak battery.

Rule: nothing here knows the judge's looks. What is true of a leg is what it loses in the working circuit, with the
relay's coil or contact there and whatever other lamps the vehicle has lit.
"""

import random
from dataclasses import dataclass
from typing import Any

from pulldrop.model.vehicle.socket import Leg
from pulldrop.plant.vehicle.elements import Ohmic
from pulldrop.plant.vehicle.vehicle import Vehicle

LOADS = {
    12: ((5, 1), (10, 2), (21, 1), (21, 2), (21, 4), (55, 1), (55, 2), (60, 2)),
    24: ((5, 2), (10, 4), (21, 2), (21, 6), (70, 1), (70, 2)),
}
"""Watts and number of the lamps."""
LIT = ("side lamps", "brake lamps")
COIL_OHM = {12: (60.0, 120.0), 24: (250.0, 400.0)}
DEAD_V = {12: 1.0, 24: 2.0}


@dataclass(frozen=True)
class Case:
    """A vehicle, what its person can light beside it, the watts of its load, and the drop of each leg in volts; for the
    load the share of its own volts that the lamps lack."""

    car: Vehicle
    lit: tuple[str, ...]
    watts: float
    coil_ohm: float
    drops: dict[Leg, float]
    kind: str

    def broken(self, leg: Leg, times: float = 1.0) -> bool:
        """Whether the leg is beyond `times` what keeps a circuit dead; a load lacks 30 % of its volts or more."""
        if leg == "load":
            return self.drops[leg] > min(0.3 * times, 0.9)
        return self.drops[leg] > times * DEAD_V[self.car.system_v]


def drawn(seed: int, number: int) -> Case:
    """One of them; each comes to rest."""
    rng = random.Random(seed * 1_000_003 + number)
    volts = rng.choice((12, 12, 24))
    cells = volts / 12
    watts, count = rng.choice(LOADS[volts])
    low_side = rng.random() < 0.2
    ground = rng.choice(("85", "86"))
    other = "86" if ground == "85" else "85"
    feed, load = ("30", "87") if rng.random() < 0.85 else ("87", "30")
    weak = rng.random() < 0.15
    module = not low_side and rng.random() < 0.2
    shared = not low_side and rng.random() < 0.35
    parts: list[dict[str, Any]] = [
        {
            "kind": "battery",
            "name": "battery",
            "a": "plus",
            "b": "post",
            "volts": cells * (rng.uniform(11.6, 12.1) if weak else rng.uniform(12.2, 12.9)),
            "ohm": cells * (rng.uniform(0.02, 0.06) if weak else rng.uniform(0.006, 0.014)),
        },
        _cable(rng, "main feed", "plus", "fuse box", (1, 4), (10, 35)),
        {
            "kind": "fuse",
            "name": "feed fuse",
            "a": "fuse box",
            "b": "after feed fuse",
            "rated_a": 10 if watts * count < 100 else 20,
            "clips_ohm": rng.uniform(0.5e-3, 4e-3),
        },
        _cable(rng, "feed wire", "after feed fuse", f"cavity {feed}", (0.5, 3), (2.5, 4)),
        {"kind": "joint", "name": "body strap", "a": "body", "b": "post", "ohm": rng.uniform(1e-3, 5e-3)},
        _cable(rng, "load wire", f"cavity {load}", "lamps", (1, 6), (1.5, 4)),
        *(
            {
                "kind": "lamp",
                "name": f"lamp {n + 1}",
                "a": "lamps",
                "b": "lamp ground",
                "watts": watts * rng.uniform(0.94, 1.06),
                "volts": volts,
            }
            for n in range(count)
        ),
        {"kind": "joint", "name": "lamp ground", "a": "lamp ground", "b": "body", "ohm": rng.uniform(1e-3, 1e-2)},
        {"kind": "fuse", "name": "side fuse", "a": "fuse box", "b": "after side fuse", "rated_a": 10},
        {
            "kind": "contact",
            "name": "side lamp contact",
            "a": "after side fuse",
            "b": "sides",
            "control": "side lamps",
            "closed_in": ["on"],
        },
        {
            "kind": "lamp",
            "name": "other side lamps",
            "a": "sides",
            "b": "body",
            "watts": 5 * rng.randint(1, 6),
            "volts": volts,
        },
        {"kind": "fuse", "name": "brake fuse", "a": "fuse box", "b": "after brake fuse", "rated_a": 10},
        {
            "kind": "contact",
            "name": "brake contact",
            "a": "after brake fuse",
            "b": "brakes",
            "control": "brake lamps",
            "closed_in": ["on"],
        },
        {"kind": "lamp", "name": "other brake lamp", "a": "brakes", "b": "body", "watts": 21, "volts": volts},
    ]
    if low_side:
        parts += [
            _cable(rng, "ground wire", "after feed fuse", f"cavity {ground}", (0.5, 3), (0.75, 1.5)),
            _cable(rng, "trigger wire", f"cavity {other}", "switch", (1, 6), (0.5, 1.5)),
            {
                "kind": "contact",
                "name": "switch",
                "a": "switch",
                "b": "body",
                "control": "switch",
                "closed_in": ["on"],
                "ohm": rng.uniform(3e-3, 0.05),
            },
        ]
    else:
        joint = "shared ground" if shared else "coil ground"
        parts += [
            _cable(rng, "ground wire", f"cavity {ground}", joint, (0.3, 2), (0.75, 1.5)),
            {"kind": "joint", "name": "ground joint", "a": joint, "b": "body", "ohm": rng.uniform(1e-3, 2e-2)},
            {"kind": "fuse", "name": "control fuse", "a": "fuse box", "b": "after control fuse", "rated_a": 5},
            {
                "kind": "output",
                "name": "switch",
                "a": "after control fuse",
                "b": "out",
                "most_a": 0.9,
                "ohm": rng.uniform(0.05, 0.6),
                "control": "switch",
                "closed_in": ["on"],
            }
            if module
            else {
                "kind": "contact",
                "name": "switch",
                "a": "after control fuse",
                "b": "out",
                "control": "switch",
                "closed_in": ["on"],
                "ohm": rng.uniform(3e-3, 0.05),
            },
            _cable(rng, "trigger wire", "out", f"cavity {other}", (1, 6), (0.5, 1.5)),
        ]
        if shared:
            parts.append(
                {
                    "kind": "lamp",
                    "name": "lamp on the shared ground",
                    "a": rng.choice(("sides", "brakes")),
                    "b": joint,
                    "watts": rng.choice((5, 10, 21)),
                    "volts": volts,
                }
            )
        if rng.random() < 0.25:
            parts.append(
                {
                    "kind": "lamp",
                    "name": "tell-tale",
                    "a": "out",
                    "b": "body",
                    "watts": rng.choice((1.2, 2.0)),
                    "volts": volts,
                }
            )
    kind, changes = _fault(rng, low_side, watts * count / volts)
    cavities = {n: f"cavity {n}" for n in ("30", "85", "86", "87")}
    works = {"switch": "on"}
    car = Vehicle.model_validate(
        {
            "title": f"drawn {seed}/{number}",
            "system_v": volts,
            "minus": "post",
            "elements": parts,
            "controls": [{"name": name, "positions": ["off", "on"]} for name in ("switch", *LIT)],
            "socket": {"cavities": cavities, "feed": feed, "ground": ground, "low_side": low_side, "works": works},
            "fault": {"says": kind, "leg": None, "changes": changes} if changes else None,
        }
    )
    coil = rng.uniform(*COIL_OHM[volts])
    return Case(car, LIT, watts * count, coil, _drops(car, coil), kind)


def _cable(
    rng: random.Random, name: str, a: str, b: str, metre: tuple[float, float], mm2: tuple[float, float]
) -> dict[str, Any]:
    return {"kind": "cable", "name": name, "a": a, "b": b, "metre": rng.uniform(*metre), "mm2": rng.uniform(*mm2)}


def _fault(rng: random.Random, low_side: bool, load_a: float) -> tuple[str, dict[str, dict[str, Any]]]:
    """None in a quarter, one in half, two in the rest: ohms from a tenth of what matters to open, evenly by decades."""
    chance = rng.random()
    count = 0 if chance < 0.25 else 1 if chance < 0.75 else 2
    changes: dict[str, dict[str, Any]] = {}
    says = []
    for leg in rng.sample(("feed", "ground", "trigger", "load"), count):
        amps = load_a if leg in ("feed", "load") else 0.13
        series = 10 ** rng.uniform(-1, 2.5) / amps
        where, change = {
            "feed": rng.choice(
                (
                    ("feed wire", {"corroded_ohm": series}),
                    ("feed fuse", {"blown": True}),
                    ("feed fuse", {"clips_ohm": series}),
                )
            ),
            "ground": rng.choice(
                (("ground wire", {"corroded_ohm": series}), ("ground wire", {"broken": True}))
                if low_side
                else (
                    ("ground joint", {"ohm": series}),
                    ("ground joint", {"ohm": 1e7}),
                    ("ground wire", {"corroded_ohm": series}),
                )
            ),
            "trigger": rng.choice(
                (
                    ("trigger wire", {"corroded_ohm": series}),
                    ("trigger wire", {"broken": True}),
                    ("switch", {"dead": True}),
                )
            ),
            "load": rng.choice(
                (
                    ("load wire", {"broken": True}),
                    ("load wire", {"corroded_ohm": series}),
                    ("lamp ground", {"ohm": series}),
                )
            ),
        }[leg]
        changes[where] = change
        says.append(f"{leg}: {where} {change}")
    return "; ".join(says) or "sound", changes


def _drops(car: Vehicle, coil_ohm: float) -> dict[Leg, float]:
    """Each leg with the faults of its own elements alone, the worst over what else may be lit."""
    shared = "feed fuse" if car.socket.low_side else "ground joint"
    own: dict[Leg, tuple[str, ...]] = {
        "feed": ("feed wire", "feed fuse"), "ground": ("ground wire", shared),
        "trigger": ("trigger wire", "switch"), "load": ("load wire", "lamp ground"),
    }  # fmt: skip
    changes = car.fault.changes if car.fault else {}
    lit: tuple[dict[str, str], ...] = ({}, *({name: "on"} for name in LIT))
    found: dict[Leg, float] = {}
    for leg, names in own.items():
        kept = {name: changes[name] for name in names if name in changes}
        fault = car.fault.model_copy(update={"changes": kept}) if car.fault and kept else None
        alone = car.model_copy(update={"fault": fault})
        found[leg] = max(_drop(alone, leg, coil_ohm, one) for one in lit)
    return found


def _drop(car: Vehicle, leg: Leg, coil_ohm: float, lit: dict[str, str]) -> float:
    """Feed and load with the contact closed, an end of the coil with a coil on it."""
    socket = car.socket
    node = socket.node(leg)
    fed = {"feed": True, "load": True, "trigger": not socket.low_side, "ground": socket.low_side}[leg]
    hung = Ohmic(kind="coil", name="coil", a=node, b="post" if fed else "plus", ohm=coil_ohm)
    if leg in ("feed", "load"):
        hung = Ohmic(kind="joint", name="contact", a="cavity 30", b="cavity 87", ohm=5e-3)
    now = car.solved(socket.works | lit, (hung,))
    if leg == "load":
        return 1 - now.between("lamps", "lamp ground") / now.volts[node]
    return now.volts["plus"] - now.volts[node] if fed else now.volts[node]
