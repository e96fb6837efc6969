"""`pulldrop page`: what the store keeps, as pages; and the page beside a bench that tests."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Annotated

import typer

from pulldrop.cli.ask.options import LanOption, PortOption, StoreOption
from pulldrop.cli.input_error import InputError

if TYPE_CHECKING:
    from rich.console import Console

    from pulldrop.model.crate.crate import Command, CrateView
    from pulldrop.page import Page
    from pulldrop.page.kept_pages import PageSource
    from pulldrop.store import Store

USUAL_PORT = 8737
LOOK_S = 2.0
"""How often the store is looked into; a crate may be sorted by another program meanwhile."""


def page(
    crate: Annotated[str, typer.Argument(metavar="[CRATE]", help="Which crate; else the last one.")] = "",
    lan: LanOption = False,
    port: PortOption = USUAL_PORT,
    store: StoreOption = None,
) -> None:
    """Show a crate, all parts with their histories, and the fleet on pages, to look at only. Ctrl-C ends it.

    To test by a page: pulldrop test --page, a crate: pulldrop sort CRATE --page
    """
    from pulldrop.cli.show import screen
    from pulldrop.ctrl_c import answered
    from pulldrop.jobs.parts.page_source import StoreSource
    from pulldrop.store import Store, StoreTrouble

    out = screen.console()
    with Store.look(store) as history:
        try:
            view = _view(history, crate)
            kept = StoreSource(history)
            pressed = threading.Event()  # an exception could come up in a library's clean-up, and be swallowed there
            with (
                beside(None, out.print, lan=lan, port=port, kept=kept, scan=scannable(out)) as shown,
                answered(pressed.set),
            ):
                out.print(shown.words(), soft_wrap=True)
                while True:
                    if view is not None:
                        shown.show(view)
                    if pressed.wait(LOOK_S):
                        return
                    with suppress(StoreTrouble):  # locked for a while; the pages of parts say so
                        view = _view(history, crate)
        except KeyboardInterrupt:
            return  # the usual way to end it


def _view(history: "Store", crate: str) -> "CrateView | None":
    """None where there is no crate at all, and none was named."""
    from pulldrop.jobs.sort.kept_crate import NoCrate, kept_view

    try:
        return kept_view(history, crate)
    except NoCrate:
        if crate:
            raise
        return None


class Beside:
    """A page that is served: `show` puts a view on it, `words` tell how it is opened, as things are now.

    `scan`: the terminal has room for a code of the phone's address; the page itself has one too.
    """

    def __init__(self, page: "Page", lan: bool, controllable: bool, scan: bool) -> None:
        self.show = page.show
        self._page, self._lan, self._controllable, self._scan = page, lan, controllable, scan

    def words(self) -> str:
        """Address and pairing code; the code changes when somebody guesses."""
        page = self._page
        lines = [f"The page, here: {page.bench_link if self._controllable else page.address}"]
        if self._lan:
            lines.append(f"On this network, to look: {page.address}")
            if self._scan:
                lines.append(_code(page.address))
            lines.append("Anyone in this network can look on; use it in one that you trust.")
        if self._controllable:
            lines.append(f"Pairing code, for a screen that is to press: {page.code}")
        return "\n".join(lines)


def scannable(out: "Console") -> bool:
    """Whether the terminal draws half blocks."""
    return out.is_terminal and not out.is_dumb_terminal and out.encoding.startswith("utf")


def _code(address: str) -> str:
    """A QR code in half blocks of the terminal."""
    import io

    import segno

    drawn = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(drawn, border=2, compact=True)
    return drawn.getvalue().rstrip()


@contextmanager
def beside(
    take: "Callable[[Command], str] | None",
    tell: Callable[[str], None],
    *,
    lan: bool,
    port: int,
    kept: "PageSource | None" = None,
    scan: bool = False,
) -> Iterator[Beside]:
    """Serve a page until left. `take`, `tell` and `kept`: see page.served; `scan`: see Beside."""
    from pulldrop.page import PageError, served

    try:
        with served(take, tell, lan=lan, port=port, kept=kept) as page:
            yield Beside(page, lan, take is not None, scan)
    except PageError as trouble:
        raise InputError(str(trouble)) from trouble
