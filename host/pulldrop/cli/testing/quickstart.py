"""`pulldrop quickstart`: from a bare Nano to a first tested part: its wiring, its check, the part."""

import sys

from pulldrop.cli.ask.options import BoardOption, SeedOption, StoreOption
from pulldrop.cli.input_error import InputError


def quickstart(board: BoardOption = "auto", seed: SeedOption = 1, store: StoreOption = None) -> int:
    """Draw the wiring of a bare Nano, check it, and test a first part. Without a board: --board virtual-bare.

    Exit codes: those of 'pulldrop test' for the part; 4 when the board does not answer or is not well.
    """
    from pulldrop.cli.ask import propose
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.drawn import wiring
    from pulldrop.cli.testing import board as boards
    from pulldrop.cli.testing.test import test
    from pulldrop.jobs.run.boards import SIMULATED

    out, simulated = screen.console(), board in SIMULATED
    if not simulated and not sys.stdin.isatty():
        raise InputError("quickstart asks at each step, and nobody is at this terminal. Try --board virtual-bare.")

    def ready(text: str) -> bool:
        """Whether a person goes on; a simulated board is always ready."""
        out.print(text, style="bold")
        if simulated:
            return True
        out.print("Space: go on   Esc: leave")
        with propose.one_key() as key:
            while (said := key()) not in (*propose.GO, *propose.LEAVE):
                pass
        return said in propose.GO

    if simulated:
        screen.simulated(out, board)
    out.print("1. Wire it: a Nano, eleven resistors and a thermistor on a breadboard.", style="bold")
    for line in wiring.bare():
        out.print(line, highlight=False, soft_wrap=True)
    out.print("It never pulls a relay in: coil, resting contacts and insulation are checked, at a few mA.")
    if not ready(
        "2. Leave the socket empty and plug the Nano in; a new one gets its firmware by: pulldrop board flash"
    ):
        return 3
    while boards.self_test(board=board, seed=seed):
        if simulated or not ready("Mend what is marked, then check it again."):
            return 4
    if not ready("3. Put a relay that is out of its vehicle on the contacts; the numbers stand beside its blades."):
        return 3
    code = test(board=board, seed=seed, store=store)
    out.print("Next: pulldrop --help, or the evening build, which feeds coil and load.", style="dim")
    return code
