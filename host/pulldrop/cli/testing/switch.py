"""`pulldrop switch`: learn what a switch joins in each position, while a person turns it hands free."""

from typing import Annotated

import typer

from pulldrop.cli.ask.options import (
    BoardOption,
    DonorOption,
    ExplainOption,
    JsonOption,
    LabelOption,
    OperatorOption,
    ReportOption,
    SeedOption,
    StoreOption,
    VerboseOption,
    beginning,
    store_of,
)
from pulldrop.cli.input_error import InputError

USUAL = "bus-light-switch"


def _tables() -> tuple[str, ...]:
    from pulldrop.protocol.shipped import library

    return library.rating_names("switch")


def switch(
    rating: Annotated[
        str | None,
        typer.Option(
            "--rating",
            metavar="NAME|FILE",
            help="The table that it should have, such as bus-light-switch.",
            autocompletion=beginning(_tables),
        ),
    ] = None,
    board: BoardOption = "auto",
    specimen: Annotated[
        str | None, typer.Option("--specimen", metavar="FILE", help="The switch on a simulated board.")
    ] = None,
    terminals: Annotated[
        str | None,
        typer.Option("--terminals", metavar="A,B,C", help="Its terminals, in the order of the bench's lines."),
    ] = None,
    positions: Annotated[
        int | None, typer.Option("--positions", metavar="N", min=2, max=24, help="How many you count on it.")
    ] = None,
    part: Annotated[
        str,
        typer.Option(
            "--part", metavar="ID", help="The id on it. Without --rating it is held to its table of last time."
        ),
    ] = "",
    label: LabelOption = "",
    donor: DonorOption = "",
    operator: OperatorOption = "",
    protocol: Annotated[
        str, typer.Option("--protocol", metavar="NAME|FILE", help="Another protocol for switches.")
    ] = "switch-table",
    seed: SeedOption = 1,
    store: StoreOption = None,
    report: ReportOption = None,
    explain: ExplainOption = None,
    every: VerboseOption = False,
    as_json: JsonOption = False,
) -> int:
    """Learn the table of a switch: rest on each position until the tone, in any order; no key is needed.

    A few mA flow, and a switch that is still on the vehicle is refused. Exit codes: as of 'pulldrop test'.
    """
    from pulldrop.cli.ask import files
    from pulldrop.cli.ask.answered import ESC
    from pulldrop.cli.ask.keys import pressed
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.live.switch import SwitchScreen
    from pulldrop.cli.show.testing import switch as shown
    from pulldrop.cli.testing.test import Shown, task_of, tell
    from pulldrop.jobs.parts import keep as parts
    from pulldrop.jobs.run import specimens
    from pulldrop.jobs.run import switch as job
    from pulldrop.jobs.run.boards import SIMULATED, open_socket, person_at
    from pulldrop.jobs.run.test_one import RunOptions, run_one
    from pulldrop.store import Store

    files.check_writable(report)
    bare = SIMULATED.get(board) == "bare"
    with Store.open(store_of(board, store)) as history:
        should = (
            job.reference(rating)
            if rating
            else job.last_time(history, parts.find_id(history, part))
            if part
            else job.NOT_KNOWN
        )
        thing = None
        if board in SIMULATED:
            usual = should if should.positions else job.reference(USUAL)
            thing = (
                specimens.find_switch(specimen, bare)
                if specimen
                else specimens.made_switch(usual.rating, usual.positions, usual.springs, bare)
            )
        elif specimen:
            raise InputError(f"--specimen names a virtual switch, but --board {board} looks at a real one.")
        given = tuple(one.strip() for one in terminals.split(",")) if terminals else ()
        named = given or should.order or job.terminals_on(thing)
        with open_socket(board, thing, seed) as opened:
            try:
                wires = job.wiring(job.checked(named), opened.board.identity.build == "bare")
            except ValueError as error:
                raise InputError(f"{error}. Name them with --terminals.") from error
            plan = job.plan_of(protocol, should, named, positions)
            about = plan.rating.part(parts.for_run(history, part)).model_copy(update={"label": label, "donor": donor})
            person, keys = person_at(opened, seed), list[str]()
            out = screen.console(stderr=as_json)
            with SwitchScreen(out, opened.board.identity, wires) as live, pressed(keys.append):
                hand = job.turned_by(person, opened.board, live, lambda: ESC in keys)
                task = task_of(plan, about, operator, thing, seed)
                record = run_one(task, opened.board, history, lambda _: None, RunOptions(hand=hand))
    if not (as_json or every):
        shown.show(screen.console(), record)
    tell(record, Shown(every, not part, store_of(board, store), ()), explain, report, as_json)
    return exits.CODES[record.verdict.overall]
