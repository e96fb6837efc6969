"""`pulldrop quickstart`: from parts on a table to a first tested part: the wiring, its check, the part."""

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, SeedOption, StoreOption
from pulldrop.cli.input_error import InputError

if TYPE_CHECKING:
    from pulldrop.cli.ask.guide import Guide
    from pulldrop.cli.show.drawn.evening import Screen

PLUG_IN = "2. Leave the socket empty and plug the Nano in; a new one gets its firmware by f here."
PART_IN = "3. Put a relay that is out of its vehicle on the contacts; the numbers stand beside its blades."
SKIP = "s"
IN_SOCKET = "6. Put a relay that is out of its vehicle into the socket; the numbers stand beside its blades."


def quickstart(
    board: BoardOption = "auto",
    build: Annotated[
        str | None,
        typer.Option("--build", metavar="bare|evening", help="Which one you build; else it is seen, or asked."),
    ] = None,
    seed: SeedOption = 1,
    store: StoreOption = None,
) -> int:
    """Draw the wiring of a bare Nano or an evening build, check it, and test a first part.

    Without a board: --board virtual-bare, or virtual-evening. Exit codes: those of 'pulldrop test' for the part; 4 when
    the board does not answer or is not well.
    """
    from pulldrop.cli.ask.guide import Guide
    from pulldrop.cli.show import screen
    from pulldrop.jobs.run.boards import SIMULATED

    simulated = SIMULATED.get(board)
    if not simulated and not sys.stdin.isatty():
        raise InputError("quickstart asks at each step, and nobody is at this terminal. Try --board virtual-bare.")
    if simulated == "full" or build not in (None, "bare", "evening"):
        raise InputError(
            "quickstart is for the bare Nano and the evening build: --build bare or --build evening, or without a"
            " board --board virtual-bare or virtual-evening. A full bench has its guide, hardware/guide.md."
        )
    out = screen.console()
    if simulated:
        screen.simulated(out, board)
    guide = Guide(out, board, asks=not simulated)
    chosen = simulated or build or guide.which()
    if chosen is None:
        return 3
    return _evening(guide, board, seed, store) if chosen == "evening" else _bare(guide, board, seed, store)


def _bare(guide: "Guide", board: str, seed: int, store: str | None) -> int:
    from pulldrop.cli.show.drawn import wiring

    guide.say("1. Wire it: a Nano, eleven resistors and a thermistor on a breadboard.")
    for line in wiring.bare():
        guide.show(line)
    guide.show("It never pulls a relay in: coil, resting contacts and insulation are checked, at a few mA.")
    if not guide.goes_on(PLUG_IN, flashes=True):
        return 3
    if not _well(guide, board, seed):
        return 4
    return _first_part(guide, PART_IN, board, seed, store, "the evening build, which feeds coil and load")


def _evening(guide: "Guide", board: str, seed: int, store: str | None) -> int:
    from pulldrop.cli.show.drawn import evening

    bulb = "" if guide.wired else ", the bulb still in place of the fuse"
    if not guide.wired:
        guide.say("1. Wire it: a Nano, two modules, 43 wires on one board. An evening, and a meter beside it.")
        guide.show(f"Every hole, wire and leg, with pictures: {evening.PAGE}. What follows is what joins what.")
        if not _walked(guide, evening.WIRING, "1"):
            return 3
        guide.say("2. First power-up: a meter at each place, a bulb of 12 V 21 W in place of the fuse.")
        guide.show("A step that reads otherwise is not passed: look there, and do not go on.")
        if not _walked(guide, evening.FIRST_POWER, "2"):
            return 3
    guide.show(f"What to look at when a line is wrong: {evening.PAGE}, 'When something is wrong'.")
    if not guide.goes_on(f"3. The check. Socket empty, stop out, S4 on supply{bulb}, battery and USB on."):
        return 3
    if not _well(guide, board, seed):
        return 4
    if not _loaded_first(guide, board, seed, store):
        return 3
    return _first_part(guide, IN_SOCKET, board, seed, store, "the full bench, by stages: hardware/guide.md")


def _loaded_first(guide: "Guide", board: str, seed: int, store: str | None) -> bool:
    """The first load through a bulb, and then without it; False if they leave. A simulated board has none."""
    from pulldrop.cli.show.drawn.evening import CALIBRATED, FIRST_LOAD, LOADED

    guide.screen("4.", FIRST_LOAD)
    if guide.asks:
        said = guide.key("Space: ready, test it   s: it was done before   Esc: leave", SKIP)
        if said not in (*guide.on, SKIP):
            return False
        if said != SKIP:
            _tested(guide, board, seed, store)
    return _walked(guide, (LOADED, CALIBRATED), "5")


def _walked(guide: "Guide", screens: "Sequence[Screen]", step: str) -> bool:
    """One screen after the other, each until a person goes on; False if they leave."""
    at = 0
    while at < len(screens):
        one = screens[at]
        guide.screen(f"{step}.{at + 1} of {len(screens)}:", one)
        turn = guide.turn(back=at > 0, flashes=one.flashes)
        if turn == 0:
            return False
        at += turn
    return True


def _well(guide: "Guide", board: str, seed: int) -> bool:
    """Whether the board is well at last."""
    from pulldrop.board.errors import BoardError
    from pulldrop.cli.testing import board as boards

    while True:
        try:
            if not boards.self_test(board=board, seed=seed):
                return True
        except BoardError as error:
            if not guide.asks:
                raise
            guide.say(str(error))
        if not guide.asks or not guide.goes_on("Mend what is marked, then check it again."):
            return False


def _first_part(guide: "Guide", text: str, board: str, seed: int, store: str | None, then: str) -> int:
    if not guide.goes_on(text):
        return 3
    code = _tested(guide, board, seed, store)
    guide.show(f"Next: pulldrop --help, or {then}.", style="dim")
    return code


def _tested(guide: "Guide", board: str, seed: int, store: str | None) -> int:
    from pulldrop.cli.testing.test import test

    return test(board=board, seed=seed, store=store, ask=guide.asks)
