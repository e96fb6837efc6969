"""The vehicle lead on one vehicle: where its clips, its bulb and the relay are, and the volts at each pin by time.

Rule: the circuit is solved anew only where something changed; between, the capacitors at the pins follow by their own
time. What a hand does is a `Placement` from a moment on.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from pulldrop.plant.noise import Chance
from pulldrop.plant.vehicle.adapter import JOINED_OHM, hung_ohm
from pulldrop.plant.vehicle.circuit import Solved, solve
from pulldrop.plant.vehicle.elements import Battery, Element, Lamp, Moment, Ohmic, Output
from pulldrop.plant.vehicle.vehicle import Vehicle

INPUTS = ("X1", "X2", "X3", "X4")
GROUND, MINUS = "X5", "X6"
SERIES_OHM, FOOT_OHM, GROUND_OHM, FARAD = 100e3, 12e3, 47e3, 100e-9
"""R141 to R144, R145 to R148, R149, C141 to C145 (hardware/lead)."""
PART, PART_PER_K = 0.01, 100e-6
"""Limits of the resistors: 1 %, 100 ppm/K."""
LEAK_A = 0.1e-6
"""At a converter's pin, either way, at most (assumed; the sheet's 1 uA is for every temperature)."""
SAMPLER_F, TURN_S = 14e-12, 100e-6
"""The converter's sampler brings so much of the input before it to the next one, every 0.1 ms (ATmega328P sheet)."""
OWN_V, OWN_ROOM = 1.1, 0.1
"""The chip's own reference: 1.0 to 1.2 V (ATmega328P data sheet)."""
BULB_W, FUSE_OHM = 5.0, 0.2
"""H1 and F12 with its leads (assumed)."""
PULLS, CLAMP_V = 0.6, 0.3
"""Share of its volts from which a relay pulls; what a pin's diodes let pass below ground."""
BEHIND_OHM = SERIES_OHM * FOOT_OHM / (SERIES_OHM + FOOT_OHM)
BROUGHT = SAMPLER_F / TURN_S / len(INPUTS) * BEHIND_OHM
STEP_S, KEPT = 1e-4, 4000
"""Between two solved moments, and how many of them are kept."""
CRANKED, CHARGED, OPEN_OHM = 0.72, 1.13, 1e9
"""Battery volts while the engine is started and while it runs, of those at rest (assumed): 9.1 and 14.2 of 12.6 V."""


@dataclass(frozen=True)
class Placement:
    """`clips`: X1 to X6, each with the node that it is on, left out where it hangs free; `bulb`: its two ends; `relay`:
    in its socket; `positions` of the controls; `parted`: elements that are open just now."""

    clips: Mapping[str, str] = field(default_factory=dict)
    bulb: tuple[str, str] | None = None
    relay: bool = False
    positions: Mapping[str, str] = field(default_factory=dict)
    battery: Literal["on", "off", "cranked", "charged"] = "on"
    parted: frozenset[str] = frozenset()

    def key(self) -> object:
        """What makes two placements the same circuit."""
        return (
            tuple(sorted(self.clips.items())), self.bulb, self.relay, tuple(sorted(self.positions.items())),
            self.battery, self.parted,
        )  # fmt: skip


Broken = Literal["no series", "no foot", "short foot", "no capacitor"]
"""What may be wrong at an input or at X5: R141 or its wire open, R145 open, the pin to ground, C141 open."""


class Lead:
    """On `vehicle`; `seed` draws resistors, leakage and the chip's reference, None: all as printed."""

    def __init__(self, vehicle: Vehicle, seed: int | None) -> None:
        self.vehicle = vehicle
        self.broken: dict[str, Broken] = {}
        self.coil_ohm = hung_ohm("coil", vehicle.system_v)
        chance = None if seed is None else Chance(seed ^ 0x1EAD)

        def within(most: float) -> float:
            return chance.within(most) if chance else 0.0

        self._shares = tuple(1 / (1 + SERIES_OHM / FOOT_OHM * (1 + within(PART)) / (1 + within(PART))) for _ in INPUTS)
        self._leaks = tuple(within(LEAK_A) for _ in range(5))
        self.own_v = OWN_V * (1 + within(OWN_ROOM))
        self._placed: list[tuple[float, Placement]] = [(0.0, Placement())]
        self._solved: dict[object, tuple[tuple[float, ...], tuple[float, ...]]] = {}
        self._last: tuple[Placement, tuple[bool, ...], tuple[tuple[float, ...], tuple[float, ...]]] | None = None
        self._pulsed = [one for one in vehicle.elements if isinstance(one, Output) and one.hz]
        self._rows: list[tuple[float, ...]] = [(0.0,) * 5]
        self._first = 0

    # --- what a hand does ---

    @property
    def plus(self) -> str:
        """The node of the battery's plus post."""
        return next(one.a for one in self.vehicle.elements if isinstance(one, Battery))

    def placed(self, time_s: float) -> Placement:
        """What holds at a moment."""
        return next(one for at, one in reversed(self._placed) if at <= time_s)

    def place(self, placement: Placement, time_s: float) -> None:
        """From a moment on; what was to come after it is forgotten."""
        self._placed = [one for one in self._placed if one[0] < time_s] + [(time_s, placement)]
        kept = max(math.ceil(time_s / STEP_S) - self._first, 1)
        del self._rows[kept:]

    def plan(self, placement: Placement, time_s: float) -> None:
        """The same, and what was to come stays."""
        later = [one for one in self._placed if one[0] > time_s]
        self.place(placement, time_s)
        self._placed += later

    # --- what the pins see ---

    def pin_v(self, clip: int, time_s: float) -> float:
        """Volts at the pin of X1 (0) to X5 (4) against the Nano's ground, before its converter."""
        place = time_s / STEP_S
        at = int(place)
        self._reach(at + 1)
        low, high = self._rows[at - self._first][clip], self._rows[at + 1 - self._first][clip]
        return low + (high - low) * (place - at)

    def steady(self, from_s: float, to_s: float) -> bool:
        """Whether no pin moves between two moments."""
        first, last = int(from_s / STEP_S), int(to_s / STEP_S) + 1
        self._reach(last)
        return all(
            row is self._rows[last - self._first] for row in self._rows[first - self._first : last - self._first]
        )

    def converted_v(self, clip: int, time_s: float) -> float:
        """The same as the sampler takes X1 to X4 in turn, each with a little of the one before it."""
        pin = self.pin_v(clip, time_s)
        return pin + BROUGHT * (self.pin_v(clip - 1 if clip else 3, time_s) - pin) if clip < len(INPUTS) else pin

    def clip_v(self, time_s: float) -> tuple[float, ...]:
        """Volts at the clips X1 to X5 against the clip on minus: the truth."""
        return self._seen(time_s)[0]

    def _seen(self, time_s: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Volts at the clips, and where the pins go."""
        placement = self.placed(time_s)
        moment = Moment(time_s, self.vehicle.at_rest | dict(placement.positions)) if self._pulsed else None
        on = tuple(one.on(moment) for one in self._pulsed) if moment else ()
        if self._last is None or self._last[0] is not placement or self._last[1] != on:
            key = (placement.key(), on)
            if key not in self._solved:
                clips = self._clips(placement, Moment(time_s, self.vehicle.at_rest | dict(placement.positions)))
                self._solved[key] = (clips, self._towards(clips))
            self._last = (placement, on, self._solved[key])
        return self._last[2]

    def _clips(self, placement: Placement, moment: Moment) -> tuple[float, ...]:
        if MINUS not in placement.clips:
            return (0.0,) * 5
        volts = self.solved(placement, moment).volts
        zero = volts[placement.clips[MINUS]]
        return tuple(
            volts[placement.clips[name]] - zero if name in placement.clips else 0.0 for name in (*INPUTS, GROUND)
        )

    def solved(self, placement: Placement, moment: Moment) -> Solved:
        """The whole circuit with what hangs on it. A relay that pulls joins 30 and 87."""
        elements = [self._as_it_is(one, placement) for one in self.vehicle.broken()]
        cavities, minus = self.vehicle.socket.cavities, self.vehicle.minus
        to = placement.clips.get(MINUS, minus)
        hung: list[Element] = [
            _ohm(f"lead, {name}", placement.clips[name], to, SERIES_OHM + FOOT_OHM)
            for name in INPUTS
            if placement.clips.get(name, to) != to
        ]
        if placement.bulb:
            volts = 24.0 if self.vehicle.system_v == 24 else float(self.vehicle.system_v)
            near, far = placement.bulb
            hung.append(_ohm("lead, fuse of the bulb", near, "lead, bulb", FUSE_OHM))
            hung.append(Lamp(kind="lamp", name="lead, bulb", a="lead, bulb", b=far, watts=BULB_W, volts=volts))
        coil = _ohm("relay, coil", cavities["85"], cavities["86"], self.coil_ohm)
        if placement.relay:
            hung.append(coil)
        found = solve((*elements, *hung), minus, moment)
        if placement.relay and abs(found.between(coil.a, coil.b)) > PULLS * self.vehicle.system_v:
            hung.append(_ohm("relay, contact", cavities["30"], cavities["87"], JOINED_OHM))
            found = solve((*elements, *hung), minus, moment)
        return found

    def _as_it_is(self, one: Element, placement: Placement) -> Element:
        if one.name in placement.parted or (isinstance(one, Battery) and placement.battery == "off"):
            return _ohm(one.name, one.a, one.b, OPEN_OHM)
        if isinstance(one, Battery) and placement.battery != "on":
            share = CRANKED if placement.battery == "cranked" else CHARGED
            return one.model_copy(update={"volts": one.volts * share})
        return one

    def _reach(self, index: int) -> None:
        """Solve on until the row of `index` is there; the oldest are forgotten."""
        while self._first + len(self._rows) <= index:
            at_s = (self._first + len(self._rows)) * STEP_S
            self._rows.append(self._next(self._rows[-1], self._seen(at_s)[1]))
        if len(self._rows) > 2 * KEPT:
            del self._rows[:KEPT]
            self._first += KEPT

    def _towards(self, clips: tuple[float, ...]) -> tuple[float, ...]:
        shares = [self._share(i) for i in range(5)]
        inputs = [v * share + leak * BEHIND_OHM for v, share, leak in zip(clips[:4], shares, self._leaks, strict=False)]
        return (*inputs, clips[4] * shares[4] + self._leaks[4] * GROUND_OHM)

    def _share(self, clip: int) -> float:
        """Of a clip's volts at its pin; without its series resistor a pin stays near ground, as the sampler has it."""
        whole = self._shares[clip] if clip < len(INPUTS) else 1.0
        match self.broken.get(f"X{clip + 1}"):
            case "no series" | "short foot":
                return 0.0
            case "no foot":
                return 1.0
            case _:
                return whole

    @staticmethod
    def _next(row: tuple[float, ...], to: tuple[float, ...]) -> tuple[float, ...]:
        if row is to:
            return row
        moved = [b + (a - b) * _FAST for a, b in zip(row[:4], to, strict=False)]
        ground = to[4] + (row[4] - to[4]) * _SLOW
        new = tuple(min(max(one, -CLAMP_V), 5.0 + CLAMP_V) for one in (*moved, ground))
        return to if all(abs(a - b) < 1e-7 for a, b in zip(new, to, strict=True)) else new


_FAST = math.exp(-STEP_S / (BEHIND_OHM * FARAD))
_SLOW = math.exp(-STEP_S / (GROUND_OHM * FARAD))


def _ohm(name: str, a: str, b: str, ohm: float) -> Ohmic:
    return Ohmic(kind="resistor", name=name, a=a, b=b, ohm=ohm)


def moved(placement: Placement, **clips: str | None) -> Placement:
    """The same with clips elsewhere, or off (None)."""
    now = {**placement.clips, **clips}
    return replace(placement, clips={name: node for name, node in now.items() if node is not None})
