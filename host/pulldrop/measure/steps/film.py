"""Film or burnt: each throw's ohms at 5 mA before the first load, under load, at 5 mA after it; and their scatter.

A film reads high dry and is gone after the load; a burnt surface reads the same before and after, and another amount
with every make. The part must not have been loaded before this step, or a film is gone unseen.
"""

import math
import statistics
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from pulldrop.board.request_types import Branch, Pulse
from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts.budget import nominal_value, rectangular, uncertain
from pulldrop.measure.rig.counts.ranges import drop_v, load_a
from pulldrop.measure.rig.load import BREAK_S, MAKE_S, SETTLE_MS, branches_for, carried
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, not_loaded, reading
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.relay import NC, NO, SEEN_BY
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.model.reading import Finding, NotTested, amount
from pulldrop.model.steps.film import FilmStep

SAMPLES, LIMIT_MS = 3, 70
"""Pairs of conversions of each pulse, and when the board ends it by itself."""
DRY_OHM, DRY_V = 1025.0, 5.0
"""The dry source: 5 V through 1 kohm and 25 ohm of the pin that feeds it (ATmega328P data sheet)."""
DRY_SHARE = 0.05
"""How well its current is known, either way: supply 4 %, resistor 1 %."""
EMF_V = 10e-6
"""Thermal voltage between two metals and a few kelvin, either way (assumed)."""
WIDEST_V = 4.0
"""Above this a contact reads as open in the widest range."""
NO_CURRENT_A = 0.05
"""Less than this from a branch, and the contact carries nothing."""


@dataclass(slots=True)
class FilmThrow:
    """What one throw gave: ohms with budget of the first make, plain ohms under load of all of them."""

    pair: Pair
    dry: Any = None
    loaded: Any = None
    after: Any = None
    makes: list[float] = field(default_factory=list)
    raw: list[PulseCounts] = field(default_factory=list)
    stayed_open: int = 0

    @property
    def contact(self) -> Contact:
        """The throw of the bench that sees it."""
        return SEEN_BY[self.pair]


def procedure(rig: PartOnRig, step: FilmStep) -> Iterator[Finding]:
    """contact_before_load_*, contact_loaded_*, contact_after_load_*, contact_scatter_*: of the throws of the part."""
    has = rig.form.pairs
    no, nc = FilmThrow(NO), FilmThrow(NC)
    throws = [throw for pair, throw in ((NO, no), (NC, nc)) if pair in has]
    has_load = rig.has_load()
    rig.release(BREAK_S)
    for _ in range(step.makes if has_load else 1):
        if nc in throws:
            _one_make(rig, step, nc, has_load)
        rig.energise(step.coil, MAKE_S)
        if no in throws:
            _one_make(rig, step, no, has_load)
        rig.release(BREAK_S)
    wiring.check(rig, step.coil)
    for throw in throws:
        yield from _findings(rig, step, throw, has_load)


def _one_make(rig: PartOnRig, step: FilmStep, throw: FilmThrow, has_load: bool) -> None:
    """Dry, loaded, dry in the first make; loaded alone in the others."""
    if not rig.contacts() & throw.contact:
        throw.stayed_open += 1
        return
    first = not throw.raw
    if first:
        throw.dry = _dry(rig, step, throw)
    if not has_load:
        return
    loaded = _loaded(rig, step, throw)
    throw.makes.append(nominal_value(loaded))
    if first:
        throw.loaded, throw.after = loaded, _dry(rig, step, throw)


def _dry(rig: PartOnRig, step: FilmStep, throw: FilmThrow) -> Any:
    """Ohms at 5 mA with budget; None when the widest range is full."""
    counts = _pulse(rig, step, throw, Branch.NONE)
    volts = _drop_v(rig, counts)
    if nominal_value(volts) > WIDEST_V:
        return None
    amps = (DRY_V - nominal_value(volts)) / DRY_OHM
    source = uncertain(1.0, DRY_SHARE / math.sqrt(3), "dry source", "5 V within 4 %, its resistor within 1 %")
    warm = rectangular(EMF_V, "thermal voltage", "two metals, a few kelvin")
    return (volts + warm) / (amps * source)


def _loaded(rig: PartOnRig, step: FilmStep, throw: FilmThrow) -> Any:
    """Ohms under load with budget: the drop over the current that flowed."""
    counts = _pulse(rig, step, throw, branches_for(step.load))
    wiring.plausible(rig, throw.contact, step.load, counts)
    amps = load_a(rig.scales.load, statistics.fmean(counts.shunt))
    if nominal_value(amps) < NO_CURRENT_A:
        return uncertain(WIDEST_V / NO_CURRENT_A, 0.0, "", "")
    return _drop_v(rig, counts) / amps


def _pulse(rig: PartOnRig, step: FilmStep, throw: FilmThrow, branches: Branch) -> PulseCounts:
    coil_v = step.coil if throw.contact == Contact.NO else None
    throw.raw.append(carried(rig, coil_v, Pulse(throw.contact, branches, SETTLE_MS, SAMPLES, LIMIT_MS)))
    return throw.raw[-1]


def _drop_v(rig: PartOnRig, counts: PulseCounts) -> Any:
    return drop_v(rig.scales.drop, statistics.fmean(counts.drop), counts.gain)


def _findings(rig: PartOnRig, step: FilmStep, throw: FilmThrow, has_load: bool) -> Iterator[Finding]:
    ids = [id for id in step.gives if MEASUREMENTS[id].pair == throw.pair]
    if throw.stayed_open:
        for id in ids:
            yield NotTested(id=id, reason=f"the throw stayed open in {throw.stayed_open} makes")
        return
    for id, value, at in zip(
        ids, (throw.dry, throw.loaded, throw.after), ("5 mA", f"{step.load:g} A", "5 mA"), strict=False
    ):
        shown = rig.conditions(
            current=at, method="four-wire, first make", loads_before="none" if id != ids[2] else "one"
        )
        if not has_load and id != ids[0]:
            yield not_loaded(id)
        elif value is None:
            yield bounded(id, ">", WIDEST_V * DRY_OHM / (DRY_V - WIDEST_V), shown, raw=throw.raw[:3])
        else:
            yield reading(id, value, shown, raw=throw.raw[:3])
    if not has_load:
        yield not_loaded(ids[3])
        return
    yield _scatter(rig, step, throw, ids[3])


def _scatter(rig: PartOnRig, step: FilmStep, throw: FilmThrow, id: str) -> Finding:
    """Standard deviation of the ohms over the makes; its own standard uncertainty is s / sqrt(2 (n - 1))."""
    spread, n = statistics.stdev(throw.makes), len(throw.makes)
    u = spread / math.sqrt(2 * (n - 1))
    shown = rig.conditions(load=amount(step.load, "A"), makes=str(n))
    value = uncertain(spread, max(u, 1e-9), "scatter", f"standard deviation of {n} makes", n - 1, mend="makes")
    return reading(id, value, shown, raw=throw.raw, makes=throw.makes)
