"""A single test by the page in a real browser: proposed, pressed, stopped, lost, and never read as more than it was."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page as Tab
from playwright.sync_api import expect
from screens import PATIENCE_MS, Bench, Open, violations

from pulldrop.board.contract import Pulse, PulseCounts
from pulldrop.board.errors import BoardLost
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.main import main
from pulldrop.jobs.run.boards import Opened
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.single.single import Single, SingleSetup
from pulldrop.model.crate.crate import Control, Stage
from pulldrop.model.run.record import RunRecord
from pulldrop.model.run.short import ShortResult
from pulldrop.model.run.single import SingleView
from pulldrop.model.verdict import Overall
from pulldrop.page import Page, served
from pulldrop.store import Store

GOOD, OTHER, BURNT = "good-12v-changeover", "good-24v-changeover", "burnt-no"
JUST_CHANGED_S = 0.25
LAPTOP = dict(viewport=dict(width=1280, height=800))


class Board(VirtualBoard):
    """A virtual board that waits within its first load pulse until it is let go, and may be unplugged in it."""

    def __init__(self, part: str) -> None:
        super().__init__(find(part).specimen, 1, False)
        self.pulsing, self.let_go = threading.Event(), threading.Event()
        self.let_go.set()
        self.unplugged = False

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        self.pulsing.set()
        assert self.let_go.wait(PATIENCE_MS / 1000)
        if self.unplugged:
            raise BoardLost("The board does not answer: it was unplugged.")
        return super().load_pulse(pulse)


class Workshop:
    """A bench that tests single parts in a thread of its own, and the page beside it."""

    def __init__(self, store: Path, part: str) -> None:
        self.board, self.records = Board(part), list[RunRecord]()
        self.page: Page
        self._store, self._part = store, part
        self._single: Single
        self._begun = threading.Event()
        self._thread = threading.Thread(target=self._test, daemon=True)

    def _test(self) -> None:
        with Store.open(str(self._store)) as store:
            setup = SingleSetup(seed=1, store=str(self._store), parts=iter([find(self._part), find(BURNT)]))
            opened = Opened(self.board, self.board.insert, self.board.exchange_leads, self.board.plant)
            self._single = Single(opened, store, setup, self._show, lambda record, *_: self.records.append(record))
            self._begun.set()
            self._single.run()

    def _show(self, view: SingleView) -> None:
        self.page.show(view)

    @contextmanager
    def serving(self) -> Iterator["Workshop"]:
        with served(lambda command: self._single.press(command), print, port=0) as self.page:
            self._thread.start()
            assert self._begun.wait(10)
            yield self

    def ended(self) -> bool:
        self._thread.join(10)
        return not self._thread.is_alive()


@pytest.fixture
def workshop(tmp_path: Path) -> Iterator[Workshop]:
    with Workshop(tmp_path / "single.db", GOOD).serving() as shop:
        yield shop


def reads(tab: Tab, word: str) -> None:
    expect(tab.locator("#verdict .word")).to_have_text(word, ignore_case=True)
    expect(tab.locator("#verdict")).to_be_visible()


def go(tab: Tab) -> None:
    """The one key, by somebody who presses again when it came too early."""
    while True:
        expect(tab.locator("#press-go")).to_be_visible()
        time.sleep(JUST_CHANGED_S)
        tab.keyboard.press("Space")
        if "just changed" in tab.locator("#said").inner_text():
            continue
        return


def press(tab: Tab, button: str) -> str:
    """Once the screen has been still for a moment; gives what is said to it."""
    time.sleep(JUST_CHANGED_S)
    tab.locator(button).click()
    return tab.locator("#said").inner_text()


def end(tab: Tab) -> None:
    tab.locator("#press-end").click()
    tab.locator("#end-sure").click()


def test_a_part_is_proposed_tested_at_space_and_its_verdict_stays(workshop: Workshop, open_tab: Open) -> None:
    tab = open_tab(workshop.page.bench_link, LAPTOP)
    reads(tab, "TEST?")
    expect(tab.locator("#sentence")).to_contain_text("5-terminal mini relay of 12 V, any maker: relay-quick, about 5 s")
    assert workshop.records == [], "nothing was energised before the key"
    assert violations(tab) == []
    go(tab)
    reads(tab, "PASS")
    (record,) = workshop.records
    expect(tab.locator("#sentence")).to_contain_text(f"Write {record.part.id} on the part, with a pen.")
    expect(tab.locator(".details")).to_contain_text("contact drop of 87 (NO)")
    expect(tab.locator("#band")).to_contain_text("SIMULATED")
    assert "SIMULATED" in tab.title() and record.part.id in tab.title()
    assert violations(tab) == []
    for wide in (1280, 390, 320):
        tab.set_viewport_size(dict(width=wide, height=800))
        assert set(tab.locator(".decided td:last-child").evaluate_all(LINES)) == {1}, "a number stands with its unit"
        assert max(tab.locator(".decided td:nth-child(3)").evaluate_all(LINES)) <= 2
        assert tab.evaluate("document.documentElement.scrollWidth") <= wide
    go(tab)  # the next part of the heap is another one
    reads(tab, "TEST?")
    go(tab)
    reads(tab, "FAIL")
    assert len({one.part.id for one in workshop.records}) == 2
    while "just changed" in press(tab, "#press-retest"):
        pass
    reads(tab, "TEST?")
    go(tab)
    reads(tab, "FAIL")
    assert workshop.records[1].part.id == workshop.records[2].part.id, "tested again it keeps its number"
    expect(tab.locator("#sentence")).not_to_contain_text("Write")
    end(tab)
    assert workshop.ended()


LINES = """cells => cells.map((cell) => {
  const all = document.createRange(); all.selectNodeContents(cell); return all.getClientRects().length })"""
PRESS_TWICE = """async () => {
  const { shown } = await import("/page.js");
  const body = JSON.stringify({ control: "go", text: "", seen: shown.version });
  const press = () => fetch("/press", { method: "POST", headers: { "content-type": "application/json" }, body });
  window.late = press;
  return (await Promise.all([press(), press()])).map((answer) => answer.status);
}"""
"""Two presses of the same view at once; the same once more is `late()`."""


def test_two_presses_of_one_view_start_one_test(workshop: Workshop, open_tab: Open) -> None:
    one, other = (open_tab(workshop.page.bench_link, LAPTOP) for _ in range(2))
    for tab in (one, other):
        reads(tab, "TEST?")
    workshop.board.let_go.clear()
    assert 200 in one.evaluate(PRESS_TWICE)
    assert workshop.board.pulsing.wait(20)
    assert one.evaluate("window.late().then((answer) => answer.status)") == 409
    workshop.board.let_go.set()
    for tab in (one, other):
        reads(tab, "PASS")
    assert one.evaluate("window.late().then((answer) => answer.status)") == 409, "it was meant for another view"
    assert len(workshop.records) == 1


def test_a_test_that_is_stopped_reads_interrupted_everywhere(workshop: Workshop, open_tab: Open) -> None:
    tab = open_tab(workshop.page.bench_link, LAPTOP)
    workshop.board.let_go.clear()
    go(tab)
    assert workshop.board.pulsing.wait(20)
    reads(tab, "TESTING")
    tab.locator("#press-end").click()
    expect(tab.locator("#said")).to_be_empty()
    time.sleep(0.2)
    workshop.board.let_go.set()
    reads(tab, "INTERRUPTED")
    (record,) = workshop.records
    assert record.verdict.overall is Overall.INTERRUPTED
    expect(tab.locator("#verdict")).not_to_have_class("tone-keep")
    expect(tab.locator(".details")).to_contain_text("It was stopped by a press of the button.")
    expect(tab.locator(".details")).to_contain_text("says nothing about the part")


def test_a_board_that_is_unplugged_amid_a_test_never_reads_as_a_pass(workshop: Workshop, open_tab: Open) -> None:
    tab = open_tab(workshop.page.bench_link, LAPTOP)
    workshop.board.let_go.clear()
    go(tab)
    assert workshop.board.pulsing.wait(20)
    workshop.board.unplugged = True
    workshop.board.let_go.set()
    reads(tab, "BENCH TROUBLE")
    expect(tab.locator(".details")).to_contain_text("unplugged")
    assert workshop.records[0].verdict.overall is Overall.BENCH_TROUBLE


def test_a_part_that_was_exchanged_after_the_look_is_proposed_anew(workshop: Workshop, open_tab: Open) -> None:
    tab = open_tab(workshop.page.bench_link, LAPTOP)
    reads(tab, "TEST?")
    workshop.board.insert(find("good-12v-normally-open").specimen)
    go(tab)
    expect(tab.locator("#sentence")).to_contain_text("4-terminal")
    reads(tab, "TEST?")
    assert workshop.records == []


def test_a_page_that_lost_the_bench_amid_a_test_covers_it(tmp_path: Path, open_tab: Open) -> None:
    shop = Workshop(tmp_path / "single.db", GOOD)
    with shop.serving():
        tab = open_tab(shop.page.bench_link, LAPTOP)
        shop.board.let_go.clear()
        go(tab)
        assert shop.board.pulsing.wait(20)
        reads(tab, "TESTING")
    expect(tab.locator("body")).to_have_attribute("data-state", "stale")
    expect(tab.locator("#verdict")).not_to_be_visible()
    shop.board.let_go.set()
    end_of = time.monotonic() + 20
    while not shop.records and time.monotonic() < end_of:
        time.sleep(0.05)
    assert shop.records[0].verdict.overall is Overall.PASS, "the bench went on without its page"


def test_a_screen_that_is_not_paired_cannot_start_a_test(workshop: Workshop, open_tab: Open) -> None:
    tab = open_tab(workshop.page.address, LAPTOP)
    reads(tab, "TEST?")
    expect(tab.locator("#press-go")).to_have_count(0)
    expect(tab.locator("#pair-open")).to_be_visible()
    assert workshop.records == []


WORDS = (
    *((Stage.RESULT, one) for one in Overall), (Stage.TESTING, "S4 TO SUPPLY"), (Stage.STOPPED, "BOARD GONE"),
    (Stage.QUESTION, "WHAT KIND?"),
)  # fmt: skip
OVERFLOW = """() => [...document.querySelectorAll("#verdict, #verdict *, html")]
  .filter((one) => one.scrollWidth > one.clientWidth + 1 && one.clientWidth).map((one) => one.className)"""


def shown(version: int, stage: Stage, word: str) -> SingleView:
    """That word with the widest id."""
    overall = Overall(word) if stage is Stage.RESULT else None
    result = overall and ShortResult(
        part="W4MMW", overall=overall, mark=None, word=word, rows=(), said=(), next=("Keep it.",), mind="", more="",
        write="W4MMW on the part, with a pen",
    )  # fmt: skip
    return SingleView(
        version=version, simulated=True, board="virtual board 1", stage=stage, word=word.upper(), sentence="Press.",
        part="W4MMW", result=result, go="next part", controls=(Control.GO, Control.RETEST, Control.END),
    )  # fmt: skip


@pytest.mark.parametrize("wide", [320, 390, 720, 1280])
def test_every_word_and_the_widest_id_have_room(bench: Bench, open_tab: Open, wide: int) -> None:
    tab = open_tab(bench.page.bench_link, dict(viewport=dict(width=wide, height=800)))
    for version, (stage, word) in enumerate(WORDS, start=100):
        bench.page.show(shown(version, stage, word))
        reads(tab, word)
        assert tab.evaluate(OVERFLOW) == [], word


def test_what_is_of_one_run_is_refused_beside_a_page(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["test", "--board", "virtual", "--page", "--json"]) == 2
    assert "--page tests one part after the other" in capsys.readouterr().out
