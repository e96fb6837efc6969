"""What load pulses through one pair say of its contact drop, brought to the asked current.

The load that flows is not quite the one asked for; a drop is brought to that by Ohm's law, with a term for what need
not follow it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from pulldrop.measure.rig.counts.budget import median_of, nominal_value, rectangular, uncertain
from pulldrop.measure.rig.counts.ranges import FINEST, bend, drop_v, of_range
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, reading
from pulldrop.model.bench.calibration import Clips
from pulldrop.model.coverage import Shape
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.relay import SEEN_BY
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.model.reading import Finding, NotTested, amount

OFF_MOST = 0.2
"""By which share the load may be off. At that, a drop of 100 mV may be wrong by 14 to 18 mV, nearly all that it was
moved by, and `not_ohmic_v` grows faster than the drop: beyond, the term would say little but that nothing is known."""
SUPPLY_V, BLAME = 12.0, 0.25
"""A load that falls short by more is the contact's doing if it holds this share of the volts that the load supply then
seems to lack: its drop is a lower bound. Else the supply or a load resistor is off."""
SPOT_V = 2 * math.sqrt(2.44e-8 * 293.0 / 0.0041)
"""84 mV: 2 sqrt(L T / alpha), by the Lorenz number (V2/K2), the room (K) and silver's ohms (1/K); from memory."""
MELTS_V = 0.37
"""Across a spot of silver whose middle melts: none holds more (Holm, from memory)."""


@dataclass(frozen=True, slots=True)
class Make:
    """One pulse: drop and load current, in volts and amps by calibration, and the counts."""

    drop_v: float
    load_a: float
    counts: PulseCounts


@dataclass(slots=True)
class MakeSeries:
    """The makes of one pair so far, and how often it stayed open when it should have closed."""

    id: str
    pair: Pair
    makes: list[Make] = field(default_factory=list)
    stayed_open: int = 0

    @property
    def throw(self) -> Contact:
        """The throw of the bench that loads it."""
        return SEEN_BY[self.pair]


def drop_of(rig: PartOnRig, load_a: float, series: MakeSeries) -> Finding:
    """The median over the makes, brought to the asked current; a bound when the contact would not carry it."""
    id, makes = series.id, series.makes
    if series.stayed_open:
        return NotTested(
            id=id, reason=f"the throw stayed open in {series.stayed_open} of {series.stayed_open + len(makes)} makes"
        )
    raw = [m.counts for m in makes]
    off = [m for m in makes if abs(m.load_a - load_a) > OFF_MOST * load_a]
    starved = [m for m in off if _holds_back(load_a, m)]
    if len(off) * 2 >= len(makes) and len(starved) * 2 < len(makes):
        return NotTested(id=id, reason=_too_far(load_a, off))
    if len(starved) * 2 >= len(makes):
        least = min(m.drop_v for m in starved)
        carried = max(m.load_a for m in starved)
        note = rig.conditions(load=f"{load_a:g} A asked, at most {carried:.2f} A carried", makes=str(len(makes)))
        return bounded(id, ">", least, note, raw=raw, makes=[m.drop_v for m in makes])
    flowed, scaled = median(m.load_a for m in makes), scaled_drops(load_a, makes)
    shown = rig.conditions(
        load=amount(load_a, "A"),
        load_that_flowed=f"{flowed:.2f} A, brought to {load_a:g} A",
        makes=str(len(makes)),
        method="four-wire, dry make, then load",
    ) + rig.first(id)
    middle = median_of(scaled, "makes")
    code = min(m.counts.gain for m in makes)
    widest, of_zero = of_range(code), drop_v(rig.scales.drop, 0.0, code)
    zero_v = of_zero - nominal_value(of_zero)
    ratio = rig.scales.drop.one / rig.scales.load.one * (widest / nominal_value(widest))
    clips = rig.scales.clips[series.throw] + seating(rig.calibration.clips)
    drop = median(m.drop_v for m in makes)
    value = middle * ratio * _bend(rig, drop, code, flowed) + zero_v - load_a * clips
    why = f"{flowed:.2f} A: how much of the drop is constriction is unknown; Kohlrausch's relation for all of it"
    value += rectangular(not_ohmic_v(drop, load_a / flowed), "not by Ohm's law", why)
    return reading(id, value, shown, raw=raw, makes=scaled)


def seating(clips: Clips) -> Any:
    """Zero ohms, with what one seating of the part differs from another by."""
    why = "a clip differs from seating to seating"
    if clips.seat_freedom:
        why += ": seatings of the link"
    shape: Shape = "normal" if clips.seat_freedom else "rectangular"
    return uncertain(0.0, clips.u_seat_ohm, "seating", why, clips.seat_freedom or None, shape, "calibration")


def not_ohmic_v(drop_v: float, ratio: float) -> float:
    """Volts by which a drop, brought to `ratio` times its current by Ohm's law, may be wrong at most.

    All of it lies across one spot that its own current heats, and that does not soften: by Kohlrausch's relation, heat
    and charge conducted alike, V = a tan(I R0 / a), a = SPOT_V. Film and metal around it follow Ohm's law better.
    """
    melts_v = SPOT_V * math.tan(math.atan(MELTS_V / SPOT_V) / max(ratio, 1.0))
    spot_v = min(abs(drop_v), melts_v)
    return abs(SPOT_V * math.tan(math.atan(spot_v / SPOT_V) * ratio) - spot_v * ratio)


def _bend(rig: PartOnRig, drop: float, code: int, flowed: float) -> Any:
    """1, known to what the converter's bend makes of drop over load."""
    volts = drop / rig.calibration.drop.gain / nominal_value(of_range(code))
    amps = flowed / rig.calibration.load.gain
    of_volts = bend(volts, code, "contact volts") / volts if volts else 0.0
    return 1 + of_volts - bend(amps, FINEST, "load amps") / amps


def _holds_back(load_a: float, make: Make) -> bool:
    """Whether the contact itself keeps the load down."""
    return make.drop_v >= BLAME * SUPPLY_V * (1 - make.load_a / load_a) > 0


def _too_far(load_a: float, off: Sequence[Make]) -> str:
    """Why a drop at another load is not brought to the asked one, and what to look at."""
    return (
        f"{median(m.load_a for m in off):.1f} A flowed and not {load_a:g} A: a drop is brought to another current"
        f" within {100 * OFF_MOST:g} % only, for it need not follow Ohm's law. Look at the volts of the load supply"
        " under load and at its resistors, then test again"
    )


def scaled_drops(load_a: float, makes: Sequence[Make]) -> list[float]:
    """Drops brought to the asked current."""
    return [m.drop_v * load_a / m.load_a if m.load_a > 0 else m.drop_v for m in makes]
