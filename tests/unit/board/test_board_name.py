"""`pulldrop board name` and `bare`: a number that will do, nothing lost unasked, no board that becomes real by it."""

import io
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import records
from scripted_port import GREETING, ScriptedPort, opened, talk

from pulldrop.board.contract import Board
from pulldrop.board.errors import BoardError
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.main import main
from pulldrop.jobs.calibrate.virtual import calibrate_board
from pulldrop.jobs.run import boards
from pulldrop.jobs.self_test.naming import BadNumber, check_number
from pulldrop.plant.bench import instruments
from pulldrop.store import Store
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result


def greeting(serial: int, kind: int = 0x52) -> tuple[object, ...]:
    return (*GREETING[:2], serial, kind, *GREETING[4:])


def script(serial: int = 42, kind: int = 0x52) -> ScriptedPort:
    """A board of that number, greeted."""
    port = ScriptedPort(greeted=False).host(wire.GREET).greets(*greeting(serial, kind))
    return port.host(wire.SENSE_ANALOG, 2).board(8360)


def named(port: ScriptedPort, serial: int, kind: int = 0x52) -> ScriptedPort:
    """It takes the number and greets by it."""
    return port.host(wire.NAME_BOARD, serial).board().host(wire.GREET).board(*greeting(serial, kind))


@pytest.fixture
def store(tmp_path: Path) -> str:
    return str(tmp_path / "depot.db")


def run(
    monkeypatch: pytest.MonkeyPatch, port: ScriptedPort, *arguments: str, typed: str = "", command: str = "name"
) -> int:
    """The command at that board; every step of the script must happen."""

    @contextmanager
    def open_board(*_: object) -> Iterator[Board]:
        with opened(port) as board:
            yield board

    monkeypatch.setattr(boards, "open_board", open_board)
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    code = main(["board", command, *arguments])
    port.finish()
    return code


@pytest.mark.parametrize("number", [0, -1, 1_000_000, 2**32 - 1, 2**40])
def test_a_number_that_no_board_can_have_is_refused_before_any_board_is_opened(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    monkeypatch.setattr(boards, "open_board", None)
    assert main(["board", "name", "--yes", "--", str(number)]) == 2
    assert f"{number} cannot be a board's number; it must be 1 to 999999" in capsys.readouterr().err


@pytest.mark.parametrize("number", [1, 999_999])
def test_numbers_that_go_on_a_label_will_do(number: int) -> None:
    check_number(number)
    with pytest.raises(BadNumber):
        check_number(number + 999_999)


def test_a_board_never_named_takes_its_number_without_a_question(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: str
) -> None:
    port = named(script(serial=0), 17).status().closing()
    assert run(monkeypatch, port, "17", "--store", store) == 0
    assert "real, number 17" in capsys.readouterr().out


@pytest.mark.parametrize(("typed", "code"), [("y\n", 0), ("n\n", 3), ("", 3)])
def test_a_board_with_a_number_is_renamed_only_after_a_yes(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: str, typed: str, code: int
) -> None:
    port = named(script(), 17).status().closing() if code == 0 else script().closing()
    assert run(monkeypatch, port, "17", "--store", store, typed=typed) == code
    said = " ".join(capsys.readouterr().out.split())
    assert "This board is number 42. Calibrations of number 42" in said
    assert "will no longer apply to it. Calibrate it as number 17." in said


def test_a_script_says_yes_beforehand_and_reads_json(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: str
) -> None:
    port = named(script(), 17).status().closing()
    assert run(monkeypatch, port, "17", "--yes", "--json", "--store", store) == 0
    told = capsys.readouterr()
    assert json.loads(told.out)["board"]["serial"] == 17
    assert "no longer apply" in " ".join(told.err.split())


def test_the_number_that_it_has_already_is_not_written_again(monkeypatch: pytest.MonkeyPatch, store: str) -> None:
    assert run(monkeypatch, script().status().closing(), "42", "--store", store) == 0


def test_a_number_under_which_the_store_knows_a_board_asks_first(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: str
) -> None:
    with VirtualBoard(instruments.empty(), 5) as board:
        record = calibrate_board(board, 5)
    own = record.calibration.model_copy(update={"board_serial": 17, "simulated": False})
    with Store.open(store) as history:
        history.add_calibration(record.model_copy(update={"calibration": own, "board": records.board("real")}))
    assert run(monkeypatch, script(serial=0).closing(), "17", "--store", store, typed="n\n") == 3
    assert "The store has a calibration of a board 17" in " ".join(capsys.readouterr().out.split())
    assert run(monkeypatch, named(script(serial=0), 18).status().closing(), "18", "--store", store) == 0


def test_a_simulated_board_stays_simulated(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, store: str
) -> None:
    port = named(script(53, 0x53), 17, 0x53).status().closing()
    assert run(monkeypatch, port, "17", "--yes", "--store", store) == 0
    assert "SIMULATED" in capsys.readouterr().out


def test_a_virtual_boards_number_is_its_seed(capsys: pytest.CaptureFixture[str], store: str) -> None:
    assert main(["board", "name", "17", "--board", "virtual", "--store", store]) == 2
    assert "--seed" in capsys.readouterr().err


def test_a_board_that_greets_by_another_number_afterwards_is_trouble() -> None:
    port = script().host(wire.NAME_BOARD, 17).board().host(wire.GREET).board(*greeting(42)).closing()
    with pytest.raises(BoardError, match="given the number 17 and greets as number 42"):
        talk(port, lambda board: board.name(17))
    port.finish()


@pytest.mark.parametrize(("typed", "code"), [("n\n", 3), ("y\n", 0)])
def test_a_board_is_made_bare_when_a_person_says_that_nothing_else_is_wired(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], typed: str, code: int
) -> None:
    port = script()
    if code == 0:
        port.host(wire.MAKE_BARE, 0xBA5E).board()
    assert run(monkeypatch, port.closing(), command="bare", typed=typed) == code
    told = " ".join(capsys.readouterr().out.split())
    assert ("plug it in again" if code == 0 else "Nothing was written") in told


def test_a_board_whose_parts_answer_is_not_made_bare(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    port = script().host(wire.MAKE_BARE, 0xBA5E).refuses(Result.BUILD).closing()
    assert run(monkeypatch, port, "--yes", command="bare") == 4
    assert "stays a full one: a part on its bus answers" in " ".join(capsys.readouterr().err.split())
