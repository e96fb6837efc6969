"""`pulldrop protocol`: the test protocols that there are, what one does, and whether one of your own is well formed."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import JsonOption
from pulldrop.cli.show.listing import Listing

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.model.run.plan import Plan

SETTINGS = {
    "V": ("probe", "at", "full", "coarse", "fine", "coil"),
    "s": ("coarse_dwell", "dwell", "pulse"),
    "A": ("load",),
}
"""Units of the settings of a step."""

app = typer.Typer(cls=Listing, help="List, show and check test protocols.", no_args_is_help=True)


@app.command("list")
def list_protocols(as_json: JsonOption = False) -> None:
    """List the protocols that ship with pulldrop."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import ProtocolLine
    from pulldrop.protocol import library
    from pulldrop.protocol.crate import sorting
    from pulldrop.protocol.load import load_protocol

    lines = []
    for name in library.names():
        one = load_protocol(library.find(name)).protocol
        lines.append(ProtocolLine(protocol=name, title=one.title, form=one.form, rating=one.rating))
    for name in library.crate_names():
        crate = sorting(name)
        full = crate.full
        lines.append(ProtocolLine(protocol=name, title=crate.title, form=full.form, rating=full.rating.rating))
    if as_json:
        screen.print_json(tuple(lines))
        return
    table = screen.table("protocol", "title")
    for line in lines:
        table.add_row(line.protocol, line.title)
    screen.console().print(table)


@app.command("show")
def show(
    protocol: Annotated[str, typer.Argument(help="A name or a file.")],
    rating: Annotated[str | None, typer.Option("--rating", metavar="NAME|FILE", help="Another rating.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Show the steps of a protocol, and its limits for its own or another rating."""
    from pulldrop.cli.show import screen
    from pulldrop.protocol.load import plan

    bound = plan(protocol, rating)
    if as_json:
        screen.print_json(bound)
    else:
        _show_plan(screen.console(), bound)


@app.command("check")
def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A protocol, of a part or a crate, or a rating.")],
    as_json: JsonOption = False,
) -> int:
    """Check a protocol or a rating: every mistake with file, line and column, and what was expected."""
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.answers import CheckAnswer
    from pulldrop.model.crate.sorting import Sorting
    from pulldrop.model.part.kind import not_tested
    from pulldrop.model.part.rating import Rating
    from pulldrop.model.part.switch import SwitchRating
    from pulldrop.model.part.two_terminal import TwoTerminalRating
    from pulldrop.protocol import crate, load, ratings

    kind = crate.check if crate.is_crate(file) else ratings.check_rating if load.is_rating(file) else load.check
    found = kind(file)
    problems = tuple(str(one) for one in found) if isinstance(found, list) else ()
    if as_json:
        screen.print_json(CheckAnswer(file=str(file), ok=not problems, problems=problems))
    elif isinstance(found, list):
        print("\n".join(problems))
    elif isinstance(found, Sorting):
        print(f"{file}: well formed; {len(found.rules)} rules, {found.screen.protocol}, then {found.full.protocol}.")
    elif isinstance(found, SwitchRating | TwoTerminalRating):
        print(f"{file}: well formed; {found.rating}, {found}. {not_tested('It', found.kind)}.")
    elif isinstance(found, Rating):
        print(f"{file}: well formed; {found.rating}, form {found.form}, {found.nominal:g} V. To use it: --rating FILE")
    else:
        limits = f"{len(found.limits)} limits" + (f", {len(found.unlimited)} without a figure" * bool(found.unlimited))
        print(f"{file}: well formed; {len(found.steps)} steps, {limits}, with the rating {found.rating.rating}.")
    return exits.INPUT if problems else 0


def _show_plan(out: "Console", plan: "Plan") -> None:
    from pulldrop.cli.show import screen, words
    from pulldrop.cli.show.result import Footnotes

    out.print(f"{plan.protocol}, version {plan.version}: {plan.title}")
    out.print(f"rating {plan.rating.rating}: {plan.rating.title}")
    for number, step in enumerate(plan.steps, 1):
        settings = ", ".join(_setting(name, value) for name, value in step if name != "measure" and value is not None)
        out.print(screen.beside(f"step {number}", f"{step.measure}: {settings}", width=6))
    notes, table = Footnotes(), screen.table("measurement", "limit (source)")
    for id in plan.wanted:
        table.add_row(words.title(id), plan.unlimited.get(id) or notes.limit(plan.limits.get(id)))
    out.print(table)
    notes.show(out)


def _setting(name: str, value: object) -> str:
    from pulldrop.model.quantity import show

    unit = next((unit for unit, names in SETTINGS.items() if name in names), "")
    shown = show(value, unit) if isinstance(value, float) else str(value)
    return f"{name.replace('_', ' ')} {shown}"
