"""One connection to the page, with a bound on how long it may be silent and how many there may be.

Rule: whoever says nothing, or says it too slowly, or does not read, makes room for the others.
"""

import asyncio
import logging
from collections.abc import Callable

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEADERS_S = 5.0
"""From the connection, or the end of the last answer, to the end of a request's headers."""
UNREAD_S = 15.0
"""How long an answer may wait for a screen to read it. One that slept longer comes back by itself."""
OF_ONE_ADDRESS, OF_ALL = 24, 200
"""Connections at most; a browser holds six."""


class Visitor(H11Protocol):
    """As uvicorn's own, but that it makes room."""

    _patience: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Let in, if need be in the place of the one that has been silent longest."""
        super().connection_made(transport)
        others = [one for one in self.connections if isinstance(one, Visitor) and one is not self]
        of_address = [one for one in others if one.client and self.client and one.client[0] == self.client[0]]
        for rivals, most in ((of_address, OF_ONE_ADDRESS), (others, OF_ALL)):
            if len(rivals) >= most:
                silent = [one for one in rivals if one.silent_since is not None]
                leaves = min(silent, key=lambda one: one.silent_since or 0.0, default=self)
                leaves.transport.abort()
                self.connections.discard(leaves)
                if leaves is self:
                    return
        self._wait(HEADERS_S)

    @property
    def silent_since(self) -> float | None:
        """When it began to be waited for, by the loop's clock; None while a request is answered."""
        return self._since if self.cycle is None or self.cycle.response_complete else None

    def data_received(self, data: bytes) -> None:
        """No byte of a request gives it more time for the rest."""
        super().data_received(data)
        if self.silent_since is None and not self.flow.write_paused:
            self._stop_waiting()

    def on_response_complete(self) -> None:
        """The next request's time begins."""
        self._wait(HEADERS_S)
        super().on_response_complete()

    def pause_writing(self) -> None:
        """It does not read."""
        super().pause_writing()
        self._wait(UNREAD_S)

    def resume_writing(self) -> None:
        """It reads again."""
        super().resume_writing()
        self._stop_waiting()

    def connection_lost(self, exc: Exception | None) -> None:
        """It has gone."""
        self._stop_waiting()
        super().connection_lost(exc)

    def _wait(self, patience_s: float) -> None:
        self._stop_waiting()
        self._since = self.loop.time()
        self._patience = self.loop.call_later(patience_s, self.transport.abort)

    def _stop_waiting(self) -> None:
        if self._patience is not None:
            self._patience.cancel()


class FirstFault(logging.Handler):
    """What the server's libraries would print on the bench's terminal: nothing of what visitors do, and of faults of
    ours the first, as a sentence."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        super().__init__(logging.ERROR)
        self._tell: Callable[[str], None] | None = tell

    def emit(self, record: logging.LogRecord) -> None:
        """Called by `logging`."""
        fault = record.exc_info[1] if record.exc_info else None
        if self._tell is not None and fault is not None and not isinstance(fault, h11.ProtocolError):
            tell, self._tell = self._tell, None
            tell(f"A page could not be answered ({type(fault).__name__}: {fault}). The bench goes on.")
