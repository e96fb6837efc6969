"""Outcomes of single measurements and of a whole run, in the words a person sees."""

from collections.abc import Iterable
from enum import StrEnum

from pulldrop.model.limit import Limit
from pulldrop.model.raw import Frozen, OneLine
from pulldrop.model.reading import NotTested, Reading
from pulldrop.model.run.fault import Unlike
from pulldrop.model.scale import Grade, Mark


class Outcome(StrEnum):
    """Of one measurement. NOTED: measured, and the protocol sets no limit."""

    PASS = "pass"
    FAIL = "fail"
    UNSURE = "unsure"
    NOT_TESTED = "not tested"
    NOTED = "noted"


class Overall(StrEnum):
    """Of a run. Only PASS is a pass; an interrupted or partial run is never one.

    DO_NOT_ENERGISE: what feeds the part here would harm it or the bench; ANOTHER_KIND: these limits are not for it,
    which says nothing bad of it.
    """

    PASS = "pass"
    FAIL = "fail"
    UNSURE = "unsure"
    DO_NOT_ENERGISE = "do not energise"
    ANOTHER_KIND = "another kind"
    INCOMPLETE = "incomplete"
    WITHOUT_LOAD = "checked without load"
    INTERRUPTED = "interrupted"
    BENCH_TROUBLE = "bench trouble"


SAYS_NOTHING = (Overall.INTERRUPTED, Overall.BENCH_TROUBLE)
"""Verdicts of runs whose readings say nothing about the part: the bench or a hand came between."""


def with_mark(overall: Overall, mark: Mark | None) -> str:
    """A verdict's word, with its mark if it has one."""
    return f"{overall}, {mark}" if mark else str(overall)


class Judged(Frozen):
    """One measurement, its limit if it has one, and the outcome with a reason in words.

    `grade`: of a contact drop, on the scale of used contacts; None where the scale does not hold.
    """

    id: OneLine
    outcome: Outcome
    reason: OneLine
    finding: Reading | NotTested
    limit: Limit | None = None
    grade: Grade | None = None


def numbers(judged: Iterable[Judged]) -> dict[str, Reading]:
    """By id: the readings that are one number, neither a bound nor a state."""
    found = (one.finding for one in judged)
    return {one.id: one for one in found if isinstance(one, Reading) and one.value is not None and one.bound == "="}


class Verdict(Frozen):
    """`found`, `means` and `next` are one plain sentence each: what was found, what it means, what to do.

    `mark`: what a part that passed must carry. `unlike`: how its readings are not those of its class, which decides
    nothing; None where they are, or where nobody knows.
    """

    overall: Overall
    found: OneLine
    means: OneLine
    next: OneLine
    mark: Mark | None = None
    unlike: Unlike | None = None

    @property
    def word(self) -> str:
        """The word with its mark, such as "pass, light duty"."""
        return with_mark(self.overall, self.mark)
