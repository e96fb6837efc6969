"""`pulldrop page`: a crate as the store keeps it, on a page; and the page beside a crate that is being sorted."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.options import LanOption, PortOption, StoreOption

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.model.crate import Command, CrateView

USUAL_PORT = 8737
LOOK_S = 2.0
"""How often the store is looked into; a crate may be sorted by another program meanwhile."""


def page(
    crate: Annotated[str, typer.Argument(metavar="[CRATE]", help="Which crate; else the last one.")] = "",
    lan: LanOption = False,
    port: PortOption = USUAL_PORT,
    store: StoreOption = None,
) -> None:
    """Show a crate and its results on a page, to look at only. Ctrl-C ends it.

    To sort a crate with a page beside it: pulldrop sort CRATE --page
    """
    from pulldrop.cli import screen
    from pulldrop.cli.errors import InputError
    from pulldrop.jobs.sort_kept import NoCrate, kept_view
    from pulldrop.store import Store

    with Store.open(store) as history:
        try:
            view = kept_view(history, crate)
            with beside(None, screen.console(), lan=lan, port=port) as show:
                while True:
                    show(view)
                    time.sleep(LOOK_S)
                    view = kept_view(history, crate)
        except NoCrate as missing:
            raise InputError(str(missing)) from missing
        except KeyboardInterrupt:
            return  # the usual way to end it


@contextmanager
def beside(
    take: "Callable[[Command], str] | None", out: "Console", *, lan: bool, port: int
) -> "Iterator[Callable[[CrateView], None]]":
    """Serve a page until left, and tell how to open it; gives what shows a view on it. `take`: see page.served."""
    from pulldrop.cli.errors import InputError
    from pulldrop.page import PageError, served

    try:
        with served(take, out.print, lan=lan, port=port) as page:
            out.print(f"The page, on this machine: {page.bench_link if take else page.address}", soft_wrap=True)
            if lan:
                out.print(f"On other machines of this network, to look: {page.address}", soft_wrap=True)
                out.print("Whoever is in this network can look on. Use it in a network that you trust.")
            if take:
                out.print(f"Pairing code, for a screen that is to press buttons: {page.code}", style="bold")
            yield page.show
    except PageError as trouble:
        raise InputError(str(trouble)) from trouble
