"""The workshop table of a switch: positions down, terminals across, joined marks; and what it means."""

from rich.console import Console
from rich.table import Table

from pulldrop.cli.show import screen
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import positions, words


def show(out: Console, record: RunRecord) -> None:
    """What a run found of a switch, for a person; nothing where no table was learnt."""
    from pulldrop.jobs.run.switch import learnt

    found = learnt(record)
    if found is None:
        return
    out.print(grid(found.table, found.names))
    for sentence in (found.means, *positions.of_table(found.table, found.names)):
        if sentence:
            out.print(screen.beside("  -", sentence, width=4, style=""))
    for judged in record.judged:
        if judged.id == "switch_table" and judged.outcome in ("fail", "unsure"):
            for one in judged.reason.split("; "):
                out.print(screen.beside(f"  {words.badge(judged.outcome).sign}", one, width=6))


def grid(table: SwitchTable, names: dict[int, str], at: int | None = None) -> Table:
    """Positions down, terminals across. `at`: the one that it rests on, marked."""
    shown = screen.table("", "position", *table.terminals, "")
    for number, row in enumerate(positions.table_rows(table, names)):
        shown.add_row(">" if number == at else "", *row)
    return shown
