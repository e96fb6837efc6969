"""Outcomes of single measurements and of a whole run, in the words a person sees."""

from enum import StrEnum

from pulldrop.model.limit import Limit
from pulldrop.model.raw import Frozen
from pulldrop.model.reading import NotTested, Reading


class Outcome(StrEnum):
    """Of one measurement. NOTED: measured, and the protocol sets no limit."""

    PASS = "pass"
    FAIL = "fail"
    UNSURE = "unsure"
    NOT_TESTED = "not tested"
    NOTED = "noted"


class Overall(StrEnum):
    """Of a run. Only PASS is a pass; an interrupted or partial run is never one."""

    PASS = "pass"
    FAIL = "fail"
    UNSURE = "unsure"
    INCOMPLETE = "incomplete"
    WITHOUT_LOAD = "checked without load"
    INTERRUPTED = "interrupted"
    BENCH_TROUBLE = "bench trouble"


class Judged(Frozen):
    """One measurement, its limit if it has one, and the outcome with a reason in words."""

    id: str
    outcome: Outcome
    reason: str
    finding: Reading | NotTested
    limit: Limit | None = None


class Verdict(Frozen):
    """`found`, `means` and `next` are one plain sentence each: what was found, what it means, what to do."""

    overall: Overall
    found: str
    means: str
    next: str
