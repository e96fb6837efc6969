"""`pulldrop parts`: the parts that were tested, and the runs of one of them."""

from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.options import JsonOption, StoreOption

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.model.record import Part
    from pulldrop.store import PartLine, RunLine

app = typer.Typer(help="Show the parts that were tested, and their runs.", no_args_is_help=True)


@app.command("list")
def list_parts(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """List every part with its last verdict."""
    from pulldrop.cli import screen
    from pulldrop.store import Store

    with Store.open(store) as history:
        lines = history.parts()
    if as_json:
        screen.print_json(lines)
        return
    out = screen.console()
    if not lines:
        out.print("No part was tested yet. Try: pulldrop demo")
        return
    _show_parts(out, lines)


@app.command("show")
def show_part(
    part: Annotated[str, typer.Argument(help="The part's id, as written on it.")],
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one part: all its runs, and the whole of the last one."""
    from pulldrop.cli import result, screen
    from pulldrop.cli.part_answer import PartAnswer
    from pulldrop.jobs.golden import with_drift
    from pulldrop.store import Store

    with Store.open(store) as history:
        runs = history.runs(part)
        answer = PartAnswer(part=history.part(part), runs=runs, last=with_drift(history, history.record(runs[-1].run)))
    if as_json:
        screen.print_json(answer)
        return
    out = screen.console()
    if answer.last.simulated:
        screen.simulated(out, answer.last.board.kind)
    out.print(f"Part {part}: {_about(answer.part.part) or 'nothing noted about it'}")
    _show_runs(out, runs)
    out.print(f"\nThe last run, {answer.last.run}:")
    result.show_result(out, answer.last)
    for line in answer.last.warnings:
        out.print(screen.beside("!", line, width=2))


def _about(part: "Part") -> str:
    return "; ".join(one for one in (part.label, part.donor, part.notes) if one)


def _show_parts(out: "Console", lines: "tuple[PartLine, ...]") -> None:
    from rich.text import Text

    from pulldrop.cli import screen, words

    table = screen.table("part", "last verdict", "runs", "last tested", "about")
    for line in lines:
        word = line.last.overall if line.last else None
        table.add_row(
            line.part.id,
            Text(f"{words.SHAPES[word]} {word}", style=words.tone(word)) if word else Text("never tested"),
            str(line.runs),
            f"{line.last.started:%Y-%m-%d %H:%M}" if line.last else "",
            ("SIMULATED " if line.simulated else "") + _about(line.part),
        )
    out.print(table)


def _show_runs(out: "Console", runs: "tuple[RunLine, ...]") -> None:
    from rich.text import Text

    from pulldrop.cli import screen, words

    table = screen.table("started", "verdict", "protocol", "run")
    for line in runs:
        word = Text(f"{words.SHAPES[line.overall]} {line.overall}", style=words.tone(line.overall))
        table.add_row(f"{line.started:%Y-%m-%d %H:%M}", word, f"{line.protocol} {line.protocol_version}", line.run)
    out.print(table)
