"""What an import is asked and gives: where records come from, who judges them again, and what was taken in."""

from collections.abc import Callable
from dataclasses import dataclass, field

from sqlalchemy import Table

from pulldrop.model.run.judgement import Judgement
from pulldrop.model.run.record import RunRecord
from pulldrop.store.exchange.doubts import NOTHING, Doubts


@dataclass(slots=True)
class ImportResult:
    """Counts of new, completed and already known runs, and of other new rows.

    `refused`: the reason for each refusal, a sentence each; `renamed`: parts that have another id here, so that a label
    is to be rewritten.
    """

    new: int = 0
    completed: int = 0
    known: int = 0
    other: int = 0
    refused: list[str] = field(default_factory=list)
    renamed: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Checked:
    """What a record came to when it was judged again: why it is refused, or the other rules that judged it."""

    refused: str = ""
    rules: str = ""


Check = Callable[[RunRecord], Checked]
CheckJudgement = Callable[[RunRecord, Judgement], Checked]


@dataclass(frozen=True, slots=True)
class Origins:
    """Where records come from: the source in words, the noted head that it was held to, and what does not hold there.

    `check` is asked of every run that is new here, `check_judgement` of every later judgement of a run, with that run.
    """

    source: str
    check: Check
    check_judgement: CheckJudgement = lambda record, judgement: Checked()
    head: str = ""
    doubts: Doubts = NOTHING

    def vouched(self, table: Table, of: str) -> bool:
        """Whether the noted head covers all of a record."""
        return bool(self.head) and (table.name, of) not in self.doubts.unvouched

    def distrusts(self, table: Table, of: str) -> bool:
        """Whether there is a head, and it does not cover this record: it says of no part which one it is."""
        return bool(self.head) and not self.vouched(table, of)
