"""Does a throw let go after it has closed on its load: each make under load, the load then off, the opening seen dry.

A contact melts where it bounces on its load, and freezes as it comes to rest: one that tacks lets go late, or not at
all, and does neither after a dry make. NO closes as the coil comes on, NC as it goes off. The bench is kinder than a
vehicle: no inrush, and at most 5 V across the open contact, so that no arc burns. Each make wears the contact all the
same: few of them, and late in a protocol.
"""

import statistics
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from pulldrop.board.request_types import Drive, Load
from pulldrop.measure.rig.counts import edges, latency
from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.counts.supply_volts import brought
from pulldrop.measure.rig.load import LEAST_SHARE, MAKE_S, branches_for, rested
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import CLAMPS, bounded, not_loaded, not_tested, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.part import relay
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact, PulseCounts
from pulldrop.model.reading import Condition, ConditionName, Finding, NotTested
from pulldrop.model.steps import yields
from pulldrop.model.steps.contacts.hot import HotStep

OPENING_MS, DIVIDER = 30, 2
"""How long an opening is waited for; samples come every 100 us, though only the edges are read."""
DRY_MAKES = 3
HOLD_S, REST_S = 0.04, 0.05
"""Time on without load before the release, so that the coil's current is steady, and off before the next make."""


@dataclass(frozen=True, slots=True)
class HotThrow:
    """One throw: its reading, the coil's state that closes it, and how long after that it carries its load.

    The load is off 6 ms after `make_ms` by itself, and 20 ms after it the board ends it in any case.
    """

    id: str
    contact: Contact
    name: str
    closes_on: bool
    make_ms: int

    @property
    def closed_by(self) -> str:
        return "on" if self.closes_on else "off"


NO = HotThrow("release_after_hot_make", Contact.NO, "87", closes_on=True, make_ms=20)
NC = HotThrow("opening_after_hot_make_nc", Contact.NC, "87a", closes_on=False, make_ms=30)
"""A coil with a diode lets go of its armature after 13 ms."""


@dataclass(frozen=True, slots=True)
class HotMake:
    """One make under load, what flowed at its end, the dry opening after it, and by which share the coil's volts lay
    above those asked for where those bring NC to open."""

    make: Capture
    load: PulseCounts
    opening: Capture
    more_v: float


def procedure(rig: PartOnRig, step: HotStep) -> Iterator[Finding]:
    """The slowest opening of each throw, because a contact that tacks once is one that tacks."""
    if not rig.has_load():
        for id in yields("hot", rig.plan.rating):
            yield not_loaded(id)
        return
    rig.must_rest(rig.release(REST_S))
    if relay.NO in rig.form.pairs:
        yield _of(rig, step, NO, lambda: None)
    if relay.NC in rig.form.pairs:
        rig.release(REST_S)
        finding = _of(rig, step, NC, lambda: _operated(rig, step))
        rig.release(REST_S)
        yield finding


def _of(rig: PartOnRig, step: HotStep, throw: HotThrow, again: Callable[[], None]) -> Finding:
    """All makes of one throw; its reading, or why there is none. `again` brings it to where it makes from."""
    makes: list[HotMake] = []
    stuck = False
    dry: tuple[Condition, ...] = ()
    try:
        if throw.closes_on and not any(other.measure == "sticking" for other in rig.plan.steps):
            dry = _dry(rig, step, throw)
        while len(makes) < step.makes and not stuck:
            again()
            makes.append(_hot_make(rig, step, throw, again))
            stuck = _stuck(rig, throw)
    except CannotTest as why:
        return not_tested(throw.id, why)
    return _reading(rig, step, throw, makes, stuck, dry)


def _dry(rig: PartOnRig, step: HotStep, throw: HotThrow) -> tuple[Condition, ...]:
    """How long the throw takes to open after makes without load, where no other step tells it; none where it stays
    closed or its edge is not clear."""
    openings = []
    for _ in range(DRY_MAKES):
        rig.energise(step.coil, MAKE_S)
        openings.append(rig.board.step_coil(rig.drive(step.coil, on=False), OPENING_MS, DIVIDER))
        rig.release(REST_S)
    ticks = [latency.opened(one, throw.contact) for one in openings]
    if any(tick is None for tick in ticks) or any(latency.unclear(one, throw.contact) for one in openings):
        return ()
    spans = [nominal_value(rig.scales.tick.span(tick)) for tick in ticks]
    mean_s = statistics.fmean(spans)
    return (Condition(name=ConditionName.DRY, text=f"{1000 * mean_s:.2f} ms", value=mean_s, unit="s"),)


def _operated(rig: PartOnRig, step: HotStep) -> None:
    rig.energise(step.coil, MAKE_S)
    if rig.contacts() & Contact.NC:
        raise CannotTest("87a is closed with the coil on (welded, or the armature does not move)")


def _stuck(rig: PartOnRig, throw: HotThrow) -> bool:
    """Whether the throw stays closed when it should be open."""
    closed = rig.release(REST_S) if throw.closes_on else rig.contacts()
    return bool(closed & throw.contact)


def _hot_make(rig: PartOnRig, step: HotStep, throw: HotThrow, again: Callable[[], None]) -> HotMake:
    def drive(on: bool) -> Drive:
        return rig.drive(step.coil, on=on)

    load = Load(throw.contact, branches_for(step.load), throw.make_ms + 20)
    make, pair = rested(rig, lambda: rig.board.hot_step(drive(throw.closes_on), load, throw.make_ms, DIVIDER), again)
    if (amps := rig.load_a(pair)) < LEAST_SHARE * step.load:
        raise CannotTest(
            f"{throw.name} carried {amps:.2f} of {step.load:g} A {throw.make_ms} ms after coil {throw.closed_by}: not"
            " closed, or not sound"
        )
    rig.wait(HOLD_S)
    opening = rig.board.step_coil(drive(not throw.closes_on), OPENING_MS, DIVIDER)
    by_supply = rig.able.coil == "by hand" and not throw.closes_on
    return HotMake(make, pair, opening, rig.sense().v / step.coil - 1 if by_supply else 0.0)


def _reading(
    rig: PartOnRig, step: HotStep, throw: HotThrow, makes: list[HotMake], stuck: bool, dry: tuple[Condition, ...]
) -> Finding:
    """The slowest opening; a bound where one is missing, or the last make is `stuck`, whatever its edges show."""
    ticks = [t for m in makes if (t := latency.opened(m.opening, throw.contact)) is not None]
    bounces = [b for m in makes if (b := edges.bounce(m.make, throw.contact)) is not None]
    bounced = f"{statistics.median(bounces) / TICKS_PER_S * 1000:.2f} ms" if bounces else "no end seen"
    shown = rig.conditions(
        load=f"{statistics.median(rig.load_a(m.load) for m in makes):.2f} A as it closed",
        makes=f"{len(makes)} of {step.makes}, {max(len(makes) - len(ticks), stuck)} stuck",
        bounce_under_load=bounced,
        clamp=CLAMPS["tvs"],
    )
    shown += dry
    raw = [capture for m in makes for capture in (m.make, m.load, m.opening)]
    single = [nominal_value(rig.scales.tick.span(t)) for t in ticks]
    if not stuck and any(latency.unclear(m.opening, throw.contact) for m in makes):
        return NotTested(id=throw.id, reason=latency.UNCLEAR)
    if stuck or len(ticks) < len(makes):
        return bounded(throw.id, ">", OPENING_MS / 1000, shown, raw=raw, makes=single)
    slowest = max(ticks) * brought("operate_time", statistics.fmean(m.more_v for m in makes))
    slowest = slowest + latency.room(None, latency.End(throw.contact, closes=False, loaded=True))
    return reading(throw.id, rig.scales.tick.span(slowest), shown, raw=raw, makes=single)
