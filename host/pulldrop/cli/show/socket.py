"""The verdict about a socket on the terminal: each leg's word with its number, the first to mend, where to probe."""

from rich.console import Console

from pulldrop.cli.show import screen
from pulldrop.model.bench.identity import Identity
from pulldrop.model.vehicle.socket import SocketFound
from pulldrop.model.wording.cautions import DECIDE


def show(out: Console, board: Identity, found: SocketFound) -> None:
    """All of it."""
    if board.simulated:
        screen.simulated(out, board.kind)
    for leg in found.legs:
        name = {"ground": "coil's feed" if found.low_side else "ground"}.get(leg.leg, leg.leg)
        where = f"cavity {leg.cavity}" if leg.cavity else ""
        out.print(f"{name:<12}{where:<11}{leg.word.upper():<14}{leg.why}", soft_wrap=True)
    out.print()
    first = next((one for one in found.legs if one.leg == found.first), None)
    head = f"{found.first} at cavity {first.cavity}: {first.word}. " if first else ""
    out.print(f"{head}{found.said[0].upper()}{found.said[1:]}.", style="bold", soft_wrap=True)
    out.print(f"Next: {found.next}", style="bold", soft_wrap=True)
    out.print("Checked under a bulb, and at the coil's own current; nothing heavier was asked of it.", soft_wrap=True)
    out.print(DECIDE, style="dim", soft_wrap=True)
