"""Statements about records as files for other programs: nothing is lost on the way out and back in."""

import csv
import json
import sys
from datetime import UTC, datetime
from pathlib import Path

import jsonschema
import pyarrow.parquet
import pytest
import records
from pydantic import TypeAdapter

from pulldrop.cli.main import main
from pulldrop.model.part.rating import IN_SI
from pulldrop.model.part.relay import Relay
from pulldrop.model.reading import NotTested
from pulldrop.model.run.record import RunRecord
from pulldrop.model.run.row import MeasurementRow, rows
from pulldrop.model.verdict import Overall
from pulldrop.report import data
from pulldrop.store import Store
from pulldrop.store.records.write import RunHeader

SOME = (records.record(), records.failed(part="P0002", kind="real"), records.open_coil(part="P0003"))


def every_row(some: tuple[RunRecord, ...] = SOME) -> list[MeasurementRow]:
    return [row for record in some for row in rows(record)]


def from_csv(file: Path) -> list[MeasurementRow]:
    """Empty cells become what the field has for nothing."""
    with file.open(encoding="utf-8", newline="") as lines:
        read = list(csv.DictReader(lines))
    return [
        MeasurementRow.model_validate({k: None if v == "" and may_be_none(k) else v for k, v in r.items()})
        for r in read
    ]


def may_be_none(name: str) -> bool:
    return "None" in str(MeasurementRow.model_fields[name].annotation)


def test_a_row_says_what_the_record_says() -> None:
    record = records.failed()
    for judged, row in zip(record.judged, rows(record), strict=True):
        assert (row.measurement, row.outcome, row.simulated) == (judged.id, judged.outcome, True)
        if isinstance(judged.finding, NotTested):
            assert row.not_tested == judged.finding.reason and row.value is None
        elif judged.finding.value is not None:
            assert (row.value, row.unit) == (judged.finding.value, judged.finding.unit)
            assert row.expanded_uncertainty == judged.finding.expanded_uncertainty > 0
        if judged.limit:
            assert (row.limit_low, row.limit_high) == (judged.limit.low, judged.limit.high)
            assert row.limit_source == judged.limit.source.text


def test_csv_gives_back_every_figure_exactly(tmp_path: Path) -> None:
    assert data.write(tmp_path / "a.csv", SOME) == (3, 0)
    assert from_csv(tmp_path / "a.csv") == every_row()


def test_parquet_gives_back_every_figure_exactly(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(data, "ROWS_AT_ONCE", 7)
    assert data.write(tmp_path / "a.parquet", SOME) == (3, 0)
    table = pyarrow.parquet.read_table(tmp_path / "a.parquet")
    assert [MeasurementRow.model_validate(row) for row in table.to_pylist()] == every_row()
    assert str(table.schema.field("value").type) == "double" and str(table.schema.field("simulated").type) == "bool"
    assert str(table.schema.field("started").type) == "timestamp[us, tz=UTC]"


def test_json_gives_back_the_whole_record(tmp_path: Path) -> None:
    data.write(tmp_path / "a.json", SOME)
    read = TypeAdapter(tuple[RunRecord, ...]).validate_json((tmp_path / "a.json").read_bytes(), context=IN_SI)
    assert read == SOME
    data.write(tmp_path / "none.json", ())
    assert json.loads((tmp_path / "none.json").read_text()) == []


def test_a_run_that_was_cut_off_before_its_first_reading_is_told_of_where_it_has_no_row(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bare = records.record(Overall.INTERRUPTED, judged=(), part="P0004")
    assert [data.write(tmp_path / f"a.{end}", (*SOME, bare)) for end in ("csv", "parquet", "json")] == [
        (4, 1), (4, 1), (4, 0),
    ]  # fmt: skip
    where = str(tmp_path / "runs.db")
    with Store.open(where) as store:
        store.run(RunHeader(**{name: getattr(bare, name) for name in RunHeader.model_fields}))
    assert main(["report", "all", "--out", str(tmp_path / "all.csv"), "--store", where]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.startswith("1 run (1 of them cut off before the first reading, without a row; .json has them):")


@pytest.mark.parametrize("text", ["=1+1", "+49", "-x", "@me", "\tx"])
def test_no_text_of_a_user_becomes_a_formula_in_a_spreadsheet(text: str, tmp_path: Path) -> None:
    record = records.record().model_copy(update={"part": Relay(id="P1", form="C", donor=text)})
    data.write(tmp_path / "a.csv", [record])
    assert {row.donor for row in from_csv(tmp_path / "a.csv")} == {"'" + text}


def test_a_number_below_zero_stays_a_number(tmp_path: Path) -> None:
    assert data.cell(-0.25) == "-0.25"


def test_what_breaks_on_the_way_leaves_no_half_file(tmp_path: Path) -> None:
    def some():  # type: ignore[no-untyped-def]
        yield SOME[0]
        raise RuntimeError("the disk is gone")

    for name in ("a.csv", "a.json", "a.parquet"):
        with pytest.raises(RuntimeError):
            data.write(tmp_path / name, some())
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def kept(tmp_path: Path) -> str:
    """A store with two parts, one of them with two runs."""
    where = str(tmp_path / "runs.db")
    with Store.open(where) as store:
        for number, record in enumerate((records.record(), records.failed(), records.record(part="P0002"))):
            of = {name: getattr(record, name) for name in RunHeader.model_fields}
            of["started"] = datetime(2026, 5, 4 + number, tzinfo=UTC)
            with store.run(RunHeader(**of)) as run:
                for judged in record.judged:
                    run.add(judged)
                run.finish(record.verdict, of["started"], 12.0)
    return where


def report(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    code = main(["report", *arguments])
    told = capsys.readouterr()
    return code, " ".join((told.out + told.err).split())


def test_all_runs_go_out_and_into_the_store_of_another_bench_without_doubles(
    kept: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, other = str(tmp_path / "all.json"), str(tmp_path / "other.db")
    code, told = report(capsys, "all", "--out", out, "--store", kept)
    assert code == 0 and "3 runs" in told
    assert main(["store", "import", out, "--store", other]) == 0
    assert "3 new" in capsys.readouterr().out
    assert main(["store", "import", out, "--store", other]) == 0
    assert "0 new, 0 completed, 3 here already" in capsys.readouterr().out


def test_a_run_is_named_by_its_id_or_by_its_part_for_the_last_one(
    kept: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Store.open(kept) as store:
        first, last = store.runs("P0001")
    for name, wanted in ((first.run, first.run), ("P0001", last.run), ("p0001", last.run)):
        assert report(capsys, "run", name, "--out", str(tmp_path / "a.json"), "--store", kept)[0] == 0
        assert [one["run"] for one in json.loads((tmp_path / "a.json").read_text())] == [wanted]
    for name, begins in (("a.pdf", b"%PDF"), ("a.html", b"<!doctype html>")):
        assert report(capsys, "run", "P0001", "--out", str(tmp_path / name), "--store", kept)[0] == 0
        assert (tmp_path / name).read_bytes().lstrip().startswith(begins)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("run", "P0001", "--out", "a.docx"), "ends in '.docx'; .html or .pdf or .csv"),
        (("run", "P0001", "--out", "a"), "no end that says what to write"),
        (("all", "--out", "a.pdf"), "ends in '.pdf'; .csv or .json or .parquet was expected"),
        (("run", "nobody", "--out", "a.pdf"), "no part 'nobody'"),
        (("all", "--out", "no/folder/a.csv"), "no folder no/folder"),
    ],
)
def test_a_report_that_cannot_be_made_is_refused_with_a_sentence(
    arguments: tuple[str, ...], said: str, kept: str, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    code, told = report(capsys, *arguments, "--store", kept)
    assert code == 2 and said in told


def test_without_its_library_parquet_is_refused_with_what_to_install(
    kept: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    code, told = report(capsys, "all", "--out", str(tmp_path / "a.parquet"), "--store", kept)
    assert code == 2 and "pip install pyarrow" in told
    assert not (tmp_path / "a.parquet").exists()


def test_files_keep_their_documented_schema(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data.write(tmp_path / "a.json", SOME)
    for subject, said in (
        ("records", json.loads((tmp_path / "a.json").read_text())),
        ("row", json.loads(every_row()[0].model_dump_json())),
    ):
        assert main(["schema", subject]) == 0
        schema = json.loads(capsys.readouterr().out)
        jsonschema.Draft202012Validator(schema).validate(said)
    assert list(schema["properties"]) == list(MeasurementRow.model_fields)
