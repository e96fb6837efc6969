"""What one operate and one release that another instrument captured say of a part, by the rules that read the board's
own captures: the motion reader, the edges of makers' definitions, the early current.

Rule: no board is asked, and nothing is known of a capture but its rows. So an edge lies anywhere between two rows, time
base and volts are taken within bounds that are stated, and no figure rests on the scale of the current.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from pulldrop.measure.rig.counts import edges
from pulldrop.measure.rig.counts.budget import median_of, rectangular
from pulldrop.measure.rig.counts.dip import end_of
from pulldrop.measure.rig.pairs import contact_state
from pulldrop.measure.rig.readings import bounded, reading, state
from pulldrop.measure.steps.coil import motion
from pulldrop.measure.steps.contacts import timing
from pulldrop.model.part.relay import SEEN_BY, RelayForm
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact, Edge
from pulldrop.model.reading import Condition, ConditionName, Finding, NotTested, amount
from pulldrop.model.steps.coil.motion import MotionStep
from pulldrop.text.waveform import Waveform

SAMPLE_TICKS = timing.DIVIDER * TICKS_PER_S // 20_000
"""From sample to sample as the motion reader expects them, 100 us; rows between them are averaged."""
COUNT_A = 1e-5
"""Amps of one count of such a sample: finer than any capture, so that it rounds nothing."""
WINDOW_TICKS = motion.WINDOW_MS * TICKS_PER_S // 1000
CLOCK_SHARE, VOLTS_SHARE = 1e-3, 0.02
"""By which the time base and the coil volts that a person states may be off (assumed)."""
TOUCH_S = 20e-6
"""Rows further apart may miss a touch of a contact that bounces, and so its first closing (assumed)."""
EARLY_SAMPLE = 4
"""Its place 0.4 ms after the switching, at which the board's early current is looked at."""
LEVEL = 0.02
"""By which the last 2 ms may differ from the 2 ms before, as a share: then the current has come to its end."""


@dataclass(frozen=True, slots=True)
class Told:
    """Findings, and the share of its end that the coil's current has after 0.4 ms; None without a current that ends."""

    findings: tuple[Finding, ...]
    early_share: float | None


def told(form: RelayForm, coil_v: float, operate: Waveform, release: Waveform | None) -> Told:
    """What both say of a part of this form, whose coil was switched at `coil_v` volts; release None: not captured."""
    makes, breaks = [_capture(operate)], [_capture(release)] if release else []
    at = (
        amount(coil_v, "V").model_copy(update={"name": ConditionName.COIL_VOLTAGE}),
        Condition(name="makes", text="1"),
        Condition(name="captured", text="by another instrument"),
    )
    found: list[Finding] = []
    if lack := _lacks(operate, form):
        found += [NotTested(id=id, reason=lack) for id in ("contact_rest", "contact_operated", "operate_time")]
    else:
        found += [*_states(form, makes[0], at)]
    if not lack and (lack := _coarse(operate)):
        found += [NotTested(id="operate_time", reason=lack)]
    elif not lack:
        found += _times(form, operate, makes, [], at)
    if release and (lack := _lacks(release, form) or _coarse(release)):
        found += [NotTested(id="release_time", reason=lack)]
    elif release:
        found += _times(form, release, [], breaks, at)
    early = None
    if operate.amps is not None and (lack := _no_end(makes[0])):
        found += [NotTested(id=id, reason=lack) for id in MotionStep.gives]
    elif operate.amps is not None:
        early = makes[0].samples[EARLY_SAMPLE] / end_of(makes[0])
        clock = 1 + rectangular(CLOCK_SHARE, "clock", "time base of another instrument (assumed)")
        found += motion.told(makes, form, at, clock)
    return Told(tuple(found), early)


def _lacks(waveform: Waveform, form: RelayForm) -> str:
    """Why nothing is known of the contacts of this form; empty where all were captured."""
    columns = {Contact.NO: ("no", waveform.no), Contact.NC: ("nc", waveform.nc)}
    lack = [name for name, column in (columns[SEEN_BY[pair]] for pair in form.pairs) if column is None]
    return f"the file has no column '{lack[0]}'" if lack else ""


def _coarse(waveform: Waveform) -> str:
    """Why its rows tell no times of contacts; empty where they do."""
    rows = waveform.seconds[_start(waveform.seconds) :]
    gap = max(now - before for before, now in pairwise(rows))
    if gap <= TOUCH_S * (1 + 1e-6):
        return ""
    return (
        f"rows are {1e6 * gap:.0f} us apart, and a touch of a contact may be shorter; {1e6 * TOUCH_S:.0f} us would do"
    )


def _capture(waveform: Waveform) -> Capture:
    """As the board would have given it: rows averaged to a sample every 100 us, from the current before time 0 as far
    as the coil was off then; edges half a row before the row that shows them."""
    throws = {Contact.NO: waveform.no, Contact.NC: waveform.nc}
    last = min(round(waveform.seconds[-1] * TICKS_PER_S), WINDOW_TICKS)
    changes = [
        Edge(tick=tick, contact=throw, closed=now)
        for throw, closed in throws.items()
        for tick, now in _changes(waveform.seconds, closed or ())
        if tick <= last
    ]
    start = _start(waveform.seconds)
    before = sum((throw for throw, closed in throws.items() if closed and closed[start]), Contact.NONE)
    return Capture(
        edges=tuple(sorted(changes, key=lambda one: one.tick)),
        contacts_before=Contact(before),
        samples=_samples(waveform, last),
        sample_ticks=SAMPLE_TICKS,
        window_ticks=max(last, 1),
    )


def _start(seconds: Sequence[float]) -> int:
    """Place of the last row that is not after the switching."""
    return max(place for place, at in enumerate(seconds) if at <= 0)


def _changes(seconds: Sequence[float], closed: Sequence[bool]) -> Iterator[tuple[int, bool]]:
    for place in range(_start(seconds) + 1, len(closed)):
        if closed[place] != closed[place - 1]:
            middle = (max(seconds[place - 1], 0.0) + seconds[place]) / 2
            yield round(middle * TICKS_PER_S), closed[place]


def _samples(waveform: Waveform, last: int) -> tuple[int, ...]:
    """The mean current about every 100 us after the switching, in counts; between rows that are further apart a
    straight line. None of a waveform without current."""
    seconds, amps = waveform.seconds, waveform.amps
    if amps is None:
        return ()
    rest = [a for at, a in zip(seconds, amps, strict=True) if at < 0]
    zero = sum(rest) / len(rest) if rest else 0.0
    made, place, half = [], 0, SAMPLE_TICKS / TICKS_PER_S / 2
    for tick in range(0, last + 1, SAMPLE_TICKS):
        at = tick / TICKS_PER_S
        while place < len(seconds) and seconds[place] < at - half:
            place += 1
        end = place
        while end < len(seconds) and seconds[end] < at + half:
            end += 1
        inside = amps[place:end]
        mean = sum(inside) / len(inside) if inside else _between(seconds, amps, place, at)
        made.append(round((mean - zero) / COUNT_A))
    return tuple(made)


def _between(seconds: Sequence[float], amps: Sequence[float], after: int, at: float) -> float:
    """On the straight line between the rows before and `after`."""
    if after >= len(seconds):
        return amps[-1]
    t0, t1 = seconds[after - 1], seconds[after]
    return amps[after - 1] + (amps[after] - amps[after - 1]) * (at - t0) / (t1 - t0)


def _no_end(make: Capture) -> str:
    """Why the current of a make has no end to compare with; empty where it has one."""
    last = make.samples[-20:]
    before = make.samples[-40:-20]
    end = sum(last) / len(last)
    if end * COUNT_A < motion.LEAST_A:
        return "the coil takes too little current in the end to see motion in it; is its sign the other way round?"
    if not before or abs(end - sum(before) / len(before)) > LEVEL * end:
        return "the capture ends before the coil's current has come to its end"
    return ""


def _states(form: RelayForm, make: Capture, at: tuple[Condition, ...]) -> Iterator[Finding]:
    """contact_rest, contact_operated."""
    closed = make.contacts_before
    yield state("contact_rest", contact_state(form, closed), at)
    for edge in make.edges:
        closed = closed | edge.contact if edge.closed else closed & ~edge.contact
    yield state("contact_operated", contact_state(form, closed), at)


def _times(
    form: RelayForm, waveform: Waveform, makes: list[Capture], breaks: list[Capture], at: tuple[Condition, ...]
) -> Iterator[Finding]:
    """operate_time, bounce_time_no, transfer_time of a make; of a break release_time, bounce_time_nc."""
    change, id = (form.operates, "operate_time") if makes else (form.releases, "release_time")
    capture = (makes or breaks)[0]
    if edges.first(capture, SEEN_BY[change.pair], change.closes) is None:
        yield bounded(id, ">", capture.window_ticks / TICKS_PER_S, at, raw=[capture])
        return
    for captures, time in timing.times_of(form, makes, breaks, True, at, at):
        if not captures:
            continue
        if reason := timing.doubt(time, captures):
            yield NotTested(id=time.id, reason=reason)
            continue
        span = time.span(capture)
        assert span is not None
        yield reading(time.id, _time(time, span, _gap(waveform, span)), time.shown, raw=captures)


def _gap(waveform: Waveform, span: edges.Span) -> float:
    """The widest gap between rows about both ends of a time, s."""
    rows = waveform.seconds
    ends = [tick / TICKS_PER_S for tick in span]
    near = [now - before for before, now in pairwise(rows) if any(before - 1e-6 <= end <= now + 1e-6 for end in ends)]
    return max(near)


def _time(time: timing.Time, span: edges.Span, gap_s: float) -> Any:
    """Seconds with what the rows, the clock, the volts and a single make leave open."""
    seconds = (span.end - span.start) / TICKS_PER_S
    one = median_of([seconds], "makes", timing.makes_differ(time.id) * seconds)
    of_volts, _, _ = timing.FOLLOWS.get(time.id, (0.0, 0.0, 0.0))
    return (
        one
        + rectangular(math.sqrt(2) * gap_s / 2, "rows", "an edge lies between two rows")
        + seconds * rectangular(CLOCK_SHARE, "clock", "time base of another instrument (assumed)")
        + seconds * rectangular(of_volts * VOLTS_SHARE, "coil volts", "as stated, within 2 % (assumed)")
    )
