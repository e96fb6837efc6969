"""A plan carried out on a board: each reading as soon as it exists, and a reason for each one that does not.

Rule: every id that the plan wants comes out exactly once, as a Reading or as NotTested; board trouble passes through.
"""

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from pulldrop.board.contract import Board
from pulldrop.measure.rig.pairs import happened
from pulldrop.measure.rig.part import Enough, PartOnRig
from pulldrop.measure.rig.readings import not_tested
from pulldrop.measure.rig.rig import CannotTest, PartStops
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.reading import Finding, NotTested
from pulldrop.model.run.hand import Hand
from pulldrop.model.run.plan import Plan
from pulldrop.model.step import Step
from pulldrop.model.steps import STEPS, yields
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.steps.contacts.timing import TimingStep

Procedure = Callable[[PartOnRig, Any], Iterator[Finding]]
PROCEDURES: dict[str, Procedure] = {
    kind: import_module(settings.__module__.replace("model", "measure")).procedure for kind, settings in STEPS.items()
}
"""How each kind of step is done, from the file of the same name as its settings."""


@dataclass(frozen=True, slots=True)
class StepStarted:
    """A step begins: `index` from 1 to `count`."""

    title: str
    index: int
    count: int


def perform(
    plan: Plan,
    board: Board,
    calibration: Calibration,
    enough: Enough | None = None,
    hand: Hand | None = None,
    cold_ohm: float | None = None,
    rested_s: float | None = None,
) -> Generator[StepStarted | Finding, None, None]:
    """Yield StepStarted before each step and each finding as it is made. Raises BoardError for bench trouble.

    `enough` is asked after every make, with a measurement's id and its single values, whether they tell enough.
    `hand` is asked, with everything off, for what a person must do; without one such steps are left out.
    `cold_ohm`: the coil's, as an earlier run read them before it warmed the part, which has been in its socket since.
    `rested_s`: for how long the part has lain beside the bench, None where nobody says so.
    """
    rig = PartOnRig(board, calibration, plan, enough, hand, cold_ohm, rested_s)
    stopped: PartStops | None = None
    steps = list(plan.steps)
    for index in range(1, len(steps) + 1):
        step = _next(rig, steps)
        yield StepStarted(step.title, index, len(plan.steps))
        missing = list(yields(step, plan.rating))
        for id in [one for one in missing if one in plan.beyond]:
            missing.remove(id)
            yield NotTested(id=id, reason=plan.beyond[id], because="this form")
        why = stopped or _beyond(rig, step)
        try:
            if why is None and missing:
                for finding in PROCEDURES[step.measure](rig, step):
                    missing.remove(finding.id)
                    yield finding
        except PartStops as told:
            why = stopped = told
        except CannotTest as told:
            why = told
        if missing and stopped is None:
            board.off()
        for id in missing:
            yield not_tested(id, why or CannotTest("the step ended without it"))
    board.off()


def renew(board: Board) -> None:
    """Renew the lease on what is energised: whoever takes a finding may have written it to a slow disk."""
    board.wait(0.0)


def _next(rig: PartOnRig, steps: list[Step]) -> Step:
    """Take the step that comes next; a part that does not operate at nominal volts is timed before it is loaded."""
    first = steps[0]
    rests = rig.at_nominal is not None and not happened(rig.form.operates, rig.at_nominal)
    if isinstance(first, ContactStep) and rests:
        first = next((step for step in steps if isinstance(step, TimingStep)), first)
    steps.remove(first)
    return first


def _beyond(rig: PartOnRig, step: Step) -> CannotTest | None:
    """Why this build of the board cannot do the step, if it cannot."""
    why = step.lacks(rig.able, rig.plan.rating.system_v, rig.hand is not None)
    return CannotTest(why, because="bare board" if rig.bare else "beyond bench") if why else None
