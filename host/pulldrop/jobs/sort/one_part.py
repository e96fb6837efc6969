"""One part of a crate on the bench: the screen, the full protocol where that cannot tell, and the bin that follows.

Rule: the placing is written with the end of the run that decides, in one transaction; a part that was not in its socket
throughout is not placed at all.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from pulldrop.board.contract import Board, Trip
from pulldrop.board.errors import BoardError, Tripped
from pulldrop.jobs.run.by_look import OWN_FORM, cold_ohm, first_of
from pulldrop.jobs.run.test_one import Draft, RunOptions, Show, Task, Void, run_one
from pulldrop.judge.crate.bins import Choice, choose
from pulldrop.judge.crate.quick import doubted, doubtful
from pulldrop.judge.crate.sequential import enough
from pulldrop.judge.verdict import untested_in_short
from pulldrop.measure.identify.socket import Look, look
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.crate.crate import Bin, Cause, CrateEvent, Happened, Placed
from pulldrop.model.crate.sorting import Sorting
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.part import Part
from pulldrop.model.part.relay import FORMS
from pulldrop.model.quantity import show as shown
from pulldrop.model.reading import MOVED, ConditionName, NotTested, Reading, condition, no_news
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.steps.coil.coil import FIRST
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.verdict import SAYS_NOTHING, Judged, Outcome
from pulldrop.store import Entry, Store

FIGURES = (
    ("drop of 87 {}", "contact_drop_no"), ("drop of 87a {}", "contact_drop_nc"),
    ("coil {} at 20 degC", "coil_resistance_20c"), ("pull-in {} at 20 degC", "pull_in_voltage_20c"),
    ("drop-out {}", "drop_out_voltage"), ("operate {}", "operate_time"),
)  # fmt: skip
UNSTEADY = "sluggish"
WALKED = ("pull_in_voltage", "drop_out_voltage")
"""The fault for which one walk says little, and the measurements that walks give."""
AFTER_FIRST = ("contact_operated", *ContactStep.gives)
"""What later makes than the first show."""
PULLED = "The part was pulled, or another one put in, during its test. Nothing is known about it."
Likely = Callable[[Sequence[Judged]], tuple[int, str] | None]
"""The number of an earlier part that these readings look like, and how much, in words."""


@dataclass(frozen=True, slots=True)
class Job:
    """One part to be tested and placed under `number`, as the `seq`th event of its crate; `now`: the computer's clock.

    `before`: the socket as it was when the test began; `part.id` is empty for a part that was never tested;
    `keep`: False for a golden part, which has no place in a crate; `cold_ohm`: of its coil, where it was tested before
    and has been in its socket since. `own`: the crate's protocol for the form that a part turns out to have, None where
    there is none; `named`: by what form it is judged instead of the crate's, with what must be looked at, empty else;
    `first`: see `RunOptions`.
    """

    crate: str
    seq: int
    number: int
    part: Part
    sorting: Sorting
    before: Look
    now: Callable[[], datetime]
    operator: str = ""
    specimen: str = ""
    seed: int | None = None
    keep: bool = True
    cold_ohm: float | None = None
    own: Sorting | None = None
    named: str = ""
    first: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class Sorted:
    """The last run, and the event that placed the part; None when nothing was placed.

    `trouble`: what the bench had, None when it had none; `bench_s`: time on the bench, both runs together;
    `void`: the part was not in its socket throughout.
    """

    record: RunRecord
    event: CrateEvent | None
    trouble: BoardError | None
    bench_s: float
    void: bool = False


def sort_part(job: Job, board: Board, store: Store, show: Show, likely: Likely) -> Sorted:
    """Screen the part, test it in full if need be, and place it. Raises RunNotKept and StoreError.

    A part that turns out to be of another form is screened again as one.
    """
    done, bench_s = _run(job, job.sorting.screen, board, store, show, likely, final=False), 0.0
    for _ in ("the full protocol", "that of its own form", "in full by that"):
        if done.event is not None or not job.keep or done.record.verdict.overall in SAYS_NOTHING:
            break
        bench_s += done.bench_s
        final = not _of_own_form(job, done.record.faults)
        job = (
            replace(job, part=done.record.part, cold_ohm=cold_ohm(done.record)) if final else _as_own(job, done.record)
        )
        plan = job.sorting.full if final else job.sorting.screen
        job = replace(job, first=first_of(done.record, plan))
        done = _run(job, plan, board, store, show, likely, final)
    return replace(done, bench_s=bench_s + done.bench_s)


def _of_own_form(job: Job, faults: Sequence[NamedFault]) -> bool:
    """Whether the part turned out to be of a form for which the crate has a protocol as well."""
    return job.own is not None and job.keep and bool(faults) and faults[0].id == OWN_FORM


def _as_own(job: Job, record: RunRecord) -> Job:
    """The same part as one of its own form."""
    assert job.own is not None
    rating = job.own.screen.rating
    form = FORMS[job.own.screen.relay.form]
    named = f"{form.title} ({form.called}), if it has no blade 87; with one its 87 is dead: scrap it"
    return replace(
        job, part=rating.part(record.part.id), cold_ohm=cold_ohm(record), sorting=job.own, own=None, named=named
    )


def _run(
    job: Job, plan: Plan, board: Board, store: Store, show: Show, likely: Likely, final: bool
) -> Sorted:  # fmt: skip
    told: list[CrateEvent] = []
    error: list[BoardError] = []
    void: list[Void] = []
    rules, seen = job.sorting.rules, list[Judged]()

    def certain(judged: Sequence[Judged]) -> str:
        seen.extend(doubted(judged[len(seen) :]))
        if _only_the_first_make_fails(judged):
            return ""
        choice = choose(rules, plan, seen, doubt=doubtful)
        return choice.why if choice.certain else ""

    def watch(judged: Sequence[Judged]) -> None:
        try:
            _watch(board, job.before, judged)
        except Void as gone:
            void.append(gone)
            raise

    def entry(draft: Draft) -> Entry | None:
        error.extend([draft.error] if draft.error else [])
        event = _event(job, plan, draft, likely, final) if job.keep else None
        if event is None:
            return None
        told.append(event)
        return Entry(job.crate, job.seq, event)

    options = RunOptions(
        enough=None if final else lambda id, makes: enough(makes, edges_of(job.sorting, plan, id)),
        certain=(lambda _judged: "") if final else certain,
        watch=watch,
        entry=entry,
        cold_ohm=job.cold_ohm,
        first=job.first,
    )
    task = Task(plan, job.part, job.operator, job.specimen, job.seed)
    record = run_one(task, board, store, show, options)
    return Sorted(record, told[0] if told else None, error[0] if error else None, record.bench_s, bool(void))


def _only_the_first_make_fails(judged: Sequence[Judged]) -> bool:
    """Whether the first make or a first load failed though the armature moved, and later ones are still to come, which
    tell a film from a burnt contact, and show a part of another form.
    """
    failed = {one.id: one.finding for one in judged if one.outcome is Outcome.FAIL}
    if not failed or failed.keys() - {*FIRST} or any(one.id in AFTER_FIRST for one in judged):
        return False
    first = failed.get("first_operate_time")
    if first is None:
        return True
    armature = condition(ConditionName.ARMATURE, first.conditions) if isinstance(first, Reading) else None
    return armature is not None and armature.code == MOVED


def edges_of(sorting: Sorting, plan: Plan, id: str) -> list[float]:
    """Every number at which a bin may change with this measurement."""
    limits = [rule.within[id] for rule in sorting.rules if id in rule.within]
    if id in plan.limits:
        limits.append(plan.limits[id])
    return [edge for limit in limits for edge in (limit.low, limit.high) if edge]


def _watch(board: Board, before: Look, judged: Sequence[Judged]) -> None:
    """When something is not as it should be, whether the part is still there. A part never seen cannot be missed."""
    if any(isinstance(one.finding, NotTested) and one.finding.because == "other part" for one in judged):
        raise Void(PULLED)
    if before.empty or all(one.outcome in (Outcome.PASS, Outcome.NOTED) for one in judged):
        return
    rig = Rig.uncalibrated(board)
    rig.off()
    if not look(rig).same_part(before):
        raise Void(PULLED)


def _event(job: Job, plan: Plan, draft: Draft, likely: Likely, final: bool) -> CrateEvent | None:
    """The placing that follows from a run, if one does."""
    choice = None if _of_own_form(job, draft.faults) else _choice(job.sorting, plan, draft, final)
    if choice is None:
        return None
    reasons, cause = _reasons(choice, draft, job.named)
    placed = Placed(
        number=job.number,
        part=draft.part.id,
        run=draft.run,
        bin=choice.bin,
        reasons=reasons,
        cause=cause,
        untested=untested_in_short(plan) if choice.bin in (Bin.KEEP, Bin.LIGHT_DUTY) else "",
        figures=_figures(draft.judged),
        at=job.now(),
    )
    looks_like = likely(draft.judged)
    like, text = looks_like or (None, "")
    return CrateEvent(
        kind=Happened.PLACED, at=placed.at, number=job.number, run=draft.run, placed=placed, like=like, text=text
    )


def _choice(sorting: Sorting, plan: Plan, draft: Draft, final: bool) -> Choice | None:
    """None when the run says nothing about the part, or, of a screen, not enough."""
    if isinstance(draft.error, Tripped) and draft.error.trip is Trip.OVER_CURRENT:
        return Choice(Bin.LOOK_AGAIN, f"the part made the bench switch off: {draft.error}", True)
    if draft.verdict.overall in SAYS_NOTHING:
        return None
    if final:
        return choose(sorting.rules, plan, draft.judged, draft.faults, draft.verdict.unlike)
    choice = choose(sorting.rules, plan, doubted(draft.judged), draft.faults, draft.verdict.unlike, doubtful)
    named = {one.id for one in draft.faults}
    walked = any(one.id in WALKED and isinstance(one.finding, Reading) for one in draft.judged)
    passes_but_named = choice.bin is Bin.KEEP and named
    odd = passes_but_named or (walked and UNSTEADY in named)
    return choice if choice.certain and not odd else None


def _reasons(choice: Choice, draft: Draft, form: str) -> tuple[tuple[str, ...], Cause | None]:
    """Why this bin, and the cause of the first reason.

    For scrap what the diagnosis names comes first, and where it says what to do; what it may be instead is said so.
    Then what failed, then what is not known. `form`: by which form it is judged instead of the crate's.
    """
    named = [f"{'or: ' if at else ''}{one.title}" for at, one in enumerate(draft.faults[:2])]
    bad = [one for one in draft.judged if one.outcome is Outcome.FAIL]
    open_ = [one for one in draft.judged if one.outcome is Outcome.UNSURE]
    left = [one for one in draft.judged if one.outcome is Outcome.NOT_TESTED and not no_news(one.finding)]
    told = [*named, *(f"{_title(one)}: {one.reason}" for one in (*bad, *open_))]
    if draft.faults and choice.why == draft.faults[0].advice:
        return tuple(dict.fromkeys([named[0], choice.why, *told])), None
    if choice.bin is not Bin.SCRAP:
        return tuple(dict.fromkeys([*filter(None, [form]), choice.why, *told, *_left_out(left)])), None
    causes = [Cause(about="fault", id=one.id) for one in draft.faults[:1]]
    causes += [Cause(about="limit", id=one.id) for one in (*bad, *open_)]
    why = () if bad else (choice.why,)  # a limit that failed says it better than the rule
    return tuple(dict.fromkeys([*told, *why, *filter(None, [form])])), next(iter(causes), None)


def _left_out(left: Sequence[Judged]) -> list[str]:
    """What was not tested, each reason once."""
    by_reason: dict[str, list[str]] = {}
    for one in left:
        by_reason.setdefault(one.reason, []).append(_title(one))
    more = {reason: f" and {len(titles) - 1} more" if titles[1:] else "" for reason, titles in by_reason.items()}
    return [f"{titles[0]}{more[reason]}: {reason}" for reason, titles in by_reason.items()]


def _title(one: Judged) -> str:
    return MEASUREMENTS[one.id].title


def _figures(judged: Sequence[Judged]) -> tuple[str, ...]:
    """Key figures, each rounded as beside its uncertainty, so that screen, label and report show the same digits."""
    found = {one.id: one.finding for one in judged}
    told = []
    for words, id in FIGURES:
        one = found.get(id)
        if isinstance(one, Reading) and one.value is not None:
            mark = "" if one.bound == "=" else f"{one.bound} "
            rounded = shown(one.value, one.unit, one.expanded_uncertainty).partition(" +-")[0]
            told.append(words.format(f"{mark}{rounded}"))
    return tuple(told)
