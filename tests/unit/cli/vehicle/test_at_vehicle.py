"""A person at a vehicle and a terminal: told what to do, asked again where the answer is none, never left waiting."""

import io

import pytest
from rich.console import Console

from pulldrop.cli.ask.at_vehicle import AtVehicle
from pulldrop.cli.input_error import InputError
from pulldrop.cli.main import main
from pulldrop.model.vehicle.lead import LeadPlace

BULB = LeadPlace(says="Now the bulb.", clips={"X2": "30"}, bulb=("30", "minus"))


@pytest.fixture
def out() -> Console:
    return Console(file=io.StringIO(), width=100)


def typed(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(text))


def told(out: Console) -> str:
    return out.file.getvalue()  # type: ignore[attr-defined,no-any-return]


def test_every_clip_is_told_with_its_colour_and_its_place(out: Console, monkeypatch: pytest.MonkeyPatch) -> None:
    typed(monkeypatch, "\n")
    AtVehicle(out, "Watch")(LeadPlace(says="Pull the relay.", clips={"X1": "plus", "X3": "85"}))
    assert "X1 (red) on the battery's plus post" in told(out) and "X3 (green) on cavity 85" in told(out)


def test_the_bulb_is_asked_about_until_the_answer_is_one(out: Console, monkeypatch: pytest.MonkeyPatch) -> None:
    typed(monkeypatch, "yes\n\nD\n")
    assert AtVehicle(out, "Watch")(BULB) == "dim"
    assert told(out).count("That is no choice.") == 2
    assert "red clip on cavity 30, its black one on the battery's minus post" in told(out)


def test_a_choice_is_a_number_of_those_that_are_there(out: Console, monkeypatch: pytest.MonkeyPatch) -> None:
    typed(monkeypatch, "0\n4\nlamps\n2\n")
    assert AtVehicle(out, "Watch").choose("Which system, V?", ("6", "12", "24")) == "12"
    assert told(out).count("Type a number from 1 to 3.") == 3


@pytest.mark.parametrize(("answer", "sure"), [("yes\n", True), ("Y\n", True), ("\n", False), ("no\n", False)])
def test_cautions_need_a_yes(answer: str, sure: bool, out: Console, monkeypatch: pytest.MonkeyPatch) -> None:
    typed(monkeypatch, answer)
    assert AtVehicle(out, "Watch").confirm("Is all of that so?") is sure


def test_an_input_that_ends_is_an_input_error(out: Console, monkeypatch: pytest.MonkeyPatch) -> None:
    typed(monkeypatch, "")
    with pytest.raises(InputError, match="the input ended"):
        AtVehicle(out, "Watch")(BULB)


def test_airbags_are_refused_at_the_first_question_before_a_board_is_looked_for(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    typed(monkeypatch, "2\n")
    assert main(["socket", "--board", "/dev/none"]) == 3
    said = capsys.readouterr().out
    assert "no clip and no reading here" in said and "Which system" not in said
