"""What a page asks of the store's side, and the pages of parts, runs and the fleet that it makes of the answers.

Rule: it only reads. Requests are worked on in threads of their own, so that a crate's stream never waits; pictures are
drawn one at a time, because matplotlib asks for that.
"""

import hashlib
import re
import threading
from base64 import b64encode
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from pulldrop.model.history.fleet import Fleet
from pulldrop.model.history.history import Health
from pulldrop.model.origin import Origin
from pulldrop.model.part.parts_page import NotThere, PartsPage, PartView, Unreadable
from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import words
from pulldrop.page.render import PAGES
from pulldrop.report import fleet, health, html
from pulldrop.report.frame import shapes, style

PHOTO = re.compile(r"[0-9a-f]{64}\.(?:png|jpe?g|webp)")
"""A photo's name is the hash of its content; nothing else in that folder is served."""
FILES = {
    ".pdf": "application/pdf",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
}
"""What a part's history can be fetched as."""
LONGEST_ASKED = 100
EVERY_MONTHS = 12.0
MONTHS = (0.1, 1200.0)
KEPT_PAGES = 32
FIRST_SEEN = ("parts.jinja", "frame.jinja", "lines.jinja")
"""What the first page is drawn with: read before anybody asks for it."""
ALONE = (
    "default-src 'none'; img-src data:; style-src 'sha256-{}'; base-uri 'none'; form-action 'none';"
    " frame-ancestors 'none'"
)
"""The policy of a certificate: a file of its own with one style element, allowed by its digest, and no script."""


class PageSource(Protocol):
    """The store, as a page sees it. Every method may raise NotThere and Unreadable."""

    def listed(self, asked: str, page: int) -> PartsPage: ...
    def health(self, id: str) -> Health: ...
    def photos(self, names: Sequence[str]) -> frozenset[str]: ...
    def photo(self, name: str) -> bytes: ...
    def record(self, run: str) -> RunRecord: ...
    def file(self, id: str, end: str) -> bytes: ...
    def fleet(self, every_months: float) -> Fleet: ...
    def mark(self) -> str: ...


class Asked(Exception):
    """What was asked for makes no sense; the message is a sentence."""


class Pages:
    """The pages of one store."""

    def __init__(self, kept: PageSource) -> None:
        self._kept = kept
        self._drawing, self._counting = threading.Lock(), threading.Lock()
        self._made: dict[tuple[str, ...], str] = {}
        certificate_style = b64encode(hashlib.sha256(html.STYLE.encode()).digest()).decode()
        self._alone = {"content-security-policy": ALONE.format(certificate_style)}
        PAGES.globals.update(shapes=shapes())
        for name in FIRST_SEEN:
            PAGES.get_template(name)

    def routes(self) -> list[Route]:
        """Whatever else is asked for is not there."""
        return [
            Route("/parts", self._answer(self._shelf)),
            Route("/parts/{id}", self._answer(self._part)),
            Route("/parts/{id}/history{end}", self._answer(self._file)),
            Route("/photos/{name}", self._answer(self._photo)),
            Route("/runs/{run}", self._answer(self._run)),
            Route("/fleet", self._answer(self._fleet)),
            Route("/report.css", lambda _request: Response(style("history.css"), media_type="text/css")),
        ]

    def said(self, sentence: str, status: int, near: Sequence[PartView] = (), asked: str = "") -> Response:
        """A page with one sentence, for what cannot be shown."""
        return Response(
            self._framed("said.jinja", sentence=sentence, near=near, asked=asked), status, media_type="text/html"
        )

    def _answer(self, make: Callable[[Request], Response]) -> Callable[[Request], object]:
        """Made in another thread, with each trouble as its sentence."""

        def made(request: Request) -> Response:
            try:
                return make(request)
            except Asked as trouble:
                return self.said(str(trouble), 400)
            except NotThere as missing:
                return self.said(str(missing), 404, missing.near, _words(request.query_params.get("q", "")))
            except Unreadable as trouble:
                return self.said(str(trouble), 503)

        async def answered(request: Request) -> Response:
            return await run_in_threadpool(made, request)

        return answered

    def _framed(self, template: str, **values: object) -> str:
        return PAGES.get_template(template).render(**({"here": "", "asked": ""} | values))

    def _shelf(self, request: Request) -> Response:
        asked = _words(request.query_params.get("q", ""))
        if len(asked) > LONGEST_ASKED:
            raise Asked(f"That is too long to look for: at most {LONGEST_ASKED} letters, such as an id or a donor.")
        found = self._kept.listed(asked, _page_number(request))
        if found.meant and found.count == 1:
            return RedirectResponse(f"/parts/{quote(found.meant)}", 303)
        origins = {one.origin for one in found.parts}
        origin = origins.pop() if len(origins) == 1 else Origin.HERE
        return _html(self._framed("parts.jinja", here="parts", listed=found, asked=asked, origin=origin))

    def _part(self, request: Request) -> Response:
        asked = _words(request.path_params["id"])
        told = self._kept.health(asked)
        if told.part != asked:
            return RedirectResponse(f"/parts/{quote(told.part)}", 303)
        key = ("part", told.part, self._kept.mark(), f"{told.now:%Y-%m-%d}")
        with self._drawing:
            return _html(self._once(key, lambda: self._of_part(told)))

    def _of_part(self, told: Health) -> str:
        taken = [(one.photo, words.marked(one.came, one.text)) for one in told.events if one.photo]
        here = self._kept.photos([name for name, _ in taken])
        shown = [(f"/photos/{quote(name)}", text) for name, text in taken if name in here and PHOTO.fullmatch(name)]
        gone = [name for name, _ in taken if name not in here]
        body = health.body(told, shown, gone, runs_at="/runs/")
        return self._framed("part.jinja", here="part", health=told, body=body, ends=FILES, photos=bool(shown))

    def _file(self, request: Request) -> Response:
        id, end = _words(request.path_params["id"]), request.path_params["end"]
        if end not in FILES:
            raise NotThere(f"A history is not written as '{end[:20]}' here; there are {', '.join(FILES)}.")
        known = self._kept.health(id).part
        name = f"{known}-history{end}"
        told = {"content-disposition": f'attachment; filename="{name}"'}
        with self._drawing:
            return Response(self._kept.file(known, end), media_type=FILES[end], headers=told)

    def _photo(self, request: Request) -> Response:
        name = request.path_params["name"]
        if not PHOTO.fullmatch(name):
            raise NotThere("There is no such photo.")
        return Response(self._kept.photo(name), media_type=health.SHOWN[Path(name).suffix])

    def _run(self, request: Request) -> Response:
        """The certificate, the very file that `pulldrop report run` writes."""
        record = self._kept.record(_words(request.path_params["run"]))
        with self._drawing:
            return Response(html.page([record]), media_type="text/html", headers=self._alone)

    def _fleet(self, request: Request) -> Response:
        every = _months(request)
        key = ("fleet", f"{every:g}", self._kept.mark(), f"{datetime.now(UTC):%Y-%m-%d}")
        with self._counting:
            return _html(self._once(key, lambda: self._of_fleet(every)))

    def _of_fleet(self, every: float) -> str:
        told = self._kept.fleet(every)
        body = fleet.body(told, parts_at="/parts")
        return self._framed("fleet.jinja", here="fleet", fleet=told, body=body)

    def _once(self, key: tuple[str, ...], make: Callable[[], str]) -> str:
        """Made once for as long as nothing is added to the store."""
        made = self._made.get(key)
        if made is None:
            if len(self._made) >= KEPT_PAGES:
                self._made.clear()
            made = self._made[key] = make()
        return made


def _html(text: str) -> Response:
    return Response(text, media_type="text/html")


def _words(asked: str) -> str:
    """Without what nobody types: a database may refuse it."""
    return " ".join("".join(one if one.isprintable() else " " for one in asked).split())


def _page_number(request: Request) -> int:
    told = request.query_params.get("page", "1")
    if not re.fullmatch(r"[1-9][0-9]{0,7}", told):
        raise Asked(f"'{told[:20]}' is no number of a page; 1, 2 and so on were expected.")
    return int(told)


def _months(request: Request) -> float:
    told = request.query_params.get("every", f"{EVERY_MONTHS:g}")
    try:
        months = float(told)
    except ValueError:
        months = 0.0
    if not MONTHS[0] <= months <= MONTHS[1]:
        raise Asked(f"'{told[:20]}' is no number of months; {MONTHS[0]:g} to {MONTHS[1]:g} were expected, such as 12.")
    return months
