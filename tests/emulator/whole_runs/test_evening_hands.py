"""Self-test with link and stop, and calibration, of the emulated evening build: both dialogues whole, in seconds."""

from collections.abc import Iterator
from contextlib import contextmanager
from types import SimpleNamespace
from typing import Any

from pulldrop.board.serial import SerialBoard
from pulldrop.emulator.evening import EveningPort
from pulldrop.jobs.calibrate.dialogue import walk
from pulldrop.jobs.calibrate.virtual import GARAGE_METER, CalibratingHand
from pulldrop.jobs.run import specimens
from pulldrop.jobs.self_test.bench import with_hands
from pulldrop.jobs.self_test.talk import converse
from pulldrop.model.bench.calibration import nominal
from pulldrop.plant.bench.instruments import Garage
from pulldrop.plant.specimen import Specimen

SEED = 7


@contextmanager
def at_hand() -> Iterator[tuple[EveningPort, SerialBoard, CalibratingHand]]:
    """An evening board with an empty socket, and a hand with the instruments of SEED."""
    text = specimens.empty_socket().text
    with EveningPort(text, SEED) as port, SerialBoard(port, "the emulator", port.clock, port.sleep) as board:

        def insert(specimen: Specimen) -> None:
            board.off()
            port.machine.insert(specimen)

        def open_stop(opened: bool) -> None:
            port.machine.open_stop(opened)
            port.sleep(0.05)  # the capacitor at its pin

        touched: Any = SimpleNamespace(insert=insert, open_stop=open_stop, plant=port.machine.plant)
        yield port, board, CalibratingHand(touched, Garage(SEED), 0.1)


def test_a_sound_emulated_board_is_well_with_a_link_and_a_hand() -> None:
    with at_hand() as (port, board, hand):
        made = {check.title: check for check in converse(with_hands(board, nominal(0, "evening")), hand)}
        assert port.machine.plant.made_by_relay == 0
    assert {title: check.found for title, check in made.items() if check.state != "ok"} == {}
    assert {"pulse limit of 30-87", "pulse limit of 30-87a", "coil supply with the stop pressed"} <= set(made)


def test_an_emulated_board_is_calibrated_to_what_its_parts_are() -> None:
    with at_hand() as (port, board, hand):
        made = converse(walk(board, board.elapsed, meter=GARAGE_METER), hand).calibration
        assert port.machine.plant.made_by_relay == 0
        true = port.machine.plant.frontend
    raw = nominal(0, "evening")
    ohm = raw.coil_bus.gain / (1 + true.ina_bus_gain) / (raw.coil_shunt.gain / (1 + true.ina_shunt_gain))
    off = [abs(one.coil_bus.gain / one.coil_shunt.gain / ohm - 1) for one in (made, raw)]
    assert off[0] < 0.002 < off[1]
