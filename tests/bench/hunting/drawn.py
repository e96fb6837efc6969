"""Drawn circuits for hunts: cabins, rules, delays, faults, in worlds of which some are not the searcher's.

Rule: nothing here asks the room `hunt`; what a circuit does is worked out from its paths alone.
"""

import random
from dataclasses import dataclass, field
from typing import Literal

from pulldrop.model.hunt import control as cabin
from pulldrop.model.hunt.control import CabinControl, ControlKind, Precautions, Reach
from pulldrop.model.hunt.look import Side, WireLevel, WireLook

World = Literal["trial", "fuller", "other", "three"]
Term = tuple[int, frozenset[int]]
"""A control and the positions in which its contact is closed."""
Positions = tuple[int, ...]


@dataclass(frozen=True)
class Shape:
    """How often a world has what. `orders`: paths of one to four terms."""

    never: float = 0.11
    memory: float = 0.06
    two: float = 0.23
    three: float = 0.0
    orders: tuple[float, ...] = (0.38, 0.34, 0.19, 0.09)
    key: float = 3.0
    inhibitor: float = 0.2
    delay: float = 0.15
    timer: float = 0.04
    faulty: float = 0.05
    backfeed: float = 0.0
    low_side: float = 0.0
    low: float = 0.0
    pulsed: float = 0.0
    start: float = 0.0
    neighbour: float = 0.0
    """Share of slips at which a control beside the named one is operated."""


SHAPES: dict[World, Shape] = {
    "trial": Shape(),
    "fuller": Shape(backfeed=0.3, low_side=0.2, low=0.1, pulsed=0.2, start=0.3, neighbour=0.15),
    "other": Shape(
        never=0.05,
        memory=0.12,
        two=0.38,
        orders=(0.25, 0.25, 0.25, 0.25),
        key=1.0,
        inhibitor=0.4,
        delay=0.25,
        faulty=0.1,
    ),
    "three": Shape(never=0.0, memory=0.0, two=0.0, three=1.0),
}


@dataclass(frozen=True)
class Circuit:
    """A cabin and what its wire does. `button`: of a memory relay, with its position and whether lost supply resets."""

    controls: tuple[CabinControl, ...]
    precautions: Precautions
    paths: tuple[tuple[Term, ...], ...]
    shape: Shape
    button: tuple[int, int, bool] | None = None
    trickle: tuple[Term, ...] | None = None
    on_s: float = 0.0
    off_s: float = 0.0
    misses: float = 0.0
    side: Side = Side.HIGH
    level: WireLevel = WireLevel.ON

    def closed(self, positions: Positions) -> bool:
        """Whether any path is closed."""
        return any(_closed(path, positions) for path in self.paths)


@dataclass
class Vehicle:
    """A circuit in time: positions as they truly are, and what the bench sees of the wire."""

    circuit: Circuit
    draw: random.Random
    positions: list[int] = field(default_factory=list)
    now_s: float = 0.0
    turned: bool = False
    _closed_since: float | None = None
    _opened_at: float = -1e9
    _on: bool = False

    def __post_init__(self) -> None:
        self.positions = [0] * len(self.circuit.controls)
        self._update(None)

    def put(self, control: int, position: int) -> None:
        """Move a control."""
        self.positions[control] = position
        self._update((control, position))

    def look(self, least_s: float, wait_s: float, fall_s: float) -> WireLook:
        """The wire watched for `wait_s`, or where it was on before the move until it goes off, `fall_s` at most; no
        less than `least_s`, for the hand goes to the next control meanwhile."""
        began, was_on = self.now_s, self._on
        off_at = self._opened_at + self.circuit.off_s if self._closed_since is None else float("inf")
        on_at = began if self._closed_since is None else max(began, self._closed_since + self.circuit.on_s)
        if was_on:
            self.now_s += max(least_s, min(fall_s, off_at - began + 0.5))
        else:
            self.now_s += max(least_s, wait_s)
        live = self._live(self.now_s) and self.draw.random() >= self.circuit.misses
        self._on = live
        if live:
            level = WireLevel.GROUND if self.circuit.side is Side.LOW else self.circuit.level
            return WireLook(level=level, rose_s=None if was_on else on_at - began)
        fell_s = min(max(0.0, off_at - began), self.now_s - began) if was_on else None
        trickles = self.circuit.trickle is not None and _closed(self.circuit.trickle, tuple(self.positions))
        return WireLook(level=WireLevel.WEAK if trickles else WireLevel.OPEN, fell_s=fell_s)

    def _update(self, moved: tuple[int, int] | None) -> None:
        closed = self.circuit.closed(tuple(self.positions))
        if self.circuit.button is not None:
            control, position, resets = self.circuit.button
            if closed and moved == (control, position):
                self.turned = not self.turned
            if resets and not closed:
                self.turned = False
            closed = closed and self.turned
        if closed and self._closed_since is None:
            self._closed_since = self.now_s
        elif not closed and self._closed_since is not None:
            if self._live(self.now_s):
                self._opened_at = self.now_s
            self._closed_since = None

    def _live(self, at_s: float) -> bool:
        if self._closed_since is not None and at_s - self._closed_since >= self.circuit.on_s:
            return True
        return at_s - self._opened_at < self.circuit.off_s


def draw_circuit(seed: int, n: int, world: World) -> Circuit:
    """One circuit; a rule that one person could never see at work is drawn again."""
    draw = random.Random(f"{world}{n}{seed}")
    shape = SHAPES[world]
    controls = _cabin(draw, n)
    precautions = Precautions(solenoid_off=draw.random() < shape.start)
    allowed = [
        [p for p in range(len(one.positions)) if precautions.solenoid_off or p not in one.cranks] for one in controls
    ]
    what = draw.random()
    paths: tuple[tuple[Term, ...], ...] = ()
    button = None
    if what < shape.never:
        pass
    elif what < shape.never + shape.memory and any(one.kind is ControlKind.MOMENTARY for one in controls):
        paths = (_path(draw, controls, allowed, shape, most=2),)
        buttons = [i for i, one in enumerate(controls) if one.kind is ControlKind.MOMENTARY]
        free = [i for i in buttons if all(i != term[0] for term in paths[0])]
        held = [term for term in paths[0] if all(p in controls[term[0]].springs for p in term[1])]
        if not free or held:
            return draw_circuit(seed + 1_000_003, n, world)
        button = (draw.choice(free), 1, draw.random() < 0.5)
    else:
        rest = draw.random() * (1 - shape.never - shape.memory)
        count = 3 if rest < shape.three else 2 if rest < shape.three + shape.two else 1
        paths = tuple(_path(draw, controls, allowed, shape) for _ in range(count))
        if any(set(one) <= set(other) for one in paths for other in paths if one is not other):
            return draw_circuit(seed + 1_000_003, n, world)
    side = Side.LOW if draw.random() < shape.low_side else Side.HIGH
    level = WireLevel.ON
    if side is Side.HIGH:
        level = draw.choices(
            (WireLevel.PULSED, WireLevel.LOW, WireLevel.ON), (shape.pulsed, shape.low, 1 - shape.pulsed - shape.low)
        )[0]  # fmt: skip
    return Circuit(
        controls=tuple(controls),
        precautions=precautions,
        paths=paths,
        shape=shape,
        button=button,
        trickle=_path(draw, controls, allowed, shape) if draw.random() < shape.backfeed else None,
        on_s=draw.uniform(0.3, 3.0) if draw.random() < shape.delay else 0.0,
        off_s=draw.uniform(3, 30) if draw.random() < shape.timer else 0.0,
        misses=0.08 if draw.random() < shape.faulty else 0.0,
        side=side,
        level=level,
    )


def _closed(path: tuple[Term, ...], positions: Positions) -> bool:
    return all(positions[control] in closed for control, closed in path)


def _cabin(draw: random.Random, n: int) -> list[CabinControl]:
    made = [cabin.key()]
    for i in range(1, n):
        reach = Reach.OUTSIDE if draw.random() < 0.1 else Reach.SEAT
        what = draw.random()
        if what < 0.5:
            made.append(cabin.latching(f"switch {i}", reach=reach))
        elif what < 0.75:
            made.append(cabin.momentary(f"button {i}", reach=reach))
        elif what < 0.85:
            made.append(cabin.rotary(f"rotary {i}", "0123"[: draw.choice((3, 4))], reach=reach))
        elif what < 0.92:
            made.append(cabin.stalk(f"stalk {i}", ("left", "right")))
        else:
            made.append(cabin.pull(f"pull {i}", 2))
    return made


def _path(
    draw: random.Random,
    controls: list[CabinControl],
    allowed: list[list[int]],
    shape: Shape,
    most: int = 4,
) -> tuple[Term, ...]:
    """Terms on different controls, which two hands in one place can hold."""
    while True:
        order = draw.choices(range(1, most + 1), shape.orders[:most])[0]
        inhibited = draw.random() < shape.inhibitor and order > 1
        left, made = list(range(len(controls))), list[Term]()
        for i in range(min(order, len(controls))):
            weights = [shape.key if controls[one].kind is ControlKind.KEY else 1.0 for one in left]
            one = draw.choices(left, weights)[0]
            left.remove(one)
            away = [p for p in allowed[one] if p]
            first = draw.randrange(len(away))
            last = draw.randrange(first, len(away))
            closed = frozenset(away[first : last + 1])
            if controls[one].kind is ControlKind.STALK and 1 < len(closed) < len(away):
                closed = frozenset(away)
            if inhibited and i == order - 1:
                closed = frozenset(allowed[one]) - closed
            made.append((one, closed))
        held = [one for one, closed in made if closed <= set(controls[one].springs)]
        if len(held) <= 2 and len({controls[one].reach for one in held}) <= 1:
            return tuple(sorted(made, key=lambda term: term[0]))
