"""`pulldrop waveform` marks what was captured elsewhere, holds it against a rating, and gives no verdict."""

import json
from pathlib import Path

import pytest
from waves import wave

from pulldrop.cli.main import main
from pulldrop.text.waveform import Waveform

SHEET = "hongfa-hfv4-12v-form-c"


def written(folder: Path, name: str, made: Waveform, remark: str = "depot, invented") -> str:
    rows = zip(made.seconds, made.amps or (), made.no or (), made.nc or (), strict=True)
    lines = [f"{t:.7f},{a:.6f},{int(no)},{int(nc)}" for t, a, no, nc in rows]
    (folder / name).write_text("\n".join((f"# {remark}", "time_s,coil_a,no,nc", *lines)))
    return str(folder / name)


def ask(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    code = main(["waveform", *words])
    out = capsys.readouterr()
    return code, out.out + out.err


def test_it_says_where_it_comes_from_and_neither_simulated_nor_pass(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    files = written(tmp_path, "on.csv", wave(True)), written(tmp_path, "off.csv", wave(False))
    code, said = ask(capsys, files[0], "--release", files[1], "--coil", "12 V", "--rating", SHEET)
    assert code == 0
    assert "FROM OUTSIDE, UNVERIFIED: captured elsewhere" in said
    assert "depot, invented" in said and "No verdict" in said
    assert "SIMULATED" not in said and "PASS" not in said


def test_a_time_beyond_the_makers_limit_answers_1(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    made = wave(True)
    late = Waveform(made.file, tuple(2 * at for at in made.seconds), made.amps, made.no, made.nc, ())
    code, said = ask(capsys, written(tmp_path, "on.csv", late), "--coil", "12 V", "--rating", SHEET, "--json")
    answer = json.loads(said)
    assert code == 1
    assert next(one["outcome"] for one in answer["judged"] if one["id"] == "operate_time") == "fail"
    assert answer["origin"] == "from outside, unverified" and "simulated" not in answer


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--coil", "13.5 V", "--rating", SHEET), "hold at 12 V. Capture it at those, or leave --rating out"),
        (("--coil", "13.5"), "'13.5' has no unit"),
        (("--coil", "0 V"), "are no volts of a coil"),
        (("--coil", "12 V", "--release", "nowhere.csv"), "nowhere.csv: cannot be read"),
        (("--coil", "12 V", "--rating", "nosuch"), "nosuch"),
    ],
)
def test_wrong_use_is_said_in_a_sentence(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, words: tuple[str, ...], says: str
) -> None:
    code, said = ask(capsys, written(tmp_path, "on.csv", wave(True)), *words)
    assert code == 2 and says in said


def test_without_a_rating_nothing_is_held_against_a_limit(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, said = ask(capsys, written(tmp_path, "on.csv", wave(True)), "--coil", "13.5 V", "--json")
    assert code == 0
    assert {one["outcome"] for one in json.loads(said)["judged"]} == {"noted"}
