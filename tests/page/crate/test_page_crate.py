"""A whole crate on the virtual bench, as the person sees and presses it: two screens, one pair of hands."""

import queue
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
from playwright.sync_api import Page as Tab
from playwright.sync_api import expect
from screens import MONITOR, PATIENCE_MS, PHONE, Open
from test_page_use import covered

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.specimens import VirtualPart, empty_socket
from pulldrop.jobs.sort.sorter import Setup, Sorter
from pulldrop.model.crate.crate import Bin, CrateView, Placed, Stage
from pulldrop.page import Page, served
from pulldrop.page.render import BIN_LOOKS, PLACES
from pulldrop.plant.bench import instruments
from pulldrop.protocol.crate import sorting
from pulldrop.protocol.ratings.classes import classes
from pulldrop.store import Store

SEED = 5
CRATE = (
    "good-12v-changeover", "burnt-no", "open-coil", "burnt-nc", "good-12v-micro", "exchanged-layout",
    "good-with-diode", "bouncing",
)  # fmt: skip
"""Invented parts of the heritage bus depot; among them something for every bin."""
JUST_CHANGED_S = 0.25
LOAD = partial(sorting, "crate-relay")


class Hands:
    """A person's hands at the virtual socket: what they do reaches the bench while it waits for them."""

    def __init__(self, board: VirtualBoard) -> None:
        self._board = board
        self._moves: queue.Queue[VirtualPart] = queue.Queue()
        self._held = empty_socket()

    def put(self, part: VirtualPart) -> None:
        self._moves.put(part)

    def pull(self) -> None:
        self._moves.put(empty_socket())

    def wait(self, _view: CrateView, seconds: float) -> None:
        """In the bench's thread."""
        self._board.wait(seconds)
        time.sleep(0.005)
        if not self._moves.empty():
            self._held = self._moves.get()
            self._board.insert(self._held.specimen)

    def specimen(self) -> tuple[str, int | None]:
        return self._held.text, SEED


class Depot:
    """A crate that is being sorted in a thread of its own, its page, its hands."""

    def __init__(self, store: Path) -> None:
        self.board = VirtualBoard(empty_socket().specimen, SEED)
        self.hands = Hands(self.board)
        self.store = store
        self.page: Page
        self.sorter: Sorter
        self.views: list[CrateView] = []
        self._begun = threading.Event()
        self._thread = threading.Thread(target=self._sort, daemon=True)

    def _sort(self) -> None:
        with Store.open(str(self.store)) as store:
            setup = Setup("shed 2", LOAD("class-mini-12v-form-c"), LOAD, tuple(one.rating for one in classes()))
            self.sorter = Sorter(self.board, store, setup, self.hands, self._see)
            self._begun.set()
            self.sorter.run()

    def _see(self, view: CrateView) -> None:
        self.views.append(view)
        self.page.show(view)

    @contextmanager
    def serving(self, port: int = 0) -> Iterator[Page]:
        """The page, which may come and go while the crate is sorted."""
        with served(lambda command: self.sorter.press(command), print, lan=False, port=port) as self.page:
            if self.views:
                self.page.show(self.views[-1])
            yield self.page

    def begin(self) -> None:
        self._thread.start()
        assert self._begun.wait(10)

    def ended(self) -> bool:
        self._thread.join(10)
        return not self._thread.is_alive()


def reads(tab: Tab, word: str) -> None:
    expect(tab.locator("#verdict .word")).to_have_text(word, timeout=PATIENCE_MS, ignore_case=True)
    expect(tab.locator("#verdict")).to_be_visible()


def happens(something: Callable[[], bool]) -> None:
    until = time.monotonic() + PATIENCE_MS / 1000
    while not something() and time.monotonic() < until:
        time.sleep(0.05)


def go(tab: Tab) -> None:
    """The one key, pressed by somebody who has looked."""
    expect(tab.locator("#press-go")).to_be_visible(timeout=PATIENCE_MS)
    time.sleep(JUST_CHANGED_S)
    tab.keyboard.press("Space")


def outcome(tab: Tab) -> str:
    """Wait for a result or a question; gives which."""
    mark = tab.locator("#verdict.tone-ask, #bins li[aria-current]")
    expect(mark.first).to_be_visible(timeout=PATIENCE_MS)
    return "question" if tab.locator("#verdict.tone-ask").count() else "result"


def shows(tab: Tab, placed: Placed, parts: tuple[Placed, ...]) -> None:
    """Word, shape, place, number, reason, tally and list, all of this part."""
    reads(tab, placed.bin.value)
    expect(tab.locator("#verdict .number")).to_have_text(f"part {placed.number}")
    expect(tab.locator("#verdict use")).to_have_attribute("href", f"#shape-{BIN_LOOKS[placed.bin].shape}")
    here = tab.locator("#bins li").evaluate_all("all => all.map(one => one.hasAttribute('aria-current'))")
    assert here == [bin is placed.bin for bin in PLACES]
    tally = [str(sum(one.bin is bin for one in parts)) for bin in PLACES]
    expect(tab.locator("#bins b")).to_have_text(tally)
    expect(tab.locator("#sentence")).to_contain_text(f"Write {placed.number} on it")
    expect(tab.locator("#reasons li")).to_have_count(len(placed.reasons))
    expect(tab.locator("#last li").first).to_contain_text(str(placed.number))
    expect(tab.locator("#band")).to_be_in_viewport()
    assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")


def check_bench(tab: Tab, depot: Depot) -> None:
    reads(tab, "LINK")
    depot.hands.put(VirtualPart(instruments.Garage(SEED).link(), "a shorting link"))
    time.sleep(0.1)
    go(tab)
    reads(tab, "LINK OUT")
    depot.hands.pull()
    reads(tab, "INSERT")


@pytest.fixture
def depot(tmp_path: Path) -> Depot:
    return Depot(tmp_path / "bench.sqlite")


@pytest.mark.slow
def test_a_crate_is_sorted_from_the_page(depot: Depot, open_tab: Open) -> None:
    with depot.serving() as page:
        depot.begin()
        monitor, phone = open_tab(page.bench_link, MONITOR), open_tab(page.address, PHONE)
        check_bench(monitor, depot)
        for number, name in enumerate(CRATE, start=1):
            depot.hands.put(specimens.find(name))
            if outcome(monitor) == "question":
                time.sleep(JUST_CHANGED_S)
                monitor.locator("#press-no").click()
                expect(monitor.locator("#bins li[aria-current]")).to_be_visible(timeout=PATIENCE_MS)
            parts = depot.sorter.parts
            placed = parts[-1]
            assert placed.number == number
            for tab in (monitor, phone):
                shows(tab, placed, parts)
                has_picture = depot.views[-1].picture is not None
                expect(tab.locator("#picture svg")).to_have_count(int(has_picture))
            depot.hands.pull()
            for tab in (monitor, phone):
                reads(tab, "INSERT")
        assert {one.bin for one in depot.sorter.parts} == set(Bin)
        note_undo_and_the_same_part_again(monitor, phone, depot)
        monitor.locator("#press-end").click()
        monitor.locator("#end-sure").click()
        for tab in (monitor, phone):
            reads(tab, "ENDED")
        assert depot.ended()
    assert len(depot.sorter.parts) == len(CRATE)


def note_undo_and_the_same_part_again(monitor: Tab, phone: Tab, depot: Depot) -> None:
    depot.hands.put(specimens.find(CRATE[4]))
    assert outcome(phone) == "question"
    expect(monitor.locator("#sentence")).to_contain_text("is it number 5?")
    go(monitor)
    for tab in (monitor, phone):
        expect(tab.locator("#last li").first).to_contain_text("The same part as 5.", timeout=PATIENCE_MS)
        shows(tab, next(one for one in depot.sorter.parts if one.number == 5), depot.sorter.parts)
    time.sleep(JUST_CHANGED_S)
    monitor.locator("#press-note").click()
    monitor.locator("#note-text").fill("came back with a cracked case")
    monitor.get_by_role("button", name="Keep").click()
    expect(phone.locator("#last li").first).to_contain_text("Note: came back with a cracked case", timeout=PATIENCE_MS)
    time.sleep(JUST_CHANGED_S)
    monitor.locator("#press-undo").click()
    for tab in (monitor, phone):
        expect(tab.locator("#last")).not_to_contain_text("The same part as 5.", timeout=PATIENCE_MS)
    depot.hands.pull()
    reads(monitor, "INSERT")


def test_the_crate_goes_on_while_its_page_is_away_and_a_phone_that_slept_sees_the_newest(
    depot: Depot, open_tab: Open
) -> None:
    with depot.serving() as page:
        port = int(page.address.rsplit(":", 1)[1])
        depot.begin()
        monitor, phone = open_tab(page.bench_link, MONITOR), open_tab(page.address, PHONE)
        check_bench(monitor, depot)
        depot.hands.put(specimens.find("good-12v-changeover"))
        reads(phone, "keep")
    expect(phone.locator("body")).to_have_attribute("data-state", "stale", timeout=PATIENCE_MS)
    covered(phone)
    depot.hands.pull()
    happens(lambda: depot.views[-1].stage is Stage.INSERT)
    depot.hands.put(specimens.find("open-coil"))
    happens(lambda: len(depot.sorter.parts) == 2)
    assert [one.bin for one in depot.sorter.parts] == [Bin.KEEP, Bin.SCRAP], "no page is needed to sort"
    with depot.serving(port) as page:
        for tab in (monitor, phone):
            shows(tab, depot.sorter.parts[-1], depot.sorter.parts)
        expect(monitor.locator("[data-control]")).to_have_count(0, timeout=PATIENCE_MS)
        monitor.goto(page.bench_link)
        reads(monitor, "scrap")
        monitor.locator("#press-end").click()
        monitor.locator("#end-sure").click()
        assert depot.ended()
