"""`pulldrop protocol`: the test protocols that there are, what one does, and whether one of your own is well formed."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.options import JsonOption

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.model.plan import Plan

app = typer.Typer(help="List, show and check test protocols.", no_args_is_help=True)


@app.command("list")
def list_protocols(as_json: JsonOption = False) -> None:
    """List the protocols that ship with pulldrop."""
    from pulldrop.cli import screen
    from pulldrop.cli.answers import ProtocolLine
    from pulldrop.protocol import library
    from pulldrop.protocol.load import load_protocol

    lines = []
    for name in library.names():
        one = load_protocol(library.find(name)).protocol
        lines.append(ProtocolLine(protocol=name, title=one.title, form=one.form, rating=one.rating))
    if as_json:
        screen.print_json(tuple(lines))
        return
    table = screen.table("protocol", "title", "rating")
    for line in lines:
        table.add_row(line.protocol, line.title, line.rating)
    screen.console().print(table)


@app.command("show")
def show(
    protocol: Annotated[str, typer.Argument(help="A name or a file.")],
    rating: Annotated[str | None, typer.Option("--rating", metavar="NAME|FILE", help="Another rating.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Show the steps of a protocol, and its limits for its own or another rating."""
    from pulldrop.cli import screen
    from pulldrop.protocol.load import plan

    bound = plan(protocol, rating)
    if as_json:
        screen.print_json(bound)
    else:
        _show_plan(screen.console(), bound)


@app.command("check")
def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A protocol of your own.")], as_json: JsonOption = False
) -> int:
    """Check a protocol file: every mistake with file, line and column, and what was expected."""
    from pulldrop.cli import exits, screen
    from pulldrop.cli.answers import CheckAnswer
    from pulldrop.protocol import load

    found = load.check(file)
    problems = tuple(str(one) for one in found) if isinstance(found, list) else ()
    if as_json:
        screen.print_json(CheckAnswer(file=str(file), ok=not problems, problems=problems))
    elif isinstance(found, list):
        print("\n".join(problems))
    else:
        limits = f"{len(found.limits)} limits" + (f", {len(found.unlimited)} without a figure" * bool(found.unlimited))
        print(f"{file}: well formed; {len(found.steps)} steps, {limits}, with the rating {found.rating.rating}.")
    return exits.INPUT if problems else 0


def _show_plan(out: "Console", plan: "Plan") -> None:
    from pulldrop.cli import screen, words

    out.print(f"{plan.protocol}, version {plan.version}: {plan.title}")
    out.print(f"rating: {plan.rating.title} ({plan.rating.rating})")
    for number, step in enumerate(plan.steps, 1):
        settings = ", ".join(f"{k} {v:g}" if isinstance(v, float) else f"{k} {v}" for k, v in step if v is not None)
        out.print(f"  step {number}: {settings}")
    table = screen.table("measurement", "limit", "where it comes from")
    for id in plan.wanted:
        limit = plan.limits.get(id)
        where = f"{limit.source.text} [{limit.source.known}]" if limit else plan.unlimited.get(id, "")
        table.add_row(words.title(id), words.limit(limit), where)
    out.print(table)
