"""Using the page: the one key, gloves, pairing, sleep and waking, lost servers, several screens at once."""

import time
from urllib.parse import urlsplit

import crate_views
import pytest
from playwright.sync_api import Page as Tab
from playwright.sync_api import expect
from screens import MONITOR, PHONE, SMALL, TABLET, Air, Bench, Open, Silence, violations
from test_page_screens import seen

from pulldrop.model.crate.crate import Bin, Command, Control
from pulldrop.page import served

KEEP = crate_views.RESULTS[Bin.KEEP]
SCRAP = crate_views.RESULTS[Bin.SCRAP]
STALE_S = 3.0
AS_LONG_AS_A_FETCH = """Promise.race([
    fetch("/page.js", { cache: "no-store" }).then((file) => file.text(), () => ""),
    new Promise((done) => setTimeout(done, 1000)),
])"""
"""A machine that is slow to press is slow to fetch; out of reach nothing is fetched."""
CHANGED_S = 0.25
"""The page takes no press within 0.2 s of a change: nobody reacts so fast."""


def controller(bench: Bench, open_tab: Open, screen: dict[str, object] = MONITOR) -> Tab:
    tab = open_tab(bench.page.bench_link, screen)
    seen(tab, crate_views.INSERT)
    return tab


def show(bench: Bench, tab: Tab, view: crate_views.CrateView) -> None:
    bench.show(view)
    seen(tab, view)
    time.sleep(CHANGED_S)


def pressed(bench: Bench, tab: Tab) -> list[Command]:
    """What reached the bench since the last time; the page has had its answer."""
    tab.wait_for_timeout(150)
    tab.evaluate(AS_LONG_AS_A_FETCH)
    got = list(bench.commands)
    bench.commands.clear()
    return got


def test_space_is_the_one_key_whatever_was_touched_before(bench: Bench, open_tab: Open) -> None:
    """A foot switch types spaces; it must not press again the button that a hand touched last."""
    tab = controller(bench, open_tab)
    show(bench, tab, KEEP)
    tab.keyboard.press("Space")
    assert pressed(bench, tab) == [Command(control=Control.GO, seen=KEEP.version)]
    for name, control in (("Undo last", Control.UNDO), ("Test again", Control.RETEST)):
        tab.get_by_role("button", name=name).click()
        tab.keyboard.press("Space")
        assert [one.control for one in pressed(bench, tab)] == [control, Control.GO]
    tab.locator("#sound").click()
    tab.keyboard.press("Space")
    assert [one.control for one in pressed(bench, tab)] == [Control.GO]
    expect(tab.locator("#sound")).to_have_attribute("aria-pressed", "true")


def test_a_held_key_presses_once(bench: Bench, open_tab: Open) -> None:
    tab = controller(bench, open_tab)
    show(bench, tab, KEEP)
    for _ in range(5):
        tab.keyboard.down("Space")
    tab.keyboard.up("Space")
    assert len(pressed(bench, tab)) == 1


def test_a_press_right_after_the_screen_changed_is_not_taken_for_the_new_question(bench: Bench, open_tab: Open) -> None:
    tab = controller(bench, open_tab)
    show(bench, tab, KEEP)
    tab.evaluate(
        """() => new MutationObserver((_, me) => {
            if (!document.querySelector("#verdict.tone-ask")) return;
            me.disconnect();
            document.dispatchEvent(new KeyboardEvent("keydown", { key: " ", bubbles: true }));
        }).observe(document.body, { childList: true, subtree: true })"""
    )
    bench.show(crate_views.QUESTION)
    expect(tab.locator("#said")).to_contain_text("Look, then press again")
    assert pressed(bench, tab) == []


def test_what_the_bench_refuses_stands_on_the_screen(bench: Bench, open_tab: Open) -> None:
    tab = controller(bench, open_tab)
    show(bench, tab, KEEP)
    bench.refusal = "The bench has moved on."
    tab.keyboard.press("Space")
    expect(tab.locator("#said")).to_have_text("The bench has moved on.")
    bench.refusal = ""
    tab.keyboard.press("Space")
    expect(tab.locator("#said")).to_be_hidden()


def test_keyboard_alone_reaches_everything(bench: Bench, open_tab: Open) -> None:
    tab = controller(bench, open_tab)
    show(bench, tab, crate_views.QUESTION)
    reached = []
    for _ in range(8):
        tab.keyboard.press("Tab")
        reached.append(tab.evaluate("document.activeElement.id"))
    assert reached[:5] == ["press-go", "press-no", "press-rating", "press-end", "sound"]
    tab.locator("#press-no").focus()
    tab.keyboard.press("Enter")
    assert [one.control for one in pressed(bench, tab)] == [Control.NO]
    show(bench, tab, KEEP)
    tab.locator("#press-note").focus()
    tab.keyboard.press("Enter")
    tab.keyboard.type("case is cracked")
    tab.keyboard.press("Tab")
    tab.keyboard.press("Enter")
    assert pressed(bench, tab) == [Command(control=Control.NOTE, text="case is cracked", seen=KEEP.version)]
    tab.locator("#press-undo").focus()
    tab.keyboard.press("Space")
    assert [one.control for one in pressed(bench, tab)] == [Control.UNDO], "one that was chosen by keyboard is meant"


def test_focus_stays_where_it_was_when_the_view_changes(bench: Bench, open_tab: Open) -> None:
    tab = controller(bench, open_tab)
    show(bench, tab, KEEP)
    tab.locator("#press-end").focus()
    show(bench, tab, crate_views.TESTING)
    expect(tab.locator("#press-end")).to_be_focused()


def test_note_rating_and_end_ask_first_with_targets_for_gloves(bench: Bench, open_tab: Open) -> None:
    tab = controller(bench, open_tab, SMALL)
    show(bench, tab, KEEP)
    for name in ("note", "rating", "end"):
        tab.locator(f"#press-{name}").tap()
        dialog = tab.locator(f"dialog#{name}")
        expect(dialog).to_be_visible()
        assert violations(tab) == []
        assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
        for box in dialog.locator("button").evaluate_all("all => all.map(one => one.getBoundingClientRect().toJSON())"):
            assert box["width"] >= 126 and box["height"] >= 126
        dialog.locator("[data-close]").tap()
        expect(dialog).to_be_hidden()
    assert pressed(bench, tab) == []
    tab.locator("#press-rating").tap()
    tab.get_by_role("button", name="class-mini-24v-form-c").tap()
    tab.locator("#press-end").tap()
    tab.locator("#end-sure").tap()
    assert pressed(bench, tab) == [
        Command(control=Control.RATING, text="class-mini-24v-form-c", seen=KEEP.version),
        Command(control=Control.END),
    ]


def test_pairing_is_refused_with_a_wrong_code_and_accepted_with_the_right_one(bench: Bench, open_tab: Open) -> None:
    tab = open_tab(bench.page.address)
    seen(tab, crate_views.INSERT)
    expect(tab.locator("[data-control]")).to_have_count(0)
    tab.keyboard.press("Space")
    tab.locator("#pair-open").tap()
    assert violations(tab) == []
    tab.locator("#code").fill("12")
    tab.get_by_role("button", name="Pair", exact=True).tap()
    expect(tab.locator("#pair-said")).to_contain_text("not the code")
    assert bench.commands == []
    tab.locator("#code").fill(bench.page.code)
    tab.get_by_role("button", name="Pair", exact=True).tap()
    expect(tab.locator("#press-go")).to_be_visible()
    time.sleep(CHANGED_S)
    tab.locator("#press-go").tap()
    assert [one.control for one in pressed(bench, tab)] == [Control.GO]


def test_guessing_locks_pairing_and_says_so(bench: Bench, open_tab: Open) -> None:
    tab = open_tab(bench.page.address)
    seen(tab, crate_views.INSERT)
    tab.locator("#pair-open").tap()
    for guess in range(6):
        tab.locator("#code").fill(f"x{guess}")
        with tab.expect_response("**/pair"):
            tab.get_by_role("button", name="Pair", exact=True).tap()
    expect(tab.locator("#pair-said")).to_contain_text("Too many wrong codes")


def test_three_screens_see_the_same_and_a_sleeping_one_holds_up_nobody(bench: Bench, open_tab: Open) -> None:
    air = Air(bench.page)
    monitor, tablet = open_tab(bench.page.bench_link, MONITOR), open_tab(bench.page.address, TABLET)
    phone = open_tab(air.address(), PHONE)
    for view in crate_views.ALL.values():
        bench.show(view)
        for tab in (monitor, tablet, phone):
            seen(tab, view)
    air.out_of_reach()
    for view in crate_views.RESULTS.values():
        bench.show(view)
        seen(monitor, view)
        seen(tablet, view)
    covered(phone)
    air.in_reach()
    seen(phone, SCRAP)


def covered(tab: Tab) -> None:
    """No verdict is in sight, old or new, and the screen says why."""
    expect(tab.locator("#silent-word")).to_be_visible()
    expect(tab.locator("#silent-word")).to_have_text("Stale")
    expect(tab.locator("#verdict")).to_be_hidden()
    expect(tab.locator("#bins")).to_be_hidden()
    expect(tab.locator("#band")).to_be_visible()


def sleep(tab: Tab, asleep: bool) -> None:
    """As a phone tells its pages that the screen went dark, or came back."""
    tab.evaluate(
        """(hidden) => {
            Object.defineProperty(document, "hidden", { configurable: true, get: () => hidden });
            document.dispatchEvent(new Event("visibilitychange"));
        }""",
        asleep,
    )


def test_a_sleeping_phone_covers_its_verdict_at_once_and_wakes_to_the_newest(bench: Bench, open_tab: Open) -> None:
    tab = open_tab(bench.page.address)
    bench.show(KEEP)
    seen(tab, KEEP)
    sleep(tab, asleep=True)
    covered(tab)
    bench.show(SCRAP)
    tab.wait_for_timeout(1300)
    covered(tab)
    sleep(tab, asleep=False)
    seen(tab, SCRAP)


def test_a_server_that_is_gone_is_told_within_three_seconds_and_found_again(open_tab: Open) -> None:
    with served(None, print, port=0) as page:
        port = urlsplit(page.address).port
        page.show(KEEP)
        tab = open_tab(page.address)
        seen(tab, KEEP)
        silence = Silence(tab)
    silence.begins()
    assert silence.lasted_s() < STALE_S
    covered(tab)
    assert violations(tab) == []
    with served(None, print, port=port or 0) as page:
        page.show(SCRAP)
        seen(tab, SCRAP)


def test_a_phone_out_of_reach_is_stale_within_three_seconds_presses_nothing_and_comes_back(
    bench: Bench, open_tab: Open
) -> None:
    """Its stream hangs and is not closed: nobody tells the phone."""
    air = Air(bench.page)
    tab = open_tab(air.address(urlsplit(bench.page.bench_link).path))
    bench.show(KEEP)
    seen(tab, KEEP)
    silence = Silence(tab)
    air.out_of_reach()
    silence.begins()
    bench.show(SCRAP)
    assert silence.lasted_s() < STALE_S
    covered(tab)
    tab.keyboard.press("Space")
    assert pressed(bench, tab) == []
    air.in_reach()
    seen(tab, SCRAP)


def test_without_its_first_view_a_screen_waits_and_shows_no_verdict(open_tab: Open) -> None:
    with served(None, print, port=0) as page:
        tab = open_tab(page.address)
        tab.wait_for_timeout(1300)
        expect(tab.locator("#silent-word")).to_have_text("Wait")
        expect(tab.locator("#verdict")).to_be_hidden()
        page.show(KEEP)
        seen(tab, KEEP)


@pytest.mark.parametrize("screen", [PHONE, MONITOR])
def test_nothing_is_fetched_from_anywhere_else(bench: Bench, open_tab: Open, screen: dict[str, object]) -> None:
    tab = open_tab(bench.page.address, screen)
    asked: list[str] = []
    tab.on("request", lambda request: asked.append(request.url))
    tab.reload()
    seen(tab, crate_views.INSERT)
    assert len(asked) >= 6
    assert {urlsplit(url).netloc for url in asked} == {urlsplit(bench.page.address).netloc}


@pytest.mark.parametrize("last", [crate_views.ENDED, crate_views.BOARD_GONE])
def test_the_last_word_of_a_crate_stays_on_the_screen_when_the_program_has_ended(
    last: crate_views.CrateView, open_tab: Open
) -> None:
    with served(lambda _command: "", print, port=0) as page:
        page.show(crate_views.TESTING)
        tab = open_tab(page.address)
        seen(tab, crate_views.TESTING)
        page.show(last)
    expect(tab.locator("#said")).to_contain_text("pulldrop has ended. This is its last word")
    tab.wait_for_timeout(STALE_S * 1000 + 500)
    seen(tab, last)


def test_a_program_that_ends_in_the_middle_of_a_test_leaves_no_verdict_behind(open_tab: Open) -> None:
    with served(lambda _command: "", print, port=0) as page:
        page.show(crate_views.TESTING)
        tab = open_tab(page.address)
        seen(tab, crate_views.TESTING)
    expect(tab.locator("body")).to_have_attribute("data-state", "stale")
