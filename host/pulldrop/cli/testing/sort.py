"""`pulldrop sort`: a crate of used parts, one after the other, with one key."""

import random
import shlex
import time
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import RATINGS, BoardOption, LanOption, PortOption, SeedOption, StoreOption, store_of
from pulldrop.cli.history.page import USUAL_PORT
from pulldrop.cli.input_error import InputError

if TYPE_CHECKING:
    from pulldrop.jobs.run.boards import Opened
    from pulldrop.jobs.run.specimens import VirtualPart
    from pulldrop.jobs.sort.setup import Surroundings
    from pulldrop.jobs.sort.sorter import Sorter
    from pulldrop.model.crate.crate import CrateView
    from pulldrop.model.crate.sorting import Sorting

USUAL_RATING = "class-mini-12v-form-c"
RESULT_S = 2.0
"""How long the virtual hand leaves a result to be read."""


def sort(
    crate: Annotated[str, typer.Argument(metavar="CRATE", help="Its name; a crate that is known goes on.")],
    rating: Annotated[
        str | None,
        typer.Option(
            "--rating",
            metavar="NAME|FILE",
            help="Rated values of its parts, such as class-mini-12v-form-c or fuse-regular-10a.",
            autocompletion=RATINGS,
        ),
    ] = None,
    protocol: Annotated[
        str | None,
        typer.Option("--protocol", metavar="NAME|FILE", help="The crate's protocol; else that of its kind of part."),
    ] = None,
    board: BoardOption = "auto",
    specimens: Annotated[
        str | None,
        typer.Option("--specimens", metavar="DIR|stock", help="The parts on a simulated board: files, or the stock."),
    ] = None,
    seed: SeedOption = 1,
    operator: Annotated[str, typer.Option("--operator", metavar="NAME", help="Who sorts.")] = "",
    plain: Annotated[
        bool, typer.Option("--plain", help="A log, line by line, and on a virtual board no pauses.")
    ] = False,
    page: Annotated[bool, typer.Option("--page", help="Serve a page beside it; see 'pulldrop page'.")] = False,
    lan: LanOption = False,
    port: PortOption = USUAL_PORT,
    store: StoreOption = None,
) -> int:
    """Sort a crate: insert a part, read its bin, write its number on it, pull it.

    Keys: space continues, u undo, s skip, r test again, t note, g rating, n no, q end. Ended or cut off in any way, the
    same command continues where it stopped.
    """
    from pulldrop.cli.ask.keys import pressed
    from pulldrop.cli.history import page as pages
    from pulldrop.cli.show import screen
    from pulldrop.cli.show.live.crate import Log, SortScreen
    from pulldrop.cli.show.live.keys import Typist
    from pulldrop.cli.show.testing import score
    from pulldrop.jobs.run import truth
    from pulldrop.jobs.run.boards import open_socket
    from pulldrop.jobs.sort.hand import SortingHand
    from pulldrop.jobs.sort.setup import Setup
    from pulldrop.jobs.sort.sorter import Sorter
    from pulldrop.protocol.crate import sorting, usual_for
    from pulldrop.protocol.ratings.classes import classes_of
    from pulldrop.store import Store

    out = screen.console()

    def load(rating: str) -> "Sorting":
        return sorting(protocol or usual_for(rating), rating)

    named = load(rating or _usual(board))
    alike = tuple(one.rating for one in classes_of(named.screen.rating.kind))
    setup = Setup(crate, named, load, alike, operator)
    with Store.open(store_of(board, store)) as history, open_socket(board, None, seed) as opened, ExitStack() as stack:
        around = _around(opened, named, specimens, seed, hurried=plain)
        shows: list[Callable[[CrateView], None]] = []

        def seen(view: "CrateView") -> None:
            for one in shows:
                one(view)

        sorter = Sorter(opened.board, history, setup, around, seen)
        _hand_on(around, sorter)
        foot: Callable[[], str] = str
        if page:
            beside = pages.beside(sorter.press, lambda text: shown.notice(text), lan=lan, port=port)
            served = stack.enter_context(beside)
            shows.append(served.show)
            foot = served.words
        shown: SortScreen | Log = SortScreen(out, foot) if screen.lively(out) and not plain else Log(out, foot)
        typist = Typist(sorter.press, shown.typed, shown.notice)
        stack.enter_context(shown)
        shows += [shown, typist.saw]
        stack.enter_context(pressed(typist.key))
        sorter.run()
    if isinstance(around, SortingHand):
        score.show(out, truth.score((part.specimen, number, bin) for part, number, bin in around.heap.sorted))
    if sorter.parts:
        kept = store_of(board, store)
        at = ["--store", kept] if kept else []
        command = shlex.join(["pulldrop", "report", "crate", crate, "--out", "crate.html", *at])
        out.print(f"To write the result: {command}", soft_wrap=True)
    return 0


def _usual(board: str) -> str:
    from pulldrop.jobs.run.boards import SIMULATED

    if board in SIMULATED:
        return USUAL_RATING
    raise InputError(
        f"What kind of relays are in the crate? Name their rating with --rating, such as {USUAL_RATING}"
        " (5 terminals, 12 V); 'pulldrop protocol list' shows all of them."
    )


def _around(opened: "Opened", crate: "Sorting", specimens: str | None, seed: int, hurried: bool) -> "Surroundings":
    """A person's hands at a real board; at a simulated one the virtual hand, with its heap of parts."""
    from pulldrop.jobs.sort.hand import Heap, SortingHand
    from pulldrop.jobs.sort.setup import Person

    if opened.exchange is None:
        if specimens:
            raise InputError("--specimens are virtual parts; a real board sorts those that you insert. Leave it out.")
        return Person(opened.board)
    heap = Heap(_heap(crate, specimens, seed))
    if hurried:  # simulated time is enough
        return SortingHand(opened.board, heap, opened.exchange, seed)
    return SortingHand(opened.board, heap, opened.exchange, seed, time.sleep, RESULT_S)


def _heap(crate: "Sorting", specimens: str | None, seed: int) -> "list[VirtualPart]":
    """The parts of a folder in the order of their names, or a box of the crate's kind, shuffled."""
    from pulldrop.jobs.run.specimens import box, find
    from pulldrop.model.part.kinds import TESTED

    if specimens in (None, "stock"):
        parts = box(crate.screen.rating)
        random.Random(seed).shuffle(parts)
        return parts
    files = sorted(Path(specimens or "").glob("*.y*ml"))
    if not files:
        raise InputError(f"There is no specimen file (*.yaml) in '{specimens}'. Name a folder with some, or 'stock'.")
    return [find(str(file), *TESTED) for file in files]


def _hand_on(around: "Surroundings", sorter: "Sorter") -> None:
    """The virtual hand presses keys, and takes no part again that is sorted already."""
    from pulldrop.jobs.sort.hand import SortingHand

    if isinstance(around, SortingHand):
        around.press = sorter.press
        del around.heap.waiting[: len(sorter.parts)]
