"""The command `pulldrop`: names the commands and turns every ending into an exit code.

Rule: nothing heavy is imported at start; each command imports what it needs when it runs.
"""

import os
import signal
import sys
from pathlib import Path
from typing import Annotated

import typer

from pulldrop.cli.ask import config as settings
from pulldrop.cli.files import config, man, protocol, schema, specimen, waveform
from pulldrop.cli.history import fleet, health, page, parts, report, store
from pulldrop.cli.input_error import InputError
from pulldrop.cli.show.listing import Listing
from pulldrop.cli.testing import board, calibrate, demo, doctor, identify, pair, quickstart, sort, switch, test
from pulldrop.cli.vehicle import hunt, socket, watch

INTERRUPTED_BY_TYPER = 130
"""What typer answers, without raising, when Ctrl-C reaches it."""

app = typer.Typer(
    name="pulldrop",
    cls=Listing,
    help="Test a relay pulled from a vehicle, with numbers instead of a click.",
    epilog=(
        "Exit codes: 0 pass, 1 fail, 2 usage or input error, 3 unsure, incomplete, refused, checked without load or"
        " interrupted, 4 bench trouble. Start with: pulldrop demo"
    ),
    invoke_without_command=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.command("demo")(demo.demo)
app.command("identify")(identify.identify)
app.command("test")(test.test)
app.command("switch")(switch.switch)
app.command("socket")(socket.socket)
app.command("watch")(watch.watch)
app.command("hunt")(hunt.hunt)
app.command("pair")(pair.pair)
app.add_typer(parts.app, name="parts")
app.command("health")(health.health)
app.command("fleet")(fleet.fleet)
app.add_typer(report.app, name="report")
app.add_typer(protocol.app, name="protocol")
app.add_typer(specimen.app, name="specimen")
app.command("waveform")(waveform.waveform)
app.add_typer(board.app, name="board")
app.add_typer(calibrate.app, name="calibrate")
app.command("sort")(sort.sort)
app.command("page")(page.page)
app.add_typer(store.app, name="store")
app.command("schema")(schema.schema)
app.add_typer(config.app, name="config")
app.command("quickstart")(quickstart.quickstart)
app.command("doctor")(doctor.doctor)
app.command("man")(man.man)


def _version(asked: bool) -> None:
    if asked:
        from pulldrop import __version__

        print(f"pulldrop {__version__}")
        raise typer.Exit


@app.callback()
def alone(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and leave.")
    ] = False,
) -> None:
    """Without a command: what to do next."""
    if context.invoked_subcommand is None:
        from pulldrop.cli.show import start

        start.show()


def main(arguments: list[str]) -> int:
    """Run one command and return its exit code; no exception leaves."""
    as_json = "--json" in arguments
    try:
        for one in arguments:
            if not (one.isascii() and one.isprintable()):
                _refuse_obeyed(one)
        command = typer.main.get_command(app)
        told = settings.defaults(command, arguments)
        code = command.main(args=arguments, prog_name="pulldrop", standalone_mode=False, default_map=told)
        sys.stdout.flush()
    except (Exception, KeyboardInterrupt) as error:
        from pulldrop.cli.show import errors

        return errors.tell(error, as_json=as_json)
    if code == INTERRUPTED_BY_TYPER:
        from pulldrop.cli.show import errors

        return errors.tell(KeyboardInterrupt(), as_json=as_json)
    return int(code or 0)


def _refuse_obeyed(argument: str) -> None:
    """A name or a note that a screen would obey instead of showing it goes into no store."""
    from pulldrop.model.wording.harmless import unfit

    if (at := unfit(argument)) >= 0:
        code = ord(argument[at])
        what = f"byte 0x{code - 0xDC00:02X}" if 0xDC80 <= code <= 0xDCFF else f"character U+{code:04X}"
        raise InputError(f"'{argument}' holds the {what}, which cannot be shown. Write it without.")


def run() -> None:
    """One command with the arguments of the program. A character that the terminal lacks becomes a question mark, never
    an error. A stream that was closed before the start takes what is said and drops it. Once all is said, no Ctrl-C
    changes it.
    """
    sys.stdout = sys.stdout or Path(os.devnull).open("w")  # noqa: SIM115 - to the end of the program
    sys.stderr = sys.stderr or Path(os.devnull).open("w")  # noqa: SIM115 - to the end of the program
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    code = main(sys.argv[1:])
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.exit(code)
