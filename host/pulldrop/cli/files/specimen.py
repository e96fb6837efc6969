"""`pulldrop specimen`: the virtual parts in stock, and the YAML of one, to begin one of your own from."""

from typing import Annotated

import typer

from pulldrop.cli.ask.options import JsonOption
from pulldrop.cli.show.listing import Listing

app = typer.Typer(cls=Listing, help="List and show the invented parts for a simulated board.", no_args_is_help=True)


@app.command("list")
def list_specimens(as_json: JsonOption = False) -> None:
    """List the virtual parts in stock, for 'pulldrop test --board virtual --specimen NAME'."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import SpecimenLine
    from pulldrop.jobs.run import specimens

    lines = tuple(
        SpecimenLine(specimen=name, title=one.title, form=one.form, nominal_v=one.nominal_v, notes=one.notes)
        for name, one in specimens.in_stock()
    )
    table = screen.table("specimen", "title")
    table.columns[0].no_wrap = True
    for line in lines:
        table.add_row(line.specimen, line.title)
    screen.answer(lines, as_json, lambda out, _: out.print(table))


@app.command("show")
def show(
    specimen: Annotated[str, typer.Argument(metavar="FILE|STOCK", help="A file, or a name in stock.")],
    as_json: JsonOption = False,
) -> None:
    """Show the YAML of a virtual part; write it to a file, change it there, and test that. With --json: all of it."""
    from pulldrop.cli.show import screen
    from pulldrop.jobs.run import specimens

    found, text = specimens.any_kind(specimen)
    if as_json:
        screen.print_json(found)
    else:
        print(text, end="" if text.endswith("\n") else "\n")
