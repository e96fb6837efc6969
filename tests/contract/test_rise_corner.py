"""Every number of pulses close upon each other that a protocol may ask for is given, at its longest, by every board,
with a converter as slow as its data sheet allows."""

from collections.abc import Callable

import pytest
from orders import on
from pydantic import ValidationError

from pulldrop.board.contract import Board
from pulldrop.board.virtual import board as virtual
from pulldrop.emulator import i2c_parts
from pulldrop.measure.rig.counts.ranges import FINEST
from pulldrop.measure.steps.contacts.rise import asked
from pulldrop.model.steps.contacts.rise import RiseStep

SLOW = 0.9
"""Of 860 conversions a second: 10 % less (ADS1115 data sheet, output data rate)."""
CONVERSION_S = 1 / 860


def longest(pulses: int) -> RiseStep:
    """The step with the longest pulses that a protocol may ask for."""
    for ms in range(200, 10, -1):
        try:
            asks = {"measure": "rise", "coil": "12 V", "load": "1 A", "pulses": pulses, "pulse": f"{ms} ms"}
            return RiseStep.model_validate(asks)
        except ValidationError:
            continue
    raise AssertionError("no length is taken")


ALL, SOME = ((3, 10), (4, 5), (6, 8)), ((3, 10),)


@pytest.mark.parametrize(
    ("kind", "counts"),
    [("virtual", ALL), ("emulated", SOME), ("virtual-evening", ALL), ("emulated-evening", SOME)],
)
def test_the_longest_pulses_that_a_protocol_may_ask_for_are_all_given(
    open_board: Callable[[str], Board], kind: str, counts: tuple[tuple[int, ...], ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two numbers of pulses in any 10 s, which hold a second of load."""
    *others, fastest = i2c_parts.Ads1115.RATES
    monkeypatch.setattr(i2c_parts.Ads1115, "RATES", (*others, SLOW * fastest))
    monkeypatch.setattr(virtual, "ADS_S", virtual.ADS_S + CONVERSION_S * (1 / SLOW - 1))
    board = open_board(kind)
    for pair in counts:
        board.wait(10.3)
        for pulses in pair:
            board.hold_coil(on(board, on_ms=1500))
            board.wait(0.03)
            step = longest(pulses).model_copy(update={"load": board.identity.able.loads_a[0]})
            for _ in range(pulses):
                board.load_pulse(asked(step, FINEST))
            board.off()
            board.wait(1.0)


@pytest.mark.parametrize(("pulses", "ms"), [(3, 150), (6, 70), (10, 38)])
def test_what_may_be_asked_for_is_not_much_less_than_the_board_gives(pulses: int, ms: int) -> None:
    assert longest(pulses).pulse == pytest.approx(ms / 1000)
