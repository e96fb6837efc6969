"""Operate, release, bounce and transfer: the coil stepped on and off, the edges of both throws logged.

Each make starts from rest and each break from a coil whose flux has settled; the median of the makes is the
reading, their scatter is in the budget.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from pulldrop.measure import edges
from pulldrop.measure.bench import Bench, CannotTest, throws
from pulldrop.measure.budget import median_of, nominal_value, rectangular
from pulldrop.measure.readings import bounded, reading, state
from pulldrop.model.plan import TimingStep
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact
from pulldrop.model.reading import Condition, Finding, NotTested

WINDOW_MS = 30
DIVIDER = 2
"""A sample every 100 us: 300 samples over the window."""
MAGNETISE_S = 0.06
REST_S = 0.03
CLAMPS = {"tvs": "68 V TVS of the bench", "diode": "1N4007 across the coil"}
LATENCY_TICKS = {Contact.NO: 1.0, Contact.NC: 16.0}
"""How late an edge may be logged: NO by hardware capture, NC by a pin-change interrupt behind others (8 us)."""


def timing(bench: Bench, step: TimingStep) -> Iterator[Finding]:
    """contact_operated, operate_time, release_time, bounce_time_no, bounce_time_nc, transfer_time."""
    if bench.rest & Contact.NO:
        raise CannotTest("NO is closed with the coil off (welded, or the socket is bridged)")
    bench.release(REST_S)
    makes, breaks, operated, coil_v = _cycle(bench, step)
    at = bench.conditions(coil_voltage=f"{coil_v:.2f} V", makes=str(step.makes))
    yield state("contact_operated", throws(operated, bench.form_c), at)
    missed = sum(edges.first_closing(c, Contact.NO) is None for c in makes)
    if missed:
        yield bounded("operate_time", ">", WINDOW_MS / 1000, at, raw=makes)
        raise CannotTest(f"NO did not close within {WINDOW_MS} ms in {missed} of {step.makes} makes at {coil_v:.1f} V")
    yield _median(bench, "operate_time", makes, lambda c: edges.first_closing(c, Contact.NO), at + _ends("NO closing"))
    clamp = (Condition(name="clamp", text=CLAMPS[step.clamp]),)
    yield _release(bench, breaks, at + clamp)
    yield _median(bench, "bounce_time_no", makes, lambda c: edges.bounce(c, Contact.NO), at)
    if bench.form_c:
        yield _median(bench, "bounce_time_nc", breaks, lambda c: edges.bounce(c, Contact.NC), at + clamp)
        yield _median(bench, "transfer_time", makes, edges.transfer, at + _ends("NC opening to NO closing"))


def _cycle(bench: Bench, step: TimingStep) -> tuple[list[Capture], list[Capture], Contact, float]:
    """All makes and breaks; the throws closed and the coil volts, once, while operated."""
    makes, breaks = [], []
    operated, coil_v = Contact.NONE, 0.0
    diode = step.clamp == "diode"
    for number in range(step.makes):
        on = bench.drive(step.coil, 1000, diode=diode)
        makes.append(bench.board.step_coil(on, WINDOW_MS, DIVIDER))
        bench.board.wait(MAGNETISE_S)
        if number == 0:
            operated, coil_v = bench.contacts(), nominal_value(bench.sense().volts)
        off = bench.drive(step.coil, 1000, on=False, diode=diode)
        breaks.append(bench.board.step_coil(off, WINDOW_MS, DIVIDER))
        bench.board.wait(REST_S)
    return makes, breaks, operated, coil_v


def _release(bench: Bench, breaks: Sequence[Capture], shown: tuple[Condition, ...]) -> Finding:
    if bench.form_c:
        return _median(
            bench, "release_time", breaks, lambda c: edges.first_closing(c, Contact.NC), shown + _ends("NC closing")
        )
    return _median(
        bench, "release_time", breaks, lambda c: edges.first_opening(c, Contact.NO), shown + _ends("NO opening")
    )


def _median(
    bench: Bench,
    id: str,
    captures: Sequence[Capture],
    ticks_of: Callable[[Capture], int | None],
    shown: tuple[Condition, ...],
) -> Finding:
    """Median over the makes of one time; NotTested when any make lacks it, which is said."""
    found = [ticks_of(c) for c in captures]
    ticks = [t for t in found if t is not None]
    if len(ticks) < len(found):
        return NotTested(
            id=id, reason=f"the contacts gave no such time in {len(found) - len(ticks)} of {len(found)} makes"
        )
    late = rectangular(LATENCY_TICKS[Contact.NC if _uses_nc(id, shown) else Contact.NO], "edge latency", "interrupts")
    value: Any = bench.scales.tick.span(median_of([float(t) for t in ticks], "makes") + late)
    return reading(id, value, shown, raw=captures, makes=[t / TICKS_PER_S for t in ticks])


def _uses_nc(id: str, shown: tuple[Condition, ...]) -> bool:
    return id in ("bounce_time_nc", "transfer_time") or any("NC" in c.text for c in shown if c.name == "ends at")


def _ends(words: str) -> tuple[Condition, ...]:
    return (Condition(name="ends at", text=words),)
