"""The outcome of a switch's table by the one that it should have.

Rule: a table that may be wrong decides nothing; what is odd of the switch itself is no doubt once it differs.
"""

from pulldrop.judge.positions.compare import Comparison, compare
from pulldrop.judge.positions.meaning import meaning
from pulldrop.model.limit import Limit
from pulldrop.model.part.kinds.switch import SwitchRating
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.model.reading import Reading
from pulldrop.model.verdict import Judged, Outcome


def judge_table(reading: Reading, table: SwitchTable, limit: Limit | None, rating: SwitchRating) -> Judged:
    """Outcome and reason. Without a limit it is noted, with what the table means."""
    found = compare(rating.positions, table, rating.springs)
    told = [one.text for one in found.differences] if limit else []
    turned = [one for one in table.doubts if one not in table.odd]
    if turned or (table.odd and not told):
        outcome, told = Outcome.UNSURE, [*turned, *table.odd, *told]
    elif limit is None:
        outcome, told = Outcome.NOTED, [str(meaning(table))]
    elif told:
        outcome = Outcome.FAIL
    else:
        outcome, told = Outcome.PASS, [f"as it should be ({_names(found)})"]
    return Judged(
        id=reading.id, outcome=outcome, reason="; ".join(told), finding=reading, limit=limit,
    )  # fmt: skip


def _names(found: Comparison) -> str:
    return ", ".join(f"{number + 1} {name}" for number, name in found.names.items())
