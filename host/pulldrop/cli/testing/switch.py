"""`pulldrop switch`: learn what a switch joins in each position, while a person turns it hands free."""

from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, JsonOption, SeedOption, StoreOption
from pulldrop.cli.input_error import InputError

if TYPE_CHECKING:
    from pulldrop.measure.positions.learn import Progress

USUAL = "bus-light-switch"


def switch(
    board: BoardOption = "auto",
    table: Annotated[
        str | None,
        typer.Option("--table", metavar="NAME|FILE", help="The table that it should have, to compare it with."),
    ] = None,
    part: Annotated[
        str | None,
        typer.Option("--part", metavar="ID", help="A switch that was kept: compare it with its last table."),
    ] = None,
    terminals: Annotated[
        str | None,
        typer.Option("--terminals", metavar="A,B,C", help="Its terminals, in the order of the bench's lines."),
    ] = None,
    positions: Annotated[
        int | None, typer.Option("--positions", metavar="N", min=2, max=24, help="How many you count on it.")
    ] = None,
    keep: Annotated[
        str | None, typer.Option("--keep", metavar="ID|new", help="Keep the table under this id, or a new one.")
    ] = None,
    label: Annotated[str, typer.Option("--label", help="What is written on it; kept with --keep.")] = "",
    specimen: Annotated[
        str | None, typer.Option("--specimen", metavar="FILE", help="The switch on a simulated board.")
    ] = None,
    seed: SeedOption = 1,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Learn the table of a switch: rest on each position until the tone, in any order; no key is needed.

    A few mA flow, and a switch that is still on the vehicle is refused. Exit codes: 0 learnt (and as it should be),
    1 it differs, 2 usage or input error, 3 in doubt or refused, 4 bench trouble.
    """
    from pulldrop.cli.ask.answered import ESC
    from pulldrop.cli.ask.keys import pressed
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.live.switch import SwitchScreen
    from pulldrop.cli.show.testing import switch as shown
    from pulldrop.jobs.run import specimens
    from pulldrop.jobs.run import switch as job
    from pulldrop.jobs.run.boards import SIMULATED, open_socket, person_at
    from pulldrop.model.verdict import Overall
    from pulldrop.store import Store

    if table and part:
        raise InputError("--table and --part both name a table to compare with; give one of them.")
    bare = SIMULATED.get(board) == "bare"
    with Store.open(store) if part or keep else Store.open(":memory:") as history:
        should = job.reference(table) if table else job.kept(history, part) if part else None
        thing = None
        if board in SIMULATED:
            usual = should or job.reference(USUAL)
            thing = (
                specimens.find_switch(specimen, bare)
                if specimen
                else specimens.made_switch(str(usual), usual.positions, usual.springs, bare)
            )
        elif specimen:
            raise InputError(f"--specimen names a virtual switch, but --board {board} looks at a real one.")
        given = tuple(one.strip() for one in terminals.split(",")) if terminals else ()
        names = given or (job.terminals_of(should.positions) if should else job.terminals_on(thing))
        with open_socket(board, thing, seed) as opened:
            try:
                wires = job.wiring(job.checked(names), opened.board.identity.build == "bare")
            except ValueError as error:
                raise InputError(f"{error}. Name them with --terminals.") from error
            person = person_at(opened, seed)
            keys: list[str] = []
            out = screen.console(stderr=as_json)
            with SwitchScreen(out, opened.board.identity, wires) as live, pressed(keys.append):

                def show(progress: "Progress") -> None:
                    if ESC in keys:
                        raise job.SwitchRefused("It was left by Esc; no table was kept.")
                    live(progress)

                found = job.learn_switch(opened.board, names, job.heard_by(person, opened.board, show), positions)
            answer = job.answered(opened.board, found, should, thing.text if thing else "")
        if keep:
            answer = job.keep(history, answer, "" if keep == "new" else keep, label)
    screen.answer(answer, as_json, shown.show)
    if answer.table.doubts:
        return exits.OPEN_END
    return exits.CODES[Overall.FAIL] if answer.comparison and answer.comparison.differences else 0
