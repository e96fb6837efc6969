"""Statements about the report: it shows what a record holds, judges nothing, and never hides a simulation."""

import re
from collections import Counter
from html.parser import HTMLParser
from typing import Any

import pytest
import records

from pulldrop.judge.decide import LOADED
from pulldrop.model.crate.crate import Bin
from pulldrop.model.limit import Source
from pulldrop.model.part.relay import Relay
from pulldrop.model.reading import NotTested
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Outcome, Overall, Verdict
from pulldrop.model.wording.cautions import HOT, NO_LOAD, PULSES
from pulldrop.model.wording.signs import signs
from pulldrop.model.wording.words import BADGES, longest
from pulldrop.report.cautions import cautions
from pulldrop.report.html import page

VOID = {"meta", "br", "img", "input", "link", "hr"}
ALL = [
    records.record(),
    records.record(kind="real", calibrated=True),
    *(records.record(overall, records.good()[:4]) for overall in Overall),
    *(records.record(overall, records.good()[:4], kind="real") for overall in Overall),
    records.failed(),
    records.unsure(kind="emulated"),
    records.open_coil(kind="real"),
    records.record(judged=()),
]
CRATE = [records.record(), records.failed(part="P0002", kind="real"), records.open_coil(part="P0003")]


class Reader(HTMLParser):
    """Strict: every element that is opened is closed in its turn. Collects what the tests ask about."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.ids: Counter[str] = Counter()
        self.attributes: list[tuple[str, str, str]] = []
        self.text: list[str] = []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_startendtag(tag, attrs)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        self.ids.update(value or "" for name, value in attrs if name == "id")

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in ("style",):
            self.text.append(data)

    @property
    def words(self) -> str:
        return " ".join(" ".join(self.text).split())


def name(record: RunRecord) -> str:
    return f"{record.verdict.overall} {record.board.kind} {len(record.judged)}"


@pytest.mark.parametrize("record", ALL, ids=name)
def test_a_page_is_well_formed_and_fetches_and_runs_nothing(record: RunRecord) -> None:
    html = page([record])
    assert html.startswith("<!doctype html>")
    _check_self_contained(html)


def test_a_page_of_a_whole_crate_is_well_formed_too() -> None:
    html = page(CRATE, "Crate 4 of the bus depot (invented)")
    _check_self_contained(html)
    words = Reader(html).words
    assert "Crate 4 of the bus depot (invented)" in words and "2 of 3 runs" in words


def _check_self_contained(html: str) -> None:
    read = Reader(html)
    assert [id for id, count in read.ids.items() if count > 1] == []
    links = [value for _, name, value in read.attributes if name in ("href", "src", "srcset", "action", "data")]
    assert all(link.startswith("#") and link[1:] in read.ids for link in links)
    assert all(found in read.ids for found in re.findall(r"url\(#([^)]+)\)", html))
    assert not {"script", "link", "img", "iframe", "object", "embed", "base", "form"} & set(read.tags)
    assert not [name for _, name, _ in read.attributes if name.startswith("on")]
    assert not [value for _, name, value in read.attributes if name == "style"], "a page may allow its one style only"
    assert not re.search(r"https?:|@import|url\((?!#)|javascript:|data:", html)


def simulated_marks_missing(html: str) -> list[str]:
    """Where a page of one simulated run fails to say so."""
    body = html[html.index("<article") :]
    figures = re.findall(r"<figure>.*?</figure>", body, flags=re.DOTALL)
    missing = (
        [] if re.match(r'<article[^>]*>.{0,2500}?<p class="banner"><strong>SIMULATED', body, re.DOTALL) else ["top"]
    )
    missing += ["picture mark" for one in figures if '<p class="mark">SIMULATED' not in one]
    missing += ["in the picture" for one in figures if ">SIMULATED</text>" not in one]
    missing += ["its words" for one in figures if 'aria-label="SIMULATED. ' not in one]
    missing += [] if re.search(r'<div class="stamp"[^>]*>(SIMULATED ){100}', body) else ["print"]
    missing += [] if "<title>SIMULATED: " in html else ["title"]
    return missing


@pytest.mark.parametrize("record", [one for one in ALL if one.simulated], ids=name)
def test_a_simulated_record_says_so_on_top_on_every_picture_and_in_print(record: RunRecord) -> None:
    assert simulated_marks_missing(page([record])) == []


@pytest.mark.parametrize(
    ("taken_away", "missing"),
    [
        ('<p class="banner">', ["top"]),
        ('<p class="mark">', ["picture mark"] * 2),
        (">SIMULATED</text>", ["in the picture"] * 2),
        ('aria-label="SIMULATED. ', ["its words"] * 2),
        ('<div class="stamp"', ["print"]),
        ("<title>SIMULATED: ", ["title"]),
    ],
)
def test_a_simulated_record_without_a_mark_would_be_noticed(taken_away: str, missing: list[str]) -> None:
    html = page([records.record()])
    assert taken_away in html
    assert simulated_marks_missing(html.replace(taken_away, "")) == missing


@pytest.mark.parametrize("record", [one for one in ALL if not one.simulated], ids=name)
def test_a_real_record_never_says_simulated(record: RunRecord) -> None:
    assert "simulated" not in Reader(page([record])).words.lower()


def test_in_a_mixed_crate_the_list_and_the_runs_say_which_are_simulated() -> None:
    html = page(CRATE, "crate")
    rows = re.findall(r"<tr.*?</tr>", html[: html.index("<article")], flags=re.DOTALL)[1:]
    assert ["SIMULATED" in row for row in rows] == [True, False, True]
    articles = html.split("<article")[1:]
    assert ['<p class="banner">' in one for one in articles] == [True, False, True]


@pytest.mark.parametrize("overall", list(Overall))
def test_a_verdict_has_a_word_a_shape_and_a_place_of_its_own(overall: Overall) -> None:
    html = page([records.record(overall, judged=())])
    look = BADGES[overall]
    panel = re.search(r'<div class="verdict is-(\w+)">.*?</div>', html, flags=re.DOTALL)
    assert panel is not None
    assert panel[1] == look.place == {Overall.PASS: "pass", Overall.FAIL: "fail"}.get(overall, "open")
    assert f'href="#shape-{look.shape}"' in panel[0] and f"<span>{overall}</span>" in panel[0]
    assert panel[0].count('class="here"') == 1


@pytest.mark.parametrize("overall", Overall)
def test_no_verdict_is_small_for_want_of_a_size(overall: Overall) -> None:
    assert f".letters-{longest(overall)} " in page([records.record()])


def test_only_a_pass_a_part_to_keep_and_a_limit_that_was_met_wear_the_tick() -> None:
    ticked = {word for word, look in BADGES.items() if look.shape == "tick" or look.place == "pass"}
    assert ticked == {Outcome.PASS, Overall.PASS, Bin.KEEP}
    assert set(BADGES) == {*Outcome, *Overall, *Bin}


def test_the_three_sentences_are_there_as_they_were_given() -> None:
    given = Verdict(overall=Overall.FAIL, found="NO drops 734 mV.", means="It is burnt.", next="Scrap it.")
    words = Reader(page([records.failed().model_copy(update={"verdict": given})])).words
    assert "Found NO drops 734 mV. Means It is burnt. Next Scrap it." in words


def test_each_value_stands_with_uncertainty_limit_source_and_conditions() -> None:
    words = Reader(page([records.failed()])).words
    assert (
        "contact drop of 87 (NO) coil voltage 13.50 V; bench temperature 21.4 °C; clamp 68 V TVS of the bench" in words
    )
    assert "734.0 mV ±8.5 ≤ 200 mV at 10 A common practice: an invented house rule" in words
    assert "fail above the limit beyond doubt" in words
    assert "89.9 Ω ±1.1 81.0 to 99.0 Ω (90 Ω ±10 %)" in words


def test_a_bound_is_written_as_a_bound() -> None:
    assert "more than 10.0 kΩ" in Reader(page([records.open_coil()])).words


def test_what_was_not_tested_is_listed_with_its_reason() -> None:
    words = Reader(page([records.open_coil()])).words
    assert "operate time : the coil takes no current, so the relay cannot be operated" in words
    assert "transfer time : the run ended without it" in words


def test_an_interrupted_record_lists_all_that_it_never_reached() -> None:
    record = records.interrupted()
    html = page([record])
    left = html[html.index('<section class="left">') :]
    assert left[: left.index("</section>")].count("<li>") == len(record.plan.wanted) - len(record.judged)
    assert "never: the run was cut off" in Reader(html).words


def test_why_a_limit_could_not_be_had_is_said() -> None:
    plan = records.plan().model_copy(update={"unlimited": {"release_time": "the rating gives no release time"}})
    words = Reader(page([records.record().model_copy(update={"plan": plan})])).words
    assert "the rating gives no release time" in words and "no limit in this protocol" in words


def test_an_uncalibrated_bench_is_said_plainly_and_a_calibrated_one_by_name() -> None:
    plain = Reader(page([records.record(kind="real")])).words
    assert "Uncalibrated bench." in plain and "UNCALIBRATED: nominal part values" in plain
    known = Reader(page([records.record(kind="real", calibrated=True)])).words
    assert "ncalibrated" not in known and "spring check, taken 2026-03-01 08:00:00 UTC, board 17" in known


def test_where_the_record_came_from_is_all_there() -> None:
    words = Reader(page([records.record(kind="real")])).words
    for told in ("depot-changeover-12v, version 3", "real, number 17, at /dev/ttyUSB0", "firmware 0.1.0",
                 "second shift", "started 2026-05-04 09:30:15 UTC", "ended 2026-05-04 09:30:29 UTC", "12.2 s",
                 "20260504T093015-p0001", "invented sheet of the bus depot"):  # fmt: skip
        assert told in words


def test_cautions_follow_what_was_done() -> None:
    loaded = records.record()
    unloaded = tuple(one for one in loaded.judged if one.id not in LOADED)
    dry = loaded.model_copy(update={"judged": unloaded})
    assert {HOT, PULSES} <= set(cautions([loaded])) and NO_LOAD not in cautions([loaded])
    assert NO_LOAD in cautions([dry]) and HOT not in cautions([dry])
    assert {HOT, NO_LOAD} <= set(cautions([loaded, dry]))
    words = Reader(page([loaded])).words
    for word in ("spikes", "fuse", "Airbag", "high voltage", "aids judgement"):
        assert word in words


HOSTILE = "<script>alert(1)</script>\"><img src=x onerror=alert(2)>'{{ 7*7 }}$\\frac{a}$&amp;"


def _hostile(record: RunRecord) -> RunRecord:
    """The same record with hostile words wherever a person or a file may put words."""
    source = Source(text=HOSTILE, known="read")
    limit = records.DROP_LIMIT.model_copy(update={"text": HOSTILE, "source": source})

    def spoil(judged: Any) -> Any:
        finding = judged.finding
        if not isinstance(finding, NotTested):
            bad = tuple(c.model_copy(update={"name": HOSTILE, "text": HOSTILE}) for c in finding.conditions)
            finding = finding.model_copy(update={"conditions": bad})
        else:
            finding = finding.model_copy(update={"reason": HOSTILE})
        return judged.model_copy(update={"finding": finding, "limit": limit, "reason": HOSTILE})

    rating = record.plan.rating.model_copy(update={"title": HOSTILE, "source": source})
    plan = record.plan.model_copy(update={"title": HOSTILE, "protocol": HOSTILE, "rating": rating, "sha256": HOSTILE})
    changed = {
        "part": Relay(id=HOSTILE, form="C", label=HOSTILE, donor=HOSTILE, notes=HOSTILE),
        "plan": plan,
        "board": record.board.model_copy(update={"port": HOSTILE, "firmware": HOSTILE}),
        "calibration": record.calibration.model_copy(update={"name": HOSTILE}),
        "verdict": Verdict(overall=record.verdict.overall, found=HOSTILE, means=HOSTILE, next=HOSTILE),
        "judged": tuple(map(spoil, record.judged)),
        **{name: HOSTILE for name in ("run", "software", "operator", "specimen")},
    }
    return record.model_copy(update=changed)


@pytest.mark.parametrize("record", [records.failed(), records.open_coil(kind="real", calibrated=True)], ids=name)
def test_hostile_words_are_shown_and_never_obeyed(record: RunRecord) -> None:
    html = page([_hostile(record), records.record()], HOSTILE)
    _check_self_contained(html)
    assert "{{ 7*7 }}" in html and "alert(1)" in html
    assert Reader(html).words.count("<script>alert(1)</script>") >= 20


def test_a_page_of_no_record_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one"):
        page([])


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("<= 8.40 V", "≤ 8.40 V"),
        ("90 ohm +-10 %", "90 Ω ±10 %"),
        ("12.0 kohm at 20 degC", "12.0 kΩ at 20 °C"),
        ("400 us", "400 µs"),
        ("tell us of the ohmmeter", "tell us of the ohmmeter"),
    ],
)
def test_units_get_their_signs_and_words_stay_words(written: str, read: str) -> None:
    assert signs(written) == read
