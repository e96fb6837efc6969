"""The page's help is there without script, network or store, and a phone finds the page by a code."""

import io
import re

import crate_views
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import expect
from screens import Bench, Open

from pulldrop.cli.history.page import _code
from pulldrop.model.crate.crate import Bin
from pulldrop.page import served
from pulldrop.page.help import TOPICS, help_page

SIZES = [(320, 568), (390, 844), (1280, 800)]


@pytest.mark.parametrize("topic", TOPICS)
@pytest.mark.parametrize(("wide", "high"), SIZES)
def test_a_help_page_is_short_fits_every_screen_and_has_its_pictures(
    bench: Bench, open_tab: Open, topic: str, wide: int, high: int
) -> None:
    tab = open_tab(f"{bench.page.address}/help/{topic}", dict(viewport=dict(width=wide, height=high)))
    expect(tab.locator("h1")).to_have_text(TOPICS[topic])
    assert tab.evaluate("document.documentElement.scrollWidth") <= wide
    assert tab.evaluate("document.documentElement.scrollHeight") <= 3 * high
    drawn = tab.locator("main svg")
    assert drawn.count() >= 1
    for one in drawn.all():
        box = one.bounding_box()
        assert box and box["width"] > 30 and box["x"] + box["width"] <= wide


@pytest.mark.parametrize("topic", TOPICS)
def test_the_help_needs_no_script_and_fetches_nothing_from_elsewhere(topic: str) -> None:
    html = help_page(topic)
    assert "<script" not in html and "http:" not in html and "https:" not in html
    assert set(re.findall(r'(?:src|href)="([^"#]+)', html)) <= {
        "/", "/icon.svg", "/page.css", "/help.css", *(f"/help/{name}" for name in TOPICS),
    }  # fmt: skip


def test_each_bin_is_explained_with_what_to_do() -> None:
    html = help_page("outcomes")
    assert all(f"<h2>{bin.upper()}</h2>" in html for bin in Bin) and html.count("<h2>") == len(Bin)


def test_the_bench_leads_to_its_help_and_back(bench: Bench, open_tab: Open) -> None:
    tab = open_tab(bench.page.address)
    tab.locator("a", has_text="Help").click()
    expect(tab.locator("h1")).to_have_text(TOPICS["bench"])
    tab.locator("a", has_text="Back to the bench").click()
    expect(tab.locator(".now")).to_be_attached()


def test_a_phone_finds_the_page_by_a_code_where_it_may_look(open_tab: Open) -> None:
    with served(lambda _command: "", lambda _said: None, lan=True, port=0) as page:
        page.show(crate_views.INSERT)
        tab = open_tab(page.bench_link, dict(viewport=dict(width=1280, height=800)))
        tab.locator("details.phone summary").click()
        seen = Image.open(io.BytesIO(tab.locator("details.phone svg").screenshot()))
        assert [one.text for one in zxingcpp.read_barcodes(seen)] == [page.address]


def test_where_no_phone_may_look_there_is_no_code(bench: Bench, open_tab: Open) -> None:
    assert open_tab(bench.page.address).locator("details.phone").count() == 0


def test_the_code_on_the_terminal_reads_as_the_address() -> None:
    """Half blocks are drawn as a terminal does, light letters on a dark ground."""
    lines = _code("http://192.0.2.7:8737").splitlines()
    wide = max(map(len, lines))
    picture = Image.new("L", (wide, 2 * len(lines)))
    for y, line in enumerate(lines):
        for x, letter in enumerate(line):
            picture.putpixel((x, 2 * y), 255 * (letter in "\u2580\u2588"))
            picture.putpixel((x, 2 * y + 1), 255 * (letter in "\u2584\u2588"))
    big = picture.resize((8 * wide, 16 * len(lines)), Image.Resampling.NEAREST)
    assert [one.text for one in zxingcpp.read_barcodes(big)] == ["http://192.0.2.7:8737"]
