"""Options that several commands share, so that they read the same everywhere."""

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.input_error import InputError

if TYPE_CHECKING:
    from pulldrop.jobs.run.specimens import VirtualPart
    from pulldrop.store import Store

USUAL_SPECIMEN = "good-12v-changeover"

BOARDS = (
    "auto", "virtual", "emulated", "virtual-bare", "emulated-bare", "virtual-evening", "emulated-evening",
)  # fmt: skip
"""What --board knows by name; anything else is a port."""


def known_board(told: str) -> str:
    """The board of --board. Raises BadParameter for what is neither a board's name nor a port."""
    if told in BOARDS or re.search(r"[/\\]|://|^COM[0-9]+$", told, re.IGNORECASE) or Path(told).exists():
        return told
    from pulldrop.model.wording.near import hint

    raise typer.BadParameter(
        f"there is no board '{told}'; {hint(told, BOARDS)} A port is named like /dev/ttyUSB0 or COM3."
    )


def beginning(known: Callable[[], Iterable[str]]) -> Callable[[str], list[str]]:
    """For the shell's completion: the known words that begin as what was typed."""

    def complete(incomplete: str) -> list[str]:
        return [one for one in known() if one.startswith(incomplete)]

    return complete


def _protocols() -> Iterable[str]:
    from pulldrop.protocol.shipped import library

    return library.names()


def _ratings() -> Iterable[str]:
    from pulldrop.model.part.kinds import UNSAID
    from pulldrop.protocol.shipped import library

    return library.rating_names(UNSAID)


def _specimens() -> Iterable[str]:
    from pulldrop.plant import stock

    return stock.names()


PROTOCOLS, RATINGS, SPECIMENS = map(beginning, (_protocols, _ratings, _specimens))
BoardOption = Annotated[
    str,
    typer.Option(
        "--board",
        callback=known_board,
        autocompletion=beginning(lambda: BOARDS),
        metavar="auto|virtual|emulated|PORT",
        help="Which board; auto looks for a real one on serial ports; -bare or -evening behind virtual or emulated.",
    ),
]
StoreOption = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="URL",
        help="A store other than the usual one: a file, postgresql+psycopg://..., or simulated (of virtual parts).",
    ),
]
PartOption = Annotated[str, typer.Option("--part", metavar="ID", help="The id on the part; else the next free one.")]
LabelOption = Annotated[str, typer.Option("--label", metavar="TEXT", help="What the part is.")]
DonorOption = Annotated[str, typer.Option("--donor", metavar="TEXT", help="What it was pulled from.")]
OperatorOption = Annotated[str, typer.Option("--operator", metavar="NAME", help="Who tests.")]
ReportOption = Annotated[
    Path | None, typer.Option("--report", metavar="FILE.html|.pdf", help="Also write a one-file report.")
]
ExplainOption = Annotated[
    str | None, typer.Option("--explain", metavar="MEASUREMENT", help="Also show its uncertainty, term by term.")
]
VerboseOption = Annotated[
    bool, typer.Option("--verbose", "-v", help="Show every line, where it comes from, and its statistics.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Answer in JSON; see 'pulldrop schema'.")]
SiblingsOption = Annotated[
    Path | None,
    typer.Option("--siblings", metavar="FILE", help="What another bench learned of the type ('store learned')."),
]
BesideOption = Annotated[
    list[str] | None,
    typer.Option("--beside", metavar="ID", help="A sound part of its type and lot, tested alike; three at least."),
]
SeedOption = Annotated[
    int,
    typer.Option(
        "--seed",
        metavar="N",
        min=0,
        max=2**31 - 1,
        help="Random seed of a simulated bench: errors of its parts, noise.",
    ),
]
RestedOption = Annotated[
    str | None,
    typer.Option(
        "--rested",
        metavar="TIME",
        help="How long the part has lain in this room, such as '10 min'; '0 s' if it was just carried in. Else an hour"
        " is assumed.",
    ),
]
LanOption = Annotated[
    bool, typer.Option("--lan", help="Let other machines of this network look; pressing needs the pairing code.")
]
PortOption = Annotated[int, typer.Option("--port", metavar="N", min=0, max=65535, help="Where the page listens.")]


SIMULATED_STORE = "Parts of simulated boards have a store of their own: --store simulated."


def store_of(board: str, store: str | None) -> str | None:
    """The store that was named, else that of simulated runs for a simulated board, and the usual one for a real one."""
    from pulldrop.jobs.run.boards import SIMULATED

    return store or ("simulated" if board in SIMULATED else None)


@contextmanager
def looked(store: str | None) -> "Iterator[Store]":
    """The store to read from. What is not in the usual one may be in that of simulated boards: an error says so."""
    from pulldrop.store import NoStore, NotKept, Store, StoreError

    try:
        with Store.look(store) as history:
            yield history
    except StoreError as error:
        if not isinstance(error, NoStore | NotKept) or not (hint := elsewhere(store)):
            raise
        error.args = (f"{error} {hint}",)
        raise


def elsewhere(store: str | None) -> str:
    """Where the parts of simulated boards are, if there are any and another store was looked into."""
    from pulldrop.store import Store, StoreError

    try:
        with Store.look("simulated") as history:
            return SIMULATED_STORE if store is None and history.info().runs else ""
    except StoreError:
        return ""


def rested_s(told: str | None) -> float | None:
    """Seconds of --rested; None where it was left out. Raises InputError."""
    if told is None:
        return None
    number, _, unit = told.strip().partition(" ")
    seconds = {"s": 1.0, "min": 60.0, "h": 3600.0}.get(unit.strip())
    if seconds is None or not re.fullmatch(r"[0-9]{1,6}(\.[0-9]{0,6})?", number):
        raise InputError(f"--rested {told!r} is no time; expected such as '0 s', '10 min' or '2 h'.")
    return float(number) * seconds


def virtual_part(board: str, specimen: str | None) -> "VirtualPart | None":
    """The part for a simulated board; none for a real one, and then no specimen may be named."""
    from pulldrop.jobs.run import specimens
    from pulldrop.jobs.run.boards import SIMULATED

    if board in SIMULATED:
        return specimens.find(specimen or USUAL_SPECIMEN)
    if specimen:
        raise InputError(
            f"--specimen names a virtual part, but --board {board} tests the part in its socket."
            " Add --board virtual or --board emulated, or leave --specimen out."
        )
    return None
