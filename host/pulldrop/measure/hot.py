"""Does NO let go after it has closed on its load: each make under load, the load then off, the release seen dry.

A contact melts where it bounces on its load, and freezes as it comes to rest: one that tacks lets go late, or not at
all, and does neither after a dry make. The bench is kinder than a vehicle: no inrush, and at most 5 V across the open
contact, so that no arc burns. Each make wears the contact all the same: few of them, and late in a protocol.
"""

import statistics
from collections.abc import Iterator
from dataclasses import dataclass

from pulldrop.board.contract import Analog, Load
from pulldrop.measure import edges, lateness
from pulldrop.measure.bench import Bench, CannotTest
from pulldrop.measure.budget import nominal_value
from pulldrop.measure.contact import LEAST_SHARE, SUPPLY_LEAST_SUM, branches_for, rested
from pulldrop.measure.readings import bounded, reading
from pulldrop.measure.tack import opening
from pulldrop.model.plan import HotStep
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact, PulseCounts
from pulldrop.model.reading import Finding, NotTested

MAKE_MS, RELEASE_MS, DIVIDER = 20, 30, 2
LIMIT_MS = MAKE_MS + 20
"""The load is off 6 ms after the window by itself; this is when the board ends it in any case."""
HOLD_S, REST_S = 0.04, 0.05
"""Time on without load before the release, so that the coil's current is steady, and off before the next make."""


@dataclass(frozen=True, slots=True)
class HotMake:
    """One make under load, what flowed at its end, and the dry release after it."""

    make: Capture
    load: PulseCounts
    release: Capture


def hot(bench: Bench, step: HotStep) -> Iterator[Finding]:
    """release_after_hot_make: the slowest of the makes, because a contact that tacks once is one that tacks."""
    if bench.board.sense_analog(Analog.LOAD_SUPPLY) < SUPPLY_LEAST_SUM:
        reason = "the board has no load supply: contacts were not loaded"
        yield NotTested(id="release_after_hot_make", reason=reason, without_load=True)
        return
    if bench.release(REST_S) & Contact.NO:
        raise CannotTest("NO is closed with the coil off (welded, or the socket is bridged)")
    makes = []
    for _ in range(step.makes):
        makes.append(_hot_make(bench, step))
        if bench.release(REST_S) & Contact.NO:
            break
    yield _reading(bench, step, makes)


def _hot_make(bench: Bench, step: HotStep) -> HotMake:
    on, load = bench.drive(step.coil, 1000), Load(Contact.NO, branches_for(step.load), LIMIT_MS)
    make, pair = rested(bench, lambda: bench.board.hot_step(on, load, MAKE_MS, DIVIDER))
    if (amps := _amps(bench, pair)) < LEAST_SHARE * step.load:
        raise CannotTest(
            f"NO carried {amps:.2f} of {step.load:g} A {MAKE_MS} ms after coil on: not closed, or not sound"
        )
    bench.board.wait(HOLD_S)
    return HotMake(make, pair, bench.board.step_coil(bench.drive(step.coil, 1000, on=False), RELEASE_MS, DIVIDER))


def _reading(bench: Bench, step: HotStep, makes: list[HotMake]) -> Finding:
    """The slowest release; a bound where one is missing."""
    id = "release_after_hot_make"
    ticks = [t for m in makes if (t := opening(m.release)) is not None]
    bounces = [b for m in makes if (b := edges.bounce(m.make, Contact.NO)) is not None]
    bounced = f"{statistics.median(bounces) / TICKS_PER_S * 1000:.2f} ms" if bounces else "no end seen"
    shown = bench.conditions(
        load=f"{statistics.median(_amps(bench, m.load) for m in makes):.2f} A as it closed",
        makes=f"{len(makes)} of {step.makes}, {len(makes) - len(ticks)} stuck",
        bounce_under_load=bounced,
        clamp="68 V TVS of the bench",
    )
    raw = [capture for m in makes for capture in (m.make, m.load, m.release)]
    single = [nominal_value(bench.scales.tick.span(t)) for t in ticks]
    if len(ticks) < len(makes):
        return bounded(id, ">", RELEASE_MS / 1000, shown, raw=raw, makes=single)
    slowest = max(ticks) + lateness.room(None, Contact.NO)
    return reading(id, bench.scales.tick.span(slowest), shown, raw=raw, makes=single)


def _amps(bench: Bench, pair: PulseCounts) -> float:
    """What flowed at the end of the make."""
    return nominal_value(bench.scales.load(statistics.fmean(pair.shunt)))
