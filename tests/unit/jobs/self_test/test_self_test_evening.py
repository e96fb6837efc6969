"""The self-test of an evening build: what it can look at with an empty socket, and that it loads nothing else."""

from dataclasses import replace

import pytest

from pulldrop.board.errors import WrongSupply
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.cli.main import main
from pulldrop.jobs.calibrate.virtual import CalibratingHand
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import self_test, with_hands
from pulldrop.jobs.self_test.talk import converse
from pulldrop.measure.rig import load_supply
from pulldrop.measure.self_test.check import Check
from pulldrop.model.bench.calibration import nominal
from pulldrop.plant.bench.evening import EveningBench
from pulldrop.plant.bench.frontend import LOAD_V
from pulldrop.plant.bench.instruments import Garage
from pulldrop.plant.bench.pins import Pins

EMPTY = specimens.empty_socket().specimen


def checks(board: EveningBoard) -> dict[str, Check]:
    return {check.title: check for check in self_test(board, nominal(0, "evening"))}


@pytest.mark.parametrize("seed", range(1, 21))
def test_every_sound_bench_is_well(seed: int) -> None:
    board = EveningBoard(EMPTY, seed)
    found = checks(board)
    assert {title: check.found for title, check in found.items() if check.state != "ok"} == {}
    assert {"coil supply", "coil supply held at 0", "look at the coil", "contact converter"} <= set(found)
    assert board.plant.made_by_relay == 0


@pytest.mark.parametrize(("battery_v", "usb_v"), [(11.5, 5.25), (12.6, 4.5), (14.0, 4.5), (14.8, 4.5), (14.8, 5.25)])
def test_a_good_battery_is_taken_whatever_the_usb_port_gives(battery_v: float, usb_v: float) -> None:
    """A6 reads against the 5 V."""
    board = EveningBoard(EMPTY, None)
    front = board.plant.frontend
    board.plant.frontend = replace(front, vcc=usb_v / 5 - 1, load_supply=battery_v / LOAD_V - 1)
    assert checks(board)["load supply"].state == "ok"
    assert load_supply.there(board)


@pytest.mark.parametrize("usb_v", [4.5, 5.25])
def test_two_batteries_in_series_are_refused(usb_v: float) -> None:
    board = EveningBoard(EMPTY, None)
    board.plant.frontend = replace(board.plant.frontend, vcc=usb_v / 5 - 1, load_supply=22.0 / LOAD_V - 1)
    with pytest.raises(WrongSupply, match="look at Z1 and Q11"):
        load_supply.there(board)
    assert checks(board)["load supply"].state == "wrong"


def test_a_part_in_the_socket_is_seen_before_its_coil_gets_anything() -> None:
    board = EveningBoard(specimens.find("good-12v-changeover").specimen, 3)
    fed: list[bool] = []
    drive = board.plant.drive

    def noted(pins: Pins) -> None:
        drive(pins)
        fed.append(pins.coil and pins.lamp)

    board.plant.drive = noted  # type: ignore[method-assign]
    found = checks(board)
    assert found["coil socket"].state == "wrong" and found["coil supply"].state == "not done"
    assert not any(fed)


def test_a_main_relay_that_stays_closed_is_found() -> None:
    class Welded(type(EveningBoard(EMPTY, 3).plant)):  # type: ignore[misc]
        @property
        def coil_supply_v(self) -> float:
            return 11.8

    board = EveningBoard(EMPTY, 3)
    board.plant.__class__ = Welded
    assert checks(board)["coil supply held at 0"].state == "wrong"


def test_a_knob_at_its_left_end_is_found() -> None:
    board = EveningBoard(EMPTY, 3)
    board.plant.set_knob(0.0)
    found = checks(board)["coil supply"]
    assert found.state == "wrong" and "S4 at 'supply'" in found.expected


# --- with a link and a hand ---


class Failed(EveningBench):
    """An evening bench with something that nothing else shows."""

    shorted, cuts, relay_welded = 0, True, False

    @property
    def _throws(self) -> int:
        driven = super()._throws if self.cuts else self._arrived.throws
        return driven | self.shorted

    @property
    def _branches(self) -> int:
        return 4 if self._throws else 0

    @property
    def _load_v(self) -> float:
        fed = self._arrived.lamp and not self.stop_pressed
        return self.frontend.load_supply_v if fed or self.relay_welded else 0.0

    @property
    def coil_supply_v(self) -> float:
        return self._load_v if self.relay_welded else super().coil_supply_v


def by_hand(seed: int = 3, **failed: object) -> dict[str, Check]:
    board = EveningBoard(EMPTY, seed)
    board.plant.__class__ = Failed
    for name, value in failed.items():
        setattr(board.plant, name, value)
    made = converse(with_hands(board, nominal(0, "evening")), CalibratingHand(board, Garage(seed), 0.1))
    assert board.plant.made_by_relay == 0
    return {check.title: check for check in made}


@pytest.mark.parametrize("seed", range(1, 7))
def test_a_sound_bench_is_well_with_a_link_and_a_hand(seed: int) -> None:
    made = by_hand(seed)
    assert {title: check.found for title, check in made.items() if check.state != "ok"} == {}
    assert {"pulse limit of 30-87", "pulse limit of 30-87a", "coil supply with the stop pressed"} <= set(made)


FAILED = {
    "Q16 shorted": ({"shorted": 1}, "load through 30-87, throws off", "Q16"),
    "Q17 shorted": ({"shorted": 2}, "load through 30-87a, throws off", "Q17"),
    "pulse limit dead": ({"cuts": False}, "pulse limit of 30-87", "U8"),
    "main relay welded": ({"relay_welded": True}, "coil supply with the stop pressed", "K1 is welded"),
}


@pytest.mark.parametrize("name", FAILED)
def test_a_latent_fault_is_found_and_named(name: str) -> None:
    failed, title, told = FAILED[name]
    found = by_hand(**failed)[title]
    assert found.state == "wrong" and told in found.found


def test_the_command_asks_for_link_and_stop(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "self-test", "--board", "virtual-evening", "--link"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert out.startswith("SIMULATED") and "Press the emergency stop" in out and "cut after" in out
    assert "The board is well" in out
