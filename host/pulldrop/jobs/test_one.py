"""One plan on one part: measure, judge, store as it goes, tell the caller.

Rule: however a run ends, everything is switched off, and only a complete run can be a pass.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from pulldrop import __version__
from pulldrop.board.contract import Board
from pulldrop.board.errors import BoardError
from pulldrop.jobs.calibration import in_force
from pulldrop.jobs.events import Event, RunStarted
from pulldrop.jobs.interrupt import one_interrupt
from pulldrop.judge import decide, verdict
from pulldrop.judge.diagnosis import diagnose
from pulldrop.judge.verdict import Ended
from pulldrop.measure import StepStarted, perform
from pulldrop.model.calibration import Calibration
from pulldrop.model.fault import NamedFault
from pulldrop.model.plan import Plan
from pulldrop.model.record import Part, RunRecord
from pulldrop.model.verdict import Judged, Verdict
from pulldrop.store import OpenRun, RunHeader, Store, StoreError, StoreTrouble

Show = Callable[[Event], None]


class RunNotKept(StoreError):
    """The store failed in the middle of a run; the message names the file that keeps the record so far."""


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be done. `part.id` may be empty: the store gives the next free one."""

    plan: Plan
    part: Part
    operator: str = ""
    specimen: str = ""
    seed: int | None = None


@dataclass(frozen=True, slots=True)
class Ending:
    """How a run ended; `trouble` is the sentence of what went wrong with the bench."""

    ended: Ended
    trouble: str = ""


def run_one(task: Task, board: Board, store: Store, show: Show) -> RunRecord:
    """Run to an end of any kind and give the record. Raises RunNotKept, and StoreError before the first step."""
    calibration, warnings = in_force(store, board.identity, datetime.now(UTC), board.notes())
    with one_interrupt() as make_deaf, store.run(_header(task, board, calibration)) as run:
        judged: list[Judged] = []
        try:
            started = RunStarted(run.id, run.part, task.plan, board.identity, calibration, warnings)
            ending = _measure(started, board, run, judged, show)
        finally:
            make_deaf()
            off = switch_off(board)
        ended, trouble = _worse(ending, off)
        word = verdict(task.plan, judged, ended, trouble)
        faults = diagnose(task.plan, [one.finding for one in judged]) if ended == "complete" else ()
        record = _finish(run, word, board, faults)
        show(record)
        return record


def _measure(started: RunStarted, board: Board, run: OpenRun, judged: list[Judged], show: Show) -> Ending:
    plan = started.plan
    try:
        show(started)
        for item in perform(plan, board, started.calibration):
            if isinstance(item, StepStarted):
                show(item)
                continue
            one = decide(item, plan.limits.get(item.id))
            judged.append(one)
            run.add(one)
            show(one)
    except KeyboardInterrupt:
        return Ending("interrupted")
    except (BoardError, StoreTrouble) as error:
        return Ending("bench trouble", str(error))
    return Ending("complete")


def switch_off(board: Board) -> Ending:
    """Everything off. A Ctrl-C meanwhile only has it asked again; trouble is told, never raised."""
    interrupted = False
    while True:
        try:
            board.off()
        except KeyboardInterrupt:
            interrupted = True
        except BoardError as error:
            return Ending("bench trouble", f"It was not confirmed that everything is off ({error})")
        else:
            return Ending("interrupted" if interrupted else "complete")


def _worse(ending: Ending, off: Ending) -> tuple[Ended, str]:
    """One ending of the two: bench trouble before interrupted before complete."""
    trouble = " ".join(one.trouble for one in (ending, off) if one.trouble)
    for ended in ("bench trouble", "interrupted"):
        if ended in (ending.ended, off.ended):
            return ended, trouble
    return "complete", ""


def _finish(run: OpenRun, word: Verdict, board: Board, faults: tuple[NamedFault, ...]) -> RunRecord:
    try:
        return run.finish(word, datetime.now(UTC), board.elapsed(), faults)
    except StoreTrouble as trouble:
        raise RunNotKept(f"The run ended ({word.overall}), but could not be stored. {trouble}") from trouble


def _header(task: Task, board: Board, calibration: Calibration) -> RunHeader:
    return RunHeader(
        part=task.part,
        started=datetime.now(UTC),
        plan=task.plan,
        board=board.identity,
        calibration=calibration,
        software=f"pulldrop {__version__}",
        operator=task.operator,
        specimen=task.specimen,
        seed=task.seed,
    )
