"""A newcomer with a phone of 320, one of 390 and a monitor of 1280 x 800: tests, a crate, its history, labels, paper.

Rule: what one medium says of a part the others say too, and no screen cuts a word, moves sideways, says a thing twice
or has a button below the fold of the monitor.
"""

import io
import threading
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import Page as Tab
from playwright.sync_api import expect
from rich.console import Console
from screens import PATIENCE_MS, Open

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.main import main
from pulldrop.cli.show.testing.short import show_short
from pulldrop.jobs.parts.page_source import StoreSource
from pulldrop.jobs.run.boards import Opened
from pulldrop.jobs.run.specimens import VirtualPart, empty_socket, find
from pulldrop.jobs.single.single import Single, SingleSetup
from pulldrop.jobs.sort.hand import Heap, SortingHand
from pulldrop.jobs.sort.setup import Setup
from pulldrop.jobs.sort.sorter import Sorter
from pulldrop.model.crate.crate import CrateView, Stage
from pulldrop.model.run.record import RunRecord
from pulldrop.model.run.short import short_result
from pulldrop.page import Page, served
from pulldrop.protocol.crate import sorting
from pulldrop.protocol.ratings.classes import classes
from pulldrop.store import Store

SIZES = (
    dict(viewport=dict(width=320, height=568), has_touch=True, is_mobile=True),
    dict(viewport=dict(width=390, height=844), has_touch=True, is_mobile=True),
    dict(viewport=dict(width=1280, height=800)),
)
UNSURE = find("corroded-87").text.replace("bulk_mohm: 30", "bulk_mohm: 19")
SINGLES = {
    "good-12v-changeover": "PASS", "burnt-no": "FAIL", "unsure": "UNSURE", "reversed-diode": "DO NOT ENERGISE",
    "wrong-coil-voltage": "ANOTHER KIND",
}  # fmt: skip
CRATE = {"good-12v-changeover": "KEEP", "dead-nc": "LIGHT DUTY", "burnt-no": "SCRAP", "reversed-diode": "LOOK AGAIN"}
NAME = "north shed"
AMISS = """() => {
  const UNSEEN = ".unseen, .skip, script, style, svg, noscript, dialog:not([open]), details:not([open])";
  const amiss = [], said = new Map();
  if (document.documentElement.scrollWidth > innerWidth) amiss.push("it moves sideways");
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    const text = node.textContent.trim().replace(/\\s+/g, " ");
    const held = node.parentElement;
    if (!text || held.closest(UNSEEN)) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects())
      if (box.width > 1 && (box.left < -1 || box.right > innerWidth + 1)) amiss.push("cut: " + text);
    if (!range.getClientRects().length) continue;
    for (let one = held; one !== document.body; one = one.parentElement)
      if (getComputedStyle(one).overflowX === "hidden" && one.scrollWidth > one.clientWidth + 1)
        amiss.push("hidden: " + text);
    if (text.length > 24 && said.has(text)) amiss.push("twice: " + text);
    said.set(text, true);
  }
  return amiss;
}"""
BELOW = """() => [...document.querySelectorAll("button")].filter((one) => one.getBoundingClientRect().height)
  .map((one) => [one.innerText, one.getBoundingClientRect().bottom + scrollY])
  .filter(([, bottom]) => bottom > innerHeight - document.querySelector("footer").getBoundingClientRect().height)"""


def joined(text: str) -> str:
    return " ".join(text.split())


def ascii_of(text: str) -> str:
    """A page's words as a terminal writes them."""
    for sign, plain in (("±", "+-"), ("≤", "<="), ("≥", ">="), ("Ω", "ohm"), ("°C", "degC"), ("kohm", "kohm")):
        text = text.replace(sign, plain)
    return joined(text)


def fits(tabs: list[Tab], word: str) -> None:
    """The same word on every screen, and nothing amiss."""
    for tab in tabs:
        expect(tab.locator("#verdict .word")).to_have_text(word, ignore_case=True)
        expect(tab.locator("#verdict")).to_be_visible()
        expect(tab.locator("#band")).to_contain_text("SIMULATED")
        amiss = tab.evaluate(AMISS)
        assert amiss == [], (word, amiss)
    assert tabs[-1].evaluate(BELOW) == [], word


def cut(tab: Tab) -> list[str]:
    """What is amiss on a page that names the source of every line, so that one may stand there again."""
    return [one for one in tab.evaluate(AMISS) if not one.startswith("twice")]


def pressed(tab: Tab, id: str) -> None:
    expect(tab.locator(f"#{id}")).to_be_visible()
    time.sleep(0.25)
    tab.locator(f"#{id}").click()


def in_terminal(record: RunRecord, columns: int) -> str:
    out = Console(file=io.StringIO(), width=columns, height=24, force_terminal=True, color_system=None, markup=False,
                  highlight=False)  # fmt: skip
    show_short(out, record, new=True)
    shown = str(out.file.getvalue())  # type: ignore[attr-defined]  # the StringIO above
    assert shown.count("\n") <= 23 and max(map(len, shown.splitlines())) <= columns
    return joined(shown)


def on_paper(file: Path) -> str:
    return joined(" ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(file)))


class Afternoon:
    """One store, a bench in a thread of its own, and its page on three screens."""

    def __init__(self, home: Path) -> None:
        self.home, self.file = home, str(home / "first.db")
        self.page: Page
        self.records: list[RunRecord] = []

    def part(self, name: str) -> VirtualPart:
        if name != "unsure":
            return find(name)
        own = self.home / "unsure.yaml"
        own.write_text(UNSURE, encoding="utf-8")
        return find(str(own))

    def tests(self, begun: threading.Event) -> None:
        """The single tests."""
        parts = [self.part(name) for name in SINGLES]
        with Store.open(self.file) as store, VirtualBoard(parts[0].specimen, 1, False) as board:
            opened = Opened(board, board.insert, board.exchange_leads, board.plant)
            setup = SingleSetup(seed=1, store=self.file, parts=iter(parts))
            keep = self.records.append
            single = Single(opened, store, setup, lambda view: self.page.show(view), lambda record, *_: keep(record))
            self.press = single.press
            begun.set()
            single.run()


class Patient(SortingHand):
    """Leaves each result where it is until it was looked at."""

    looked = threading.Event()
    waited_for = 0

    def wait(self, view: CrateView, seconds: float) -> None:
        if view.stage is Stage.RESULT and view.bin is not None and view.number != self.waited_for:
            assert self.looked.wait(PATIENCE_MS / 1000)
            self.looked.clear()
            self.waited_for = view.number
        super().wait(view, seconds)


@pytest.fixture
def afternoon(tmp_path: Path) -> Iterator[Afternoon]:
    yield Afternoon(tmp_path)


def test_single_tests_say_the_same_on_page_terminal_history_and_paper(afternoon: Afternoon, open_tab: Open) -> None:
    begun = threading.Event()
    with served(lambda command: afternoon.press(command), print, port=0) as afternoon.page:
        thread = threading.Thread(target=afternoon.tests, args=(begun,), daemon=True)
        thread.start()
        assert begun.wait(10)
        tabs = [open_tab(afternoon.page.bench_link, size) for size in SIZES]
        for number, word in enumerate(SINGLES.values()):
            if word not in ("DO NOT ENERGISE", "ANOTHER KIND"):  # nothing is energised: nothing to agree to
                fits(tabs, "TEST?")
                pressed(tabs[-1], "press-go")
            fits(tabs, word)
            record = afternoon.records[number]
            short = short_result(record, True, afternoon.file)
            shown = ascii_of(tabs[-1].locator("main").inner_text())
            screens = [shown, in_terminal(record, 80), in_terminal(record, 60)]
            for screen in screens:
                assert short.word in screen and short.write in screen and short.next[0] in screen, screen
                assert all(text in screen for _, text in short.said), screen
                for row in short.rows[:2]:
                    assert row.title in screen and row.value in screen, screen
            pressed(tabs[0], "press-go") if number + 1 < len(SINGLES) else pressed(tabs[0], "press-end")
        tabs[0].locator("#end-sure").click()
        thread.join(10)
    with Store.look(afternoon.file) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        tab = open_tab(page.address, SIZES[0])
        for record in afternoon.records:
            tab.goto(f"{page.address}/parts/{record.part.id}")
            said = ascii_of(tab.inner_text("main"))
            assert record.verdict.word in said.lower(), said
            assert cut(tab) == [], record.verdict.word
            if record.verdict.overall != "pass":
                short = short_result(record, False)
                assert all(text.rstrip(".") in said for about, text in short.said if about != "why"), said
                assert short.next[0] in said, said
    for record in afternoon.records[1:4:2]:
        file = afternoon.home / f"{record.part.id}.pdf"
        assert main(["report", "run", record.run, "--out", str(file), "--store", afternoon.file]) == 0
        paper = ascii_of(on_paper(file))
        assert record.verdict.word.upper() in paper.upper() and record.faults[0].title in paper and "SIMULATED" in paper
        assert record.verdict.next in paper


def test_a_crate_says_the_same_on_page_labels_and_history(afternoon: Afternoon, open_tab: Open) -> None:
    load = partial(sorting, "crate-relay")
    setup = Setup(NAME, load("class-mini-12v-form-c"), load, tuple(one.rating for one in classes()))
    told: dict[int, CrateView] = {}
    with Store.open(afternoon.file) as store, VirtualBoard(empty_socket().specimen, 1) as board:
        hand = Patient(board, Heap([find(name) for name in CRATE]), board.insert, 1, lambda s: time.sleep(s / 20))

        def show(view: CrateView) -> None:
            if view.bin is not None:
                told.setdefault(view.number, view)
            afternoon.page.show(view)

        sorter = Sorter(board, store, setup, hand, show)
        hand.press = sorter.press
        with served(sorter.press, print, port=0) as afternoon.page:
            tabs = [open_tab(afternoon.page.bench_link, size) for size in SIZES]
            thread = threading.Thread(target=sorter.run, daemon=True)
            thread.start()
            for number, bin in enumerate(CRATE.values(), start=1):
                fits(tabs, bin)
                for tab in tabs:
                    said = ascii_of(tab.locator("main").inner_text())
                    assert f"Write {number} on it, put it in the {bin} box." in said, said
                    assert all(reason in said for reason in told[number].reasons), said
                hand.looked.set()
            thread.join(20)
    file = afternoon.home / "labels.pdf"
    assert main(["report", "labels", NAME, "--out", str(file), "--store", afternoon.file]) == 0
    labels = ascii_of(on_paper(file))
    assert "KEEP" in labels and "LIGHT DUTY" in labels and "SCRAP" not in labels and labels.count("SIMULATED") == 2
    with Store.look(afternoon.file) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        tab = open_tab(f"{page.address}/parts", SIZES[0])
        listed = joined(tab.inner_text("main"))
        assert all(f"{NAME} {number}" in listed for number in told) and cut(tab) == []
        for number, view in told.items():
            tab.goto(f"{page.address}/parts?q={NAME} {number}")
            expect(tab.locator("h1")).to_contain_text(view.last[0].part)
            said = ascii_of(tab.inner_text("main"))
            assert f"{NAME} {number} ({view.bin})" in said, said
            assert cut(tab) == [], number
