"""Statements about `pulldrop store`: what it says, what it answers in JSON, and with which exit code."""

import json
from pathlib import Path

import databases
import jsonschema
import pytest
import records
from test_store import keep

from pulldrop.cli.main import main
from pulldrop.model.part.relay import Relay
from pulldrop.store import Store


@pytest.fixture
def kept(tmp_path: Path) -> tuple[str, str]:
    """A store with one run, and the run's id."""
    where = str(tmp_path / "depot.db")
    with Store.open(where) as store:
        return where, keep(store, records.record()).run


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    code = main(["store", *arguments])
    return code, " ".join(capsys.readouterr().out.split())


def answered(capsys: pytest.CaptureFixture[str], subject: str, *arguments: str) -> tuple[int, dict[str, object]]:
    """The JSON answer, which keeps its schema."""
    code = main(["store", *arguments, "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert main(["schema", subject]) == 0
    jsonschema.Draft202012Validator(json.loads(capsys.readouterr().out)).validate(answer)
    return code, answer


def test_info_says_where_it_is_and_how_much_it_holds(kept: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    where, _ = kept
    _, text = said(capsys, "info", "--store", where)
    assert "SQLite" in text and "1 parts, 1 runs, 10 measurements" in text
    code, answer = answered(capsys, "store-info", "info", "--store", where)
    assert (code, answer["runs"], answer["entries"]) == (0, 1, 12)


def test_verify_passes_a_whole_store_and_fails_an_altered_one(
    kept: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    where, run = kept
    code, text = said(capsys, "verify", "--store", where)
    assert code == 0 and "are as they were written" in text and "Head: 12:" in text
    with databases.behind(where) as plain, databases.unguarded(plain, "run_end"):
        plain.exec_driver_sql("UPDATE run_end SET overall = 'fail'")
    code, text = said(capsys, "verify", "--store", where)
    assert code == 1 and f"run_end of run {run} was altered" in text
    code, answer = answered(capsys, "verified", "verify", "--store", where)
    assert code == 1 and answer["findings"]


def test_verify_with_a_noted_head_sees_that_the_end_is_missing(
    kept: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert said(capsys, "verify", "--head", "99:0123456789abcdef", "--store", kept[0])[0] == 1


@pytest.mark.parametrize("command", ["import", "restore", "verify"])
@pytest.mark.parametrize("number", ["9" * 5000, "0" * 5000 + "1", "\N{SUPERSCRIPT TWO}", "1e3"])
def test_a_head_that_is_none_is_a_sentence(
    command: str, number: str, kept: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = () if command == "verify" else (kept[0],)
    store = kept[0] if command == "verify" else str(tmp_path / "other.db")
    code = main(["store", command, *source, "--store", store, "--head", f"{number}:{'a' * 16}"])
    told = "".join(capsys.readouterr())
    assert code == (1 if command == "verify" else 2) and "cannot be read" in told


def test_backup_and_restore_say_what_they_did(
    kept: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, again = str(tmp_path / "backup.db"), str(tmp_path / "again.db")
    code, answer = answered(capsys, "backup", "backup", file, "--store", kept[0])
    assert code == 0 and str(answer["head"]).startswith("12:")
    assert main(["store", "backup", file, "--store", kept[0]]) == 2
    assert "overwrites nothing" in capsys.readouterr().err
    assert said(capsys, "restore", file, "--store", again)[0] == 0
    assert main(["store", "restore", file, "--store", again]) == 2
    assert "--replace" in capsys.readouterr().err
    code, answer = answered(capsys, "backup", "restore", file, "--replace", "--store", again)
    assert code == 0 and Path(str(answer["moved_to"])).exists()


def test_restoring_where_no_head_is_noted_says_that_nothing_vouches_for_it(
    kept: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A run that somebody added to the backup shows only against the head that was printed with it."""
    file = str(tmp_path / "backup.db")
    head = str(answered(capsys, "backup", "backup", file, "--store", kept[0])[1]["head"])
    with Store.open(file) as forged:
        keep(forged, records.record(part="P0777"))
    code, text = said(capsys, "restore", file, "--store", str(tmp_path / "new.db"))
    assert code == 0 and "Nothing vouches for it" in text and "--head N:HASH" in text
    code, answer = answered(capsys, "backup", "restore", file, "--store", str(tmp_path / "other.db"))
    assert (code, answer["vouched"]) == (0, False)
    again = ("restore", file, "--replace", "--store", str(tmp_path / "new.db"))
    assert main(["store", *again, "--head", head]) == 2
    assert "written behind it" in " ".join(capsys.readouterr().err.split())
    whole = ("restore", kept[0], "--head", head, "--store", str(tmp_path / "third.db"))
    assert "vouches" not in said(capsys, *whole)[1]
    assert "vouches" not in said(capsys, *again)[1], "the head of the first restore is noted"


def test_import_says_what_was_new_and_what_was_refused(
    kept: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = str(tmp_path / "other.db")
    code, answer = answered(capsys, "import", "import", kept[0], "--store", other)
    assert (code, answer["new"]) == (0, 1)
    assert "1 here already" in said(capsys, "import", kept[0], "--store", other)[1]
    file = tmp_path / "changed.json"
    file.write_text(records.failed().model_copy(update={"run": kept[1]}).model_dump_json())
    code, text = said(capsys, "import", str(file), "--store", other)
    assert code == 1 and "not the same" in text
    assert main(["store", "import", str(tmp_path / "typo.json"), "--store", other]) == 2


def test_an_import_names_the_label_to_write_anew_and_a_person_may_say_that_two_are_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    a, b, c = (str(tmp_path / f"{name}.db") for name in "abc")
    for where, label in ((a, "horn"), (b, "wiper"), (c, "horn")):
        with Store.open(where) as store:
            keep(store, records.record().model_copy(update={"part": Relay(id="23Y", form="C", label=label)}))
    code, text = said(capsys, "import", b, "--store", a)
    assert code == 0 and "Part 23Y of b.db is another than the part 23Y here." in text and "on it" in text
    _, answer = answered(capsys, "import", "import", c, "--same", "23Y", "--store", a)
    assert (answer["new"], answer["renamed"]) == (1, [])
    assert main(["parts", "find", "23y", "--store", a]) == 0
    assert "also 23Y" in " ".join(capsys.readouterr().out.split())
    assert main(["test", "--board", "virtual", "--part", "23Y", "--no-look", "--store", a]) == 0
    assert "23Y is also written on" in capsys.readouterr().err, "whose label was not yet rewritten"


def test_rejudge_gives_a_verdict_beside_the_old_one(kept: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    where, run = kept
    protocol = ("--protocol", "relay-quick")
    code, text = said(capsys, "rejudge", run, *protocol, "--store", where)
    assert code != 2 and "SIMULATED" in text and "the run itself ended: pass" in text
    _, answer = answered(capsys, "judgement", "rejudge", run, *protocol, "--store", where)
    assert answer["run"] == run
    assert main(["store", "rejudge", run, "--store", where]) == 2
    assert "Name what to judge by" in capsys.readouterr().err
    with Store.open(where) as store:
        assert len(store.judgements(run)) == 2
