"""Options that several commands share, so that they read the same everywhere."""

from typing import Annotated

import typer

BoardOption = Annotated[
    str,
    typer.Option(
        "--board",
        metavar="auto|virtual|emulated|PORT",
        help="Which board; auto looks for a real one on serial ports; virtual-bare and emulated-bare are bare boards.",
    ),
]
StoreOption = Annotated[
    str | None,
    typer.Option(
        "--store", metavar="URL", help="A store other than the usual one: a file, or postgresql+psycopg://..."
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Answer in JSON; see 'pulldrop schema'.")]
SeedOption = Annotated[
    int, typer.Option("--seed", metavar="N", min=0, help="Chance of a simulated bench: errors of its parts, noise.")
]
LanOption = Annotated[
    bool, typer.Option("--lan", help="Let other machines of this network look; pressing needs the pairing code.")
]
PortOption = Annotated[int, typer.Option("--port", metavar="N", min=0, max=65535, help="Where the page listens.")]
