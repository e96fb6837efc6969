"""`pulldrop doctor`: whether this computer has what a test needs, and what to do about what is missing."""

from typing import TYPE_CHECKING

from pulldrop.cli.ask.options import BoardOption, JsonOption, SeedOption, StoreOption, store_of

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.cli.show.answers import DoctorAnswer

SIGNS = {True: "[+]", False: "[X]", None: "[ ]"}


def doctor(
    board: BoardOption = "auto", seed: SeedOption = 1, store: StoreOption = None, as_json: JsonOption = False
) -> int:
    """Check board, rights to its port, store, calibration and browser, and say what to do about what is missing.

    Nothing is energised, and no store is made. Exit codes: 0 all well, 4 no board, 3 anything else is missing.
    """
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.answers import DoctorAnswer, DoctorLine
    from pulldrop.jobs.doctor import examine

    found = examine(board, seed, store_of(board, store))
    simulated = any(one.simulated for one in found)
    lines = tuple(DoctorLine(what=one.what, ok=one.ok, says=one.says, do=one.do) for one in found)
    screen.answer(DoctorAnswer(lines=lines, simulated=simulated), as_json, _show)
    lacks = [one.what for one in found if one.ok is False]
    return exits.BENCH if {"board", "port"} & set(lacks) else exits.OPEN_END if lacks else 0


def _show(out: "Console", answer: "DoctorAnswer") -> None:
    from pulldrop.cli.show import screen

    if answer.simulated:
        screen.simulated(out, "virtual or emulated")
    for one in answer.lines:
        style = "bold" if one.ok is False else ""
        out.print(screen.beside(f"{SIGNS[one.ok]} {one.what}", one.says, width=16, style=style))
        if one.do:
            out.print(screen.beside("", one.do, width=16))
