"""Statements about a part's history on paper and on the page: the same words, and where every run came from."""

import io
import struct
import zlib
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import pypdfium2
import pytest
import records
from PIL import Image
from test_report import Reader
from test_report_certificate import holds, pages
from test_report_data import report

from pulldrop.cli.main import main
from pulldrop.jobs.parts.health import health
from pulldrop.jobs.parts.records import of_part
from pulldrop.model.history.history import Health
from pulldrop.model.part.event import Card, PartEvent, PartEventKind
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import words
from pulldrop.model.wording.signs import signs
from pulldrop.report import health as told
from pulldrop.report.cautions import cautions
from pulldrop.report.paper.history import history
from pulldrop.report.paper.sheet import Column, Say, Sheet
from pulldrop.store import Store
from pulldrop.store.records.write import RunHeader

FIRST = datetime(2023, 5, 4, 9, 30, tzinfo=UTC)
NOW = FIRST + timedelta(days=1300)
CARD = Card(description="Überlandbus-Relais", donor="Gräf bus 7", position="saloon lights", notes="invented")
EVENTS = (
    PartEvent(part="P0001", at=FIRST + timedelta(hours=5), kind=PartEventKind.FITTED, place="bus 7"),
    PartEvent(part="P0001", at=FIRST + timedelta(days=400), kind=PartEventKind.NOTE, text="hums a little"),
)


def run(number: int, kind: str) -> RunRecord:
    """Half a year later each, its NO contact 20 mV worse."""
    record = records.record(kind=kind, calibrated=True)
    judged = []
    for one in record.judged:
        found = one.finding
        if one.id == "contact_drop_no" and isinstance(found, Reading):
            found = found.model_copy(update={"value": 0.04 + 0.02 * number})
        judged.append(one.model_copy(update={"finding": found}))
    at = FIRST + timedelta(days=182 * number)
    about = {"run": f"run-{number}", "started": at, "ended": at, "operator": f"Jörg {number}"}
    return record.model_copy(update={**about, "judged": tuple(judged)})


@cache  # nothing of it can be changed
def kept(kind: str = "real", count: int = 8) -> tuple[Health, tuple[RunRecord, ...]]:
    """As the store gives it back."""
    with Store.open(":memory:") as store:
        for number in range(count):
            keep(store, run(number, kind))
        described = PartEvent(part="P0001", at=FIRST, kind=PartEventKind.DESCRIBED, card=CARD)
        for event in (described, *EVENTS):
            store.part_event(event)
        return health(store, "P0001", NOW), of_part(store, "P0001")


def keep(store: Store, record: RunRecord) -> None:
    header = RunHeader(**{name: getattr(record, name) for name in RunHeader.model_fields})
    with store.run(header) as open_run:
        for judged in record.judged:
            open_run.add(judged)
        open_run.finish(record.verdict, record.started, record.bench_s)


def on_paper(of: Health, runs: Sequence[RunRecord], photos: told.Photos = ()) -> str:
    return " ".join(pages(history(of, runs, photos)))


def on_page(of: Health, runs: Sequence[RunRecord], photos: told.Photos = ()) -> str:
    return Reader(told.page(of, photos, runs)).words


@pytest.mark.parametrize("written", [on_paper, on_page])
def test_what_wears_stands_there_with_every_reading_event_and_the_origin_of_every_run(written) -> None:  # type: ignore[no-untyped-def]
    of, runs = kept()
    whole = written(of, runs)
    assert any("contact drop of 87 (NO) has risen" in line for line in of.says)
    wanted = [signs(line) for line in of.says] + [text for pair in told.card(of) for text in pair]
    for found in of.findings:
        wanted += [told.value(found.series, one.value, one.expanded) for one in found.series.points]
        wanted += [signs(found.series.limit), signs(found.series.limit_source), told.trend(found)]
    wanted += [event.text or event.place for event in EVENTS]
    wanted += [text for record in runs for text in (record.run, *words.origin(record))]
    wanted += [signs(words.not_tested_in_short(runs[0])), told.PAST, *cautions(runs)]
    assert [one for one in wanted if not holds(whole, one)] == []


def test_the_history_of_three_years_is_three_sheets(tmp_path: Path) -> None:
    """An invented depot's part with seven runs, one that wears and one that does not."""
    where = str(tmp_path / "depot.db")
    assert main(["demo", "--years", "3", "--store", where]) == 0
    for part in ("23Y", "29E"):
        assert main(["health", part, "--store", where, "--report", str(tmp_path / "h.pdf")]) == 0
        assert len(pypdfium2.PdfDocument(tmp_path / "h.pdf")) <= 3, part


def test_every_page_of_a_simulated_history_says_so_and_none_of_a_real_one() -> None:
    assert all("SIMULATED: No real part was measured." in page for page in pages(history(*kept("virtual"))))
    assert all("simulated" not in page.lower() for page in pages(history(*kept("real"))))


def test_a_rule_stays_between_two_rows_that_get_worse() -> None:
    sheet = Sheet("two rows", "foot", NOW)
    sheet.add_page()
    sheet.listing((Column("what", 1.0),), [[[Say("")]]] * 2, (0, 1))
    drawn = pypdfium2.PdfDocument(bytes(sheet.output()))[0].render(scale=10).to_pil().convert("L")
    down = [drawn.getpixel((drawn.width // 2, y)) for y in range(drawn.height // 3)]
    rules = [place for place, ink in enumerate(down[1:], 1) if ink < 225 <= down[place - 1]]
    assert len(rules) == 3, rules
    thick = [next(count for count in range(99) if down[at + count] >= 225) for at in rules]
    assert thick[0] >= 0.4 / 25.4 * 720 - 1, "the heading's rule keeps its thickness"
    assert thick[1] >= thick[2] >= 2, "and so does that between the two"


@pytest.mark.parametrize("more", range(12))
def test_the_heading_over_the_pictures_stands_on_their_page(more: int) -> None:
    of, runs = kept(count=2)
    says, first = (*of.says, *("one more line",) * more), of.findings[:2]  # all are dear to draw
    of = of.model_copy(update={"says": says, "findings": first})
    (at,) = [page for page in pages(history(of, runs)) if "Over time" in page]
    assert signs(of.findings[0].says) in at


def test_a_tab_is_no_unknown_letter() -> None:
    of, runs = kept(count=1)
    of = of.model_copy(update={"card": CARD.model_copy(update={"notes": "one\ttwo"})})
    assert "one two" in on_paper(of, runs)


def test_that_all_was_tested_is_said_of_what_the_protocol_asks_for_and_not_of_the_part() -> None:
    of, runs = kept(count=1)
    whole = runs[0].model_copy(update={"plan": runs[0].plan.model_copy(update={"wanted": ()}), "judged": ()})
    assert words.not_tested_in_short(whole) == "nothing that this protocol asks for"
    assert holds(" ".join(pages(history(of, (whole,)))), "nothing that this protocol asks for")


def test_one_run_alone_makes_a_history_without_a_picture() -> None:
    whole = on_paper(*kept(count=1))
    assert "Nothing can be said about wear yet" in whole and "Over time" not in whole


def test_a_photo_is_on_paper_and_one_that_cannot_be_read_is_named() -> None:
    out = io.BytesIO()
    Image.new("RGBA", (40, 30), (200, 30, 30, 128)).save(out, format="PNG")
    photos = (("a.png", out.getvalue(), "scorched base"), ("b.jpg", b"no picture", "lost side"))
    of, runs = kept(count=1)
    whole = on_paper(of, runs, photos)
    assert "scorched base" in whole and "A photo that cannot be read: lost side" in whole
    drawn = [history(of, runs, some).count(b"/Subtype /Image") for some in (photos, photos[1:])]
    assert drawn == [1, 0], "one photo on paper, and none where it cannot be read"


def _png(wide: int, high: int) -> bytes:
    """The head of a PNG that claims to be so large."""
    head = b"IHDR" + struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head))


@pytest.mark.parametrize("claimed", [(20_000, 20_000), (12_000, 10_000), (4, 4)])
def test_a_photo_that_is_damaged_or_claims_to_be_huge_is_named_only(claimed: tuple[int, int]) -> None:
    of, runs = kept(count=1)
    whole = on_paper(of, runs, (("a.png", _png(*claimed), "scorched base"),))
    assert "A photo that cannot be read: scorched base" in whole


def test_a_history_is_written_by_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where = str(tmp_path / "runs.db")
    assert main(["test", "--board", "virtual", "--part", "23Y", "--store", where]) == 0
    capsys.readouterr()
    for name, begins in (("a.pdf", b"%PDF"), ("a.html", b"<!doctype html>"), ("a.csv", b"run,part")):
        assert report(capsys, "part", "23Y", "--out", str(tmp_path / name), "--store", where)[0] == 0
        assert (tmp_path / name).read_bytes().split(b"-->")[-1].lstrip().startswith(begins)
    assert main(["health", "23Y", "--report", str(tmp_path / "b.pdf"), "--store", where]) == 0
    assert (tmp_path / "b.pdf").read_bytes().startswith(b"%PDF")
