"""One plan on one part: measure, judge, store as it goes, tell the caller.

Rule: however a run ends, everything is switched off, and only a complete run can be a pass.
"""

from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from pulldrop import __version__
from pulldrop.board.contract import Board, Trip
from pulldrop.board.errors import BoardError, BoardLost, Tripped
from pulldrop.jobs.run.calibration import in_force
from pulldrop.jobs.run.events import Event, RunStarted
from pulldrop.jobs.run.interrupt import one_interrupt
from pulldrop.judge import judge_finding, verdict
from pulldrop.judge.diagnosis import NOTHING, diagnose
from pulldrop.judge.verdict import Ended, refused
from pulldrop.measure import StepStarted, perform, renew
from pulldrop.measure.steps.looks.probe import short_or_diode
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.part.part import Part
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.reading import Finding, NotTested, Reading, needless
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.hand import Hand
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Verdict
from pulldrop.store import Entry, OpenRun, RunHeader, Store, StoreError, StoreTrouble

Show = Callable[[Event], None]
NOT_SURE_OFF = "The board did not confirm that everything is off"


class RunNotKept(StoreError):
    """The store failed in the middle of a run; the message names the file that keeps the record so far."""


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be done. `part.id` may be empty: the store gives the next free one.

    `siblings`: what sound parts of its type read, where a person named them.
    """

    plan: Plan
    part: Part
    operator: str = ""
    specimen: str = ""
    seed: int | None = None
    siblings: TypeReference | None = None


@dataclass(frozen=True, slots=True)
class Ending:
    """How a run ended; `trouble` is the sentence of what went wrong with the bench, `error` what it was."""

    ended: Ended
    trouble: str = ""
    error: BoardError | None = None


class Void(Exception):
    """The run says nothing about the part: it was not in the socket throughout, or a person stopped it; the message
    says which."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A run that is over and not yet kept as such."""

    run: str
    part: Part
    judged: Sequence[Judged]
    verdict: Verdict
    faults: tuple[NamedFault, ...]
    error: BoardError | None


@dataclass(frozen=True, slots=True)
class RunOptions:
    """How else a run may go than from the first step to the last.

    enough: see `perform`; certain: before a step, why the verdict is certain without it, empty while it is not;
    watch: called between steps and at the end, everything off, may raise Void; entry: what is kept with the run's end;
    hand, cold_ohm, rested_s: see `perform`; first: what an earlier run read in the part's first make, which stands in
    the place of what this run reads in a later one, for the part has been in its socket since.
    """

    enough: Callable[[str, Sequence[float]], bool] | None = None
    certain: Callable[[Sequence[Judged]], str] = lambda _judged: ""
    watch: Callable[[Sequence[Judged]], None] = lambda _judged: None
    entry: Callable[[Draft], Entry | None] = lambda _draft: None
    hand: Hand | None = None
    cold_ohm: float | None = None
    rested_s: float | None = None
    first: tuple[Reading, ...] = ()


PLAIN = RunOptions()


def computer_clock() -> datetime:
    """The time of day."""
    return datetime.now(UTC)


def run_one(
    task: Task,
    board: Board,
    store: Store,
    show: Show,
    options: RunOptions = PLAIN,
    now: Callable[[], datetime] = computer_clock,
) -> RunRecord:
    """Run to an end of any kind and give the record. Raises RunNotKept, and StoreError before the first step; and
    KeyboardInterrupt, once all is kept and shown, where the record does not say that it was pressed.
    """
    calibration, warnings = in_force(store, board.identity, now(), board.notes())
    task = replace(task, plan=task.plan.fitted(board.identity.able, options.hand is not None))
    begun_s = board.elapsed()
    with one_interrupt() as make_deaf, store.run(_header(task, board, calibration, now())) as run:
        judged: list[Judged] = []
        try:
            started = RunStarted(run.id, run.part, task.plan, board.identity, calibration, warnings)
            ending = _measure(started, board, run, judged, show, options)
        finally:
            make_deaf()
            off = switch_off(board)
        ended, trouble = _worse(ending, off)
        pressed = any(one.ended == "interrupted" and not one.trouble for one in (ending, off))
        tripped = by_the_part(ending.error)
        made = [one.finding for one in judged if not needless(one.finding)]
        faults, unlike = (
            diagnose(task.plan, made, tripped, task.siblings) if ended == "complete" or tripped else NOTHING
        )
        word = verdict(task.plan, judged, ended, trouble, tripped, faults, unlike)
        draft = Draft(run.id, run.part, judged, word, faults, ending.error)
        record = _finish(run, word, now(), board.elapsed() - begun_s, faults, options.entry(draft))
        show(record)
        if pressed and trouble:  # the record says the trouble; what would come after this run ends
            raise KeyboardInterrupt
        return record


def keep_refused(task: Task, board: Board, store: Store, why: str, faults: tuple[NamedFault, ...]) -> RunRecord:
    """The record of a part that was refused for its faults before it was energised: nothing tested, and why."""
    at = computer_clock()
    calibration, _ = in_force(store, board.identity, at, board.notes())
    with store.run(_header(task, board, calibration, at)) as run:
        judged = [judge_finding(task.plan, NotTested(id=id, reason=why)) for id in task.plan.wanted]
        for one in judged:
            run.add(one)
        return _finish(run, refused(why, faults), computer_clock(), 0.0, faults, None)


def _measure(
    started: RunStarted, board: Board, run: OpenRun, judged: list[Judged], show: Show, options: RunOptions
) -> Ending:
    plan, at = started.plan, ""
    try:
        show(started)
        made = perform(
            plan, board, started.calibration, options.enough, options.hand, options.cold_ohm, options.rested_s
        )
        first = {one.id: one for one in options.first}
        with closing(made) as steps:
            for item in steps:
                if isinstance(item, StepStarted):
                    if options.certain(judged):
                        break
                    at = f" It was in step {item.index} of {item.count}: {item.title}."
                    options.watch(judged)
                    show(item)
                    continue
                one = _take(plan, first.get(item.id, item), judged, run)
                renew(board)  # a slow disk used the lease up, and more may be written next
                show(one)
        options.watch(judged)
        if low := short_or_diode(board, [one.finding for one in judged]):
            show(_take(plan, low, judged, run))
        _leave_out(plan, judged, run)
    except KeyboardInterrupt:
        return Ending("interrupted")
    except Void as void:
        return Ending("interrupted", str(void))
    except BoardError as error:
        return Ending("bench trouble", f"{error}{at if isinstance(error, Tripped) else ''}", error)
    except StoreTrouble as error:
        return Ending("bench trouble", str(error))
    return Ending("complete")


def _take(plan: Plan, finding: Finding, judged: list[Judged], run: OpenRun) -> Judged:
    one = judge_finding(plan, finding)
    judged.append(one)
    run.add(one)
    return one


def by_the_part(error: BoardError | None) -> bool:
    """Whether it was the part that ended the run: its coil took too much. Other trouble of the bench names no fault."""
    return isinstance(error, Tripped) and error.trip is Trip.OVER_CURRENT


def _leave_out(plan: Plan, judged: list[Judged], run: OpenRun) -> None:
    """What was not measured because the verdict was certain without it."""
    done = {one.id for one in judged}
    for id in plan.wanted:
        if id not in done:
            why = "not needed: the verdict was certain without it"
            _take(plan, NotTested(id=id, reason=why, because="not needed"), judged, run)


def switch_off(board: Board) -> Ending:
    """Everything off. A Ctrl-C meanwhile only repeats the request; trouble is returned, never raised."""
    interrupted = False
    while True:
        try:
            board.off()
        except KeyboardInterrupt:
            interrupted = True
        except BoardError as error:
            return Ending("bench trouble", f"{NOT_SURE_OFF} ({error})", error)
        else:
            return Ending("interrupted" if interrupted else "complete")


def _worse(ending: Ending, off: Ending) -> tuple[Ended, str]:
    """One ending of the two: bench trouble before interrupted before complete."""
    trouble = " ".join(one.trouble for one in (ending, off) if one.trouble)
    if isinstance(ending.error, BoardLost) and isinstance(off.error, BoardLost):  # one cause, reported once
        trouble = f"{ending.trouble} {NOT_SURE_OFF}."
    for ended in ("bench trouble", "interrupted"):
        if ended in (ending.ended, off.ended):
            return ended, trouble
    return "complete", ""


def _finish(
    run: OpenRun,
    word: Verdict,
    ended: datetime,
    bench_s: float,
    faults: tuple[NamedFault, ...],
    entry: Entry | None,
) -> RunRecord:
    try:
        return run.finish(word, ended, bench_s, faults, entry)
    except StoreTrouble as trouble:
        raise RunNotKept(f"The run ended ({word.overall}), but could not be stored. {trouble}") from trouble


def _header(task: Task, board: Board, calibration: Calibration, started: datetime) -> RunHeader:
    return RunHeader(
        part=task.part,
        started=started,
        plan=task.plan,
        board=board.identity,
        calibration=calibration,
        software=f"pulldrop {__version__}",
        operator=task.operator,
        specimen=task.specimen,
        seed=task.seed,
        siblings=task.siblings,
    )
