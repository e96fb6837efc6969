"""A test ends on one screen: verdict, the lines that decided, cause with reason, next step, and the part's number."""

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.console import Console

from pulldrop.cli.main import main
from pulldrop.cli.show.testing.result import show_faults
from pulldrop.cli.show.testing.short import show_short
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Outcome
from pulldrop.store import Store

STOCK = (
    "good-12v-changeover", "good-12v-normally-open", "burnt-no", "dead-nc", "open-coil", "open-behind-resistor",
    "shorted-coil", "reversed-diode", "weak-spring", "magnetised", "thin-blades", "stuck-operated", "wet-inside",
)  # fmt: skip
"""A part of every ending: pass, light duty, fail with and without a named cause, refused; the longest sentences."""


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, RunRecord]]:
    """The records of these parts by the diagnosis, and of one on a bare board."""
    file = str(tmp_path_factory.mktemp("short") / "s.db")
    for name in STOCK:
        main(["test", "--board", "virtual", "--specimen", name, "--protocol", "relay-diagnose", "--store", file])
    main(["test", "--board", "virtual-bare", "--protocol", "relay-full", "--store", file])
    with Store.open(file) as store:
        runs = sorted((run for part in store.parts() for run in store.runs(part.part.id)), key=lambda run: run.started)
        yield dict(zip((*STOCK, "bare"), (store.record(run.run) for run in runs), strict=True))


def shown(record: RunRecord, columns: int, terminal: bool = True, below: int = 0) -> str:
    out = Console(
        file=io.StringIO(), width=columns, height=24, force_terminal=terminal, color_system=None, markup=False,
        highlight=False,
    )  # fmt: skip
    show_short(out, record, new=True, below=below)
    return out.file.getvalue()  # type: ignore[attr-defined]  # the StringIO above


def joined(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("columns", [60, 80])
def test_the_end_of_every_test_is_in_sight(records: dict[str, RunRecord], columns: int) -> None:
    for name, record in records.items():
        text = shown(record, columns)
        assert text.count("\n") <= 23, name
        assert max(map(len, text.splitlines())) <= columns, name
        said = joined(text)
        assert f"{record.verdict.word.upper()} part {record.part.id}" in said, name
        assert f"write {record.part.id} on the part" in said and "SIMULATED" in said, name
        assert re.split(r"(?<=[.!?]) (?=[A-Z])", record.verdict.next)[0] in said, name
        if record.faults and name != "bare":
            assert record.faults[0].title in said and "cause" in said, name
        assert shown(record, columns, below=2).count("\n") <= 21, name


def test_what_failed_stands_there_with_value_and_limit(records: dict[str, RunRecord]) -> None:
    text = joined(shown(records["burnt-no"], 80))
    drop = next(one for one in records["burnt-no"].judged if one.id == "contact_drop_no")
    assert drop.outcome is Outcome.FAIL and isinstance(drop.finding, Reading)
    assert re.search(r"fail contact drop of 87 \(NO\) [\d.]+ m?V \+-[\d.]+ <= 200 mV", text)
    assert "pass operate time" not in text, "what is good is behind -v"


def test_a_pass_says_its_numbers_and_what_it_was_not_tested_for(records: dict[str, RunRecord]) -> None:
    for columns in (60, 80):
        text = joined(shown(records["good-12v-changeover"], columns))
        assert "contact drop of 87 (NO)" in text and "Not tested: coil when hot" in text


def test_a_board_that_cannot_says_why_in_the_short_end(records: dict[str, RunRecord]) -> None:
    text = joined(shown(records["bare"], 80))
    assert "INCOMPLETE" in text and "this is a bare board, without coil supply and load" in text


def test_a_pipe_has_the_same_end_without_letters_and_with_every_sentence(records: dict[str, RunRecord]) -> None:
    record = records["magnetised"]
    text = shown(record, 80, terminal=False)
    assert "##" not in text and record.verdict.next in joined(text)


def test_every_line_and_source_is_behind_v(capsys: pytest.CaptureFixture[str]) -> None:
    short = ["test", "--board", "virtual", "--store", ":memory:"]
    main(short)
    said = capsys.readouterr().out
    main([*short, "-v"])
    every = capsys.readouterr().out
    assert "common practice" not in said and "coil current" not in said
    assert "common practice" in every and "coil current" in every


def test_what_could_not_be_measured_is_one_line_of_a_cause(records: dict[str, RunRecord]) -> None:
    record = records["open-coil"]
    out = Console(file=io.StringIO(), width=400, color_system=None)
    show_faults(out, record)
    lines = out.file.getvalue().splitlines()  # type: ignore[attr-defined]  # the StringIO above
    lost = [one.id for one in record.faults[0].evidence if one.text.endswith("not possible")]
    assert len(lost) > 3, "there is something to fold"
    assert sum("could not be measured" in line for line in lines) <= 2 * len(record.faults)
    assert not any("not possible" in line for line in lines)


def test_a_part_whose_number_was_given_is_not_to_be_written_on_again(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    test = ["test", "--board", "virtual", "--store", str(tmp_path / "w.db"), "--part", "23Y"]
    main(test)
    assert "on the part, with a pen" not in capsys.readouterr().out
