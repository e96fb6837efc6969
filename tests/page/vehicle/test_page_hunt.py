"""A hunt by the phone in the cabin: who knows only what the screen says finds three conditions, with a slip."""

import threading
from pathlib import Path

from cab import CABIN, Cab, head, live
from playwright.sync_api import Page as Tab
from playwright.sync_api import expect
from screens import SMALL, Open, violations

from pulldrop.board.virtual.lead import LeadBoard
from pulldrop.jobs.hunt.hands import KeyHands
from pulldrop.jobs.hunt.log import HuntLog
from pulldrop.jobs.hunt.loop import go
from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.jobs.vehicle import boards
from pulldrop.model.hunt.look import Side
from pulldrop.model.hunt.outcome import Grade, HuntOutcome
from pulldrop.page import Page, served

BOARD = LeadBoard(boards.vehicle("depot-van-3"), 1).identity
JUST_CHANGED_MS = 220
MOST = 900


class Bench:
    """The hunt in a thread of its own, and its page."""

    def __init__(self, folder: Path) -> None:
        self.cab = Cab(CABIN.listed(), live, hurried=False)
        self.found: list[HuntOutcome] = []
        self.page: Page
        self.hands = KeyHands(BOARD, CABIN.wire, CABIN.listed(), lambda view: self.page.show(view))
        self._log = folder / "log"

    def run(self) -> None:
        with HuntLog.open(self._log, head()) as log:
            hunt = log.hunt()
            self.found.append(go(hunt, HuntedWire(self.cab.read, Side.HIGH), self.hands, log))
            self.hands.ends(hunt.result())


class Person:
    """Reads the screen and does what it says; from move `slips` on it goes wrong
    once: another position is taken, and nobody notices."""

    def __init__(self, tab: Tab, cab: Cab, slips: int) -> None:
        self._tab, self._cab, self._slips = tab, cab, slips
        self._moves, self.slipped = 0, False
        self.reads = 0

    def goes_on(self) -> bool:
        """One thing done; False once the hunt is over."""
        tab = self._tab
        asked = tab.locator("#sentence[data-asked]").get_attribute("data-asked") or ""
        if asked.endswith("True"):
            return False
        now = tab.locator("#sentence p").first.inner_text()
        button = tab.locator("#press-go")
        if tab.locator("#verdict h1").inner_text() == "READ":
            name = now.split(": ")[-1].rstrip("?")
            button = tab.get_by_role("button", name=self._cab.positions[name], exact=True)
            self.reads += 1
        else:
            self._does(now)
        tab.wait_for_timeout(JUST_CHANGED_MS)
        button.click()
        expect(tab.locator("#sentence")).not_to_have_attribute("data-asked", asked)
        return True

    def _does(self, now: str) -> None:
        self._moves += 1  # "leave everything as it is" names no control
        now = now.removeprefix("hold ").removeprefix("let ")
        for one in CABIN.listed():
            if now.startswith(one.id):
                place = now.split(" at ")[-1] if " at " in now else now.split(" to ")[-1]
                at = one.positions.index(place)
                if self._moves >= self._slips and not self.slipped and one.id == "fan":
                    self.slipped, at = True, 2 if at != 2 else 1
                self._cab.put(one.id, at)


def test_three_conditions_with_a_slip_by_the_phone(tmp_path: Path, open_tab: Open) -> None:
    bench = Bench(tmp_path)
    with served(bench.hands.press, print, port=0) as page:
        bench.page = page
        thread = threading.Thread(target=bench.run, daemon=True)
        thread.start()
        tab = open_tab(page.bench_link, SMALL)
        expect(tab.locator("#band")).to_contain_text("SIMULATED")
        person = Person(tab, bench.cab, slips=14)
        for number in range(MOST):
            if number == 25:
                tab.reload()  # the phone slept
                expect(tab.locator("#press-end")).to_have_count(1)
            if not person.goes_on():
                break
        thread.join(10)
        assert bench.found and bench.found[0].grade is Grade.PROVED
        expect(tab.locator("#verdict h1")).to_have_text("PROVED")
        expect(tab.locator("#sentence")).to_contain_text("key at ON and lamps at on and fan not at fast")
        assert person.reads and person.slipped
        assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert violations(tab) == []
