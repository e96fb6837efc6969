"""The knob of a single test by the page: its words are as large as there is room, and each is heard once."""

import pytest
from playwright.sync_api import expect
from screens import Bench, Open, violations
from test_page_screens import HEAR, rhythm, tones
from test_page_single import OVERFLOW

from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.run.boards import Opened
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.single.single import Single, SingleSetup
from pulldrop.model.run import hand
from pulldrop.model.run.hand import Request
from pulldrop.store import Store

LAPTOP = dict(viewport=dict(width=1280, height=800))
ASKED = (
    (hand.KNOB_IN, "--"), (hand.KNOB_UP, "."), (hand.KNOB_ON, ".."), (hand.KNOB_DOWN, ".."), (hand.KNOB_SLOWER, ".-."),
    (hand.KNOB_UP, "."), (hand.KNOB_AGAIN, ".-."), (hand.KNOB_OUT, "--"),
)  # fmt: skip
"""What is asked, and its tone: - for long and . for short."""


@pytest.fixture
def single(bench: Bench) -> Single:
    board = EveningBoard(find("good-12v-changeover").specimen, 1)
    return Single(Opened(board, None), Store.open(":memory:"), SingleSetup(), bench.page.show, lambda *_: None)


def test_each_word_of_the_knob_has_room_and_is_heard_once_wherever_the_knob_stands(
    bench: Bench, open_tab: Open, single: Single
) -> None:
    tab = open_tab(bench.page.bench_link, LAPTOP, own=True)
    tab.context.add_init_script(HEAR)
    tab.reload()
    expect(tab.locator("#verdict .word")).to_be_visible()
    tab.locator("#sound").click()
    assert rhythm(tones(tab)) == "."
    for asked, heard in ASKED:
        single._by_hand(asked)
        word = tab.locator("#verdict .word")
        expect(word).to_have_text(asked.word, ignore_case=True)
        expect(tab.locator("#sentence")).to_contain_text(asked.text)
        assert f"letters-{max(map(len, asked.word.split()))}" in (word.get_attribute("class") or "").split()
        assert tab.evaluate(OVERFLOW) == [], asked.word
        for volts in (3.2, 3.4):
            single._by_hand(Request(f"It stands at {volts} V.", turn="at", volts=volts, most_v=12.0))
            expect(tab.locator("#verdict .number")).to_have_text(f"{volts} V")
        expect(word).to_have_text(asked.word, ignore_case=True)
        assert rhythm(tones(tab)) == heard, f"{asked.word}: once, wherever the knob stands"
        expect(tab.locator("#band")).to_contain_text("SIMULATED")
    assert violations(tab) == []
