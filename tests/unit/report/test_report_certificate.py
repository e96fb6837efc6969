"""Statements about the certificate on paper: it holds all that the record holds, and no page hides a simulation."""

import io
from collections.abc import Sequence
from pathlib import Path

import pypdfium2
import pytest
import records

from pulldrop.cli.ask import files
from pulldrop.cli.input_error import InputError
from pulldrop.model.part.part import Part
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.fault import Evidence
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.model.wording import words
from pulldrop.model.wording.signs import signs
from pulldrop.report.cautions import cautions
from pulldrop.report.html import page
from pulldrop.report.paper.certificate import certificate
from pulldrop.report.paper.sheet import MOST_LETTERS

LONG = "Scheinwerferrelais für den Überlandomnibus, Gräf-Straße "


def pages(pdf: bytes) -> list[str]:
    """The words of each page, with single blanks."""
    read = pypdfium2.PdfDocument(io.BytesIO(pdf))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in read]


def text(records: Sequence[RunRecord]) -> str:
    return " ".join(pages(certificate(records)))


def named(record: RunRecord, part: Part) -> RunRecord:
    return record.model_copy(update={"part": part})


def holds(whole: str, wanted: str) -> bool:
    """Whether the words stand there, wherever lines were broken."""
    return wanted.replace(" ", "") in whole.replace(" ", "")


@pytest.mark.parametrize("record", [records.record(), records.failed(kind="real"), records.unsure(kind="emulated")])
def test_every_value_limit_source_reason_and_fact_stands_on_paper(record: RunRecord) -> None:
    whole = text([record])
    for judged in record.judged:
        assert holds(whole, signs(words.title(judged.id)))
        assert holds(whole, signs(words.value(judged.finding)))
        assert holds(whole, signs(words.conditions(judged)))
        if judged.limit:
            assert holds(whole, signs(judged.limit.text)) and holds(whole, judged.limit.source.text)
    wanted = [fact for pair in words.facts(record) for fact in pair]
    wanted += [signs(said) for reason, titles in words.not_tested(record).items() for said in (reason, *titles)]
    wanted += [signs(record.verdict.found), signs(record.verdict.means), signs(record.verdict.next)]
    assert [one for one in (*wanted, *cautions([record])) if not holds(whole, one)] == []


@pytest.mark.parametrize("overall", list(Overall))
def test_every_verdict_stands_on_the_first_page_in_large_letters(overall: Overall) -> None:
    assert overall.upper() in pages(certificate([records.record(overall, kind="real")]))[0]


def test_a_part_that_is_faulty_tells_what_is_wrong_and_what_to_do() -> None:
    said = Evidence(id="contact_drop_no", text="734 mV at 10 A, where 60 mV are usual", speaks="for")
    fault = records.FAULT.model_copy(update={"evidence": (said,), "further": "Load it again."})
    whole = text([records.failed(faults=(fault,))])
    assert holds(whole, fault.title) and holds(whole, signs(fault.advice))
    assert holds(whole, said.text) and holds(whole, fault.further)


def test_what_a_fault_cannot_be_told_from_is_told_by_its_title() -> None:
    other = records.FAULT.model_copy(update={"id": "terminal_no", "title": "blade 87 corroded"})
    fault = records.FAULT.model_copy(update={"rivals": ("terminal_no", "film_no")})
    record = records.failed(faults=(fault, other))
    said = "It could also be: blade 87 corroded; film no."
    assert holds(text([record]), said) and said in page([record])


@pytest.mark.parametrize("kind", ["virtual", "emulated"])
def test_every_page_of_a_simulated_run_says_so(kind: str) -> None:
    told = pages(certificate([records.failed(kind=kind)]))
    assert len(told) > 1
    assert all(f"SIMULATED ({kind} board): no real part was measured." in page for page in told)


def test_no_page_of_a_real_run_says_simulated() -> None:
    assert all("simulated" not in page.lower() for page in pages(certificate([records.failed(kind="real")])))


def test_in_a_mixed_certificate_only_the_pages_of_simulated_runs_and_the_list_say_so() -> None:
    told = pages(certificate([records.record(), records.failed(part="P0002", kind="real")], "Crate 4 (invented)"))
    assert "1 of 2 runs" in told[0] and "Crate 4 (invented)" in told[0]
    own = [number for number, page in enumerate(told) if "P0002" in page and number > 0]
    assert own and all("SIMULATED" not in told[number] for number in range(own[0], len(told)))
    assert all("SIMULATED (virtual" in told[number] for number in range(1, own[0]))


def test_umlauts_and_long_names_stay_whole_and_what_no_letter_shows_is_marked() -> None:
    part = Relay(id="P0009", form="C", label=(LONG * 4).strip(), donor="漢字 Gräf", notes="x" * 40 + "y" * 5000)
    whole = text([named(records.record(), part)])
    assert holds(whole, (LONG * 4).strip()) and holds(whole, "\ufffd\ufffd Gräf")
    assert "(cut here)" in whole and "y" * (MOST_LETTERS + 1) not in whole.replace(" ", "")


def test_two_hundred_runs_keep_their_headings_on_every_page_of_the_list(monkeypatch: pytest.MonkeyPatch) -> None:
    """The list alone, for the pages of each run take ten times as long."""
    monkeypatch.setattr("pulldrop.report.paper.certificate._run", lambda _sheet, _record: None)
    many = [named(records.record(judged=()), Relay(id=f"P{n:04}", form="C", label="relay")) for n in range(200)]
    told = pages(certificate(many, "crate"))
    listed = [page for page in told if "found" in page and "part verdict" in page]
    assert len(listed) >= 4
    assert all(any(f"P{n:04}" in page for page in listed) for n in range(200))


def test_the_end_of_the_name_says_what_is_written(tmp_path: Path) -> None:
    for name, begins in (("a.pdf", b"%PDF-"), ("a.PDF", b"%PDF-"), ("a.html", b"\n<!doctype html>")):
        files.write_report(tmp_path / name, [records.record()])
        assert (tmp_path / name).read_bytes().strip().startswith(begins.strip())
    with pytest.raises(InputError, match=r"ends in '\.docx'; \.html or \.pdf was expected"):
        files.check_writable(tmp_path / "a.docx")


def test_without_a_record_there_is_no_certificate() -> None:
    with pytest.raises(ValueError, match="at least one record"):
        certificate([])
