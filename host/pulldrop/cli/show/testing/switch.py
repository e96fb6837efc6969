"""The workshop table of a switch: positions down, terminals across, joined marks; what it means, and differences."""

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.jobs.run.switch import SwitchAnswer
from pulldrop.model.part.switch_table import JoinedState, SwitchTable

MARKS = "ABCDEFGH"
"""One letter for each group that is joined, so that two groups of one position stay apart without colour."""


def show(out: Console, answer: SwitchAnswer) -> None:
    """The answer of `pulldrop switch` for a person."""
    if answer.simulated:
        screen.simulated(out, answer.board.kind)
    names = answer.comparison.names if answer.comparison else {}
    out.print(grid(answer.table, names))
    for sentence in sentences(answer, names):
        out.print(screen.beside("  -", sentence, width=4, style=""))
    rule = "=" * min(out.width - 1, 79)
    out.print(Text(rule, style="bold"))
    for one in answer.table.doubts:
        out.print(screen.beside("[?] in doubt", one, width=12))
    differences = answer.comparison.differences if answer.comparison else ()
    for difference in differences:
        out.print(screen.beside("[X] differs", difference.text, width=12))
    if answer.comparison and not differences:
        out.print(Text(f"  [+] AS IN THE TABLE {answer.reference}", style="bold bright_blue"))
    elif not answer.comparison:
        out.print(Text(f"  {len(answer.table.positions)} POSITIONS: count them on the switch", style="bold"))
    if answer.part:
        out.print(f"Kept as {answer.part}. Compare it again: pulldrop switch --part {answer.part}")
    out.print(Text(rule, style="bold"))


def grid(table: SwitchTable, names: dict[int, str], at: int | None = None) -> Table:
    """Positions down, terminals across. `at`: the one that it rests on, marked."""
    shown = screen.table("", "position", *table.terminals, "")
    for number, row in enumerate(table.positions):
        marks = [mark(row.state, terminal) for terminal in table.terminals]
        back = "" if row.springs_to is None else f"springs back to {name_of(row.springs_to, names)}"
        more = "; ".join(f"{one.a}-{one.b} {one.ohm:.3g} ohm" for one in row.state.through)
        told = ", ".join(one for one in (back, more) if one)
        shown.add_row(">" if number == at else "", name_of(number, names), *marks, told)
    return shown


def mark(state: JoinedState, terminal: str) -> str:
    """A letter for the group that a terminal is in, a dot where nothing joins it."""
    group = state.group(terminal)
    return MARKS[state.groups.index(group) % len(MARKS)] if len(group) > 1 else "."


def name_of(number: int, names: dict[int, str]) -> str:
    """A position's name in the reference, or its number."""
    return names.get(number, f"{number + 1}")


def sentences(answer: SwitchAnswer, names: dict[int, str]) -> list[str]:
    """What was worked out, one thing a sentence."""
    told, means = [], answer.meaning
    if means.likely:
        told.append(means.likely)
    if means.common:
        told.append(f"{means.common} is common to all joints")
    told += [f"{' and '.join(one)} are one terminal: joined in every position" for one in means.one]
    told += [f"{' and '.join(one)} close together" for one in means.together]
    if means.unused:
        told.append(f"nothing joins {', '.join(means.unused)}")
    for one in answer.table.inside:
        what = "a LED or diode" if one.one_way else "a lamp or resistor"
        told.append(f"{what} inside, {one.a} to {one.b}, {one.ohm:.3g} ohm at a few mA")
    for passage in answer.table.passages:
        way = f"{name_of(passage.start, names)} to {name_of(passage.end, names)}"
        told += [f"{way}: {passage.between}"] if passage.between else []
        told += [f"{way}: {pair} opens on the way, a dead spot unless it is made so" for pair in passage.opens]
    return told
