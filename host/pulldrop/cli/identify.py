"""`pulldrop identify`: what the part in the socket is, at a few mA, before anything is energised."""

from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import BoardOption, JsonOption, SeedOption, StoreOption, virtual_part

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.model.bench.identity import Identity
    from pulldrop.model.part.identification import Identification
    from pulldrop.store import Store

MARKS = {"sure": "[+]", "likely": "[~]", "unsure": "[?]"}
FORM_B = "count its blades: without a blade 87 it is normally closed (Form B), tested by a rating of Form B"


def identify(
    board: BoardOption = "auto",
    specimen: Annotated[
        str | None, typer.Option("--specimen", metavar="FILE|STOCK", help="The part on a simulated board.")
    ] = None,
    seed: SeedOption = 1,
    operate: Annotated[
        bool,
        typer.Option("--operate", help="Then energise it once, if nothing speaks against it, to settle its form."),
    ] = False,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Say what the part in the socket is, which protocol suits it, and whether it may be energised.

    A few mA flow, and the coil gets 2 V at most (one of 24 V: 4 V). Exit codes: 0 answered, 2 usage or input error,
    3 the part must not be energised here, or there is none, 4 bench trouble.
    """
    from pulldrop.cli.show import exits, screen
    from pulldrop.jobs.run.boards import open_board
    from pulldrop.jobs.run.identify import Identified, look_first
    from pulldrop.store import Store

    thing = virtual_part(board, specimen)
    out = screen.console()
    with Store.open(store) as history, open_board(board, thing, seed) as bench:
        if operate and not as_json:
            _warned(out, history, bench.identity)
        identified, who = look_first(bench, history, operate), bench.identity
    if as_json:
        text = thing.text if thing else ""
        screen.print_json(Identified(board=who, simulated=who.simulated, identified=identified, specimen=text))
    else:
        if who.simulated:
            screen.simulated(out, who.kind)
        show(out, identified)
    return exits.OPEN_END if identified.refuse else 0


def _warned(out: "Console", history: "Store", board: "Identity") -> None:
    """What can hurt once the part is energised."""
    from pulldrop.cli.show import screen
    from pulldrop.jobs.run.day import first_today
    from pulldrop.model.cautions import BEFORE_OPERATING, FIRST_TODAY

    first = (FIRST_TODAY,) if first_today(history, board) else ()
    screen.cautions(out, (*first, *BEFORE_OPERATING), board.simulated)


def show(out: "Console", identified: "Identification") -> None:
    """Statement by statement, how sure each is; then what cannot be known; the proposal or the refusal last."""
    from rich.text import Text

    from pulldrop.cli.show import screen
    from pulldrop.jobs.run.identify import finding
    from pulldrop.model import words
    from pulldrop.model.cautions import DECIDE

    for one in identified.statements:
        said = Text(one.text)
        if one.why:
            said.append(f"\n{one.why}", style="dim")
        word = f"{MARKS[one.sure]} {one.sure:7} {one.about}"
        out.print(screen.beside(word, said, width=26, style="bold" if one.sure == "sure" else ""))
    if identified.cannot_know:
        out.print("A look at rest cannot tell:")
    for sentence in identified.cannot_know:
        out.print(screen.beside("  -", sentence, width=4, style=""))
    rule = "=" * min(out.width - 1, 79)
    out.print(Text(rule, style="bold"))
    if identified.refuse:
        out.print(
            Text("  [X] DO NOT ENERGISE" if not identified.empty else "  [ ] NO PART SEEN", style="bold dark_orange")
        )
        out.print(screen.beside("why", f"{identified.refuse}.{finding(identified)}", width=6))
    elif identified.protocol:
        out.print(Text(f"  {MARKS[identified.sure]} {words.in_short(identified)}", style="bold bright_blue"))
        out.print(
            screen.beside(
                "next", f"pulldrop test --protocol {identified.protocol} --rating {identified.rating}", width=6
            )
        )
        out.print(screen.beside("", "or, if the maker's sheet is at hand, with its rating", width=6))
        if "B" in identified.forms:
            out.print(screen.beside("", FORM_B, width=6))
    else:
        out.print(Text(f"  [?] {words.in_short(identified)}", style="bold"))
        advice = FORM_B if identified.forms[:1] == ("B",) else "look at its print, and name a protocol yourself"
        out.print(screen.beside("next", advice, width=6))
    out.print(screen.beside("mind", DECIDE, width=6))
    out.print(Text(rule, style="bold"))
