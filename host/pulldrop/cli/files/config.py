"""`pulldrop config`: the settings of this person, and the file that has them."""

import typer

from pulldrop.cli.ask.options import JsonOption
from pulldrop.cli.show.listing import Listing

SIMULATED_APART = (
    "An option on the command line comes first. Runs on a simulated board go into the store 'simulated', never into the"
    " one that is set here; only --store sends them elsewhere."
)
app = typer.Typer(cls=Listing, help="Show the settings that stand where an option is left out.", no_args_is_help=True)


@app.command("show")
def show(as_json: JsonOption = False) -> None:
    """Show board, store and operator, and the file in which they can be set."""
    from pulldrop.cli.ask import config
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import ConfigAnswer
    from pulldrop.jobs.run.boards import SIMULATED

    found = config.load()
    answer = ConfigAnswer(file=str(config.file()), there=config.file().is_file(), **found.model_dump())
    if as_json:
        screen.print_json(answer)
        return
    out, table = screen.console(), screen.table("setting", "value", "option")
    usual = {"board": "auto: the board on a serial port", "store": "the usual one", "operator": "nobody"}
    for name, instead in usual.items():
        value = getattr(found, name)
        table.add_row(name, value if value is not None else f"{instead} (not set)", f"--{name}")
    if found.board in SIMULATED:
        table.add_row("store in use", "simulated: the board set here is simulated", "--store")
    out.print(f"File: {answer.file}{'' if answer.there else ' (there is none yet)'}", soft_wrap=True)
    out.print(table)
    if not answer.there:
        out.print("To set them, write that file, a line each, such as:  operator: Kim")
    out.print(SIMULATED_APART)
