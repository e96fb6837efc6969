"""What a person finds out from the pages of parts and of the fleet, and what nobody gets through them."""

import http.client
import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import databases
import pytest
from depot import HOSTILE, REAL, SOUND, UNTESTED, WEARING, Depot, fill
from playwright.sync_api import expect
from screens import Open, violations

from pulldrop.jobs.parts import keep as parts
from pulldrop.jobs.parts import page_source as jobs
from pulldrop.jobs.parts.page_source import StoreSource
from pulldrop.jobs.sort.kept_crate import kept_view
from pulldrop.model.part.part_id import READ_AS
from pulldrop.page import served
from pulldrop.page.gate import HEADERS
from pulldrop.report import html
from pulldrop.store import Store

NARROW, WIDE = dict(width=320, height=640), dict(width=1280, height=800)


@dataclass
class Site:
    """The pages of one store."""

    address: str
    depot: Depot

    def ask(self, path: str, method: str = "GET") -> tuple[int, str, dict[str, str]]:
        status, body, headers = self.fetch(path, method)
        return status, body.decode(errors="replace"), headers

    def fetch(self, path: str, method: str = "GET") -> tuple[int, bytes, dict[str, str]]:
        host = self.address.removeprefix("http://")
        with closing(http.client.HTTPConnection(host, timeout=60)) as line:
            line.request(method, path, headers={"Host": host})
            answer = line.getresponse()
            return answer.status, answer.read(), {name.lower(): text for name, text in answer.getheaders()}

    def words(self, path: str) -> str:
        status, text, _ = self.ask(path)
        assert status == 200, text
        return _words(text)


def _words(text: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", text.partition("<body")[2]).split())


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    folder = tmp_path_factory.mktemp("depot")
    depot = fill(str(folder / "depot.db"), folder)
    with Store.open(depot.where) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        page.show(kept_view(store))
        yield Site(page.address, depot)


def test_the_list_tells_of_each_part_who_it_is_how_it_is_where_it_came_from_and_where_it_is(site: Site) -> None:
    words = site.words("/parts")
    assert "Parts 4 in all" in words
    line = words[words.index(WEARING) :]
    for text in ("pass", "8 runs", "mini 12 V changeover", "printed: BD 12V 40/30A", "town bus 12", "saloon lights"):
        assert text in line
    assert "fitted: town bus 12, saloon lights" in line and "never tested" in words
    assert words.index(WEARING) < words.index(SOUND) < words.index(UNTESTED), "those tested last come first"


def test_a_simulated_part_says_so_in_every_list_and_on_every_page_and_a_real_one_nowhere(site: Site) -> None:
    rows = re.findall(r"<tr>.*?</tr>", site.ask("/parts")[1], re.DOTALL)[1:]
    assert {re.search(r"/parts/(\w+)", row)[1]: "SIMULATED" in row for row in rows} == {  # type: ignore[index]
        WEARING: True, SOUND: True, UNTESTED: True, REAL: False,
    }  # fmt: skip
    for path in (f"/parts/{WEARING}", f"/parts/{UNTESTED}", "/parts?q=saloon%20lights"):
        assert "SIMULATED No real part was measured." in site.words(path)
    for path in (f"/parts/{REAL}", f"/runs/{site.depot.runs[REAL][0]}"):
        assert "SIMULATED" not in site.words(path)
    assert "SIMULATED No real part was measured." in site.words(f"/runs/{site.depot.runs[WEARING][-1]}")


@pytest.mark.parametrize("asked", ["saloon%20lights", "bd%2012v", "Town%20Bus%2012", "hums", "HUMS%20little"])
def test_a_part_is_found_by_its_card_and_by_what_happened_to_it(site: Site, asked: str) -> None:
    assert WEARING in site.words(f"/parts?q={asked}")


@pytest.mark.parametrize("asked", [WEARING, WEARING.lower(), f"https%3A%2F%2Fdepot%2F{WEARING}", f"%20{WEARING}"])
def test_an_id_and_a_scanned_label_lead_to_the_part_itself(site: Site, asked: str) -> None:
    status, _, headers = site.ask(f"/parts?q={asked}")
    assert (status, headers["location"]) == (303, f"/parts/{WEARING}")


@pytest.mark.parametrize("path", ["/parts?q=23V", "/parts/23V", "/parts/23V/history.csv"])
def test_a_slip_in_an_id_is_told_with_the_part_that_was_meant(site: Site, path: str) -> None:
    assert "V" not in map(chr, READ_AS), "no letter that is read as another one"
    status, text, _ = site.ask(path)
    assert status == 404
    assert "There is no part &#39;23V&#39;. Probably meant: 23Y (mini 12 V changeover, town bus 12" in text
    assert f'href="/parts/{WEARING}"' in text


TORN = """() => [...document.querySelectorAll("td, th")].filter(cell => cell.offsetParent).flatMap(cell => {
  const torn = [], texts = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT), range = document.createRange();
  for (let text; (text = texts.nextNode()); ) for (const word of text.data.matchAll(/\\b[A-Za-z0-9]{1,20}\\b/g)) {
    range.setStart(text, word.index);
    range.setEnd(text, word.index + word[0].length);
    if (new Set([...range.getClientRects()].map(one => Math.round(one.top))).size > 1) torn.push(word[0]);
  }
  return torn;
})"""
"""Words of tables whose letters stand on more than one line; a hash may."""
PAPER = 718
"""An A4 sheet within a browser's own margins, in the page's pixels."""


@pytest.mark.parametrize("path", [f"/parts/{WEARING}", "/fleet"])
def test_no_word_of_a_table_is_torn_on_any_screen_nor_on_paper(site: Site, open_tab: Open, path: str) -> None:
    tab = open_tab(f"{site.address}{path}", dict(viewport=NARROW))
    for wide in (390, 705, PAPER, 768, 991, 992, 1400):
        tab.set_viewport_size(dict(width=wide, height=900))
        tab.emulate_media(media="print" if wide == PAPER else "screen")
        assert tab.evaluate("innerWidth") == wide
        assert tab.evaluate(TORN) == [], wide


def test_a_parts_page_says_first_in_plain_words_how_it_wears(site: Site) -> None:
    words = site.words(f"/parts/{WEARING}")
    told = re.search(
        r"contact drop of 87 \(NO\) has risen [\d.]+ mV ±[\d.]+ since \w+ 2023; at this rate it will exceed its limit",
        words,
    )
    assert told and told.start() < words.index("printed on it") < words.index("All measurements")
    for text in ("BD 12V 40/30A", "fitted: town bus 12, saloon lights", "hums a little", "chipped corner", "≤ 200 mV"):
        assert text in words
    assert "no trend" in words and "8 runs from 2023-05-04 to" in words


def test_a_parts_page_has_a_picture_of_every_measurement_and_leads_to_every_certificate(site: Site) -> None:
    text = site.ask(f"/parts/{WEARING}")[1]
    assert text.count('<svg role="img" aria-label="SIMULATED.') == text.count('<section class="course') > 3
    assert len(site.depot.runs[WEARING]) == 8
    assert all(f'href="/runs/{run}"' in text for run in site.depot.runs[WEARING])


def test_a_part_that_was_never_tested_has_a_page_that_says_so(site: Site) -> None:
    words = site.words(f"/parts/{UNTESTED}")
    assert f"Never tested. Test it: pulldrop test --part {UNTESTED}" in words and "bus 3" in words


def test_a_certificate_is_the_file_that_is_written_elsewhere_and_may_use_its_own_style_only(site: Site) -> None:
    status, text, headers = site.ask(f"/runs/{site.depot.runs[WEARING][-1]}")
    with Store.open(site.depot.where) as store:
        assert (status, text) == (200, html.page([store.record(site.depot.runs[WEARING][-1])]))
    policy = headers["content-security-policy"]
    assert "script-src" not in policy and "default-src 'none'" in policy and "unsafe" not in policy


@pytest.mark.parametrize(
    ("end", "kind", "begins"),
    [(".pdf", "application/pdf", b"%PDF"), (".csv", "text/csv", b"run,part"), (".json", "application/json", b"[\n{")],
)
def test_a_history_is_fetched_as_a_file_under_a_name_that_tells_the_part(
    site: Site, end: str, kind: str, begins: bytes
) -> None:
    status, body, headers = site.fetch(f"/parts/{SOUND}/history{end}")
    assert status == 200 and body.startswith(begins) and headers["content-type"].startswith(kind)
    assert headers["content-disposition"] == f'attachment; filename="{SOUND}-history{end}"'
    if end == ".json":
        assert [one["run"] for one in json.loads(body)] == list(site.depot.runs[SOUND])


def test_a_photo_comes_with_its_type_and_is_taken_for_nothing_else(site: Site) -> None:
    status, body, headers = site.fetch(f"/photos/{site.depot.photo}")
    assert (status, headers["content-type"], headers["x-content-type-options"]) == (200, "image/png", "nosniff")
    assert body.startswith(b"\x89PNG")
    assert f'src="/photos/{site.depot.photo}" alt="chipped corner"' in site.ask(f"/parts/{WEARING}")[1]


def test_a_drawing_that_could_hold_a_script_is_named_and_not_served(tmp_path: Path) -> None:
    depot, drawing = fill(str(tmp_path / "depot.db"), tmp_path), tmp_path / "case.svg"
    drawing.write_text(f"<svg xmlns='http://www.w3.org/2000/svg'>{HOSTILE}</svg>", encoding="utf-8")
    with Store.open(depot.where) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        name = parts.add_photo(store, SOUND, drawing, "drawn").photo
        site = Site(page.address, depot)
        assert site.fetch(f"/photos/{name}")[0] == 404
        text = site.ask(f"/parts/{SOUND}")[1]
        assert name in text and f"/photos/{name}" not in text


CLIMBING = (
    "../depot.db",
    "..%2Fdepot.db",
    "%2e%2e/depot.db",
    "....//depot.db",
    "/etc/passwd",
    "depot.db",
    "x.png",
    "-",
)


@pytest.mark.parametrize("name", CLIMBING)
@pytest.mark.parametrize("root", ["/photos/", "/runs/", "/parts/", f"/parts/{WEARING}/history"])
def test_nobody_climbs_out_of_what_is_kept(site: Site, root: str, name: str) -> None:
    status, body, _ = site.fetch(root + name)
    assert status == 404 and b"SQLite" not in body and b"root:" not in body


def test_the_fleet_leads_to_its_parts_and_to_the_parts_of_a_donor(tmp_path: Path) -> None:
    depot = fill(str(tmp_path / "depot.db"), tmp_path, real=False)
    with Store.open(depot.where) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        site = Site(page.address, depot)
        words, text = site.words("/fleet"), site.ask("/fleet")[1]
        assert "Fleet of 2 tested parts" in words and "SIMULATED No real part was measured." in words
        assert f'<a href="/parts/{WEARING}">{WEARING}</a>' in text
        assert '<a href="/parts?q=town%20bus%2012">town bus 12</a>' in text
        assert "every 6 months" in site.words("/fleet?every=6")


@pytest.mark.parametrize(
    ("path", "status", "says"),
    [
        ("/parts?page=0", 400, "is no number of a page"),
        ("/parts?page=1e3", 400, "is no number of a page"),
        ("/parts?page=-1", 400, "is no number of a page"),
        ("/parts?page=2", 404, "The list of parts has 1 pages; there is no page 2."),
        (f"/parts?q={'x' * 200}", 400, "That is too long to look for"),
        ("/fleet?every=soon", 400, "&#39;soon&#39; is no number of months"),
        ("/fleet?every=nan", 400, "is no number of months"),
        ("/runs/none", 404, "The store holds no run &#39;none&#39;."),
        ("/parts/23Y/history.exe", 404, "A history is not written as &#39;.exe&#39; here"),
        ("/parts?q=qqqq", 404, "There is no part &#39;qqqq&#39;"),
        ("/nothing", 404, "There is no such page. Open / instead."),
    ],
)
def test_what_cannot_be_shown_is_told_in_a_sentence(site: Site, path: str, status: int, says: str) -> None:
    got, text, headers = site.ask(path)
    assert got == status and says in text and headers | HEADERS == headers


def test_a_head_is_answered_without_a_body_and_nothing_is_ever_written(site: Site) -> None:
    with Store.open(site.depot.where) as store:
        before = store.head()
    for path in (
        "/parts",
        f"/parts/{WEARING}",
        "/fleet",
        f"/runs/{site.depot.runs[WEARING][0]}",
        f"/photos/{site.depot.photo}",
    ):
        assert site.fetch(path, "HEAD")[:2] == (200, b"")
        assert site.fetch(path, "POST")[0] in (403, 405) and site.fetch(path, "DELETE")[0] in (403, 405)
    with Store.open(site.depot.where) as store:
        assert store.head() == before


def test_words_of_people_are_shown_and_never_obeyed(site: Site) -> None:
    for path in (f"/parts/{WEARING}", "/parts?q=%3Cscript%3Ealert(1)%3C/script%3E", f"/parts/{HOSTILE[:8]}"):
        text = site.ask(path)[1]
        assert HOSTILE not in text and "<script" not in text
    assert "&lt;script&gt;" in site.ask(f"/parts/{WEARING}")[1]


def test_no_page_of_these_has_a_style_in_its_text_or_asks_anybody_else(site: Site) -> None:
    for path in ("/parts", f"/parts/{WEARING}", "/fleet", "/parts/23V"):
        text = site.ask(path)[1]
        assert not re.search(r"<style|style=|<script|https?://|\son\w+=", text), path


def test_the_crate_leads_to_its_parts_and_all_pages_lead_to_each_other(site: Site, open_tab: Open) -> None:
    tab = open_tab(site.address)
    tab.locator("#last a").first.click()
    expect(tab.locator("h1")).to_contain_text(WEARING)
    for name, heading in (("Fleet", "Fleet"), ("Parts", "Parts")):
        tab.locator("nav[aria-label=Pages] a", has_text=name).click()
        expect(tab.locator("h1")).to_contain_text(heading)
    tab.locator("nav[aria-label=Pages] a", has_text="Crate").click()
    expect(tab.locator("#verdict")).to_be_visible()


def test_everything_is_reached_by_keyboard(site: Site, open_tab: Open) -> None:
    tab = open_tab(f"{site.address}/parts", viewport=WIDE)
    tab.keyboard.press("Tab")
    expect(tab.locator(":focus")).to_have_text("To the content")
    tab.locator("#q").focus()
    tab.keyboard.type("saloon lights")
    tab.keyboard.press("Enter")
    expect(tab.locator("h1")).to_contain_text("1 found")
    tab.locator("tbody a").focus()
    tab.keyboard.press("Enter")
    expect(tab.locator("h1")).to_contain_text(WEARING)


@pytest.mark.slow
@pytest.mark.parametrize(("size", "scheme"), [(NARROW, "light"), (WIDE, "dark")], ids=["narrow-light", "wide-dark"])
def test_every_page_passes_wcag_and_fits_a_screen_of_320_pixels(
    site: Site, open_tab: Open, size: dict[str, int], scheme: str
) -> None:
    """Each width and each scheme once: no colour depends on the width of the screen, and no place on the scheme. The
    stamp SIMULATED behind a certificate's text is decoration: the banner says the same, and the pictures."""
    paths = dict(parts="/parts", wearing=f"/parts/{WEARING}", untested=f"/parts/{UNTESTED}", fleet="/fleet",
                 slip="/parts/23V", run=f"/runs/{site.depot.runs[WEARING][-1]}", crate="/")  # fmt: skip
    tab = open_tab(site.address, viewport=size, color_scheme=scheme)
    for name, path in paths.items():
        tab.goto(site.address + path)
        tab.wait_for_load_state()
        assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"{name} scrolls sideways"
        if name != "crate":
            assert violations(tab, {"exclude": [[".stamp"]]}) == [], name


def test_simulated_stays_in_sight_however_far_one_reads(site: Site, open_tab: Open) -> None:
    tab = open_tab(f"{site.address}/parts/{WEARING}")
    tab.evaluate("scrollTo(0, document.body.scrollHeight / 2)")
    expect(tab.locator(".banner")).to_be_in_viewport(ratio=0.9)


def test_the_list_has_pages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs, "A_PAGE", 3)
    depot = fill(str(tmp_path / "depot.db"), tmp_path)
    with Store.open(depot.where) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        site = Site(page.address, depot)
        first, second = site.words("/parts"), site.words("/parts?page=2")
        assert "1 of 2 Older" in first and "Newer 2 of 2" in second
        assert all((id in first) != (id in second) for id in (WEARING, SOUND, UNTESTED, REAL))


@pytest.mark.parametrize("backend", databases.BACKENDS)
def test_an_empty_store_says_how_to_begin_on_either_database(backend: str, tmp_path: Path) -> None:
    where = databases.new(backend, tmp_path)
    with Store.open(where) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        site = Site(page.address, Depot(where))
        assert "There is no part yet. Test one" in site.words("/parts")
        assert site.ask("/")[2]["location"] == "/parts", "no crate either"
        status, text, _ = site.ask("/fleet")
        assert status == 404 and "holds no tested part" in text


def test_parts_histories_and_the_fleet_are_served_from_a_postgresql_server(tmp_path: Path) -> None:
    depot = fill(databases.new("postgresql", tmp_path), tmp_path)
    with Store.open(depot.where) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        site = Site(page.address, depot)
        assert WEARING in site.words("/parts?q=HUMS") and WEARING in site.words("/parts?q=saloon%20lights")
        assert "contact drop of 87 (NO) has risen" in site.words(f"/parts/{WEARING}")
        assert site.fetch(f"/photos/{depot.photo}")[0] == 200
        assert [site.fetch(path)[0] for path in ("/parts/%00", "/runs/a%00", "/parts?q=x%00%ff")] == [404, 404, 404]
        assert REAL in site.words("/parts") and "Fleet of 1 tested part" in site.words("/fleet")


def test_a_locked_store_is_told_in_a_sentence_and_shown_again_later(tmp_path: Path) -> None:
    depot = fill(str(tmp_path / "depot.db"), tmp_path)
    with Store.open(depot.where) as store, served(None, print, port=0, kept=StoreSource(store)) as page:
        site = Site(page.address, depot)
        store.engine.dispose()
        with closing(sqlite3.connect(depot.where)) as other:
            other.execute("PRAGMA locking_mode = EXCLUSIVE")
            other.execute("BEGIN EXCLUSIVE")
            status, text, _ = site.ask("/parts")
            assert status == 503 and "another program holds it locked" in text and "Close the other program" in text
        assert WEARING in site.words("/parts")
