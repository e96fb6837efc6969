"""The page's server in a thread of its own beside the bench.

Rule: the bench lays a view down and goes on; whatever happens to a screen, or to this thread, never reaches it.
"""

import asyncio
import logging
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from typing import TYPE_CHECKING

import uvicorn

from pulldrop.model.crate.crate import Command
from pulldrop.page.app import App
from pulldrop.page.pairing import Pairing
from pulldrop.page.render import View
from pulldrop.page.visitor import FirstFault, Visitor

if TYPE_CHECKING:
    from pulldrop.page.kept_pages import PageSource

LOOPBACK = "127.0.0.1"
ANYWHERE = "0.0.0.0"
STOP_S = 3.0


def spaced(code: str) -> str:
    """Six digits as people read them: 123 456."""
    return f"{code[:3]} {code[3:]}"


class PageError(Exception):
    """The page cannot be served; the message is the sentence."""


class Page:
    """What a job sees of the page. `show` may be called from any thread and returns at once."""

    def __init__(self, address: str, pairing: Pairing) -> None:
        self.address, self._pairing = address, pairing
        self._view: View | None = None

    def show(self, view: View) -> None:
        """Lay down what is to be seen from now on; screens fetch it when they can."""
        self._view = view

    def latest(self) -> View | None:
        """What is to be seen now."""
        return self._view

    @property
    def code(self) -> str:
        """What a screen has to type to become a controller, as it is to be shown."""
        return spaced(self._pairing.code)

    @property
    def bench_link(self) -> str:
        """Opens the page as a controller, in a browser on this machine."""
        port = self.address.rsplit(":", 1)[1]
        return f"http://{LOOPBACK}:{port}/bench/{self._pairing.bench_key}"


@contextmanager
def served(
    take: Callable[[Command], str] | None,
    tell: Callable[[str], None],
    *,
    lan: bool = False,
    port: int,
    kept: "PageSource | None" = None,
) -> Iterator[Page]:
    """Serve until left, by whatever way.

    take: gets every command in the page's thread and returns at once, with a sentence when it refuses. None: only
    showing.
    tell: a sentence for the terminal. `lan`: other machines may look. `port` 0: any free one.
    kept: the store whose parts and fleet are shown too.
    Raises PageError when the port is taken.
    """
    with closing(_listen(ANYWHERE if lan else LOOPBACK, port)) as door:
        port = door.getsockname()[1]
        pairing = Pairing(lambda code: tell(f"Somebody typed wrong codes. The new pairing code is {spaced(code)}."))
        page = Page(f"http://{_own_address() if lan else LOOPBACK}:{port}", pairing)
        app = App(page.latest, take, pairing, kept, page.address if lan else "")
        server = uvicorn.Server(_config(app, port))
        thread = threading.Thread(target=_run, args=(server, door, tell), name="page", daemon=True)
        thread.start()
        try:
            yield page
        finally:
            app.closing = server.should_exit = True
            thread.join(STOP_S)


def _config(app: App, port: int) -> uvicorn.Config:
    return uvicorn.Config(
        app.build(port),
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        lifespan="off",
        http=Visitor,
        ws="none",
        timeout_graceful_shutdown=1,
    )


def _run(server: uvicorn.Server, door: socket.socket, tell: Callable[[str], None]) -> None:
    """A fault of the page ends the page, with a sentence."""
    for name in ("uvicorn", "asyncio"):
        logger = logging.getLogger(name)
        logger.handlers, logger.propagate = [FirstFault(tell)], False
    try:
        asyncio.run(server.serve(sockets=[door]))
    except Exception as fault:
        tell(f"The page has stopped ({type(fault).__name__}: {fault}). The bench goes on without it.")


def _listen(host: str, port: int) -> socket.socket:
    try:
        return socket.create_server((host, port), backlog=64)
    except (OSError, OverflowError) as trouble:
        raise PageError(
            f"The page cannot listen on port {port} ({trouble}). Name another one with --port, or close what uses it."
        ) from trouble


def _own_address() -> str:
    """This machine's address on its network. Connecting a datagram socket sends nothing; it only picks the way."""
    with closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # reserved for documentation (RFC 5737): never anyone's address
        except OSError:
            return LOOPBACK
        return str(probe.getsockname()[0])
