"""`pulldrop calibrate`: calibrate a bench, look at its calibrations, mark golden parts, study the gauge."""

from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, JsonOption, SeedOption, StoreOption
from pulldrop.cli.show.listing import Listing

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.console import Console

    from pulldrop.board.contract import Board
    from pulldrop.jobs.calibrate.study import Study
    from pulldrop.jobs.self_test.talk import Turn
    from pulldrop.model.bench.kit import CalibrationRecord, Observed
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
    from pulldrop.cli.show.errors import InputError
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
    with Store.open(store) as history, open_board(board, None, seed) as bench:
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
    if as_json:
        screen.print_json(record)
    else:
        _show_record(out, record)
    if carried and record.board.kind != "virtual":
        out.print("It is kept in the board too, and goes with it to another computer.")
    if trouble:
        out.print(f"It is in the store, but not in the board. {trouble}", style="bold")
    return exits.BENCH if trouble else 0


@app.command("show")
def show(store: StoreOption = None, as_json: JsonOption = False) -> None:
    """List every calibration in the store, the newest of each board last."""
    from pulldrop.cli.show import screen
    from pulldrop.store import Store

    with Store.open(store) as history:
        records = history.calibrations()
    if as_json:
        screen.print_json(records)
        return
    out = screen.console()
    if not records:
        out.print("No board was calibrated yet. Begin with: pulldrop calibrate")
    for record in records:
        _show_record(out, record)


@app.command("golden")
def golden(
    part: Annotated[str, typer.Argument(help="The id of a part that was tested right after a calibration.")],
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Mark a part as golden: later tests of it warn when the bench has drifted. Keep the part dry and unused."""
    from datetime import UTC, datetime

    from pulldrop.cli.show import screen
    from pulldrop.jobs.parts.golden import mark
    from pulldrop.store import Store

    with Store.open(store) as history:
        marked, record = mark(history, part, datetime.now(UTC))
    if as_json:
        screen.print_json(marked)
        return
    out = screen.console()
    if record.simulated:
        screen.simulated(out, record.board.kind)
    out.print(f"{part} is golden, by its run {marked.run}. Test it again every month, or after 25 parts.")


@app.command("study")
def study(
    part: Annotated[
        list[str] | None, typer.Option("--part", metavar="ID", help="A part with several runs in the store; repeat it.")
    ] = None,
    board: Annotated[
        str | None, typer.Option("--board", metavar="virtual", help="Instead: live, on a virtual bench.")
    ] = None,
    parts: Annotated[int, typer.Option("--parts", min=2, max=50, help="How many virtual parts.")] = 5,
    runs: Annotated[int, typer.Option("--runs", min=2, max=20, help="Runs of each part by each operator.")] = 3,
    operators: Annotated[int, typer.Option("--operators", min=1, max=5, help="How many virtual operators.")] = 1,
    seed: SeedOption = 1,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say how much of what you see is the bench: the same parts, tested several times, by one or more operators.

    For real parts: test each of them three times with 'pulldrop test --part ID --operator NAME', the part taken out in
    between, then name them here.
    """
    from pulldrop.cli.show import live, screen
    from pulldrop.cli.show.errors import InputError
    from pulldrop.jobs.calibrate import study as job
    from pulldrop.judge.study import TooSmall
    from pulldrop.store import Store

    if board not in (None, "virtual") or bool(part) == (board is not None):
        raise InputError("Name parts of the store with --part, or take --board virtual for invented ones; not both.")
    try:
        if part:
            with Store.open(store) as history:
                found = job.from_store(history, part, runs)
        else:
            with live.quiet() as quiet:
                found = job.virtual(seed, parts, runs, operators, quiet)
    except TooSmall as small:
        raise InputError(f"No study: {small}") from small
    if as_json:
        screen.print_json(found)
    else:
        _show_study(screen.console(), found)


def _numbered(board: "Board") -> None:
    """A calibration belongs to a number, so a real board needs one first."""
    from pulldrop.cli.show.errors import InputError

    if not board.identity.simulated and not board.identity.serial:
        raise InputError(
            "This board has no number yet, so its calibration could not be told from another board's."
            " Give it one first: pulldrop board name SERIAL"
        )


def _walk(out: "Console", board: "Board", store: "Store", operator: str, seed: int) -> "CalibrationRecord":
    """The dialogue with a person; on a virtual board with simulated instruments."""
    import time

    from pulldrop.board.virtual import VirtualBoard
    from pulldrop.cli.ask.dialogue import Terminal, show
    from pulldrop.cli.show import screen
    from pulldrop.jobs.calibrate.dialogue import walk
    from pulldrop.jobs.calibrate.virtual import calibrate_board
    from pulldrop.jobs.self_test.talk import converse
    from pulldrop.model.cautions import BEFORE_CALIBRATION

    if isinstance(board, VirtualBoard) and board.identity.simulated:
        screen.simulated(out, board.identity.kind)
        screen.cautions(out, BEFORE_CALIBRATION, simulated=True)
        told: Callable[[Turn, float | None], None] = lambda turn, answer: show(out, turn, answer)  # noqa: E731
        return calibrate_board(board, seed, operator=operator, told=told)
    screen.cautions(out, BEFORE_CALIBRATION, simulated=False)
    out.print("An empty answer leaves a reading out.", style="bold")
    last = store.newest_calibration(board.identity)
    return converse(walk(board, time.monotonic, meter=last.meter if last else None, operator=operator), Terminal(out))


def _show_record(out: "Console", record: "CalibrationRecord") -> None:
    from pulldrop.cli.show import screen
    from pulldrop.measure.calibrate.reach import reach
    from pulldrop.model.bench.calibration import GOOD_FOR, nominal
    from pulldrop.model.quantity import show as quantity

    calibration = record.calibration
    assert calibration.taken_at is not None
    if record.simulated:
        screen.simulated(out, record.board.kind)
    by = f" by {record.operator}" if record.operator else ""
    until = calibration.taken_at + GOOD_FOR
    out.print(f"\nBoard {record.board.serial} ({record.board.kind}), {calibration.taken_at:%Y-%m-%d}{by}", style="bold")
    table = screen.table("reading", "at", "U before", "U now")
    for before, now in zip(reach(nominal(record.board.serial)), reach(calibration), strict=True):
        table.add_row(now.title, quantity(now.at, now.unit), _plus_minus(before.expanded, before.unit),
                      _plus_minus(now.expanded, now.unit))  # fmt: skip
    out.print(table)
    if record.observed.cut_ms:
        out.print(_safety(record.observed))
    for line in record.left_out:
        out.print(screen.beside("[ ]", f"left out, {line}", width=3))
    out.print(f"Good until {until:%Y-%m-%d}; U is what the calibration leaves, 95 %.", style="dim")


def _safety(observed: "Observed") -> str:
    cuts = " and ".join(f"{ms} ms" for ms in observed.cut_ms or ())
    stop = "both supplies died with the emergency stop" if observed.stopped else "the emergency stop was not tried"
    return f"Checked that day: load transistors; the pulse limit cut after {cuts}; {stop}."


def _plus_minus(expanded: float, unit: str) -> str:
    from pulldrop.model.quantity import show as quantity

    return f"+-{quantity(expanded, 'K' if unit == 'degC' else unit)}"


def _show_study(out: "Console", found: "Study") -> None:
    from pulldrop.cli.show import screen
    from pulldrop.model import words
    from pulldrop.model.quantity import show as quantity

    if found.simulated:
        screen.simulated(out, "virtual")
    who = ", ".join(one or "nobody named" for one in found.operators)
    state = "calibrated" if found.calibrated else "uncalibrated"
    out.print(f"{len(found.parts)} parts, {found.runs} runs each by {who}, board {found.board_serial}, {state}")
    table = screen.table("reading", "bench", "operator", "parts", "%GRR", "ndc", "bench explains")
    for line in found.lines:
        one = line.anova
        sizes = (quantity(sigma, line.unit) for sigma in (one.ev, one.av, one.pv))
        groups = "-" if one.categories is None else str(one.categories)
        share = "< 1 %" if one.percent_of_variance < 1 else f"{one.percent_of_variance:.0f} %"
        table.add_row(words.title(line.measurement), *sizes, f"{one.percent_grr:.1f}", groups, share)
    out.print(table)
    out.print("Standard deviations by ANOVA. %GRR: below 10 good, below 30 usable, ndc 5 or more (AIAG).", style="dim")
    for means in dict.fromkeys(line.means for line in found.lines):
        titles = ", ".join(words.title(line.measurement) for line in found.lines if line.means == means)
        out.print(screen.beside("-", f"{titles}: {means}.", width=1))
