"""The verdict about a socket on the terminal: each leg's word with its number, the first to mend, where to probe."""

from rich.console import Console
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.model.bench.identity import Identity
from pulldrop.model.vehicle.socket import SocketFound
from pulldrop.model.wording.cautions import DECIDE


def show(out: Console, board: Identity, found: SocketFound) -> None:
    """All of it."""
    shown = screen.table("leg", "cavity", "", "")
    for leg in found.legs:
        name = {"ground": "coil's feed" if found.low_side else "ground"}.get(leg.leg, leg.leg)
        shown.add_row(name, leg.cavity, Text(leg.word.upper(), style="bold"), leg.why)
    out.print(shown)
    first = next((one for one in found.legs if one.leg == found.first), None)
    head = f"{found.first} at cavity {first.cavity}: {first.word}. " if first else ""
    screen.above_verdict(out, board.kind if board.simulated else "")
    out.print(f"{head}{found.said[0].upper()}{found.said[1:]}.", style="bold")
    out.print(f"Next: {found.next}", style="bold")
    out.print(screen.rule(out))
    out.print("Checked under a bulb, and at the coil's own current; nothing heavier was asked of it.")
    out.print(DECIDE, style="dim")
