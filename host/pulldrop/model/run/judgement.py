"""A later judgement of what a run measured: with another protocol or rating, beside the run's own verdict.

Rule: it points to its run and holds no reading of its own; the run and its verdict stay as they are.
"""

from datetime import datetime

from pulldrop.model.limit import Limit
from pulldrop.model.origin import Origin
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.raw import Frozen, OneLine
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.plan import Plan
from pulldrop.model.scale import Grade
from pulldrop.model.verdict import Outcome, Verdict


class Decision(Frozen):
    """On one reading. NOT_TESTED also where the reading was made under other conditions than the protocol asks for."""

    id: str
    outcome: Outcome
    reason: OneLine
    limit: Limit | None = None
    grade: Grade | None = None


class Judgement(Frozen):
    """One judgement; `decisions` stand in the order of the run's measurements, one each.

    `siblings`: what sound parts of its type read, beside which it was judged; None where a person named none.
    """

    id: str
    run: str
    at: datetime
    simulated: bool
    origin: Origin
    plan: Plan
    decisions: tuple[Decision, ...]
    faults: tuple[NamedFault, ...]
    verdict: Verdict
    software: OneLine
    operator: OneLine = ""
    siblings: TypeReference | None = None
