"""A plan carried out on a board: each reading as soon as it exists, and a reason for each one that does not.

Rule: every id that the plan wants comes out exactly once, as a Reading or as NotTested; board trouble passes through.
"""

from collections.abc import Generator, Iterator
from dataclasses import dataclass

from pulldrop.board.contract import Board
from pulldrop.measure.rig.bench import Bench, CannotTest, Enough, PartStops
from pulldrop.measure.rig.flyback import flyback
from pulldrop.measure.steps.coil import coil
from pulldrop.measure.steps.contact import contact
from pulldrop.measure.steps.film import surface
from pulldrop.measure.steps.hot import hot
from pulldrop.measure.steps.leakage import leakage
from pulldrop.measure.steps.low_probe import low_probe
from pulldrop.measure.steps.motion import motion
from pulldrop.measure.steps.overdrive import overdrive
from pulldrop.measure.steps.reversal import reversal
from pulldrop.measure.steps.rise import climb
from pulldrop.measure.steps.scan import scan
from pulldrop.measure.steps.soak import soak
from pulldrop.measure.steps.sticking import tack
from pulldrop.measure.steps.thresholds import thresholds
from pulldrop.measure.steps.timing import timing
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.measurement import UNFED_STEPS, yields
from pulldrop.model.raw import Contact
from pulldrop.model.reading import Finding, NotTested
from pulldrop.model.run.hand import Hand
from pulldrop.model.run.plan import (
    ClimbStep,
    CoilStep,
    ContactStep,
    FlybackStep,
    HotStep,
    LeakageStep,
    MotionStep,
    OverdriveStep,
    Plan,
    ProbeStep,
    ReversedStep,
    ScanStep,
    SoakStep,
    Step,
    SurfaceStep,
    TackStep,
    ThresholdStep,
    TimingStep,
)

TITLES = {
    "probe": "coil at half a volt",
    "coil": "contacts at rest, coil",
    "thresholds": "pull-in and drop-out",
    "timing": "operate, release, bounce",
    "contact": "contact drop under load",
    "scan": "contacts at rest, coil, at a few mA",
    "leakage": "insulation between terminals",
    "motion": "armature motion",
    "soak": "coil held on until hot",
    "tack": "release after load",
    "hot": "release after a hot make",
    "climb": "drop from pulse to pulse",
    "overdrive": "drop-out after overdrive",
    "reversed": "reversed pulses, by exchanged leads",
    "flyback": "spike of the coil",
    "surface": "contacts dry, loaded, dry",
}
BARE = "this is a bare board, without coil supply and load; a protocol that ends in -bare suits it"


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
) -> Generator[StepStarted | Finding, None, None]:
    """Yield StepStarted before each step and each finding as it is made. Raises BoardError for bench trouble.

    `enough` is asked after every make, with a measurement's id and its single values, whether they tell enough.
    `hand` is asked, with everything off, for what a person must do; without one such steps are left out.
    `cold_ohm`: the coil's, as an earlier run read them before it warmed the part, which has been in its socket since.
    """
    bench = Bench(board, calibration, plan, enough, hand, cold_ohm)
    stopped_by = ""
    steps = list(plan.steps)
    for index in range(1, len(steps) + 1):
        step = _next(bench, steps)
        yield StepStarted(TITLES[step.measure], index, len(plan.steps))
        missing = list(yields(step.measure, plan.form))
        reason = stopped_by or _beyond(board, step)
        try:
            if not reason:
                for finding in _procedure(bench, step):
                    missing.remove(finding.id)
                    yield finding
        except PartStops as why:
            reason = stopped_by = str(why)
        except CannotTest as why:
            reason = str(why)
        if missing and not stopped_by:
            board.off()
        for id in missing:
            yield NotTested(id=id, reason=reason or "the step ended without it")
    board.off()


def _next(bench: Bench, steps: list[Step]) -> Step:
    """Take the step that comes next; a part that does not close at nominal volts is timed before it is loaded."""
    first = steps[0]
    if isinstance(first, ContactStep) and bench.at_nominal is not None and not bench.at_nominal & Contact.NO:
        first = next((step for step in steps if isinstance(step, TimingStep)), first)
    steps.remove(first)
    return first


def _beyond(board: Board, step: Step) -> str:
    """Why this build of the board cannot do the step, or nothing."""
    return BARE if board.identity.build == "bare" and step.measure not in UNFED_STEPS else ""


def _procedure(bench: Bench, step: Step) -> Iterator[Finding]:
    match step:
        case CoilStep():
            return coil(bench, step)
        case ThresholdStep():
            return thresholds(bench, step)
        case TimingStep():
            return timing(bench, step)
        case ContactStep():
            return contact(bench, step)
        case ScanStep():
            return scan(bench, step)
        case LeakageStep():
            return leakage(bench, step)
        case ProbeStep():
            return low_probe(bench, step)
        case FlybackStep():
            return flyback(bench, step)
        case SoakStep():
            return soak(bench, step)
        case TackStep():
            return tack(bench, step)
        case HotStep():
            return hot(bench, step)
        case ClimbStep():
            return climb(bench, step)
        case OverdriveStep():
            return overdrive(bench, step)
        case ReversedStep():
            return reversal(bench, step)
        case MotionStep():
            return motion(bench, step)
        case SurfaceStep():
            return surface(bench, step)
