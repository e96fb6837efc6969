"""Pull-in and drop-out: magnetise, zero, coarse steps, zero, fine steps, each held for its dwell.

A plain ramp reads high by ramp rate times operate time; steps with a dwell do not. Coming always from the same
magnetic state makes one part give one answer.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pulldrop.board.contract import DAC_MAX, Stairs
from pulldrop.measure.bench import COIL_MOST_V, Bench, CannotTest, CoilPoint, throws
from pulldrop.measure.budget import rectangular
from pulldrop.measure.readings import bounded, reading
from pulldrop.model.plan import ThresholdStep
from pulldrop.model.raw import Contact, Landing
from pulldrop.model.reading import Condition, Finding, NotTested

MAGNETISE_S = 0.1
ZERO_S = 0.06
SETTLE_S = 0.04
SEARCH_MOST = 1.4
"""Pull-in is sought up to this share of nominal: enough to see a weak part, too little to hurt a coil."""
DROP_START = 0.8
"""Drop-out is sought from this share of nominal down."""
COARSE_MARGIN = 2
"""Fine steps begin this many coarse steps before the coarse landing: the flux lags behind short dwells."""


@dataclass(frozen=True, slots=True)
class Goal:
    """The contact state that ends a staircase, and the words that name it."""

    watch: Contact
    wanted: Contact
    words: str


def thresholds(bench: Bench, step: ThresholdStep) -> Iterator[Finding]:
    """pull_in_voltage, pull_in_voltage_20c, pull_in_current, drop_out_voltage."""
    if bench.rest & Contact.NO:
        raise CannotTest("NO is closed with the coil off (welded, or the socket is bridged)")
    full = step.full or bench.nominal_v
    most = min(SEARCH_MOST * bench.nominal_v, COIL_MOST_V)
    yield from _pull_in(bench, step, full, most)
    yield from _drop_out(bench, step, full)
    bench.release(ZERO_S)


def _pull_in(bench: Bench, step: ThresholdStep, full: float, most: float) -> Iterator[Finding]:
    goal = Goal(Contact.NO, Contact.NO, "NO closing")
    shown = bench.conditions(
        ends_at=goal.words, steps=f"{step.fine * 1000:.0f} mV", dwell=f"{step.dwell * 1000:.0f} ms"
    )
    _magnetise(bench, full)
    bench.release(ZERO_S)
    coarse = _walk(bench, goal, 0.0, most, step.coarse, step.coarse_dwell)
    if not coarse.stopped:
        bench.release(ZERO_S)
        yield bounded("pull_in_voltage", ">", most, shown, raw=[coarse])
        yield bounded("pull_in_voltage_20c", ">", most, shown)
        raise CannotTest(f"NO did not close up to {most:.1f} V")
    start = max(bench.coil_v(coarse.dac) - COARSE_MARGIN * step.coarse, 0.0)
    bench.release(ZERO_S)
    fine = _walk(bench, goal, start, min(start + (COARSE_MARGIN + 2) * step.coarse, most), step.fine, step.dwell)
    if not fine.stopped:
        raise CannotTest("NO closed in the coarse steps and not in the fine ones: the pull-in is not steady")
    point = _landed(bench)
    volts = _between_steps(point.volts, -step.fine)
    amps = _between_steps(point.amps, -step.fine / (bench.coil_ohm or 1.0))
    yield reading("pull_in_voltage", volts, shown, raw=[coarse, fine, point.counts])
    if bench.coil_ohm_20c is None:
        yield NotTested(id="pull_in_voltage_20c", reason="the coil's resistance at 20 degC is not known")
    else:
        yield reading("pull_in_voltage_20c", amps * bench.coil_ohm_20c, shown)
    yield reading("pull_in_current", amps, shown)


def _drop_out(bench: Bench, step: ThresholdStep, full: float) -> Iterator[Finding]:
    goal = Goal(Contact.NO, Contact.NONE, "NO opening")
    if bench.form_c and bench.rest & Contact.NC:
        goal = Goal(Contact.NC, Contact.NC, "NC closing")
    shown = bench.conditions(
        ends_at=goal.words, steps=f"{step.fine * 1000:.0f} mV", dwell=f"{step.dwell * 1000:.0f} ms"
    )
    _magnetise(bench, full)
    coarse = _walk(bench, goal, DROP_START * full, 0.0, step.coarse, step.coarse_dwell)
    if not coarse.stopped:
        yield bounded("drop_out_voltage", "<", step.coarse, shown, raw=[coarse])
        return
    start = min(bench.coil_v(coarse.dac) + COARSE_MARGIN * step.coarse, full)
    _magnetise(bench, full)
    fine = _walk(bench, goal, start, max(start - (COARSE_MARGIN + 2) * step.coarse, 0.0), step.fine, step.dwell)
    if not fine.stopped:
        yield bounded("drop_out_voltage", "<", step.fine, shown, raw=[coarse, fine])
        return
    point = _landed(bench)
    yield reading("drop_out_voltage", _between_steps(point.volts, step.fine), shown, raw=[coarse, fine, point.counts])


def _conditions(bench: Bench, step: ThresholdStep, goal: Goal) -> tuple[Condition, ...]:
    steps, dwell = f"{step.fine * 1000:.0f} mV", f"{step.dwell * 1000:.0f} ms"
    return bench.conditions(ends_at=goal.words, steps=steps, dwell=dwell)


def _magnetise(bench: Bench, full: float) -> None:
    bench.energise(full, MAGNETISE_S)


def _walk(bench: Bench, goal: Goal, start: float, end: float, size: float, dwell: float) -> Landing:
    """One staircase of coil volts from `start` towards `end` in steps of `size`."""
    first, last = bench.dac_for(start), bench.dac_for(end)
    stride = max(1, bench.dac_for(size))
    count = min(max(1, abs(last - first) // stride + 1), DAC_MAX)
    dwell_ms = max(1, round(dwell * 1000))
    drive = bench.drive(start, on_ms=min(count * dwell_ms + 1000, 60_000), limit=bench.trip_limit(max(start, end)))
    landing = bench.board.staircase(
        Stairs(drive, stride if last > first else -stride, count, dwell_ms, goal.watch, goal.wanted)
    )
    if landing.stopped and landing.index == 0 and dwell >= 0.05:
        state = throws(landing.contacts, bench.form_c)
        raise CannotTest(f"the contacts moved before the first fine step ({state}): the threshold is not steady")
    return landing


def _landed(bench: Bench) -> CoilPoint:
    """Coil volts and amps at the landing, once the armature's back voltage is over."""
    bench.board.wait(SETTLE_S)
    return bench.sense()


def _between_steps(value: Any, step: float) -> Any:
    """The threshold lies between the last two steps, anywhere with equal right: their middle, +- half a step."""
    return value + step / 2 + rectangular(abs(step) / 2, "step size", "the threshold lies within the last step")
