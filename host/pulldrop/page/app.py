"""What the page answers: the page itself, its files, the stream of views, commands, and pairing.

Rule: every event carries the whole view, so that a screen that slept needs no more than the next one.
"""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from pulldrop.model.crate.crate import Command
from pulldrop.page.gate import Gate
from pulldrop.page.help import TOPICS, help_page
from pulldrop.page.pairing import Paired, Pairing, PairingAnswer
from pulldrop.page.render import Renderer, View

if TYPE_CHECKING:
    from pulldrop.page.kept_pages import PageSource

FILES = {
    "page.css": "text/css",
    "wide.css": "text/css",
    "kept.css": "text/css",
    "help.css": "text/css",
    "page.js": "text/javascript",
    "press.js": "text/javascript",
    "sound.js": "text/javascript",
    "icon.svg": "image/svg+xml",
}
"""The only files that are served; their types are named here because some systems guess wrong ones."""

COOKIE = "pulldrop_controller"
LOOK_S = 0.05
"""How often a stream looks for a newer view. The bench only lays views down; it never calls into the page."""
BEAT_S = 1.0
"""A screen without a sign of life for 2.5 s says that it is stale; see page.js."""
SCREENS, SCREENS_OF_ONE = 40, 12
"""More streams than this, of all and of one address, and the oldest gives way; one that still lives comes back."""
LONGEST, BODY_S = 4096, 5.0
"""Bytes of a command, for a note is a sentence or two, and the time in which they must have come."""

KEPT = ("/parts", "/parts/{rest:path}", "/runs/{rest:path}", "/photos/{rest:path}", "/fleet")
BUSY = (
    "Parts, runs and the fleet are not shown while the bench tests: drawing them would take time from it."
    " Open / for the bench. When it has ended, start: pulldrop page"
)
"""What `KEPT` answers instead of page/kept_pages.py then."""

ANSWERS = {
    PairingAnswer.PAIRED: ("This screen may now control the bench.", 200),
    PairingAnswer.WRONG: ("That is not the code on the bench's terminal. Look again: it may have changed.", 403),
    PairingAnswer.LOCKED: (
        "Too many wrong codes from here. Wait a minute, longer if there were more; then type the code from the bench's"
        " terminal.",
        429,
    ),
}


class App:
    """What goes on at the bench, on screens. `latest` gives the newest view.

    `take` gets each command and says in a sentence why not, if so; None when there is nothing to press.
    `kept`: the store whose parts and fleet are shown too; None while the bench tests: it needs the time.
    `phone`: the address by which other machines look, empty where they may not.
    """

    def __init__(
        self,
        latest: Callable[[], View | None],
        take: Callable[[Command], str] | None,
        pairing: Pairing,
        kept: "PageSource | None" = None,
        phone: str = "",
    ) -> None:
        self._latest, self._take, self._pairing, self._kept = latest, take, pairing, kept
        self._renderer = Renderer(ways=kept is not None, phone=phone)
        self._streams: list[tuple[object, str]] = []
        self.closing = False

    def build(self, port: int) -> Starlette:
        """The application behind its gate."""
        routes = [
            Route("/", self._shell),
            Route("/events", self._events),
            Route("/bench/{key}", self._bench),
            Route("/press", self._press, methods=["POST"]),
            Route("/pair", self._pair, methods=["POST"]),
            Route("/help", lambda _request: RedirectResponse("/help/bench", 303)),
            *(Route(f"/help/{name}", _help(name)) for name in TOPICS),
            *(Route(f"/{name}", _file(name, kind)) for name, kind in FILES.items()),
        ]
        if self._kept is not None:
            from pulldrop.page.kept_pages import Pages  # draws with matplotlib, which takes half a second to load

            routes += Pages(self._kept).routes()
        else:
            routes += [Route(path, lambda _request: PlainTextResponse(BUSY, 503)) for path in KEPT]
        gate = Middleware(Gate, port=port)
        return Starlette(routes=routes, middleware=[gate], exception_handlers={404: _no_page, 405: _no_page})

    async def _shell(self, request: Request) -> Response:
        if self._latest() is None and self._kept is not None:
            return RedirectResponse("/parts", 303)
        html = self._renderer.shell(self._latest(), self._is_controller(request), self._take is not None)
        return Response(html, media_type="text/html")

    async def _events(self, request: Request) -> Response:
        address = request.client.host if request.client else ""
        return StreamingResponse(self._stream(self._is_controller(request), address), media_type="text/event-stream")

    async def _stream(self, controller: bool, address: str) -> AsyncIterator[str]:
        """The newest view at once, then every newer one that this screen has time for, and a beat each second."""
        me, shown, since_beat_s = (object(), address), None, BEAT_S
        self._streams.append(me)
        of_address = [one for one in self._streams if one[1] == address]
        for rivals, most in ((of_address, SCREENS_OF_ONE), (self._streams, SCREENS)):
            if len(rivals) > most:
                self._streams.remove(rivals[0])
        try:
            while True:
                last = self.closing or me not in self._streams
                view = self._latest()
                if view is not None and view is not shown:
                    shown, since_beat_s = view, 0.0
                    yield f"event: view\ndata: {json.dumps(self._renderer.event(view, controller))}\n\n"
                elif since_beat_s >= BEAT_S:
                    since_beat_s = 0.0
                    yield "event: beat\ndata:\n\n"
                if last:
                    if self.closing:
                        yield "event: end\ndata:\n\n"
                    return
                await asyncio.sleep(LOOK_S)
                since_beat_s += LOOK_S
        finally:
            if me in self._streams:
                self._streams.remove(me)

    async def _press(self, request: Request) -> Response:
        if self._take is None:
            return PlainTextResponse("Nothing is being tested: this page only shows.", 409)
        if not self._is_controller(request):
            return PlainTextResponse("This screen only shows. Pair it first.", 403)
        body = await _short_body(request)
        try:
            command = Command.model_validate_json(body or "")
        except ValidationError:
            return PlainTextResponse("That is no command.", 400)
        refusal = self._take(command)
        return PlainTextResponse(refusal, 409 if refusal else 200)

    async def _pair(self, request: Request) -> Response:
        if self._take is None:
            return PlainTextResponse("Nothing is being tested: there is nothing to control.", 409)
        address = request.client.host if request.client else ""
        body = await _short_body(request)
        if body is None:
            return PlainTextResponse(*ANSWERS[PairingAnswer.WRONG])  # nobody offered it: it counts for nobody
        paired = self._pairing.offer(body.decode(errors="replace"), address)
        text, status = ANSWERS[paired.answer]
        return _with_cookie(PlainTextResponse(text, status), paired)

    async def _bench(self, request: Request) -> Response:
        """The link on the bench's terminal: for a browser on the same machine, without typing a code."""
        near = request.client is not None and ip_address(request.client.host).is_loopback
        paired = self._pairing.offer_bench_key(request.path_params["key"]) if near else Paired(PairingAnswer.WRONG)
        if paired.answer is not PairingAnswer.PAIRED:
            return PlainTextResponse("This link is of an earlier start, or of another machine. Open / instead.", 403)
        return _with_cookie(RedirectResponse("/", 303), paired)

    def _is_controller(self, request: Request) -> bool:
        return self._take is not None and self._pairing.knows(request.cookies.get(COOKIE))


async def _no_page(request: Request, fault: Exception) -> Response:
    """Nothing is served there, or not for this kind of request."""
    status = fault.status_code if isinstance(fault, HTTPException) else 404
    return PlainTextResponse("There is no such page. Open / instead.", status)


def _with_cookie(answer: Response, paired: Paired) -> Response:
    if paired.key:
        answer.set_cookie(COOKIE, paired.key, httponly=True, samesite="strict")
    return answer


async def _short_body(request: Request) -> bytes | None:
    """The body, None when it is longer than any command or too slow; no more than that is read."""
    body = b""
    try:
        async with asyncio.timeout(BODY_S):
            async for chunk in request.stream():
                body += chunk
                if len(body) > LONGEST:
                    return None
    except (TimeoutError, ClientDisconnect):
        return None
    return body


def _help(topic: str) -> Callable[[Request], Response]:
    content = help_page(topic)
    return lambda _request: Response(content, media_type="text/html")


def _file(name: str, kind: str) -> Callable[[Request], Response]:
    content = (Path(__file__).parent / "files" / name).read_bytes()
    return lambda _request: Response(content, media_type=kind)
