"""`pulldrop identify`: what the part in the socket is, at a few mA, before anything is energised."""

from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, JsonOption, SeedOption, StoreOption, store_of, virtual_part

if TYPE_CHECKING:
    from pulldrop.model.bench.identity import Identity
    from pulldrop.store import Store


def identify(
    board: BoardOption = "auto",
    specimen: Annotated[
        str | None, typer.Option("--specimen", metavar="FILE|STOCK", help="The part on a simulated board.")
    ] = None,
    seed: SeedOption = 1,
    operate: Annotated[
        bool,
        typer.Option(
            "--operate", help="Then energise it once, unless the look found a reason not to, to find its form."
        ),
    ] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what the part in the socket is, which protocol suits it, and whether it may be energised.

    A few mA flow, and the coil gets 2 V at most (one of 24 V: 4 V). Exit codes: 0 answered, 2 usage or input error,
    3 the part must not be energised here, or there is none, 4 bench trouble.
    """
    from pulldrop.cli.show import exits, screen
    from pulldrop.cli.show.testing import identified
    from pulldrop.jobs.run.boards import open_board
    from pulldrop.jobs.run.identify import Identified, look_first

    thing = virtual_part(board, specimen)
    with _store(store_of(board, store)) as history, open_board(board, thing, seed) as bench:
        if operate and not as_json:
            _warned(history, bench.identity)
        found, who = look_first(bench, history, operate), bench.identity
    answer = Identified(board=who, simulated=who.simulated, identified=found, specimen=thing.text if thing else "")
    screen.answer(answer, as_json, identified.show)
    return exits.OPEN_END if found.refuse else 0


def _store(where: str | None) -> "Store":
    """The store, for the calibration of the board. The usual one may be missing: a look needs none."""
    from pulldrop.cli.show import screen
    from pulldrop.store import NoStore, Store, StoreError

    try:
        return Store.look(where)
    except NoStore:
        if where not in (None, "simulated"):
            raise
        return Store.open(":memory:")
    except StoreError as error:
        if where not in (None, "simulated"):
            raise
        says = "The part is identified without it: the calibration is the board's own, and nothing is kept."
        screen.console(stderr=True).print(f"pulldrop: {error} {says}")
        return Store.open(":memory:")


def _warned(history: "Store", board: "Identity") -> None:
    """What can hurt once the part is energised."""
    from pulldrop.cli.show import screen
    from pulldrop.jobs.run.day import first_today
    from pulldrop.model.wording.cautions import BEFORE_OPERATING, FIRST_TODAY

    first = (FIRST_TODAY,) if first_today(history, board) else ()
    screen.cautions(screen.console(), (*first, *BEFORE_OPERATING), board.simulated)
