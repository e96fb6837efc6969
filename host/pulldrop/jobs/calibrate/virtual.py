"""A calibration of a virtual bench by simulated instruments: the same dialogue as a person's, answered by the plant."""

from collections.abc import Callable
from datetime import UTC, datetime

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.calibrate.dialogue import walk
from pulldrop.jobs.self_test.talk import Do, Question, Turn, converse
from pulldrop.model.bench.kit import CalibrationRecord, Meter
from pulldrop.plant.bench import instruments
from pulldrop.plant.bench.instruments import Garage

GARAGE_METER = Meter(
    counts=instruments.COUNTS,
    volts_percent=instruments.VOLTS_PERCENT,
    ohms_percent=instruments.OHMS_PERCENT,
    digits=instruments.DIGITS,
)


class CalibratingHand:
    """Answers each turn at a virtual board. `resistor_percent` 0: the coil resistor is known by the multimeter only."""

    def __init__(self, board: VirtualBoard, garage: Garage, resistor_percent: float) -> None:
        self._board, self._garage, self._percent = board, garage, resistor_percent

    def __call__(self, turn: Turn) -> float | None:
        """Do what is asked, or read what is asked for."""
        if isinstance(turn, Do):
            self._put(turn.id)
        return self._read(turn) if isinstance(turn, Question) else None

    def _put(self, thing: str) -> None:
        garage = self._garage
        match thing:
            case "empty":
                self._board.insert(instruments.empty())
            case "coil_resistor":
                self._board.insert(garage.coil_resistor(self._board.plant.frontend.temperature_c))
            case "contact_resistor":
                self._board.insert(garage.contact_resistor())
            case "link":
                self._board.insert(garage.link())
            case "link_nc":
                self._board.insert(garage.link_nc())
            case "stop" | "unstop":
                self._board.open_stop(thing == "stop")

    def _read(self, ask: Question) -> float | None:
        garage, around = self._garage, self._board.plant.relay.circuit()
        answers = {
            "thermometer": garage.celsius(self._board.plant.frontend.temperature_c),
            "coil_rail": garage.volts(self._board.plant.coil_rail_v),
            "volts": garage.volts(around.plus_v - around.low_side_v),
            "low_side": garage.volts(around.low_side_v),
            "resistor_ohm": instruments.COIL_OHM,
            "resistor_percent": self._percent,
            "resistor_leads": garage.ohms(0.0),
            "resistor_measured": garage.ohms(garage.coil_ohm),
            "contact_resistor_ohm": instruments.CONTACT_OHM,
            "contact_resistor_percent": instruments.CONTACT_PERCENT,
        }
        return answers.get(ask.id, ask.default)


def calibrate_board(
    board: VirtualBoard,
    seed: int | None,
    *,
    resistor_percent: float = instruments.COIL_PERCENT,
    operator: str = "",
    told: Callable[[Turn, float | None], None] = lambda _turn, _answer: None,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> CalibrationRecord:
    """Walk through the whole dialogue at `board` with the instruments of `seed`; its socket is emptied first.

    Each turn is `told` with its answer.
    """
    hand = CalibratingHand(board, Garage(seed), resistor_percent)

    def answer(turn: Turn) -> float | None:
        given = hand(turn)
        told(turn, given)
        return given

    return converse(walk(board, board.elapsed, meter=GARAGE_METER, operator=operator, now=now), answer)
