"""`pulldrop calibrate`: what a person sees, types and gets; and that simulated benches say so."""

import io
import json
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import jsonschema
import pytest
from rich.console import Console

from pulldrop.board.contract import Board
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.ask import answered
from pulldrop.cli.ask import dialogue as ask
from pulldrop.cli.main import main
from pulldrop.jobs.calibrate import dialogue
from pulldrop.jobs.run import boards
from pulldrop.model.wording.cautions import BEFORE_CALIBRATION
from pulldrop.plant.bench import instruments


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(list(arguments))
    told = capsys.readouterr()
    return code, told.out, told.err


def real(monkeypatch: pytest.MonkeyPatch, typed: str) -> None:
    """A board that says it is real, and a person who types."""

    @contextmanager
    def opened(*_: object) -> Iterator[Board]:
        with VirtualBoard(instruments.empty(), seed=5) as board:
            board.identity = board.identity.model_copy(update={"kind": "real", "serial": 7})
            yield board

    monkeypatch.setattr(boards, "open_board", opened)
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))


@pytest.fixture
def store(tmp_path: Path) -> str:
    return str(tmp_path / "depot.db")


def test_a_virtual_bench_walks_through_by_itself_and_says_simulated(
    capsys: pytest.CaptureFixture[str], store: str
) -> None:
    code, out, _ = answer(capsys, "calibrate", "--board", "virtual", "--seed", "5", "--store", store)
    assert code == 0
    assert out.startswith(" SIMULATED (virtual board)")
    assert [int(n) for n in re.findall(r"\[(\d) of 8\]", out)] == [1, 2, 3, 4, 5, 6, 7, 8]
    assert re.search(r"coil resistance +85\.0\d* ohm \+-0\.\d+ +85\.0\d* ohm \+-0\.\d+", out), "in one unit"
    assert "Good until" in out


def test_the_next_test_of_that_bench_is_calibrated_and_of_another_is_not(
    capsys: pytest.CaptureFixture[str], store: str
) -> None:
    answer(capsys, "calibrate", "--board", "virtual", "--seed", "5", "--store", store)
    same = answer(capsys, "test", "-v", "--board", "virtual", "--seed", "5", "--store", store)[1]
    other = answer(capsys, "test", "--board", "virtual", "--seed", "6", "--store", store)[1]
    assert "uncalibrated" not in same and re.search(r"calibrated\s+20\d\d-", same)
    assert "uncalibrated" in other and "of other boards" in " ".join(other.split())


@pytest.mark.parametrize(("arguments", "subject"), [
    (("calibrate", "--board", "virtual", "--json"), "calibration"),
    (("calibrate", "show", "--json"), "calibrations"),
    (("calibrate", "golden", "G1", "--json"), "golden"),
    (("calibrate", "study", "--part", "G1", "--part", "G2", "--json"), "study"),
])  # fmt: skip
def test_the_json_answers_keep_their_schemas(
    capsys: pytest.CaptureFixture[str], store: str, arguments: tuple[str, ...], subject: str
) -> None:
    answer(capsys, "calibrate", "--board", "virtual", "--store", store)
    for part in ("G1", "G2") * 2 if subject in ("golden", "study") else ():
        answer(capsys, "test", "--board", "virtual", "--store", store, "--part", part)
    code, out, _ = answer(capsys, *arguments, "--store", store)
    assert code == 0
    schema = json.loads(answer(capsys, "schema", subject)[1])
    jsonschema.Draft202012Validator(schema).validate(json.loads(out))


def test_a_person_may_leave_out_what_the_garage_lacks(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: str
) -> None:
    # meter: four times Enter; thermometer: accuracy, none; socket empty; three volts; no resistor, link, low resistor,
    # no emergency stop
    typed = "\n" * 4 + "\n\n" + "\n" + "{}\n{}\n{}\n" + "\n" + "0\n" + "\n" + "0\n"
    points = _true_points()
    real(monkeypatch, typed.format(f"{points[0] * 1000:.1f} mV", f"{points[1]:.2f} V", f"{points[2]:.2f}"))
    code, out, err = answer(capsys, "calibrate", "--store", store)
    assert (code, err) == (0, "")
    assert "SIMULATED" not in out
    said = " ".join(out.replace(" ! ", " ").split())
    assert all(said.index(told) < said.index("[1 of 8]") for told in BEFORE_CALIBRATION)
    for left in ("coil amps: no resistor", "contact zero: no link", "contact drop: no low resistor", "temperature"):
        assert left in " ".join(out.split())


def test_an_emulated_board_behind_a_port_says_simulated_to_whoever_calibrates_it(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: str
) -> None:
    class Behind:
        """All that is asked of it before the dialogue."""

        with VirtualBoard(instruments.empty(), seed=5) as board:
            identity = board.identity.model_copy(update={"kind": "emulated"})

    @contextmanager
    def opened(*_: object) -> Iterator[Behind]:
        yield Behind()

    def nothing(*_: object, **__: object) -> None:
        raise dialogue.NothingRead("nothing was read")

    monkeypatch.setattr(boards, "open_board", opened)
    monkeypatch.setattr(dialogue, "walk", nothing)
    code, out, _ = answer(capsys, "calibrate", "--board", "/dev/none", "--store", store)
    assert code == 2 and "SIMULATED (emulated board)" in out and "on a real bench" in out


def _true_points() -> list[float]:
    """What a perfect multimeter would show, learned from a dialogue that is cut short."""
    from pulldrop.jobs.calibrate.dialogue import walk
    from pulldrop.jobs.calibrate.virtual import GARAGE_METER, CalibratingHand
    from pulldrop.jobs.self_test.talk import Turn, converse
    from pulldrop.plant.bench.instruments import Garage

    found: list[float] = []
    with VirtualBoard(instruments.empty(), seed=5) as board:
        hand = CalibratingHand(board, Garage(None), 0.1)

        def note(turn: Turn) -> float | None:
            given = hand(turn)
            if isinstance(turn, ask.Question) and turn.id == "volts" and given is not None:
                found.append(given)
            return given

        converse(walk(board, board.elapsed, meter=GARAGE_METER), note)
    return found


@pytest.mark.parametrize(("typed", "sentence"), [
    ("\n" * 4 + "\n\n\n\n\n0\n\n", "nothing was kept"),
    ("\n\n", "the input ended"),
])  # fmt: skip
def test_a_calibration_that_comes_to_nothing_is_code_2_and_not_kept(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: str, typed: str, sentence: str
) -> None:
    real(monkeypatch, typed)
    code, _, err = answer(capsys, "calibrate", "--store", store)
    assert code == 2
    assert sentence in err
    assert "No board was calibrated yet" in answer(capsys, "calibrate", "show", "--store", store)[1]


@pytest.mark.parametrize(("typed", "unit", "value"), [
    ("5.12", "V", 5.12), ("44.8 mV", "V", 0.0448), ("100 ohm", "ohm", 100.0), ("-3", "degC", -3.0), ("0.1 %", "%", 0.1),
])  # fmt: skip
def test_a_reading_may_carry_its_unit(typed: str, unit: str, value: float) -> None:
    assert ask.number(typed, unit) == pytest.approx(value)


@pytest.mark.parametrize(("typed", "word"), [("5,12", "comma|unit"), ("5 A", "is in A"), ("nan", "no reading"),
                                              ("about five", "quantity"), ("inf", "no reading")])  # fmt: skip
def test_what_is_no_reading_is_told_in_a_sentence(typed: str, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        ask.number(typed, "V")


def test_the_bench_is_kept_on_while_a_person_reads_the_meter(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = threading.Semaphore(0)

    class Slow:
        def isatty(self) -> bool:
            return False

        def readline(self) -> str:
            for _ in range(3):
                kept.acquire()
            return "5.0\n"

    monkeypatch.setattr("sys.stdin", Slow())
    monkeypatch.setattr(answered, "KEEP_S", 0.001)
    assert answered.line(Console(file=io.StringIO()), "V:", kept.release) == "5.0\n"


def test_an_emulated_board_is_refused_with_the_reason(capsys: pytest.CaptureFixture[str], store: str) -> None:
    code, _, err = answer(capsys, "calibrate", "--board", "emulated", "--store", store)
    assert code == 2 and "no instruments beside it" in err


def test_a_golden_part_that_moved_is_told_after_the_test(capsys: pytest.CaptureFixture[str], store: str) -> None:
    bench = ("--board", "virtual", "--seed", "5", "--store", store)
    answer(capsys, "calibrate", *bench)
    answer(capsys, "test", *bench, "--part", "G1")
    assert "G1 is golden" in answer(capsys, "calibrate", "golden", "G1", "--store", store)[1]
    assert answer(capsys, "test", *bench, "--part", "G1")[2] == ""
    _, _, err = answer(capsys, "test", *bench, "--part", "G1", "--specimen", "burnt-no")
    assert "drifted" in err and "contact drop of 87 (NO)" in " ".join(err.split())


def test_a_part_that_was_never_tested_cannot_be_golden(capsys: pytest.CaptureFixture[str], store: str) -> None:
    answer(capsys, "parts", "new", "--form", "C", "--id", "G1", "--simulated", "--store", store)
    code, _, err = answer(capsys, "calibrate", "golden", "G1", "--store", store)
    assert code == 2 and "G1 was never tested" in err


def test_a_live_study_on_a_virtual_bench_tells_bench_and_parts_apart(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = answer(capsys, "calibrate", "study", "--board", "virtual", "--parts", "3", "--runs", "2", "--json")
    found = json.loads(out)
    assert code == 0 and found["simulated"] and found["calibrated"]
    coil = next(line for line in found["lines"] if line["measurement"] == "coil_resistance_20c")
    assert coil["anova"]["pv"] > 10 * coil["anova"]["ev"]
    assert coil["words"].startswith("The bench explains less than 1 %")


@pytest.mark.parametrize(("arguments", "sentence"), [
    ((), "--part"),
    (("--board", "auto"), "--board virtual"),
    (("--part", "P1"), "at least two different parts"),
    (("--part", "P1", "--part", "P2"), "at least two whole runs"),
    (("--part", "P1", "--part", "P9"), "no part 'P9'"),
])  # fmt: skip
def test_a_study_that_cannot_be_made_says_what_is_missing(
    capsys: pytest.CaptureFixture[str], store: str, arguments: tuple[str, ...], sentence: str
) -> None:
    for part in ("P1", "P2"):
        answer(capsys, "test", "--board", "virtual", "--store", store, "--part", part)
    code, _, err = answer(capsys, "calibrate", "study", *arguments, "--store", store)
    assert code == 2 and sentence in err


def test_an_evening_board_is_calibrated_by_what_it_has(capsys: pytest.CaptureFixture[str], store: str) -> None:
    assert main(["calibrate", "--board", "virtual-evening", "--store", store]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert out.startswith("SIMULATED") and "S4 at supply" in out and "at 10 A" in out and "terminal 86" in out
    assert "this build has its supply's volts alone" in out


def test_a_bare_board_is_refused_before_anything_is_asked(capsys: pytest.CaptureFixture[str], store: str) -> None:
    assert main(["calibrate", "--board", "virtual-bare", "--store", store]) == 2
    seen = capsys.readouterr()
    assert "there is nothing to calibrate" in " ".join(seen.err.split())
    assert "Multimeter" not in seen.out
