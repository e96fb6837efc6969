"""An evening board with a module missing or at another address: the self-test of the compiled firmware names it."""

import pytest

from pulldrop.board.errors import Refused
from pulldrop.board.request_types import Branch, Pulse
from pulldrop.board.serial import SerialBoard
from pulldrop.cli.main import main
from pulldrop.emulator import evening
from pulldrop.emulator.evening import EveningMachine, EveningPort
from pulldrop.emulator.i2c_parts import ADS1115, EVENING_ADS1115, INA226, Ads1115, Ina226
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import self_test
from pulldrop.measure.self_test.check import Check
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import Contact

EMPTY = specimens.empty_socket().text


def fitted(contacts: int = EVENING_ADS1115, coil: int = INA226) -> EveningPort:
    """A board with the modules at these addresses; 0: not there."""

    class Fitted(EveningMachine):
        def _fit_parts(self) -> None:
            if contacts:
                self.parts[contacts] = Ads1115(self.chip, 0, contacts)
            if coil == INA226:
                self.parts[INA226] = Ina226(self.chip, 1)

    class Port(EveningPort):
        MACHINE = Fitted

    return Port(EMPTY, 7)


def checks(contacts: int = EVENING_ADS1115, coil: int = INA226) -> dict[str, Check]:
    """Of the self-test."""
    with fitted(contacts, coil) as port, SerialBoard(port, "the emulator", port.clock, port.sleep) as board:
        return {check.title: check for check in self_test(board, nominal(0, board.identity.build))}


def test_a_sound_evening_board_is_well() -> None:
    found = checks()
    assert {title: check.found for title, check in found.items() if check.state != "ok"} == {}
    assert "coil supply" in found and "evening build" in found["greeting"].found


def test_an_evening_board_without_its_current_meter_names_it() -> None:
    found = checks(coil=0)
    assert "evening build" in found["greeting"].found and "coil supply" not in found
    assert found["I2C bus"].state == "wrong" and "INA226 module does not answer at 0x40" in found["I2C bus"].found


@pytest.mark.parametrize("contacts", [0, ADS1115])
def test_an_evening_board_whose_converter_is_missing_or_elsewhere_says_where_it_should_be(contacts: int) -> None:
    """It takes itself for a full bench that is not finished, and is not well."""
    found = checks(contacts=contacts)
    assert "full build" in found["greeting"].found and "ADDR is at SCL" in found["I2C bus"].found
    assert any(check.state == "wrong" for check in found.values())
    assert found["coil supply"].state == "not done"


@pytest.mark.parametrize("branch", [Branch.A1, Branch.A10])
def test_an_evening_board_that_greets_as_full_loads_nothing(branch: Branch) -> None:
    """The wire from ADDR to SCL is off, and the module's own resistor takes it to ground: 0x48. R56 is before no
    branch there, so 1 A would be 10."""
    with fitted(ADS1115) as port, SerialBoard(port, "the emulator", port.clock, port.sleep) as board:
        assert board.identity.build == "full"
        with pytest.raises(Refused):
            board.load_pulse(Pulse(Contact.NO, branch, settle_ms=4, samples=2, limit_ms=60))


@pytest.mark.parametrize("missing", ["contacts", "coil"])
def test_a_test_without_one_of_its_modules_ends_as_bench_trouble_and_says_where_to_look(
    missing: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    there = {"contacts": EVENING_ADS1115, "coil": INA226} | {missing: 0}
    monkeypatch.setattr(evening, "EveningPort", lambda text, seed: fitted(**there))
    part = ("--specimen", "good-12v-changeover")
    assert main(["test", "--board", "emulated-evening", "--store", ":memory:", *part]) == 4
    told = capsys.readouterr()
    said = " ".join((told.out + told.err).split())
    assert "did not answer in time" in said and "pulldrop board self-test" in said and "PASS" not in said
