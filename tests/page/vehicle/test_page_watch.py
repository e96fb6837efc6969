"""Watched wires on a phone: each with word, shape and place, what happened, STALE within a second, SIMULATED."""

import threading
import time
from collections.abc import Iterator

import pytest
from playwright.sync_api import expect
from screens import Open, violations

from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.jobs.vehicle import boards
from pulldrop.jobs.vehicle.screens import WatchPages
from pulldrop.jobs.vehicle.watch import Watched
from pulldrop.judge.socket.levels import Change, Line, Word
from pulldrop.model.vehicle.view import WatchView
from pulldrop.page import Page, served

BOARD = LeadBoard(boards.vehicle("heritage-bus-12"), 1).identity


@pytest.fixture
def cabin() -> Iterator[tuple[Page, WatchPages, Watched]]:
    """A page, what lays views on it, and what is watched."""
    with (
        served(None, print, port=0) as page,
        WatchPages(BOARD, page.show, lambda seen, clip, what: f"{seen.names[clip]} changed") as pages,
    ):
        lines = {"X2": Line(word="ON", _now="ON"), "X3": Line(word="OFF", _now="OFF")}
        seen = Watched({"X2": "feed", "X3": "trigger"}, lines, {"X2": 25.1, "X3": 0.1}, 25.3, readings=1)  # type: ignore[arg-type]
        pages(seen, None, None)
        yield page, pages, seen


ROWS = "li => { const all = document.createRange(); all.selectNodeContents(li); return all.getClientRects().length }"


def alive(pages: WatchPages, seen: Watched) -> threading.Event:
    """Readings that keep coming until the event is set."""
    over = threading.Event()

    def go_on() -> None:
        while not over.wait(0.05):
            seen.readings += 1
            pages(seen, None, None)

    threading.Thread(target=go_on, daemon=True).start()
    return over


def set_word(seen: Watched, word: Word) -> None:
    seen.lines["X3"].word = seen.lines["X3"]._now = word


def test_each_wire_has_word_name_and_shape_and_changes_at_once(
    cabin: tuple[Page, WatchPages, Watched], open_tab: Open
) -> None:
    page, pages, seen = cabin
    over = alive(pages, seen)
    tab = open_tab(page.address)
    expect(tab.locator("#band")).to_contain_text("SIMULATED")
    expect(tab.locator("[data-line=X2] h2")).to_have_text("ON")
    expect(tab.locator("[data-line=X3] h2")).to_have_text("OFF")
    set_word(seen, "ON")
    pages(seen, "X3", Change(1.0, "ON", 0.99))
    expect(tab.locator("[data-line=X3] h2")).to_have_text("ON")
    expect(tab.locator("#last")).to_contain_text("trigger changed")
    assert tab.locator("#last li").first.evaluate(ROWS) == 1, "as wide as the page lets it be"
    expect(tab.locator("#details")).to_contain_text("25.1 V")
    assert violations(tab) == []
    over.set()


def test_a_silent_board_is_stale_within_a_second_and_lives_again(
    cabin: tuple[Page, WatchPages, Watched], open_tab: Open
) -> None:
    page, pages, seen = cabin
    over = alive(pages, seen)
    tab = open_tab(page.address)
    expect(tab.locator("[data-line=X2] h2")).to_have_text("ON")
    over.set()
    expect(tab.locator("#verdict")).to_contain_text("STALE")
    expect(tab.locator("[data-line=X2]")).to_have_count(0)
    expect(tab.locator("#sentence")).to_contain_text("Look at its USB cable")
    over = alive(pages, seen)
    expect(tab.locator("#verdict")).not_to_contain_text("STALE")
    over.set()


def test_a_screen_that_the_server_no_longer_reaches_is_covered(open_tab: Open) -> None:
    with served(None, print, port=0) as page:
        view = WatchView(simulated=True, version=1, board="", lines=(), battery_v=12.0, at_s=0.0)
        page.show(view)
        tab = open_tab(page.address)
        expect(tab.locator("body")).to_have_attribute("data-state", "stale")


def test_stale_is_laid_down_by_itself_0_7_s_after_the_last_reading() -> None:
    laid: list[tuple[float, WatchView]] = []
    with WatchPages(BOARD, lambda view: laid.append((time.monotonic(), view)), lambda *_: "") as pages:
        seen = Watched({"X2": "feed"}, {"X2": Line(word="ON", _now="ON")}, {"X2": 12.0}, 12.4, readings=1)
        began = time.monotonic()
        pages(seen, None, None)
        while not laid[-1][1].stale and time.monotonic() - began < 5:
            time.sleep(0.02)
    assert laid[-1][1].stale and [view.version for _, view in laid] == list(range(1, len(laid) + 1))


def test_a_board_that_comes_back_is_no_longer_stale_whoever_lays_the_next_view_down() -> None:
    """The thread laid its own stale view down again and again, just before each reading."""
    now, laid = [0.0], list[WatchView]()
    pages = WatchPages(BOARD, laid.append, lambda *_: "", clock=lambda: now[0])
    seen = Watched({"X2": "feed"}, {"X2": Line(word="ON", _now="ON")}, {"X2": 12.0}, 12.4, readings=1)
    pages(seen, None, None)
    now[0] = 1.0
    pages.keep()
    assert laid[-1].stale
    seen.readings, now[0] = 2, 1.1
    pages(seen, None, None)
    assert not laid[-1].stale
    now[0] = 1.4
    pages.keep()
    assert not laid[-1].stale
