"""The screens that look at a page, what axe finds on it, and the bench that shows and is pressed."""

import socket
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, expect
from playwright.sync_api import Page as Tab

from pulldrop.model.crate.crate import Command, CrateView
from pulldrop.page import Page

Open = Callable[..., Tab]
"""Opens an address as some screen; see `Screens.open`."""

PHONE = dict(viewport=dict(width=360, height=740), has_touch=True, is_mobile=True)
SMALL = dict(viewport=dict(width=320, height=568), has_touch=True, is_mobile=True)
ON_ITS_SIDE = dict(viewport=dict(width=740, height=360), has_touch=True, is_mobile=True)
TABLET = dict(viewport=dict(width=820, height=1180), has_touch=True, is_mobile=True)
MONITOR = dict(viewport=dict(width=1920, height=1080))


PATIENCE_MS = 20_000
"""How long a screen may take to show what it must show; a busy machine may need many times what a quiet one does."""

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
CHECK = "asked => axe.run(asked.within, asked.options).then(found => found.violations)"


def violations(tab: Tab, within: Mapping[str, object] | None = None) -> list[str]:
    """What axe finds wrong by WCAG, `within` an axe context; its script is put into a document once."""
    if not tab.evaluate("'axe' in window"):
        tab.evaluate(AXE_SCRIPT)
    options = {"resultTypes": ["violations"], "runOnly": {"type": "tag", "values": WCAG}}
    found = tab.evaluate(CHECK, {"within": within or {"include": [["html"]]}, "options": options})
    return [f"{one['id']}: {node['html'][:160]}" for one in found for node in one["nodes"]]


class Screens:
    """Screens of one browser. A new one takes longer than most tests, so one that is put back, without cookies and
    on an empty page, is the next test's."""

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._spare: dict[str, list[Tab]] = {}
        self._lent: list[tuple[str, Tab]] = []
        self._faults: list[str] = []

    def open(self, address: str, screen: Mapping[str, object] = PHONE, own: bool = False, **more: object) -> Tab:
        """An address on a screen that shares nothing with the others of this test; `own`: nor with a later test's."""
        wanted = {"color_scheme": "light", "reduced_motion": "no-preference"} | dict(screen) | more
        size, media = wanted.pop("viewport"), {name: wanted.pop(name) for name in ("color_scheme", "reduced_motion")}
        kind = "" if own else repr(sorted(wanted.items()))
        spare = self._spare.setdefault(kind, [])
        tab = spare.pop() if spare else self._new(wanted)
        self._lent.append((kind, tab))
        tab.set_viewport_size(size)  # type: ignore[arg-type]
        tab.emulate_media(media="null", **media)  # type: ignore[arg-type]
        tab.goto(address)
        return tab

    def _new(self, kind: dict[str, object]) -> Tab:
        tab = self._browser.new_context(**kind).new_page()  # type: ignore[arg-type]
        tab.set_default_timeout(PATIENCE_MS)
        tab.on("pageerror", lambda fault: self._faults.append(str(fault)))
        policy = "Content Security Policy"
        tab.on("console", lambda said: self._faults.append(said.text) if policy in said.text else None)
        return tab

    def put_back(self) -> list[str]:
        """At a test's end; gives the faults of its pages."""
        for kind, tab in self._lent:
            if kind:
                tab.goto("about:blank")
                tab.context.clear_cookies()
                self._spare[kind].append(tab)
            else:
                tab.context.close()
        faults, self._faults, self._lent = self._faults, [], []
        return faults


WATCH_STALE = """() => {
    window.late = window.staleAt = 0;
    let last = performance.now();
    setInterval(() => {
        const now = performance.now();
        window.late = Math.max(window.late, now - last - 50);
        last = now;
    }, 50);
    new MutationObserver(() => {
        if (document.body.dataset.state === "stale") window.staleAt ||= performance.now();
    }).observe(document.body, { attributeFilter: ["data-state"] });
}"""
"""When the page went stale by its own clock, and how late its timers are at most on this machine."""


class Silence:
    """Made while a screen hears the bench, told when the bench is gone: how long it takes to go stale."""

    def __init__(self, tab: Tab) -> None:
        self._tab = tab
        tab.evaluate(WATCH_STALE)

    def begins(self) -> None:
        """The bench is gone."""
        self._began_ms = self._tab.evaluate("performance.now()")

    def lasted_s(self) -> float:
        """Seconds until it went stale, less what this machine's timers are late: those of the stream and its watch."""
        expect(self._tab.locator("body")).to_have_attribute("data-state", "stale", timeout=PATIENCE_MS)
        stale_ms, late_ms = self._tab.evaluate("[window.staleAt, window.late]")
        return float(stale_ms - self._began_ms - 2 * late_ms) / 1000


@dataclass
class Bench:
    """The other side of the page: what it shows, what it was given, what it answers and what it was told."""

    commands: list[Command] = field(default_factory=list)
    told: list[str] = field(default_factory=list)
    refusal: str = ""
    page: Page = field(init=False)

    def take(self, command: Command) -> str:
        if not self.refusal:
            self.commands.append(command)
        return self.refusal

    def show(self, view: CrateView) -> None:
        self.page.show(view)


class Air:
    """The air between a phone and the bench. Out of reach nothing comes through, and nobody is told."""

    def __init__(self, page: Page) -> None:
        self._bench = page.address.removeprefix("http://").encode()
        self._door = socket.create_server(("127.0.0.1", 0))
        self._through = threading.Event()
        self._through.set()
        self._phone = f"127.0.0.1:{self._door.getsockname()[1]}".encode()
        threading.Thread(target=self._open, daemon=True).start()

    def address(self, path: str = "") -> str:
        return f"http://{self._phone.decode()}{path}"

    def out_of_reach(self) -> None:
        self._through.clear()

    def in_reach(self) -> None:
        self._through.set()

    def _open(self) -> None:
        host, port = self._bench.decode().split(":")
        while True:
            phone, _ = self._door.accept()
            bench = socket.create_connection((host, int(port)))
            for ends in ((phone, bench), (bench, phone)):
                threading.Thread(target=self._carry, args=ends, daemon=True).start()

    def _carry(self, one: socket.socket, other: socket.socket) -> None:
        with suppress(OSError), one, other:
            while data := one.recv(65536):
                self._through.wait()
                other.sendall(data.replace(self._phone, self._bench))
