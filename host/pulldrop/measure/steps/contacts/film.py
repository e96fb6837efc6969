"""Film or burnt: each throw's ohms at 5 mA before the first load, under load, at 5 mA after it; and their scatter.

A film reads high dry and is gone after the load; a burnt surface still reads high after it, if less, for the load melts
its smallest spots, and another amount with every make. The part must not have been loaded before this step, or a film
is gone unseen; where the coil step loaded it in its first make, what was read there counts.
"""

import math
import statistics
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from pulldrop.board.request_types import Branch
from pulldrop.measure.rig import wiring
from pulldrop.measure.rig.counts.budget import nominal_value, uncertain
from pulldrop.measure.rig.first_make import (
    DRY_OHM,
    DRY_V,
    WIDEST_V,
    FirstLoad,
    dry_ohm,
    loaded_ohm,
    pulse,
    take,
)
from pulldrop.measure.rig.load import BREAK_S, MAKE_S, branches_for
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import bounded, not_loaded, reading
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.relay import NC, NO, SEEN_BY
from pulldrop.model.raw import Contact, PulseCounts
from pulldrop.model.reading import Finding, NotTested, amount
from pulldrop.model.steps.contacts.film import FilmStep


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

    def begin(self, rig: PartOnRig, first: FirstLoad) -> None:
        """With the first load, which was taken dry, loaded, dry."""
        assert first.dry and first.after
        self.raw = [first.dry, first.loaded, first.after]
        self.dry, self.loaded, self.after = (
            dry_ohm(rig, first.dry),
            loaded_ohm(rig, first.loaded),
            dry_ohm(rig, first.after),
        )
        self.makes = [nominal_value(self.loaded)]


def procedure(rig: PartOnRig, step: FilmStep) -> Iterator[Finding]:
    """contact_before_load_*, contact_loaded_*, contact_after_load_*, contact_scatter_*: of the throws of the part."""
    has = rig.form.pairs
    no, nc = FilmThrow(NO), FilmThrow(NC)
    throws = [throw for pair, throw in ((NO, no), (NC, nc)) if pair in has]
    has_load = rig.has_load()
    rig.release(BREAK_S)
    for throw in throws:
        if has_load and (first := rig.first_loads.get(throw.contact)) and first.dry:
            throw.begin(rig, first)
    begun = all(throw.raw for throw in throws)
    for _ in range(step.makes - begun if has_load else 1):
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
    coil_v = step.coil if throw.contact == Contact.NO else None
    if not rig.contacts() & throw.contact:
        throw.stayed_open += 1
    elif not has_load:
        dry = pulse(rig, throw.contact, Branch.NONE, coil_v)
        throw.dry, throw.raw = dry_ohm(rig, dry), [dry]
    elif throw.raw:
        counts = pulse(rig, throw.contact, branches_for(step.load), coil_v)
        wiring.plausible(rig, throw.contact, step.load, counts)
        throw.raw.append(counts)
        throw.makes.append(nominal_value(loaded_ohm(rig, counts)))
    else:
        throw.begin(rig, take(rig, throw.contact, step.load, coil_v, dry=True))


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
