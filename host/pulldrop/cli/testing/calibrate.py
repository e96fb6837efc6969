"""`pulldrop calibrate`: calibrate a bench, look at its calibrations, mark golden parts, study the gauge."""

from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, JsonOption, SeedOption, StoreOption, store_of
from pulldrop.cli.input_error import InputError
from pulldrop.cli.show.listing import Listing

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.console import Console

    from pulldrop.board.contract import Board
    from pulldrop.jobs.self_test.talk import Turn
    from pulldrop.model.bench.kit import CalibrationRecord
    from pulldrop.store import Store

app = typer.Typer(cls=Listing, help="Calibrate a bench with a multimeter and a few resistors; check that it holds.")


@app.callback(invoke_without_command=True)
def calibrate(
    context: typer.Context,
    board: BoardOption = "auto",
    seed: SeedOption = 1,
    operator: Annotated[str, typer.Option("--operator", metavar="NAME", help="Who calibrates.")] = "",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Walk through the calibration of one board, and keep it with its date, in the store and in the board.

    Wanted: a multimeter, a thermometer, a resistor of about 100 ohm (0.1 % is worth its euro), one of about 0.22 ohm on
    two blades, a shorting link on two blades. What is missing can be left out. About 15 minutes.
    """
    if context.invoked_subcommand is not None:
        return 0
    from pulldrop.board.errors import BoardError
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.testing import calibration
    from pulldrop.jobs.calibrate.dialogue import NothingRead
    from pulldrop.jobs.run.boards import open_board
    from pulldrop.jobs.run.calibration import carry
    from pulldrop.store import Store
    from pulldrop.wire.notes import NotesError

    if board == "emulated":
        raise InputError(
            "An emulated board has no instruments beside it: its process alone knows what they would read."
            " Calibrate a real board, or --board virtual."
        )
    out = screen.console(stderr=as_json)
    with Store.open(store_of(board, store)) as history, open_board(board, None, seed) as bench:
        _numbered(bench)
        try:
            record = _walk(out, bench, history, operator, seed)
        except NothingRead as nothing:
            raise InputError(str(nothing)) from nothing
        history.add_calibration(record)
        try:
            carried, trouble = carry(bench, record), ""
        except (BoardError, NotesError) as error:
            carried, trouble = False, str(error)
    screen.answer(record, as_json, calibration.show_record)
    if carried and record.board.kind != "virtual":
        out.print("It is kept in the board too, and goes with it to another computer.")
    if trouble:
        out.print(f"It is in the store, but not in the board. {trouble}", style="bold")
    return exits.BENCH if trouble else 0


@app.command("show")
def show(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """List every calibration in the store, the newest of each board last."""
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.testing import calibration
    from pulldrop.store import Store

    with Store.look(store) as history:
        records = history.calibrations()
    screen.answer(records, as_json, calibration.show_records)


@app.command("golden")
def golden(
    part: Annotated[str, typer.Argument(help="The id of a part that was tested right after a calibration.")],
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Mark a part as golden: later tests of it warn when the bench has drifted. Keep the part dry and unused."""
    from datetime import UTC, datetime

    from pulldrop.cli.show import screen
    from pulldrop.cli.show.testing import calibration
    from pulldrop.jobs.parts.golden import mark
    from pulldrop.store import Store

    with Store.existing(store) as history:
        marked, record = mark(history, part, datetime.now(UTC))
    screen.answer(marked, as_json, lambda out, _: calibration.show_golden(out, marked, record))


@app.command("study")
def study(
    part: Annotated[
        list[str] | None, typer.Option("--part", metavar="ID", help="A part with several runs in the store; repeat it.")
    ] = None,
    board: Annotated[
        str | None, typer.Option("--board", metavar="virtual", help="Instead, measure live on a virtual bench.")
    ] = None,
    parts: Annotated[int, typer.Option("--parts", min=2, max=50, help="How many virtual parts.")] = 5,
    runs: Annotated[int, typer.Option("--runs", min=2, max=20, help="Runs of each part by each operator.")] = 3,
    operators: Annotated[int, typer.Option("--operators", min=1, max=5, help="How many virtual operators.")] = 1,
    seed: SeedOption = 1,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show how much of the spread is the bench: the same parts, tested several times, by one or more operators.

    For real parts: test each of them three times with 'pulldrop test --part ID --operator NAME', the part taken out in
    between, then name them here.
    """
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.live import run as live
    from pulldrop.cli.show.testing import calibration
    from pulldrop.jobs.calibrate import study as job
    from pulldrop.judge.study import TooSmall
    from pulldrop.store import Store

    if board not in (None, "virtual") or bool(part) == (board is not None):
        raise InputError("Name parts of the store with --part, or take --board virtual for invented ones; not both.")
    try:
        if part:
            with Store.look(store) as history:
                found = job.from_store(history, part, runs)
        else:
            with live.quiet() as quiet:
                found = job.virtual(seed, parts, runs, operators, quiet)
    except TooSmall as small:
        raise InputError(f"No study: {small}") from small
    screen.answer(found, as_json, calibration.show_study)


def _numbered(board: "Board") -> None:
    """A calibration belongs to a number, so a real board needs one first."""

    if not board.identity.simulated and not board.identity.serial:
        raise InputError(
            "This board has no number yet, so its calibration could be taken for another board's."
            " Give it one first: pulldrop board name SERIAL"
        )


def _walk(out: "Console", board: "Board", store: "Store", operator: str, seed: int) -> "CalibrationRecord":
    """The dialogue with a person; on a virtual board with simulated instruments."""
    import time

    from pulldrop.board.virtual.board import VirtualBoard
    from pulldrop.cli.ask.dialogue import Terminal, show_turn
    from pulldrop.cli.show import screen
    from pulldrop.jobs.calibrate.dialogue import walk
    from pulldrop.jobs.calibrate.virtual import calibrate_board
    from pulldrop.jobs.self_test.talk import converse
    from pulldrop.model.wording.cautions import BEFORE_CALIBRATION

    simulated = board.identity.simulated
    if simulated:
        screen.simulated(out, board.identity.kind)
    screen.cautions(out, BEFORE_CALIBRATION, simulated)
    if isinstance(board, VirtualBoard) and simulated:
        told: Callable[[Turn, float | None], None] = lambda turn, answer: show_turn(out, turn, answer)  # noqa: E731
        return calibrate_board(board, seed, operator=operator, told=told)
    out.print("An empty answer leaves a reading out.", style="bold")
    last = store.newest_calibration(board.identity)
    return converse(walk(board, time.monotonic, meter=last.meter if last else None, operator=operator), Terminal(out))
