"""Taking in what others measured. Rule: no verdict is taken on trust: every outcome follows again from its reading
and limit, the verdict from the outcomes, beside the siblings that the record keeps, and the protocol's text is the one
whose hash the plan names.
"""

import hashlib
from collections.abc import Callable, Sequence

from pulldrop import __version__
from pulldrop.jobs.parts.rejudge import judged_by
from pulldrop.jobs.parts.siblings import check
from pulldrop.judge import judge_finding, verdict
from pulldrop.judge.diagnosis import NOTHING, diagnose
from pulldrop.judge.diagnosis.seen import in_the_words_of_the_rules
from pulldrop.judge.verdict import Ended, refused
from pulldrop.model.reading import NotTested, needless
from pulldrop.model.run.judgement import Judgement
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall, Verdict
from pulldrop.protocol.load import bound_again
from pulldrop.store import Store
from pulldrop.store.database.heads import unreadable
from pulldrop.store.exchange import files
from pulldrop.store.exchange.origins import Checked, ImportResult
from pulldrop.store.exchange.records_file import FileRefused

RULES = f"pulldrop {__version__}"
"""The rules that judge here, as a record names them."""


def import_from(
    store: Store, source: str, same: Sequence[str] = (), head: str = "", all_or_nothing: bool = False
) -> ImportResult:
    """Import a file of records or another store, see `files.import_from`; every record is judged again first."""
    if head and (said := unreadable(head)):
        raise FileRefused(said)
    return files.import_from(store, source, files.Asked(same, judged_again, rejudged_again, head, all_or_nothing))


def judged_again(record: RunRecord) -> Checked:
    """Why a record is refused; of one that other rules judged, that it was not judged again."""
    return _checked(record, record.plan, record.software, lambda: _difference(record))


def rejudged_again(record: RunRecord, judgement: Judgement) -> Checked:
    """The same of a later judgement of a run."""
    return _checked(record, judgement.plan, judgement.software, lambda: _differs(record, judgement))


def _checked(record: RunRecord, plan: Plan, software: str, difference: Callable[[], str]) -> Checked:
    if hashlib.sha256(plan.text.encode()).hexdigest() != plan.sha256:
        return Checked("The text of its protocol is not the one whose hash its plan names.")
    if software != RULES:
        return Checked(rules=software[:40])
    try:
        bound = bound_again(plan.text, plan.rating)
        if plan not in (bound, *(bound.fitted(record.board.able, hand) for hand in (False, True))):
            return Checked("Its limits or steps do not follow from its protocol and rating.")
        return Checked(difference())
    except Exception as error:  # whatever figures that nobody measured make the judge meet
        return Checked(f"It cannot be judged again ({error}).")


def _differs(record: RunRecord, judgement: Judgement) -> str:
    if judgement.siblings:
        check(judgement.siblings, judgement.plan, record.simulated)
    said = (judgement.decisions, judgement.faults, judgement.verdict)
    if said == judged_by(record, judgement.plan, judgement.siblings):
        return ""
    return f"Its verdict '{judgement.verdict.overall}' or what it decided does not follow from the run's readings."


def _difference(record: RunRecord) -> str:
    ids = [one.id for one in record.judged]
    if len(set(ids)) < len(ids):
        return "It has two readings of one measurement."
    if record.siblings:
        check(record.siblings, record.plan, record.simulated)
    for one in record.judged:
        again = judge_finding(record.plan, one.finding)
        if again != one:
            return f"Its {one.id} says '{one.outcome}' ({one.reason}); its reading gives '{again.outcome}'."
    if record.ended is None:
        return "" if record.verdict.overall is Overall.INTERRUPTED else "It has a verdict and no end."
    if not any((record.verdict, record.faults) == again for again in _verdicts(record)):
        return f"Its verdict '{record.verdict.overall}' does not follow from its outcomes."
    return ""


def _verdicts(record: RunRecord) -> list[tuple[Verdict, object]]:
    """What the readings may have come to, with the faults: what ended the run is known by its verdict alone."""
    plan, judged, said = record.plan, record.judged, record.verdict
    found = [one.finding for one in judged]
    made = [one for one in found if not needless(one)]
    ended: Ended = "complete"
    if said.overall in (Overall.INTERRUPTED, Overall.BENCH_TROUBLE):
        ended = "interrupted" if said.overall is Overall.INTERRUPTED else "bench trouble"
    told: list[tuple[Verdict, object]] = []
    for by_the_part in (False, True) if ended == "bench trouble" else (False,):
        faults, unlike = NOTHING
        if ended == "complete" or by_the_part:
            faults, unlike = diagnose(plan, made, by_the_part, record.siblings)
        trouble = said.found if ended != "complete" else ""
        told.append((verdict(plan, judged, ended, trouble, by_the_part, faults, unlike), faults))
    if found and all(isinstance(one, NotTested) for one in found):  # refused at a look, whose readings are not kept
        faults = tuple(one.model_copy(update=in_the_words_of_the_rules(one.id)) for one in record.faults)
        told.append((refused(judged[0].reason, faults), faults))
    return told
