"""`pulldrop test`: the exit code says what the verdict says, and every screen of a simulated board says SIMULATED."""

import json
import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import jsonschema
import pytest

from pulldrop.board.request_types import Analog
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.main import main
from pulldrop.jobs.run import boards, specimens

SOUND = "good-12v-changeover"
ON_VIRTUAL = ("test", "--board", "virtual", "--store", ":memory:")


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Exit code, stdout and stderr of one command."""
    code = main(list(arguments))
    told = capsys.readouterr()
    return code, told.out, told.err


def joined(text: str) -> str:
    """Text without its line breaks, which depend on the width."""
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("specimen", "code", "word"),
    [(SOUND, 0, "PASS"), ("open-coil", 1, "FAIL"), ("burnt-no", 1, "FAIL"), ("filmed-no", 1, "FAIL")],
)
def test_a_sound_relay_is_code_0_and_a_faulty_one_code_1(
    capsys: pytest.CaptureFixture[str], specimen: str, code: int, word: str
) -> None:
    ended, out, err = answer(capsys, *ON_VIRTUAL, "--specimen", specimen)
    assert ended == code
    assert re.search(rf"\] {word}   part \w{{5}}\b", out)
    assert err == ""


def without_load(monkeypatch: pytest.MonkeyPatch) -> None:
    """The virtual board with its load supply unplugged."""

    class Unloaded(VirtualBoard):
        def sense_analog(self, channel: Analog) -> int:
            return 0 if channel is Analog.LOAD_SUPPLY else super().sense_analog(channel)

    @contextmanager
    def opened(*_: object) -> Iterator[boards.Opened]:
        with Unloaded(specimens.find(SOUND).specimen, seed=1) as board:
            board.identity = board.identity.model_copy(update={"load_supply": False})
            yield boards.Opened(board)

    monkeypatch.setattr(boards, "open_socket", opened)


def test_a_sound_relay_on_a_bench_without_load_is_code_3_and_no_pass(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    without_load(monkeypatch)
    code, out, _ = answer(capsys, *ON_VIRTUAL)
    assert code == 3
    assert "CHECKED WITHOUT LOAD" in out
    assert "[+] PASS" not in out


def test_no_board_is_code_4_and_names_the_virtual_board(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pulldrop.board.ports.candidates", list)
    code, out, err = answer(capsys, "test", "--store", ":memory:")
    assert code == 4
    assert "--board virtual" in err
    assert out == "", "nothing is tested on a virtual board that nobody asked for"


def test_a_port_that_is_not_there_is_code_4(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = answer(capsys, "test", "--board", "/dev/no-such-port", "--store", ":memory:")
    assert code == 4
    assert "/dev/no-such-port" in err


def test_simulated_stands_at_the_top_and_at_the_verdict(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = answer(capsys, *ON_VIRTUAL)
    lines = out.splitlines()
    assert lines[0].startswith(" SIMULATED (virtual board)")
    verdict = next(i for i, line in enumerate(lines) if "PASS   part" in line)
    assert lines[verdict - 1].startswith(" SIMULATED (virtual board)")


def test_an_uncalibrated_bench_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert "uncalibrated" in answer(capsys, *ON_VIRTUAL)[1]


def test_every_measurement_comes_with_uncertainty_limit_and_source(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = answer(capsys, *ON_VIRTUAL, "-v")
    row = next(line for line in out.splitlines() if "operate time" in line)
    assert re.search(r"\[\+\] pass +operate time +\d+\.\d+ ms \+-\d\.\d+ +<= 10\.0 ms \((\d)\)", row)
    assert re.search(r"\(1\) .*\[common practice\]", joined(out))


def test_the_screen_fits_80_columns(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for specimen in (SOUND, "open-coil"):
        _, out, _ = answer(capsys, *ON_VIRTUAL, "--specimen", specimen, "--explain", "coil_resistance")
        assert max(map(len, out.splitlines())) <= 80


def test_everything_shown_is_ascii(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = answer(capsys, *ON_VIRTUAL, "--specimen", "burnt-no", "--explain", "pull_in_voltage")
    assert out.isascii()


def test_the_same_seed_gives_the_same_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    first, second = (json.loads(answer(capsys, *ON_VIRTUAL, "--seed", "5", "--json")[1]) for _ in range(2))
    assert first["judged"] == second["judged"]
    other = json.loads(answer(capsys, *ON_VIRTUAL, "--seed", "6", "--json")[1])
    assert first["judged"] != other["judged"]


@pytest.mark.parametrize("specimen", [SOUND, "open-coil"])
def test_the_json_answer_keeps_its_schema(capsys: pytest.CaptureFixture[str], specimen: str) -> None:
    code, out, err = answer(capsys, *ON_VIRTUAL, "--specimen", specimen, "--json")
    schema = json.loads(answer(capsys, "schema", "result")[1])
    record = json.loads(out)
    jsonschema.Draft202012Validator(schema).validate(record)
    assert record["simulated"] is True
    assert record["specimen"] == specimens.find(specimen).text
    assert record["verdict"]["overall"] == ("pass" if code == 0 else "fail")
    assert err == ""


def test_explain_shows_the_largest_term_first(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = answer(capsys, *ON_VIRTUAL, "--explain", "pull_in_voltage")
    after = out[out.index("Uncertainty of pull-in voltage") :]
    shares = [int(share) for share in re.findall(r" (\d+) % ", after)]
    assert len(shares) > 3
    assert shares == sorted(shares, reverse=True)


def test_explain_speaks_in_the_readings_own_unit_and_tells_small_terms_together(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, out, _ = answer(capsys, *ON_VIRTUAL, "--explain", "operate_time")
    after = out[out.index("Uncertainty of operate time") :]
    assert re.search(r"clock gain +\d+\.\d us +\d+ %", after)
    small = re.search(r"(\d+) more +([\d.]+) us +(\d+) % +each less than 0\.5 %", after)
    assert small and int(small[1]) > 1 and int(small[3]) <= 2
    combined = re.search(r"combined u = ([\d.]+) us", after)
    assert combined
    told = [float(u) for u in re.findall(r" ([\d.]+) us +\d+ %", after)]
    assert math.hypot(*told) == pytest.approx(float(combined[1]), rel=0.01)


def test_explain_of_what_was_not_tested_gives_the_reason(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = answer(capsys, *ON_VIRTUAL, "--specimen", "open-coil", "--explain", "operate_time")
    assert "nothing to explain" in out


def test_the_report_is_written(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    report = tmp_path / "part.html"
    code, out, _ = answer(capsys, *ON_VIRTUAL, "--report", str(report))
    assert code == 0
    assert "SIMULATED" in report.read_text(encoding="utf-8")
    assert "Report: " in out


def test_a_run_is_kept_and_shown_again(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    store = str(tmp_path / "history.db")
    main(["test", "--board", "virtual", "--store", store, "--part", "K7", "--label", "horn relay", "--donor", "bus 9"])
    capsys.readouterr()
    _, listed, _ = answer(capsys, "parts", "list", "--store", store)
    assert re.search(r"K7 +\[\+\] pass +1 ", listed)
    assert "SIMULATED" in listed
    code, shown, _ = answer(capsys, "parts", "show", "K7", "--store", store)
    assert code == 0
    assert shown.startswith(" SIMULATED")
    assert "horn relay; bus 9" in shown
    assert "PASS   part K7" in shown


WRONG = {
    "unknown protocol": (("--protocol", "relay-quik"), "did you mean 'relay-quick'"),
    "protocol file that is not there": (("--protocol", "mine.yaml"), "mine.yaml"),
    "unknown rating": (("--rating", "class-mini-12v-form-d"), "did you mean 'class-mini-12v-form-"),
    "unknown specimen": (("--specimen", "burnt-on"), "did you mean 'burnt-no'"),
    "specimen file that is not there": (("--specimen", "no/such.yaml"), "no/such.yaml"),
    "unknown measurement": (("--explain", "pull_in_volts"), "did you mean 'pull_in_voltage'"),
    "measurement of another protocol": (
        ("--rating", "class-mini-12v-form-a", "--explain", "transfer_time"), "does not measure 'transfer_time'",
    ),
    "unwritable part id": (("--part", "a part with spaces"), "cannot be a part's id"),
    "report in no folder": (("--report", "no/such/folder/part.html"), "no folder no/such/folder"),
    "report that is a folder": (("--report", "."), "is a folder"),
    "seed below zero": (("--seed", "-1"), "--seed"),
    "a time of no digits": (("--rested", "\N{SUPERSCRIPT TWO} s"), "is no time"),
    "a store in nobody's home": (("--store", "~nobody-has-this-name/x.db"), "is not a store"),
    "a store's port without a number": (("--store", "postgresql://u:secret@h:port/db"), "'postgresql://***@h:port/db'"),
    "a store's address that is not closed": (("--store", "postgresql://[::1/db"), "is not a store"),
    "unknown option": (("--protokoll", "x"), "--protokoll"),
}  # fmt: skip


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG.keys())
@pytest.mark.parametrize("as_json", [False, True], ids=["text", "json"])
def test_wrong_input_is_code_2_with_one_sentence(
    capsys: pytest.CaptureFixture[str], wrong: tuple[tuple[str, ...], str], as_json: bool
) -> None:
    arguments, sentence = wrong
    code, out, err = answer(capsys, *ON_VIRTUAL, *arguments, *["--json"] * as_json)
    told = json.loads(out)["error"] if as_json else err
    assert code == 2
    assert sentence in told
    assert "Traceback" not in told
    assert (err if as_json else out) == ""


def test_a_specimen_with_an_unknown_key_names_line_column_and_the_nearest(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "part.yaml"
    file.write_text("title: a part\nfaults:\n  coil_opem: true\n")
    code, _, err = answer(capsys, *ON_VIRTUAL, "--specimen", str(file))
    assert code == 2
    assert f"{file}:3:3" in err
    assert "coil_open" in err


def test_a_specimen_that_cannot_be_read_is_a_sentence(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "part.yaml"
    file.write_bytes(b"\x00\xff\xfe")
    code, _, err = answer(capsys, *ON_VIRTUAL, "--specimen", str(file))
    assert code == 2
    assert str(file) in err


def test_a_specimen_for_a_real_board_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = answer(capsys, "test", "--specimen", SOUND, "--store", ":memory:")
    assert code == 2
    assert "--board virtual" in err


def test_ctrl_c_before_the_run_is_code_3(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(boards, "open_socket", interrupted)
    code, out, err = answer(capsys, *ON_VIRTUAL)
    assert (code, out, err) == (3, "", "pulldrop: Interrupted.\n")


def test_a_store_that_cannot_be_opened_is_code_2(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, _, err = answer(capsys, "test", "--board", "virtual", "--store", str(tmp_path / "no" / "x.db"))
    assert code == 2
    assert "no folder" in err


def test_a_fault_of_pulldrop_itself_is_no_traceback_and_says_nothing_of_the_part(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("planted")

    monkeypatch.setattr("pulldrop.jobs.run.by_look.run_one", broken)
    code, _, err = answer(capsys, *ON_VIRTUAL)
    assert code == 4
    assert "says nothing about the part" in err
    assert "Traceback" not in err


def real(monkeypatch: pytest.MonkeyPatch, specimen: str) -> None:
    """From now on this part lies in a socket that counts as real."""

    @contextmanager
    def opened(*_: object) -> Iterator[boards.Opened]:
        with VirtualBoard(specimens.find(specimen).specimen, seed=1) as board:
            board.identity = board.identity.model_copy(update={"kind": "real"})
            yield boards.Opened(board)

    monkeypatch.setattr(boards, "open_socket", opened)


@pytest.mark.parametrize(
    ("specimen", "more", "protocol", "rating"),
    [
        (SOUND, (), "relay-quick", "class-mini-12v-form-c"),
        ("good-12v-normally-open", ("--protocol", "relay-screen"), "relay-screen", "class-mini-12v-form-a"),
        ("good-24v-changeover", (), "relay-quick", "class-mini-24v-form-c"),
        (SOUND, ("--rating", "te-k-12v-form-c"), "relay-quick", "te-k-12v-form-c"),
    ],
)
def test_a_real_part_is_tested_against_the_class_that_is_seen_where_none_is_named(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, specimen: str, more: tuple[str, ...],
    protocol: str, rating: str,
) -> None:  # fmt: skip
    real(monkeypatch, specimen)
    code, out, err = answer(capsys, "test", *more, "--json", "--store", ":memory:")
    told = json.loads(out)["plan"]
    assert (code, err, told["protocol"], told["rating"]["rating"]) == (0, "", protocol, rating)


@pytest.mark.parametrize(
    ("specimen", "more", "code", "says"),
    [
        (SOUND, ("--no-look",), 2, "Name its rating with --rating"),
        ("welded-no", (), 2, "looks like one for class-mini-12v-form-a, but that is not certain. Name its rating"),
        ("open-coil", (), 2, "Name its rating with --rating"),
        ("exchanged-layout", (), 3, "Nothing was tested: blades 30 and 86 have changed places"),
        ("shorted-coil", (), 3, "Finding: coil or its suppression shorted"),
        (SOUND, ("--explain", "flyback_peak"), 2, "relay-quick does not measure 'flyback_peak'"),
    ],
)
def test_a_real_part_of_which_the_look_is_not_sure_is_not_tested_by_a_guess(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, specimen: str, more: tuple[str, ...],
    code: int, says: str,
) -> None:  # fmt: skip
    real(monkeypatch, specimen)
    ended, out, err = answer(capsys, "test", *more, "--store", ":memory:")
    assert (ended, out) == (code, "") and says in joined(err)


def test_a_real_part_that_is_refused_is_kept_once_its_rating_is_named_and_says_so_before(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    real(monkeypatch, "shorted-coil")
    kept = ("--store", str(tmp_path / "history.db"))
    code, _, err = answer(capsys, "test", "--part", "K7", *kept)
    assert code == 3 and "It leaves no record: only a rating says" in joined(err)
    assert "K7" not in answer(capsys, "parts", "find", "K7", *kept)[1]
    code, _, err = answer(capsys, "test", "--part", "K7", "--rating", "class-mini-12v-form-c", *kept)
    assert code == 3 and "no record" not in joined(err)
    found = answer(capsys, "parts", "find", "K7", *kept)
    assert found[0] == 0 and "do not energise" in found[1]


def test_a_real_part_is_never_called_simulated_and_cautions_come_first(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    real(monkeypatch, SOUND)
    _, out, _ = answer(capsys, "test", "--store", ":memory:")
    assert "SIMULATED" not in out
    assert out.index("Caution") < out.index("emergency stop") < out.index("step 1")


# --- bare board ---

ON_BARE = ("test", "--board", "virtual-bare", "--store", ":memory:")


@pytest.mark.parametrize("specimen", [SOUND, "good-24v-changeover", "good-12v-normally-open"])
def test_a_sound_relay_on_a_bare_board_is_checked_without_load_and_code_3(
    capsys: pytest.CaptureFixture[str], specimen: str
) -> None:
    ended, out, err = answer(capsys, *ON_BARE, "--specimen", specimen)
    assert ended == 3
    assert re.search(r"\] CHECKED WITHOUT LOAD   part \w{5}\b", out)
    assert "PASS" not in out
    assert err == ""


@pytest.mark.parametrize("specimen", ["open-coil", "welded-no", "shorted-turns"])
def test_a_bare_board_finds_what_shows_without_load(capsys: pytest.CaptureFixture[str], specimen: str) -> None:
    ended, out, _ = answer(capsys, *ON_BARE, "--specimen", specimen)
    assert ended == 1
    assert re.search(r"\] FAIL   part \w{5}\b", out)


def test_a_burnt_contact_that_clicks_is_no_pass_on_a_bare_board(capsys: pytest.CaptureFixture[str]) -> None:
    ended, out, _ = answer(capsys, *ON_BARE, "--specimen", "burnt-no")
    assert ended == 3
    assert "may still carry nothing" in joined(out)


def test_a_loaded_protocol_on_a_bare_board_is_not_tested_with_the_reason_and_code_3(
    capsys: pytest.CaptureFixture[str],
) -> None:
    ended, out, err = answer(capsys, *ON_BARE, "--protocol", "relay-full")
    assert ended == 3
    assert re.search(r"\] INCOMPLETE   part \w{5}\b", out)
    assert "this is a bare board, without coil supply and load; the protocol relay-bare suits it" in joined(out)
    assert err == ""


def test_a_bare_protocol_on_a_full_board_is_never_a_pass_either(capsys: pytest.CaptureFixture[str]) -> None:
    ended, out, _ = answer(capsys, *ON_VIRTUAL, "--specimen", SOUND, "--protocol", "relay-bare")
    assert ended == 3
    assert re.search(r"\] CHECKED WITHOUT LOAD   part \w{5}\b", out)
