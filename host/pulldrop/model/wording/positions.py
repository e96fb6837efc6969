"""The workshop table of a switch in words and marks: the same rows on the terminal, the page and paper.

Rule: as `words`, it repeats and judges nothing.
"""

from collections.abc import Mapping

from pulldrop.model.part.kinds.switch import SwitchRating
from pulldrop.model.part.position_names import names as names_of
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord


def table_rows(table: SwitchTable, names: Mapping[int, str]) -> list[list[str]]:
    """A switch's table: each position's name or number, a mark for each terminal, and what else it does."""
    rows = []
    for number, row in enumerate(table.positions):
        back = "" if row.springs_to is None else f"springs back to {position_name(row.springs_to, names)}"
        more = "; ".join(f"{one.a}-{one.b} {one.ohm:.3g} ohm" for one in row.state.through)
        marks = [row.state.mark(terminal) for terminal in table.terminals]
        rows.append([position_name(number, names), *marks, ", ".join(one for one in (back, more) if one)])
    return rows


def position_name(number: int, names: Mapping[int, str]) -> str:
    """A position's name in its table, or its number from 1."""
    return names.get(number, f"{number + 1}")


def of_table(table: SwitchTable, names: Mapping[int, str]) -> list[str]:
    """What is built in, and how its contacts go from one position to the next."""
    told = []
    for one in table.inside:
        what = "a LED or diode" if one.one_way else "a lamp or resistor"
        told.append(f"{what} inside, {one.a} to {one.b}, {one.ohm:.3g} ohm at a few mA")
    for passage in table.passages:
        way = f"{position_name(passage.start, names)} to {position_name(passage.end, names)}"
        told += [f"{way}: {passage.between}"] if passage.between else []
        told += [f"{way}: {pair} opens on the way, a dead spot unless it is made so" for pair in passage.opens]
    return told


def tables(record: RunRecord) -> list[tuple[SwitchTable, dict[int, str]]]:
    """The table that a run found of a switch, if any, and the names of its positions."""
    rating = record.plan.rating
    found = (one.finding.state for one in record.judged if isinstance(one.finding, Reading))
    known = rating.positions if isinstance(rating, SwitchRating) else {}
    return [(one, names_of(known, one)) for one in found if isinstance(one, SwitchTable)]
