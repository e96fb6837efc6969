"""One part as it comes: looked at, tested by the class that the look finds, or refused by name before it is energised.

Rule: whoever tests a single part does it by way of this, so that one part gets one answer everywhere.
"""

from dataclasses import dataclass, replace

from pulldrop.board.contract import Board
from pulldrop.jobs.run import choose
from pulldrop.jobs.run.identify import NotEnergised, look_first, refuse
from pulldrop.jobs.run.test_one import PLAIN, RunOptions, Show, Task, keep_refused, run_one
from pulldrop.model.part.identification import Identification
from pulldrop.model.reading import Reading
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.steps.coil.coil import FIRST, FIRST_LOADS
from pulldrop.model.verdict import numbers
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.ratings.classes import class_of
from pulldrop.protocol.shipped.heads import BENCH_S
from pulldrop.store import Store

UNRATED = "It leaves no record: only a rating says which contacts and limits a run has. Name its rating to keep one."
OWN_FORM = "normally_closed"
"""The finding after which a part is tested once more, as one of that form."""


@dataclass(frozen=True, slots=True)
class Looked:
    """What a look came to: a plan, None where nobody knows the part's class; what was seen, or why it is refused.

    `by_class`: nobody named a rating, so that the form may still turn out to be another one.
    """

    plan: Plan | None
    identified: Identification | None = None
    refused: NotEnergised | None = None
    protocol: str | None = None
    by_class: bool = False


def look(
    board: Board, store: Store, plan: Plan | None, protocol: str | None = None, printed: Specimen | None = None
) -> Looked:
    """Look before a test by this plan, or by `protocol` and the class that is seen where there is none.

    `printed`: a virtual part, of which only what a person could read on it is taken beside the look. Raises
    NotEnergised for a part that cannot be tested so and has no finding that a record could name.
    """
    identified = look_first(board, store)
    by_class = plan is None or printed is not None
    if printed:
        plan = choose.plan_for_specimen(printed, board.identity.build == "bare", protocol, identified)
    plan = plan or choose.plan_seen(identified, protocol)
    try:
        refuse(identified, plan)
    except NotEnergised as no:
        if not no.faults:
            raise
        if plan is None:
            raise NotEnergised(f"{no} {UNRATED}", no.why, no.faults) from no
        return Looked(plan, identified, no, protocol, by_class)
    return Looked(plan, identified, None, protocol, by_class)


def examine(
    task: Task, looked: Looked, board: Board, store: Store, show: Show, options: RunOptions = PLAIN
) -> RunRecord:
    """Test what was looked at; `task.plan` is that of the look. A part of Form B is tested again as one.

    The record that counts is shown, and no other.
    """
    if looked.refused:
        record, own = keep_refused(task, board, store, looked.refused.why, looked.refused.faults), None
    else:
        record = run_one(task, board, store, lambda one: None if isinstance(one, RunRecord) else show(one), options)
        own = own_form(record, looked.protocol) if looked.by_class else None
    if own is None:
        show(record)
        return record
    about = {"label": task.part.label, "donor": task.part.donor}
    again = replace(task, plan=own, part=own.rating.part(record.part.id).model_copy(update=about), siblings=None)
    return run_one(again, board, store, show, replace(options, cold_ohm=cold_ohm(record), first=first_of(record, own)))


def proposed(looked: Looked) -> str:
    """What is proposed for a part that was looked at: its class, the protocol, and how long it takes; needs a plan."""
    assert looked.plan is not None
    seconds = BENCH_S.get(looked.plan.protocol)
    about = f", about {seconds:.0f} s" if seconds else ""
    return f"{looked.plan.rating.title}: {looked.plan.protocol}{about}"


def same(one: Looked, other: Looked) -> bool:
    """Whether both looks saw the same kind of part."""

    def told(of: Identification | None) -> tuple[object, ...]:
        return (of.volts, of.forms, of.suppression.kind, of.refuse) if of else ()

    plans = [looked.plan and (looked.plan.protocol, looked.plan.rating.rating) for looked in (one, other)]
    return plans[0] == plans[1] and told(one.identified) == told(other.identified)


def own_form(record: RunRecord, protocol: str | None = None) -> Plan | None:
    """The plan for the form that a run found a part to have; None where it found none, or no class is known for it."""
    if not record.faults or record.faults[0].id != OWN_FORM or record.plan.relay.any_maker is None:
        return None
    return choose.plan_rated(protocol or record.plan.protocol, class_of("B", record.plan.relay.nominal))


def first_of(record: RunRecord, next: Plan) -> tuple[Reading, ...]:
    """What a run read in the part's first make, for the next run of it in the same socket, by the plan of that one."""
    alike = record.plan.form == next.form
    made = (one.finding for one in record.judged if one.id in (FIRST if alike else FIRST_LOADS))
    return tuple(one for one in made if isinstance(one, Reading) and one.id in next.wanted)


def cold_ohm(record: RunRecord) -> float | None:
    """The coil's ohms before this run, or one before it that handed them on, warmed the part."""
    cold = numbers(record.judged).get("coil_resistance")
    return cold.value if cold else None
