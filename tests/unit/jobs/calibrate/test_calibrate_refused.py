"""Readings that cannot be, things forgotten or left out, a bench at fault: refused, noticed, or left as assumed."""

import re

import pytest
from broken_bench.boards import BrokenBoard
from broken_bench.latent import Latent
from calibrated import calibrate_virtual
from gains import u_gain
from test_calibrate import Answer, _id, answered, of

from pulldrop.board.errors import BoardError
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.calibrate.dialogue import NothingRead, walk
from pulldrop.jobs.calibrate.virtual import CalibratingHand, calibrate_board
from pulldrop.jobs.self_test.talk import Do, Refusal, Turn
from pulldrop.model.bench.calibration import nominal
from pulldrop.plant.bench import instruments
from pulldrop.plant.bench.instruments import Garage

WRONG = {
    "thermometer": (75.0, "expected .* degC", "ten minutes"),
    "volts": (14.2, "expected", "range, polarity"),
    "low_side": (44.0, "expected", "not millivolts"),
    "resistor_ohm": (10.0, "60 ohm to 220 ohm", "Use one between"),
    "meter_counts": (3.0, "1000 to", "leaflet"),
}


@pytest.mark.parametrize("id", WRONG)
def test_an_implausible_reading_is_refused_with_what_was_read_expected_and_to_do(id: str) -> None:
    given, expected, advice = WRONG[id]
    once = [given]
    record, refused = answered(lambda hand, turn: once.pop() if once and _id(turn) == id else hand(turn))
    assert len(refused) == 1
    assert refused[0].startswith(f"Read {given:g}")
    assert re.search(expected, refused[0]) and advice in refused[0]
    assert record.refused == tuple(refused), "what was refused is kept with the record"
    assert of(record.calibration) == pytest.approx(of(calibrate_virtual(5)), rel=0.02)


def test_a_resistor_that_is_not_the_one_named_is_refused() -> None:
    said = [120.0, 0.1]  # ohm, percent
    turns: list[str] = []

    def lie(hand: Answer, turn: Turn) -> float | None:
        turns.append(_id(turn))
        if _id(turn) == "resistor_ohm":
            return said[0]
        if turns.count("coil_resistor") > 1:
            raise _Enough
        return hand(turn)

    with pytest.raises(_Enough):
        answered(lie)


@pytest.mark.parametrize(("what", "sentence"), [
    ("coil_resistor", "does not reach both terminals"),
    ("link", "seen open"),
    ("contact_resistor", "does not close 30 and 87"),
])  # fmt: skip
def test_what_was_not_put_into_the_socket_is_noticed(what: str, sentence: str) -> None:
    forgotten = [what]

    def forget(hand: Answer, turn: Turn) -> float | None:
        if isinstance(turn, Do) and turn.id in forgotten:
            forgotten.clear()
            return hand(Do("empty", ""))
        return hand(turn)

    _, refused = answered(forget)
    assert len(refused) == 1 and sentence in refused[0]


def test_a_coil_left_in_the_socket_is_noticed_before_it_spoils_the_volts() -> None:
    forgotten = ["empty"]

    def forget(hand: Answer, turn: Turn) -> float | None:
        if isinstance(turn, Do) and forgotten:
            forgotten.clear()
            return hand(Do("coil_resistor", ""))
        if isinstance(turn, Refusal) and "Take the part out" in turn.text:
            hand(Do("empty", ""))
        return hand(turn)

    _, refused = answered(forget)
    assert any("should be empty" in one for one in refused)


LEFT = {"thermometer": "temperature", "volts": "coil volts", "resistor_ohm": "coil amps", "low_side": "low side",
        "contact_resistor_ohm": "contact drop"}  # fmt: skip


@pytest.mark.parametrize("id", LEFT)
def test_what_is_left_out_stays_as_the_data_sheets_say_and_is_told(id: str) -> None:
    record, _ = answered(lambda hand, turn: None if _id(turn) == id else hand(turn))
    assert [one.split(":")[0] for one in record.left_out] == [LEFT[id]]
    base, now = nominal(5), record.calibration
    same = {
        "thermometer": now.u_temperature_k == pytest.approx(base.u_temperature_k),
        "volts": now.coil_bus.gain == base.coil_bus.gain,
        "resistor_ohm": u_gain(now.coil_shunt) == pytest.approx(u_gain(base.coil_shunt)),
        "low_side": now.u_low_side_ohm == pytest.approx(base.u_low_side_ohm),
        "contact_resistor_ohm": now.load.gain == pytest.approx(base.load.gain),
    }
    assert same[id]


def test_a_link_in_the_wrong_throw_is_noticed() -> None:
    forgotten = ["link_nc"]

    def forget(hand: Answer, turn: Turn) -> float | None:
        return forgotten.clear() if _id(turn) in forgotten else hand(turn)

    record, refused = answered(forget)
    assert len(refused) == 1 and "30 and 87a are seen open" in refused[0]
    assert record.observed.links is not None


def test_a_dirty_clip_is_refused_until_it_is_clean() -> None:
    dirty = [True]

    def clean(hand: Answer, turn: Turn) -> float | None:
        if isinstance(turn, Do) and turn.id == "link" and dirty:
            dirty.clear()
            return hand(Do("contact_resistor", ""))
        return hand(turn)

    _, refused = answered(clean)
    assert len(refused) == 1 and "Clean blades and clips" in refused[0]


def test_when_everything_is_left_out_nothing_is_a_calibration() -> None:
    with pytest.raises(NothingRead, match="nothing was kept"):
        answered(lambda hand, turn: 0.0 if _id(turn) in ("link", "stop_test") else None)


def test_everything_is_off_when_the_person_walks_away() -> None:
    with VirtualBoard(instruments.empty(), 5) as board:
        hand = CalibratingHand(board, Garage(5), 0.1)
        dialogue = walk(board, board.elapsed)
        turn = next(dialogue)
        while _id(turn) != "volts":
            turn = dialogue.send(hand(turn))
        assert board.status().on
        dialogue.close()
        assert not board.status().on


class _Enough(Exception):
    pass


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (Latent(branches=4), "Q12 to Q15"),
        (Latent(throws=2), "Q17"),
        (Latent(limiter=True), "U8"),
        (Latent(k1=True), "K1 is welded"),
        (Latent(poles=frozenset({"coil"})), "pole a"),
    ],
)
def test_a_bench_with_a_latent_fault_is_not_calibrated_and_says_what_failed(fault: Latent, said: str) -> None:
    with BrokenBoard(instruments.empty(), 5) as board, pytest.raises(BoardError, match="not safe to use") as refused:
        board.plant.latent = fault
        calibrate_board(board, 5)
    assert said in str(refused.value)
