"""Invented fuses and lamps, sound and faulty, with what is true of them; in one of two worlds.

`own`: the plant's tungsten and zinc. `other`: lamps that keep to the handbook's exponents exactly, with a mass of their
own, and fuses of makers whose ohms and alloys differ; the limits and bands were not fitted to it.
"""

import random
from dataclasses import dataclass
from typing import Any, Literal

from pulldrop.model.part.kinds.two_terminal import TwoTerminalRating
from pulldrop.plant.between_clips import Element, FilamentElement, InSocket
from pulldrop.plant.pair.filament import AIR_K, HEAT, Filament, between
from pulldrop.plant.pair.fuse import Size, cold_mohm
from pulldrop.plant.parts.two_terminal import PairFaults, TwoTerminalSpecimen
from pulldrop.protocol.ratings.classes import classes_of

World = Literal["own", "other"]
SOUND_SHARE = 0.4
FUSE_FAULTS = ("fuse_blown", "fuse_larger", "fuse_smaller", "fuse_bridged", "fuse_cracked", "fuse_blades")
LAMP_FAULTS = (
    "lamp_open", "lamp_shorted", "lamp_higher", "lamp_lower", "lamp_weaker", "lamp_stronger", "lamp_base", "lamp_none",
)  # fmt: skip
ROW_A = (3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0)
"""Rated amps that fuses are made for."""
ROW_W = (1.2, 2.0, 3.0, 5.0, 10.0, 15.0, 21.0, 35.0, 55.0, 70.0, 100.0)
"""Watts that lamps are made for (from memory)."""
LEAST_EVENING_A = 3.5
"""An evening build loads no smaller fuse."""
LEAST_LAMP_W = 4.0
"""Smaller lamps take too little through the load branches; the bench says so."""


@dataclass(frozen=True)
class OtherFilament:
    """A lamp by the handbook: amps by a power of volts, ohms by another of kelvin, and a mass."""

    volts: float
    amps: float
    hot_k: float
    power: float
    kilograms: float

    def ohm(self, kelvin: float) -> float:
        """At a temperature."""
        return self.volts / self.amps * (kelvin / self.hot_k) ** 1.2

    def watts(self, kelvin: float) -> float:
        """What it gives off."""
        law = (1 + self.power) / (1 - self.power) * 1.2
        return self.volts * self.amps * ((kelvin / self.hot_k) ** law - (AIR_K / self.hot_k) ** law)

    def amps_at(self, volts: float) -> float:
        """Steady."""
        return self.amps * (volts / self.volts) ** self.power

    def warmed(self, kelvin: float, volts: float, series_ohm: float, seconds: float, most_v: float) -> float:
        """As `Filament.warmed`."""
        left = seconds
        while left > 1e-9:
            ohm = self.ohm(kelvin)
            across_v = min(volts * ohm / (ohm + series_ohm), most_v)
            rate = (across_v**2 / ohm - self.watts(kelvin)) / (self.kilograms * between(HEAT, kelvin))
            step = min(left, 10.0 / max(abs(rate), 1e-6), 1e-3)
            kelvin, left = kelvin + rate * step, left - step
        return kelvin


class DrawnSpecimen(TwoTerminalSpecimen):
    """With a filament of the other world."""

    filament: Any = None

    def element(self) -> Element:
        """See `TwoTerminalSpecimen`."""
        plain = self.filament is None or self.faults.open or self.faults.bridge_mohm
        return super().element() if plain else FilamentElement(self.filament)


@dataclass(frozen=True)
class DrawnPair:
    """One part: the rating that it is tested by, what is wrong with it (empty: nothing), and true values by id."""

    rating: TwoTerminalRating
    part: InSocket
    fault: str
    true: dict[str, float]
    evening: bool


def draw(chance: random.Random, world: World) -> DrawnPair:
    """One of the shipped ratings, and a part."""
    evening = chance.random() < 0.4
    ratings = [one for one in classes_of("two-terminal") if isinstance(one, TwoTerminalRating) and _shown(one, evening)]
    rating = chance.choice(ratings)
    if rating.component == "fuse":
        return _fuse(chance, world, rating, evening)
    return _lamp(chance, world, rating, evening)


def _shown(rating: TwoTerminalRating, evening: bool) -> bool:
    amps = rating.current or 0.0
    if rating.component == "fuse":
        return not evening or amps > LEAST_EVENING_A
    return amps * (rating.nominal or 0.0) > LEAST_LAMP_W


def _fuse(chance: random.Random, world: World, rating: TwoTerminalRating, evening: bool) -> DrawnPair:
    fault = "" if chance.random() < SOUND_SHARE else chance.choice(FUSE_FAULTS)
    rated = rating.current or 1.0
    size: Size = next(one for one in ("mini", "regular", "maxi") if one in rating.rating)
    spread = chance.gauss(0, 0.03) if world == "own" else chance.choice((-0.05, 0.0, 0.05)) + chance.gauss(0, 0.015)
    wrong: dict[str, float | bool] = {}
    typical = (rating.resistance or 1.0) * 1e3
    match fault:
        case "fuse_blown":
            wrong = {"open": True}
        case "fuse_larger" | "fuse_smaller":
            larger = fault == "fuse_larger"
            row = [a for a in ROW_A if (a > rated * 1.3 if larger else a < rated / 1.3) and (larger or a >= rated / 4)]
            if not row:
                fault = ""
            else:
                rated = chance.choice(row)
        case "fuse_bridged":
            wrong = {"bridge_mohm": min(chance.uniform(0.03, 0.5), 0.5 * typical)}
        case "fuse_cracked":
            wrong = {"crack_mohm": typical * 10 ** chance.uniform(-0.3, 1.5)}
        case "fuse_blades":
            wrong = {"film_ohm": 10 ** chance.uniform(-0.5, 1.5)}
    same = cold_mohm(size, rating.current or 1.0) if rated == rating.current else None
    base = same or cold_mohm(size, rated)
    specimen = DrawnSpecimen(
        kind="two-terminal", title="drawn", component="fuse", size=size, rated_a=rated, factor=1 + spread,
        faults=PairFaults(**wrong),
    )  # fmt: skip
    known = fault in ("", "fuse_larger", "fuse_smaller")
    true = {"pair_resistance": base * 1e-3 * (1 + spread)} if known else {}
    return DrawnPair(rating, specimen.in_socket(), fault, true, evening)


def _lamp(chance: random.Random, world: World, rating: TwoTerminalRating, evening: bool) -> DrawnPair:
    fault = "" if chance.random() < SOUND_SHARE else chance.choice(LAMP_FAULTS)
    volts, amps = rating.nominal or 12.0, rating.current or 1.0
    if (fault, volts) in (("lamp_higher", 24.0), ("lamp_lower", 12.0)):
        fault = {"lamp_higher": "lamp_lower", "lamp_lower": "lamp_higher"}[fault]
    wrong: dict[str, float | bool] = {}
    hot_ohm = volts / amps
    match fault:
        case "lamp_open":
            wrong = {"open": True}
        case "lamp_shorted":
            wrong = {"bridge_mohm": chance.uniform(2, 30)}
        case "lamp_higher":
            volts, amps = 24.0, amps / 2
        case "lamp_lower":
            volts, amps = 12.0, amps * 2
        case "lamp_weaker" | "lamp_stronger":
            more = fault == "lamp_stronger"
            now = volts * amps
            row = [w for w in ROW_W if (w > 1.8 * now if more else LEAST_LAMP_W < w < now / 1.8)]
            if not row:
                fault = ""
            amps = chance.choice(row or [now]) / volts
        case "lamp_base":
            wrong = {"film_ohm": hot_ohm * 10 ** chance.uniform(-0.3, 0.3)}
    if fault == "lamp_none":
        ohm = hot_ohm * chance.uniform(0.5, 1.5)
        plain = DrawnSpecimen(kind="two-terminal", title="drawn", component="resistor", ohm=ohm)
        return DrawnPair(rating, plain.in_socket(), fault, {}, evening)
    amps *= 1 + chance.uniform(-0.08, 0.08)
    watts = volts * amps
    hot_k = (2550 if watts < 8 else 2780 if watts < 35 else 3050) + chance.uniform(-100, 100)
    own = Filament(volts, amps, hot_k, chance.uniform(0.05, 0.25))
    other = OtherFilament(volts, amps, hot_k, chance.uniform(0.53, 0.58), own.kilograms * chance.uniform(0.7, 1.4))
    used: Filament | OtherFilament = own if world == "own" else other
    specimen = DrawnSpecimen(
        kind="two-terminal", title="drawn", component="lamp", volts=volts, amps=amps, hot_k=hot_k, gas=own.gas,
        faults=PairFaults(**wrong), filament=None if world == "own" else other,
    )  # fmt: skip
    true = {} if wrong else {"lamp_current": used.amps_at(rating.nominal or 12.0)}
    return DrawnPair(rating, specimen.in_socket(), fault, true, evening)
