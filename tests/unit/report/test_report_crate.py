"""Statements about the report of a crate and its labels: every part is there once, and nothing is said beyond doubt."""

import csv
import io
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import crates
import pypdfium2
import pytest
import segno
import zxingcpp
from fpdf import FPDF
from test_report import Reader

from pulldrop.cli.main import main
from pulldrop.jobs.sort.kept_crate import lot
from pulldrop.judge.crate.ledger import Ledger, Likeness
from pulldrop.judge.crate.lot import BELL, LEAST, bell, causes, spread
from pulldrop.model.crate.crate import Bin, Cause, CrateEvent, CrateHead, Happened, Placed
from pulldrop.model.crate.lot import Lot, Value
from pulldrop.model.limit import Limit, Source
from pulldrop.model.wording.cautions import OF_A_CRATE
from pulldrop.report.crate import page, table
from pulldrop.report.paper.label_sizes import SIZES, Labels
from pulldrop.report.paper.labels import labels
from pulldrop.report.pictures.spread import counts, shown
from pulldrop.store import Store

AT = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
RULE = Source(text="an invented house rule", known="common practice")
MOST = Limit(text="<= 200 mV", source=RULE, unit="V", high=0.2)
LONG = "Rücklichtrelais, zu lange für jedes Etikett, " * 5
WHY = {
    Bin.KEEP: "all limits are met",
    Bin.LIGHT_DUTY: "never filament lamps",
    Bin.SCRAP: "contact 87 burnt or pitted",
    Bin.LOOK_AGAIN: "contact drop of 87 (NO): 201 mV +-5 is not for sure",
}


def placed(number: int, bin: Bin, part: str | None = None, **more: object) -> Placed:
    figures = ("coil 85.8 ohm", "pull-in 6.13 V", "87 18.9 mV")
    id = f"P{number:04}" if part is None else part
    kept = dict(number=number, part=id, run=f"run-{number}", bin=bin, reasons=(WHY[bin],), figures=figures, at=AT)
    return Placed.model_validate(kept | more)


def drops(*values: float, usable: bool = True) -> list[Value]:
    return [Value(number=n, value=one, usable=usable) for n, one in enumerate(values, start=1)]


def made(parts: tuple[Placed, ...], simulated: bool = False) -> Lot:
    values = [Value(number=p.number, value=0.02 + 0.001 * (p.number % 7), usable=p.bin is Bin.KEEP) for p in parts]
    return Lot(
        head=CrateHead(name="shed 2", simulated=simulated, begun=AT),
        ended=AT,
        parts=parts,
        tally=tuple((bin, sum(p.bin is bin for p in parts)) for bin in Bin),
        causes=causes(parts),
        spreads=(spread("contact_drop_no", values, [MOST] * len(values)),),
        protocols=("relay-screen, version 1",),
        benches=("real board 17, firmware 0.1.0, pulldrop 0.1.0, UNCALIBRATED",),
        operators=("Jörg",),
    )


MIXED = tuple(placed(n, list(Bin)[n % 4]) for n in range(1, 31))


def test_causes_come_the_most_frequent_first_and_name_every_part_that_is_not_kept_once() -> None:
    drop, no_limit = Cause(about="limit", id="contact_drop_no"), "contact drop of 87 (NO): read it again"
    said = [placed(n, Bin.SCRAP, cause=drop, reasons=(text,)) for n, text in ((3, "201 mV"), (5, "213 mV"), (6, "1 V"))]
    by_rule = placed(7, Bin.LOOK_AGAIN, reasons=(no_limit,))
    found = causes((placed(1, Bin.SCRAP), placed(2, Bin.KEEP), *said, placed(4, Bin.SCRAP), by_rule))
    assert [(one.text, one.numbers) for one in found] == [
        ("contact drop of 87 (NO): limit not met, or not for sure", (3, 5, 6)),
        ("contact 87 burnt or pitted", (1, 4)),
        (no_limit, (7,)),
    ]


def test_a_part_that_went_into_two_bins_is_counted_as_such_and_not_by_its_last_fault() -> None:
    then, now = placed(1, Bin.KEEP), placed(2, Bin.SCRAP, cause=Cause(about="fault", id="burnt_no"))
    said = (CrateEvent(kind=Happened.PLACED, at=AT, number=one.number, placed=one) for one in (then, now))
    merged = Ledger(said).merged(Likeness(2, 1, "alike"))
    assert [(one.text, one.bin) for one in causes((merged,))] == [
        ("the same part was keep before and scrap now", Bin.LOOK_AGAIN)
    ]
    assert len(causes((merged, now))) == 2


@pytest.mark.parametrize(
    ("values", "limits", "said"),
    [
        (drops(*[0.02 + 0.001 * n for n in range(LEAST)]), [None] * LEAST, "no limit"),
        (
            drops(*[0.02 + 0.001 * n for n in range(LEAST - 1)]),
            [MOST] * 9,
            "only 9 usable parts have it; 10 are needed",
        ),
        (drops(*[0.02] * LEAST), [MOST] * LEAST, "no spread"),
        (drops(*[0.02 + 0.0001 * n for n in range(19)], 0.19), [MOST] * 20, "not spread like a bell"),
        (
            drops(*[0.02 + 0.001 * n for n in range(LEAST)]),
            [MOST] * 9 + [MOST.model_copy(update={"high": 0.1})],
            "parts were held against different limits",
        ),
    ],
)
def test_a_capability_that_makes_no_sense_is_left_out_with_its_reason(
    values: list[Value], limits: list[Limit | None], said: str
) -> None:
    found = spread("contact_drop_no", values, limits)
    assert (found.cpk, found.no_cpk) == (None, said)


def test_only_usable_parts_count_for_the_capability() -> None:
    good = drops(*[0.02 + 0.001 * (n % 5) for n in range(12)])
    with_bad = [*good, *drops(3.5, 2.0, usable=False)]
    alone, both = (spread("contact_drop_no", some, [MOST] * len(some)) for some in (good, with_bad))
    assert alone.cpk is not None and alone.cpk == both.cpk


def test_what_is_symmetric_is_nearer_to_a_bell_than_what_has_one_tail() -> None:
    assert bell([1, 2, 2, 3, 3, 3, 4, 4, 5]) < 1 < BELL < bell([*[1.0, 1.1, 0.9] * 6, 9.0])


def test_the_picture_counts_every_part_once_those_far_out_at_its_edges() -> None:
    one = spread("contact_drop_no", [*drops(0.02, 0.03), *drops(-1.0, 3.5, usable=False)], [MOST] * 4)
    low, high = shown(one)
    assert low < 0.02 and high > 0.2
    assert sum(counts(one, True)) == 2
    assert counts(one, False)[0] == counts(one, False)[-1] == 1


@pytest.mark.parametrize("simulated", [True, False])
def test_the_page_is_well_formed_has_every_part_and_fetches_nothing(simulated: bool) -> None:
    html = page(made(MIXED, simulated))
    read = Reader(html)
    assert not {"script", "link", "img", "iframe"} & set(read.tags)
    assert not re.search(r"https?:|@import|url\((?!#)", html)
    assert [id for id, count in read.ids.items() if count > 1] == []
    for part in MIXED:
        assert part.part in read.words
    assert ("SIMULATED" in read.words) is simulated
    assert html.count('<p class="mark">SIMULATED') == (1 if simulated else 0)
    assert "an invented house rule" in read.words and "≤ 200 mV" in read.words and "UNCALIBRATED" in read.words


def test_the_page_escapes_what_people_wrote() -> None:
    html = page(made((placed(1, Bin.SCRAP, note="<script>alert(1)</script>"),)))
    assert "<script" not in html and "&lt;script&gt;" in html


def test_shares_add_up() -> None:
    words = Reader(page(made(MIXED))).words
    assert all(told in words for told in OF_A_CRATE)
    assert "100 %" in words and words.count("27 %") == 2 and words.count("23 %") == 2  # 7 and 8 of 30


def test_the_table_has_a_row_for_each_part_with_its_values_in_si() -> None:
    read = list(csv.DictReader(io.StringIO(table(made(MIXED, True)))))
    assert [int(one["number"]) for one in read] == [part.number for part in MIXED]
    assert {one["simulated"] for one in read} == {"true"}
    assert float(read[0]["contact_drop_no_V"]) == 0.021
    assert [one["bin"] for one in read] == [part.bin for part in MIXED]


# Labels


def sheets(pdf: bytes) -> Iterator[tuple[str, list[str], list[tuple[float, float]]]]:
    """Of each page: its words, the codes that a reader finds, and where, in mm from its top left."""
    scale = 8
    for one in pypdfium2.PdfDocument(io.BytesIO(pdf)):
        found = zxingcpp.read_barcodes(one.render(scale=scale).to_pil(), zxingcpp.BarcodeFormat.QRCode)
        mm = 25.4 / 72 / scale
        at = [(code.position.top_left.x * mm, code.position.top_left.y * mm) for code in found]
        yield one.get_textpage().get_text_range(), [code.text for code in found], at


def printed(pdf: bytes) -> str:
    """The words of all pages."""
    return " ".join(one.get_textpage().get_text_range() for one in pypdfium2.PdfDocument(io.BytesIO(pdf)))


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_every_label_has_its_number_its_bin_and_a_code_that_reads_as_its_id(size: Labels) -> None:
    some = MIXED[: min(len(MIXED), size.columns * size.rows + 2)]
    found = list(sheets(labels(made(some), size)))
    assert len(found) == -(-len(some) // (size.columns * size.rows))
    assert sorted(code for _, codes, _ in found for code in codes) == [part.part for part in some]
    whole = " ".join(words for words, _, _ in found)
    for part in some:
        assert part.bin.upper() in whole and re.search(rf"\b{part.number}\b", whole)


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_no_label_reaches_over_its_edge_or_the_page(size: Labels) -> None:
    assert size.left + (size.columns - 1) * size.step_x + size.wide <= size.page[0] + 0.01
    assert size.top + (size.rows - 1) * size.step_y + size.high <= size.page[1] + 0.01
    assert size.step_x >= size.wide and size.step_y >= size.high
    long = placed(1, Bin.SCRAP, reasons=(LONG,), figures=(LONG,) * 9)
    for one in pypdfium2.PdfDocument(io.BytesIO(labels(made((long,), True), size))):
        wide, high = (side * 72 / 25.4 for side in (size.wide, size.high))
        text, page_high = one.get_textpage(), one.get_height()
        for index in range(text.count_chars()):
            left, bottom, right, top = text.get_charbox(index)
            assert left >= size.left and right <= size.left * 72 / 25.4 + wide
            assert page_high - bottom <= size.top * 72 / 25.4 + high and top <= page_high


def test_a_sheet_that_was_begun_goes_on_at_the_next_place() -> None:
    size = SIZES["63.5x38.1"]
    (_, codes, ((x, y),)), = sheets(labels(made(MIXED[:1]), size, skip=4))  # fmt: skip
    assert codes == ["P0001"]
    assert size.left + size.step_x < x < size.left + 2 * size.step_x
    assert size.top + size.step_y < y < size.top + 2 * size.step_y


def test_every_label_of_a_simulated_crate_says_so_and_none_of_a_real_one() -> None:
    for size in SIZES.values():
        assert printed(labels(made(MIXED[:8], True), size)).count("SIMULATED") == 8
        assert "SIMULATED" not in printed(labels(made(MIXED[:8]), size))


def test_a_part_that_was_never_tested_has_no_code_for_there_is_no_id() -> None:
    ((words, codes, _),) = sheets(labels(made((placed(1, Bin.LOOK_AGAIN, part="", run=""),)), SIZES["70x37"]))
    assert codes == [] and "LOOK AGAIN" in words


def test_the_label_of_a_part_to_keep_says_what_it_was_not_tested_for_and_by_which_form_it_is() -> None:
    form = "normally closed (Form B), if it has no blade 87"
    kept = placed(1, Bin.KEEP, reasons=(form, "all limits are met"), untested="hot make (tacking), coil when hot")
    plain = kept.model_copy(update={"reasons": ("all limits are met",), "untested": ""})
    said, bare = (" ".join(printed(labels(made((one,)), SIZES["70x37"])).split()) for one in (kept, plain))
    assert "not tested: hot make (tacking), coil when hot" in said and form in said
    assert "not tested" not in bare and "all limits are met" not in bare


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_a_reason_stands_whole_on_its_label_and_figures_give_way(size: Labels) -> None:
    why = "30 and 87a are open at rest: a part with 4 terminals, one that is not pushed home, or a dead contact 87a"
    some = placed(1, Bin.SCRAP, reasons=(why,), figures=("coil 85.9 ohm",) * 9)
    ((words, _, _),) = sheets(labels(made((some,), True), size))
    assert why in " ".join(words.split())


@pytest.mark.parametrize("size", [one for one in SIZES.values() if one.page[0] > 100], ids=lambda one: one.name)
def test_no_letter_lies_where_a_common_printer_does_not_reach(size: Labels) -> None:
    parts = tuple(placed(n, Bin.KEEP) for n in range(1, size.columns * size.rows + 1))
    rim = 4.9 * 72 / 25.4
    for one in pypdfium2.PdfDocument(io.BytesIO(labels(made(parts), size))):
        text, (wide, high) = one.get_textpage(), one.get_size()
        for index in range(text.count_chars()):
            left, bottom, right, top = text.get_charbox(index)
            if right > left:
                assert left >= rim and right <= wide - rim and bottom >= rim and top <= high - rim


@pytest.mark.parametrize(
    "more",
    [{"reasons": ("W" * 10**6,)}, {"reasons": ("i " * 10**6,)}, {"figures": ("i",) * 10**6}, {"part": "X" * 4000}],
)
def test_a_label_of_an_endless_text_is_cut_without_measuring_all_of_it(
    more: dict[str, object], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An id that no store gives, which a code could not hold, is a text like any other."""
    measured, width = [0], FPDF.get_string_width

    def counted(paper: FPDF, text: str) -> float:
        measured[0] += len(text)
        if measured[0] > 10**6:
            raise AssertionError("measured too often")
        return width(paper, text)

    monkeypatch.setattr(FPDF, "get_string_width", counted)
    ((words, codes, _),) = sheets(labels(made((placed(1, Bin.SCRAP, **more),)), SIZES["70x37"]))
    assert "…" in words and "SCRAP" in words and codes == ([] if "part" in more else ["P0001"])


def test_a_damaged_code_would_be_noticed() -> None:
    code = segno.make("P0001", error="m", micro=False)
    assert zxingcpp.read_barcodes(_image(code))[0].text == "P0001"
    assert all(one.text != "P0001" for one in zxingcpp.read_barcodes(_image(segno.make("P0002", micro=False))))


def _image(code: segno.QRCode) -> object:
    out = io.BytesIO()
    code.save(out, kind="png", scale=6)
    from PIL import Image

    return Image.open(out)


def test_a_crate_that_was_sorted_is_reported_by_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    where = str(tmp_path / "runs.db")
    with Store.open(where) as store:
        crates.Crate(store, crates.parts(crates.GOOD, crates.BURNT, crates.OPEN)).sorter.run()
        found = lot(store, "shed 2")
    assert dict(found.tally) == {Bin.KEEP: 1, Bin.LIGHT_DUTY: 0, Bin.SCRAP: 2, Bin.LOOK_AGAIN: 0}
    assert [one.number for one in found.parts] == [1, 2, 3]
    assert {one.id for one in found.spreads} >= {"coil_resistance_20c", "contact_drop_no"}
    for name, begins in (("a.html", b"<!doctype html>"), ("a.csv", b"crate,number"), ("l.pdf", b"%PDF")):
        subject = "labels" if name == "l.pdf" else "crate"
        assert main(["report", subject, "shed 2", "--out", str(tmp_path / name), "--store", where]) == 0
        assert (tmp_path / name).read_bytes().lstrip().startswith(begins)
    capsys.readouterr()
    for arguments, said in (
        (("crate", "shed 9", "--out", "a.html"), "no crate 'shed 9'. There are: shed 2"),
        (("crate", "shed 2", "--out", "a.pdf"), "ends in '.pdf'; .html or .csv"),
        (("labels", "shed 2", "--out", "a.pdf", "--size", "9x9"), "no label size '9x9'; known are 70x37"),
        (("labels", "shed 2", "--out", "a.pdf", "--skip", "24"), "has 24 places"),
    ):
        assert main(["report", *arguments, "--store", where]) == 2
        assert said in " ".join(capsys.readouterr().err.split())
