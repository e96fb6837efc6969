"""Runs of the job that `pulldrop test` does, with the lines of one sheet as the only limits.

The bench is one without errors or noise, which nobody calibrated: U is what makers promise for its parts, and what is
left of an error is the method's own. Its socket has no clips, and an uncalibrated bench takes those off a drop; so the
part stands in for them.
"""

from functools import cache

from sheets import Sheet
from wound import as_virtual

from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.bench.calibration import Clips
from pulldrop.model.part.relay import Relay
from pulldrop.model.reading import Reading
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.step import Step
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.coil.thresholds import ThresholdsStep
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.steps.contacts.timing import TimingStep
from pulldrop.model.verdict import Judged, Outcome
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.bind import bind
from pulldrop.protocol.load import load_protocol
from pulldrop.protocol.shape import LimitLine
from pulldrop.protocol.shipped import library
from pulldrop.store import Store
from pulldrop.text.document import read

LINES: dict[str, tuple[str, type[Step]]] = {
    "coil_resistance_20c": ("rated +- tolerance", CoilStep),
    "pull_in_voltage_20c": ("<= rated", ThresholdsStep),
    "drop_out_voltage": (">= rated", ThresholdsStep),
    "operate_time": ("<= rated", TimingStep),
    "release_time": ("<= rated", TimingStep),
    "contact_drop_no": ("<= rated", ContactStep),
    "contact_drop_nc": ("<= rated", ContactStep),
}
"""Of a sheet: the measurement that a line limits, how, and the step that measures it."""
LOAD_A = 10.0
"""Of the shipped protocols."""
FEWEST: dict[type[Step], dict[str, int]] = {
    ThresholdsStep: {"walks": 1},
    TimingStep: {"makes": 3},
    ContactStep: {"makes": 10},
}
"""Where one line is asked for, no more makes than tell it. The scatter of three walks, and U with it, is another one in
each run; one walk is given the usual scatter."""


def lines_of(sheet: Sheet) -> tuple[str, ...]:
    """The lines that the sheet has."""
    return tuple(sheet.published.edges)


@cache
def sheet_plan(sheet: Sheet, depth: str = "full", only: str = "") -> Plan:
    """The steps of a shipped protocol, judged by all lines of the sheet that they measure; a contact is loaded with the
    current at which the sheet gives its drop. `only`: the coil, and what this line takes, in the fewest makes."""
    protocol = load_protocol(read(library.find(f"relay-{depth}")), sheet.rating.nominal).protocol
    kinds = {CoilStep, LINES[only][1]} if only else {kind for _, kind in LINES.values()}
    steps = tuple(_as_wanted(sheet, step, only) for step in protocol.steps if type(step) in kinds)
    limits = {id: LimitLine(limit=LINES[id][0]) for id in lines_of(sheet) if LINES[id][1] in kinds}
    return bind(
        protocol.model_copy(update={"steps": steps, "limits": limits}), sheet.rating, "the lines of a sheet", {}
    )


def _as_wanted(sheet: Sheet, step: Step, only: str) -> Step:
    loaded = step.model_copy(update={"load": load_a(sheet)}) if isinstance(step, ContactStep) else step
    few = {name: least for name, least in FEWEST.get(type(step), {}).items() if only}
    return loaded.model_copy(update=few)


def load_a(sheet: Sheet) -> float:
    """Amps at which the sheet gives its drop; those of the shipped protocols where it gives none."""
    return sheet.published.drop_at("contact_drop_no") or LOAD_A


def run(plan: Plan, part: Specimen, store: Store, kind: str = "virtual") -> RunRecord:
    """One part on that bench, tested to its end."""
    virtual = as_virtual(part)
    with open_board(kind, as_virtual(_with_clips(part)), None) as board:
        task = Task(plan, Relay(id="", form=plan.form), specimen=virtual.text)
        return run_one(task, board, store, lambda _event: None)


def _with_clips(part: Specimen) -> Specimen:
    def clipped(throw: str, ohm: float) -> object:
        contact = getattr(part, throw)
        return contact.model_copy(update={"bulk_mohm": contact.bulk_mohm + 1e3 * ohm})

    clips = Clips()
    no, nc = clipped("contact_no", clips.no_ohm), clipped("contact_nc", clips.nc_ohm)
    return part.model_copy(update={"contact_no": no, "contact_nc": nc})


def judged(record: RunRecord, id: str) -> Judged:
    """One measurement of a run."""
    return next(one for one in record.judged if one.id == id)


def reading(record: RunRecord, id: str) -> Reading:
    """The number of one measurement of a run."""
    found = judged(record, id).finding
    assert isinstance(found, Reading) and found.value is not None and found.bound == "=", found
    return found


def ids(record: RunRecord, outcome: Outcome) -> list[str]:
    """The measurements with one outcome."""
    return [one.id for one in record.judged if one.outcome is outcome]
