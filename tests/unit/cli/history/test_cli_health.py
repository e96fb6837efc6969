"""A depot's years through the command line: made, looked up, told part by part and as a fleet, on screen and as a page.

One store is made for all of these statements; everything in it is invented.
"""

import base64
import html
import json
import re
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import jsonschema
import pytest

from pulldrop.cli.main import main
from pulldrop.jobs.parts import fleet
from pulldrop.jobs.parts.records import of_part
from pulldrop.model.wording.cautions import OF_A_FLEET
from pulldrop.store import Store

Run = tuple[int, str, str]


@pytest.fixture(scope="module")
def depot(tmp_path_factory: pytest.TempPathFactory) -> str:
    from pulldrop.jobs.demo import years as demo_years

    store = str(tmp_path_factory.mktemp("depot") / "depot.db")
    few = pytest.MonkeyPatch()
    few.setattr(demo_years, "DEPOT", tuple(demo_years.DEPOT[n] for n in (0, 2, 3, 5)))
    assert main(["demo", "--years", "3", "--store", store]) == 0
    few.undo()
    return store


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> Run:
    capsys.readouterr()
    code = main([*arguments])
    said = capsys.readouterr()
    return code, " ".join(said.out.split()), " ".join(said.err.split())


def answer(capsys: pytest.CaptureFixture[str], subject: str, *arguments: str) -> object:
    """The JSON answer, held against its schema."""
    capsys.readouterr()
    assert main([*arguments, "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert main(["schema", subject]) == 0
    jsonschema.Draft202012Validator(json.loads(capsys.readouterr().out)).validate(said)
    return said


def test_no_run_of_the_invented_years_names_a_day_after_its_own(depot: str) -> None:
    with Store.open(depot) as store:
        runs = [record for part in ("23Y", "25T") for record in of_part(store, part)]
    assert len(runs) == 14
    for record in runs:
        assert record.calibration.taken_at and record.calibration.taken_at < record.started
        assert record.calibration.name.endswith(f"{record.calibration.taken_at:%Y-%m-%d}")


def test_a_burning_saloon_light_relay_is_said_to_wear_and_when_it_meets_its_limit(
    depot: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = run(capsys, "health", "23y", "--store", depot)
    assert code == 0
    assert out.startswith("SIMULATED")
    assert re.search(
        r"contact drop of 87 \(NO\) has risen \d+ mV \+-\d+ since \w+ 20\d\d; at this rate it will exceed its limit",
        out,
    )
    assert re.search(r"in \d+ to \d+ (months|years)\.", out)
    assert "rising, worse" in out and "within U" in out and "= limit" in out


def test_a_sound_relay_is_not_said_to_wear(depot: str, capsys: pytest.CaptureFixture[str]) -> None:
    health = answer(capsys, "health", "health", "25T", "--store", depot)
    assert isinstance(health, dict) and health["simulated"]
    assert health["says"] == ["No measurement moves towards its limit by more than its uncertainty."]
    assert not any(one["worse"] for one in health["findings"])
    assert all(len(one["series"]["points"]) == 7 for one in health["findings"])


def test_a_tired_spring_shows_in_drop_out_at_20_degc_whatever_the_season(
    depot: str, capsys: pytest.CaptureFixture[str]
) -> None:
    health = answer(capsys, "health", "health", "26P", "--store", depot)
    assert isinstance(health, dict)
    worst = health["findings"][0]
    assert worst["series"]["title"] == "drop-out voltage at 20 degC" and worst["worse"]
    assert worst["forecast"]["earliest"] < worst["forecast"]["latest"]


def test_a_cleaned_contact_is_compared_with_itself_since_then(depot: str, capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "health", "24W", "--store", depot)
    assert "cleaned" in out and "blades and socket cleaned (invented)" in out
    _, out, _ = run(capsys, "health", "24W", "--measurement", "contact_drop_no", "--store", depot)
    assert "before cleaning" in out and "limit <= 200 mV (scale: worn) [common practice:" in out and "RCF" in out


def test_a_measurement_that_the_part_does_not_have_is_named_with_its_like(
    depot: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = run(capsys, "health", "23Y", "--measurement", "contact_drop", "--store", depot)
    assert code == 2 and "did you mean 'contact_drop_n" in err


def test_the_page_holds_every_measurement_a_picture_and_the_word_simulated(
    depot: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "part.html"
    code, out, _ = run(capsys, "health", "24W", "--store", depot, "--report", str(file))
    page = file.read_text(encoding="utf-8")
    assert code == 0 and f"Report:{file}" in "".join(out.split()), "wrapped where the path is long"
    assert page.count('<svg role="img" aria-label="SIMULATED.') == page.count('<section class="course')
    assert "<title>SIMULATED: Part 24W" in page and ">RCF<" in page
    assert "http" not in page.replace("http-equiv", "") and "<script" not in page
    assert "common practice: a used contact is good up to 100 mV at 10 A" in page and "before cleaning" in page


def test_the_page_holds_the_photos_of_a_part(depot: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture, file = tmp_path / "case.png", tmp_path / "part.html"
    picture.write_bytes(b"invented picture")
    assert main(["parts", "photo", "26P", str(picture), "cracked case", "--store", depot]) == 0
    assert main(["health", "26P", "--store", depot, "--report", str(file)]) == 0
    page = file.read_text(encoding="utf-8")
    assert f'<img src="data:image/png;base64,{base64.b64encode(b"invented picture").decode()}"' in page
    assert "<figcaption>cracked case" in page


def test_the_fleet_page_says_simulated_and_holds_every_table(
    depot: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "fleet.html"
    assert main(["fleet", "--store", depot, "--report", str(file)]) == 0
    page = file.read_text(encoding="utf-8")
    assert "<title>SIMULATED: Fleet of 4 parts" in page and "will exceed its limit in" in page
    assert page.count('<table class="groups">') == 3 and "<script" not in page
    assert all(told in html.unescape(page) for told in OF_A_FLEET)


@pytest.mark.parametrize(
    "command", [["health", "24W"], ["fleet"], ["parts", "list"], ["parts", "find", "saloon lights"]]
)
def test_no_line_is_wider_than_80_columns(
    command: list[str], depot: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    capsys.readouterr()
    assert main([*command, "--store", depot]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines and max(map(len, lines)) <= 80 and all(line.isascii() for line in lines)


def test_a_users_words_are_escaped_on_the_page(depot: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    hostile = "<b>x</b>"
    assert main(["parts", "event", "25T", "note", hostile, "--at", "2025-01-01", "--store", depot]) == 0
    file = tmp_path / "part.html"
    assert main(["health", "25T", "--store", depot, "--report", str(file)]) == 0
    page = file.read_text(encoding="utf-8")
    assert hostile not in page and "&lt;b&gt;x&lt;/b&gt;" in page


def test_the_fleet_names_what_wears_fastest_and_what_is_due(depot: str, capsys: pytest.CaptureFixture[str]) -> None:
    fleet = answer(capsys, "fleet", "fleet", "--store", depot)
    assert isinstance(fleet, dict) and fleet["simulated"] and fleet["parts"] == 4
    places = [one["name"] for one in fleet["groups"] if one["grouping"] == "position"]
    assert set(places) == {"saloon lights", "demister fan", "air horn"} and places[-1] == "demister fan"
    due = {one["part"]: one["reasons"] for one in fleet["due"]}
    assert due.keys() == {"23Y"} and re.match(r"contact drop of 87 \(NO\): will exceed its limit in ", due["23Y"][0])
    horn = next(one for one in fleet["groups"] if one["name"] == "air horn")
    assert (horn["wearing"], horn["by"]) == (1, "drop-out voltage at 20 degC")
    _, out, _ = run(capsys, "fleet", "--store", depot)
    assert out.startswith("SIMULATED") and "What wears fastest" in out and "23Y" in out


def test_the_fleet_tells_from_few_histories_what_all_of_them_tell(depot: str, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    history = Store.history
    monkeypatch.setattr(Store, "history", lambda store, part: read.append(part) or history(store, part))
    with Store.open(depot) as store:
        told = fleet.fleet(store, 12, datetime.now(UTC))
        assert "25T" not in read and {"24W", "26P"} <= set(read), "a steady part is not read, a worn or cleaned one is"
        monkeypatch.setattr(fleet, "_is_special", lambda *_: True)
        assert fleet.fleet(store, 12, told.now) == told and "25T" in read


def test_a_slip_of_the_id_is_answered_with_the_part(depot: str, capsys: pytest.CaptureFixture[str]) -> None:
    for command in (["health"], ["parts", "show"], ["parts", "event"], ["parts", "edit"]):
        more = {"event": ["cleaned"], "edit": ["--notes", "x"]}.get(command[-1], [])
        code, _, err = run(capsys, *command, "23W", *more, "--store", depot)
        assert code == 2 and "Probably meant:" in err and "23Y" in err, command


def test_the_list_and_the_search_show_where_a_part_is(depot: str, capsys: pytest.CaptureFixture[str]) -> None:
    found = answer(capsys, "parts", "parts", "find", "saloon lights", "--store", depot)
    assert isinstance(found, list) and [one["part"]["id"] for one in found] == ["23Y", "24W"]
    _, out, _ = run(capsys, "parts", "list", "--store", depot)
    assert "fitted: town bus 12, saloon lights" in out
    code, _, err = run(capsys, "parts", "find", "--store", depot)
    assert code == 2 and "What are you looking for?" in err


def test_an_invented_history_goes_only_into_a_store_of_its_own(depot: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run(capsys, "demo", "--years", "3", "--store", depot)
    assert code == 2 and "a store of its own" in err
    code, _, err = run(capsys, "demo", "--years", "3")
    assert code == 2 and "--store" in err


def test_years_are_told_with_the_days_of_their_services(depot: str, capsys: pytest.CaptureFixture[str]) -> None:
    health = answer(capsys, "health", "health", "23Y", "--store", depot)
    assert isinstance(health, dict)
    days = [datetime.fromisoformat(one["at"]) for one in health["runs"]]
    assert len(days) == 7 and days == sorted(days)
    assert (days[-1] - days[0]).days == pytest.approx(3 * 365.25, abs=1)


def test_a_part_is_made_edited_photographed_and_followed_by_hand(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store, picture = str(tmp_path / "own.db"), tmp_path / "case.png"
    picture.write_bytes(b"invented")
    code, out, _ = run(capsys, "parts", "new", "--id", "23Y", "--form", "C", "--description", "mini",
                       "--donor", "bus 12", "--simulated", "--store", store)  # fmt: skip
    assert code == 0 and out.startswith("Write 23Y on the part.")
    assert main(["parts", "edit", "23Y", "--position", "horn", "--store", store]) == 0
    assert main(["parts", "photo", "23Y", str(picture), "case", "--store", store]) == 0
    code, out, _ = run(capsys, "parts", "event", "23Y", "fitted", "--place", "bus 12, horn", "--at", "2026-04-01",
                       "--store", store)  # fmt: skip
    assert code == 0 and "fitted: bus 12, horn" in out
    code, _, err = run(capsys, "parts", "event", "23Y", "moved", "--store", store)
    assert code == 2 and "Moved where?" in err
    shown = answer(capsys, "part", "parts", "show", "23Y", "--store", store)
    assert isinstance(shown, dict) and shown["last"] is None
    assert shown["part"]["card"] == dict(
        description="mini", printed="", sheet="", donor="bus 12", position="horn", notes=""
    )
    _, out, _ = run(capsys, "parts", "show", "23Y", "--store", store)
    assert "Never tested." in out and "fitted" in out
    fitted = next(one["id"] for one in shown["events"] if one["kind"] == "fitted")  # type: ignore[index, union-attr]
    assert fitted[-4:] in out and "withdrawn" not in out
    code, said, _ = run(capsys, "parts", "withdraw", "23Y", fitted[-4:], "it was 24X", "--store", store)
    assert code == 0 and said.startswith("Withdrawn: 23Y fitted 2026-04-01.")
    _, out, _ = run(capsys, "parts", "show", "23Y", "--store", store)
    assert "fitted, withdrawn" in out and f"withdrawn {fitted[-4:]}" in out
    code, _, err = run(capsys, "parts", "withdraw", "23Y", fitted[-4:], "--store", store)
    assert code == 2 and "names no event" in err
    assert main(["parts", "new", "--id", "24X", "--form", "C", "--simulated", "--store", store]) == 0
    code, said, _ = run(capsys, "parts", "join", "24X", "23y", "the same dent", "--store", store)
    assert code == 0 and said.startswith("24X is 23Y now, with 0 runs in all. Write 23Y on the part.")
    _, out, _ = run(capsys, "parts", "show", "24X", "--store", store)
    assert "Part 23Y" in out and "also 24X" in out and "24X is this part" in out
    code, _, err = run(capsys, "health", "23Y", "--store", store)
    assert code == 2 and "was never tested" in err
    assert len(list((tmp_path / "own.db-photos").iterdir())) == 1


def test_a_test_under_a_slip_is_refused_before_it_begins(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store = str(tmp_path / "own.db")
    assert main(["parts", "new", "--id", "23Y", "--form", "C", "--simulated", "--store", store]) == 0
    code, _, err = run(capsys, "test", "--board", "virtual", "--part", "23X", "--store", store)
    assert code == 2 and "Probably meant: 23Y" in err
    assert main(["test", "--board", "virtual", "--part", "23y", "--store", store]) == 0
    shown = answer(capsys, "part", "parts", "show", "23Y", "--store", store)
    assert isinstance(shown, dict) and len(shown["runs"]) == 1


def test_a_part_that_lost_its_label_is_recognised_after_its_test(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = str(tmp_path / "own.db")
    for specimen in ("good-12v-changeover", "weak-spring", "thin-blades", "good-with-diode", "burnt-no", "bouncing"):
        named = ("--part", "24W") if specimen == "weak-spring" else ()
        code, _, err = run(capsys, "test", "--board", "virtual", "--specimen", specimen, *named, "--store", store)
        assert code in (0, 1) and "reads like" not in err, "another specimen is another part, however alike they read"
    code, out, err = run(capsys, "test", "--board", "virtual", "--specimen", "weak-spring", "--store", store)
    assert code == 1 and "It reads like part 24W (" in err
    (id,) = re.findall(r"FAIL part (\w+)", out)
    assert "'pulldrop parts join --help' says how" in err and id not in err, "no line that joins two parts as it is"
    _, out, _ = run(capsys, "parts", "find", "--like", id, "--store", store)
    assert out.startswith(f"{id} looks like part 24W (") and "to 1 by the spread of 6 parts here." in out
    _, _, err = run(
        capsys, "test", "--board", "virtual", "--specimen", "weak-spring", "--part", "24W", "--store", store
    )
    assert "reads like" not in err, "who names the part knows it"


@pytest.mark.parametrize("columns", ["32", "40", "60", "79"])
def test_no_word_is_torn_and_no_column_is_lost_in_a_narrow_terminal(
    depot: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    wanted = {
        ("fleet",): ("wearing", "mostly", "class-mini-12v-form-c", "saloon", " %"),
        ("health", "23Y"): ("resistance", "drop-out", "changeover", "fitted"),
        ("parts", "list"): ("changeover", "saloon"),
        ("parts", "show", "23Y"): ("described", "relay-quick", "fitted"),
    }
    for asked, words in wanted.items():
        capsys.readouterr()
        assert main([*asked, "--store", depot]) == 0
        told = capsys.readouterr().out
        assert max(map(len, told.splitlines())) <= int(columns)
        assert [word for word in words if word not in told] == [], asked
    assert len(re.findall(r"\b20\d{6}T\d{6}-[0-9a-f]{6}\b", told)) >= 7, "a run's id can be copied"


def test_a_part_whose_runs_were_taken_away_is_trouble_of_the_store(
    depot: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "robbed.db"
    with closing(sqlite3.connect(depot)) as sound, closing(sqlite3.connect(file)) as robbed:
        sound.backup(robbed)
        for (name,) in robbed.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            robbed.execute(f"DROP TRIGGER {name}")
        robbed.execute("PRAGMA foreign_keys = OFF")
        robbed.execute("DELETE FROM run")
        robbed.commit()
    for arguments in (("health", "23Y"), ("fleet",)):
        code, _, said = run(capsys, *arguments, "--store", str(file))
        assert code == 2 and "The store" in said and ("damaged" in said or "cannot be used" in said), (arguments, said)
