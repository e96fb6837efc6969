"""Contact drop at the load current: four-wire, dry makes, one short pulse a make, the median of them.

The contact is made dry and the load comes after, so that the reading is of the contact and not of an arc. The load that
flows is not quite the one asked for; a drop is brought to that by Ohm's law, with a term for what need not follow it.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts.budget import SEAT_OHM, median_of, nominal_value, rectangular
from pulldrop.measure.rig.counts.ranges import FINEST, GAINS, bend, drop_v, of_range
from pulldrop.measure.rig.load import BREAK_S, LEAST_SHARE, MAKE_S, carried, pulse_of
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, not_loaded, reading
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.relay import SEEN_BY
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.model.reading import Finding, NotTested, amount
from pulldrop.model.steps.contact import ContactStep

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


def procedure(rig: PartOnRig, step: ContactStep) -> Iterator[Finding]:
    """The contact drop of every pair that the part has."""
    of = {id: MEASUREMENTS[id].pair for id in step.gives}
    wanted = [MakeSeries(id, pair) for id, pair in of.items() if pair in rig.form.pairs]
    by_coil = [series for series in wanted if series.pair in rig.form.at("operated").closed]
    at_rest = [series for series in wanted if series.pair in rig.form.at("rest").closed]
    if not rig.has_load():
        for series in wanted:
            yield not_loaded(series.id)
        return
    rig.release(BREAK_S)
    for _ in range(step.makes):
        rig.energise(step.coil, MAKE_S)
        for series in by_coil:
            _load(rig, step, series, step.coil)
        rig.release(BREAK_S)
        for series in at_rest:
            _load(rig, step, series, None)
        if rig.told_enough({one.id: _scaled(step, one.makes) for one in wanted}):
            break
    wiring.check(rig, step.coil)
    for series in wanted:
        yield _reading(rig, step, series)


def _load(rig: PartOnRig, step: ContactStep, series: MakeSeries, coil_v: float | None) -> None:
    """One pulse through a throw that is closed; the range starts where the last make needed it."""
    if rig.contacts() & series.throw:
        gain = series.makes[-1].counts.gain if series.makes else GAINS[0]
        series.makes.append(_pulse(rig, step, series.throw, gain, coil_v))
    else:
        series.stayed_open += 1


def _pulse(rig: PartOnRig, step: ContactStep, throw: Contact, gain: int, coil_v: float | None) -> Make:
    """One pulse, repeated in the next wider range while the converter is full; in the widest for a dead contact."""
    pulse = pulse_of(throw, step.load, step.pulse, gain)
    counts = carried(rig, coil_v, pulse, lambda one: rig.load_a(one) < LEAST_SHARE * step.load)
    wiring.plausible(rig, throw, step.load, counts)
    return Make(wiring.drop_v(rig, counts), rig.load_a(counts), counts)


def _reading(rig: PartOnRig, step: ContactStep, series: MakeSeries) -> Finding:
    """The median over the makes, brought to the asked current; a bound when the contact would not carry it."""
    id, makes = series.id, series.makes
    if series.stayed_open:
        return NotTested(
            id=id, reason=f"the throw stayed open in {series.stayed_open} of {series.stayed_open + len(makes)} makes"
        )
    raw = [m.counts for m in makes]
    off = [m for m in makes if abs(m.load_a - step.load) > OFF_MOST * step.load]
    starved = [m for m in off if _holds_back(step, m)]
    if len(off) * 2 >= len(makes) and len(starved) * 2 < len(makes):
        return NotTested(id=id, reason=_too_far(step, off))
    if len(starved) * 2 >= len(makes):
        least = min(m.drop_v for m in starved)
        carried = max(m.load_a for m in starved)
        note = rig.conditions(load=f"{step.load:g} A asked, at most {carried:.2f} A carried", makes=str(len(makes)))
        return bounded(id, ">", least, note, raw=raw, makes=[m.drop_v for m in makes])
    flowed, scaled = median(m.load_a for m in makes), _scaled(step, makes)
    shown = rig.conditions(
        load=amount(step.load, "A"),
        load_that_flowed=f"{flowed:.2f} A, brought to {step.load:g} A",
        makes=str(len(makes)),
        method="four-wire, dry make, then load",
    )
    middle = median_of(scaled, "makes")
    code = min(m.counts.gain for m in makes)
    widest, of_zero = of_range(code), drop_v(rig.scales.drop, 0.0, code)
    zero_v = of_zero - nominal_value(of_zero)
    ratio = rig.scales.drop.one / rig.scales.load.one * (widest / nominal_value(widest))
    seat = rectangular(SEAT_OHM, "seating", "a clip differs from seating to seating")
    clips = rig.scales.clips[series.throw] + seat
    drop = median(m.drop_v for m in makes)
    value = middle * ratio * _bend(rig, drop, code, flowed) + zero_v - step.load * clips
    why = f"{flowed:.2f} A: how much of the drop is constriction is unknown; Kohlrausch's relation for all of it"
    value += rectangular(not_ohmic_v(drop, step.load / flowed), "not by Ohm's law", why)
    return reading(id, value, shown, raw=raw, makes=scaled)


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


def _holds_back(step: ContactStep, make: Make) -> bool:
    """Whether the contact itself keeps the load down."""
    return make.drop_v >= BLAME * SUPPLY_V * (1 - make.load_a / step.load) > 0


def _too_far(step: ContactStep, off: Sequence[Make]) -> str:
    """Why a drop at another load is not brought to the asked one, and what to look at."""
    return (
        f"{median(m.load_a for m in off):.1f} A flowed and not {step.load:g} A: a drop is brought to another current"
        f" within {100 * OFF_MOST:g} % only, for it need not follow Ohm's law. Look at the volts of the load supply"
        " under load and at its resistors, then test again"
    )


def _scaled(step: ContactStep, makes: Sequence[Make]) -> list[float]:
    """Drops brought to the asked current."""
    return [m.drop_v * step.load / m.load_a if m.load_a > 0 else m.drop_v for m in makes]
