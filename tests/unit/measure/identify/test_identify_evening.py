"""What an evening build finds out of a part before it is energised, and what it says that it cannot."""

import pytest

from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.cli.main import main
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.identify import identify
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.part.identification import Identification


def identified(name: str, operate: bool = False) -> tuple[Identification, float]:
    """With the most volts that the coil got."""
    board, volts = EveningBoard(specimens.find(name).specimen, 5), [0.0]
    drive = board.plant.drive

    def noted(pins: object) -> None:
        drive(pins)  # type: ignore[arg-type]
        volts.append(board.plant.coil_supply_v if board.plant.pins.coil else 0.0)

    board.plant.drive = noted  # type: ignore[method-assign,assignment]
    return identify(board, nominal(5, "evening"), operate), max(volts)


@pytest.mark.parametrize(("name", "volts"), [("good-12v-changeover", 12.0), ("good-24v-changeover", 24.0)])
def test_a_sound_part_is_known_by_ohms_and_closed_throws(name: str, volts: float) -> None:
    found, most_v = identified(name)
    assert (found.layout, found.winding, found.volts, found.forms[0]) == ("usual", "whole", volts, "C")
    assert found.protocol == "relay-quick" and str(round(volts)) in found.rating and not found.refuse
    assert any("a coil on other blades" in one.text for one in found.cannot_know)
    assert most_v < 4


def test_operated_once_its_form_is_sure_and_one_of_24_v_is_not_operated() -> None:
    assert identified("good-12v-changeover", operate=True)[0].said("form").sure == "sure"  # type: ignore[union-attr]
    found, most_v = identified("good-24v-changeover", operate=True)
    assert found.volts == 24.0 and most_v < 4


@pytest.mark.parametrize(
    ("name", "told"),
    [("shorted-coil", "shorted"), ("reversed-diode", "the wrong way round"), ("open-coil", "")],
)
def test_what_must_not_be_energised_is_refused_at_a_few_ma(name: str, told: str) -> None:
    found, most_v = identified(name, operate=True)
    assert told in found.refuse and found.volts is None and not found.rating and most_v < 5
    assert name != "open-coil" or found.winding == "open"


def test_an_empty_socket_is_empty() -> None:
    board = EveningBoard(specimens.empty_socket().specimen, 5)
    assert identify(board, nominal(5, "evening")).empty


def test_the_command_says_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["identify", "--board", "virtual-evening", "--specimen", "good-12v-changeover"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert out.startswith("SIMULATED") and "count the blades and read the print" in out
