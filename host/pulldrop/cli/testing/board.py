"""`pulldrop board`: which boards are there, what one says of itself, its firmware, its number, whether it is well."""

from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, JsonOption, SeedOption, StoreOption, store_of
from pulldrop.cli.input_error import InputError
from pulldrop.cli.show.listing import Listing

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.console import Console

    from pulldrop.board.contract import Board
    from pulldrop.cli.show.answers import KeptCalibration
    from pulldrop.measure.self_test.check import Check
    from pulldrop.model.bench.identity import Identity


app = typer.Typer(
    cls=Listing,
    help="Find boards, show what one is, write its firmware, give it its number, run its self-test.",
    no_args_is_help=True,
)


@app.command("list")
def list_boards(as_json: JsonOption = False) -> None:
    """List the boards that answer on serial ports. Opening a port restarts most boards."""
    from pulldrop.board.ports import find
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.testing import board as show

    found = tuple(find())
    screen.answer(found, as_json, show.show_list)


@app.command("info")
def info(board: BoardOption = "auto", seed: SeedOption = 1, as_json: JsonOption = False) -> None:
    """Show which board it is, its state, and the calibration it keeps; nothing is energised."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import BoardAnswer
    from pulldrop.cli.show.testing import board as show
    from pulldrop.jobs.run.boards import open_board

    with open_board(board, None, seed) as bench:
        who, status = bench.identity, bench.status()
        answer = BoardAnswer(board=who, simulated=who.simulated, status=status, calibration=_kept(who, bench.notes()))
    screen.answer(answer, as_json, show.show_info)


@app.command("flash")
def flash(
    board: Annotated[
        str, typer.Option("--board", metavar="auto|PORT", help="Its serial port; auto takes the only one with USB.")
    ] = "auto",
    old_loader: Annotated[
        bool, typer.Option("--old-loader", help="Write also through an old boot loader, which must be replaced.")
    ] = False,
    as_json: JsonOption = False,
) -> int:
    """Write this version's firmware into a Nano; its number and calibration stay."""
    from pulldrop.board import ports
    from pulldrop.board.errors import BoardError
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.answers import BoardAnswer
    from pulldrop.cli.show.testing import board as show
    from pulldrop.jobs.flash import flash as write
    from pulldrop.jobs.run.boards import SIMULATED

    if board in SIMULATED:
        raise InputError(f"--board {board} has no flash to write; name the serial port of a Nano.")
    try:
        with show.writing(screen.console(stderr=as_json)) as step:
            done = write(ports.only() if board == "auto" else board, old_loader, step)
    except BoardError as error:
        raise InputError(str(error)) from error
    answer = BoardAnswer(board=done.board, simulated=done.board.simulated, status=done.status)
    screen.answer(answer, as_json, lambda out, _: show.show_flashed(out, done))
    return 0


@app.command("name")
def name(
    number: Annotated[int, typer.Argument(metavar="SERIAL", help="1 to 999999, as on its label.")],
    board: BoardOption = "auto",
    seed: SeedOption = 1,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask for confirmation.")] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Give a board its serial number, kept in its EEPROM. Do it once, before the first calibration."""
    from pulldrop.board.serial import SerialBoard
    from pulldrop.cli.ask import answered
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.answers import BoardAnswer
    from pulldrop.cli.show.testing import board as show
    from pulldrop.jobs.run.boards import open_board
    from pulldrop.jobs.self_test import naming
    from pulldrop.store import Store

    out = screen.console(stderr=as_json)
    try:
        naming.check_number(number)
    except naming.BadNumber as bad:
        raise InputError(str(bad)) from bad
    with Store.open(store_of(board, store)) as history, open_board(board, None, seed) as bench:
        if not isinstance(bench, SerialBoard):
            raise InputError("The number of a virtual board is its seed; choose it with --seed. Nothing was written.")
        if bench.identity.serial != number:
            told = naming.consequences(history, bench.identity, number)
            for line in told:
                out.print(line, style="bold")
            if told and not yes and not answered.yes(out, f"Call it number {number}?"):
                out.print("Nothing was written.")
                return exits.OPEN_END
            bench.name(number)
        answer = BoardAnswer(board=bench.identity, simulated=bench.identity.simulated, status=bench.status())
    screen.answer(answer, as_json, show.show_info)
    return 0


@app.command("bare")
def bare(
    board: BoardOption = "auto",
    seed: SeedOption = 1,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
) -> int:
    """Make a board bare again, after a part once answered on its bus (hardware/bare-board.md)."""
    from pulldrop.board.serial import SerialBoard
    from pulldrop.cli.ask import answered
    from pulldrop.cli.show import exits, screen
    from pulldrop.jobs.run.boards import open_board

    out = screen.console()
    with open_board(board, None, seed) as bench:
        if not isinstance(bench, SerialBoard):
            raise InputError("A virtual board is bare with --board virtual-bare. Nothing was written.")
        if bench.identity.build == "bare":
            out.print("It is a bare board already.")
            return 0
        out.print(
            "A bare board drives D7, D8 and D10 to D12 by itself; on a full one two of them switch the load. Nothing "
            "but the Nano and the resistors that hardware/bare-board.md names may be wired to it.",
            style="bold",
        )
        if not yes and not answered.yes(out, "Is that so?"):
            out.print("Nothing was written.")
            return exits.OPEN_END
        bench.make_bare()
    out.print("Unplug the board and plug it in again. From then on it is a bare one.")
    return 0


@app.command("self-test")
def self_test(
    board: BoardOption = "auto",
    seed: SeedOption = 1,
    link: Annotated[
        bool,
        typer.Option(
            "--link", help="Also test load transistors, pulse limit and stop, with a shorting link and your hand."
        ),
    ] = False,
    stage: Annotated[
        int | None,
        typer.Option("--stage", min=1, max=6, help="Stage up to which a full bench is built (hardware/guide.md)."),
    ] = None,
    as_json: JsonOption = False,
) -> int:
    """Check a board with an EMPTY socket: supplies, converters, contacts, emergency stop; which stage stands."""
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.testing import board as show
    from pulldrop.jobs.run.boards import open_board
    from pulldrop.jobs.self_test import bench as job
    from pulldrop.measure.self_test.stages import LAST
    from pulldrop.model.bench.calibration import nominal

    out = screen.console()
    checks = []
    with open_board(board, None, seed) as bench:
        who = bench.identity
        if who.simulated and not as_json:
            screen.simulated(out, who.kind)
        if stage is not None and who.build != "full":
            raise InputError(
                f"--stage is for a full bench, and this board is of the {who.build} build"
                + (": release its emergency stop, then plug it in again." if who.build == "bare" else ".")
            )
        for check in job.self_test(bench, nominal(who.serial, who.build), stage or LAST):
            checks.append(check)
            if not as_json:
                show.show_check(out, check)
        if link and all(check.state != "wrong" for check in checks):
            for check in _by_hand(screen.console(stderr=as_json), bench, seed):
                checks.append(check)
                if not as_json:
                    show.show_check(out, check)
    well = all(check.state in ("ok", "noted") for check in checks)
    if as_json:
        screen.print_json(job.SelfTest(board=who, simulated=who.simulated, ok=well, checks=tuple(checks)))
    else:
        out.print(
            "The board is well." if well else "The board is NOT well: repair what is marked, then run this again."
        )
    return 0 if well else exits.BENCH


def _by_hand(out: "Console", bench: "Board", seed: int) -> "tuple[Check, ...]":
    """What needs a link and a hand; on a virtual board its own."""
    from pulldrop.board.virtual.board import VirtualBoard
    from pulldrop.cli.ask.dialogue import Terminal, show_turn
    from pulldrop.cli.show import screen
    from pulldrop.jobs.calibrate.virtual import CalibratingHand
    from pulldrop.jobs.self_test.bench import with_hands
    from pulldrop.jobs.self_test.talk import Turn, converse
    from pulldrop.model.bench.calibration import nominal
    from pulldrop.model.wording.cautions import BEFORE_CALIBRATION
    from pulldrop.plant.bench.instruments import COIL_PERCENT, Garage

    who = bench.identity
    if who.build == "bare" or who.kind == "emulated":
        raise InputError("--link needs a board that loads contacts and a hand beside it: a full build, not emulated.")
    answer: Callable[[Turn], float | None] = Terminal(out)
    if isinstance(bench, VirtualBoard) and who.simulated:
        hand = CalibratingHand(bench, Garage(seed), COIL_PERCENT)

        def answer(turn: Turn) -> float | None:
            given = hand(turn)
            show_turn(out, turn, given)
            return given

    screen.cautions(out, BEFORE_CALIBRATION, simulated=who.simulated)
    return converse(with_hands(bench, nominal(who.serial, who.build)), answer)


def _kept(board: "Identity", notes: bytes) -> "KeptCalibration":
    """What is in the board's memory, as of now."""
    from datetime import UTC, datetime

    from pulldrop.cli.show.answers import KeptCalibration
    from pulldrop.jobs.run.calibration import kept_in
    from pulldrop.model.bench.calibration import GOOD_FOR

    kept, told = kept_in(board, notes)
    if kept is None or kept.calibration.taken_at is None:
        return KeptCalibration(memory=bool(notes), trouble=" ".join(told))
    taken_at, old = kept.calibration.taken_at, kept.calibration.old(datetime.now(UTC))
    return KeptCalibration(
        memory=True, taken_at=taken_at, good_until=taken_at + GOOD_FOR, old=old, left_out=kept.left_out
    )
