"""The hunted wire: levels by the battery of the same moment, delays from the moment a move was done, pulses, gaps."""

import pytest
from cab import Cab

from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.model.hunt.control import latching
from pulldrop.model.hunt.look import Side, WireLevel

SWITCH = latching("switch")


def wire(cab: Cab, side: Side = Side.HIGH) -> HuntedWire:
    made = HuntedWire(cab.read, side)
    made.settle()
    return made


@pytest.mark.parametrize(
    ("share", "level"),
    [(0.0, WireLevel.OPEN), (0.2, WireLevel.WEAK), (0.7, WireLevel.LOW), (0.85, WireLevel.ON)],
)
def test_a_level_is_a_share_of_the_battery(share: float, level: WireLevel) -> None:
    for battery in (6.2, 12.6, 25.0):
        assert wire(Cab([SWITCH], lambda _, __, v=battery: share * v, battery)).level is level


def test_a_wire_to_ground_is_live_when_it_is_grounded() -> None:
    cab = Cab([SWITCH], lambda at, _: 0.3 if at["switch"] == "on" else 12.5)
    found = wire(cab, Side.LOW)
    assert found.level is WireLevel.OPEN
    asked = found.now_s
    cab.put("switch", 1)
    assert found.after(asked, 0.5, 31.0).level is WireLevel.GROUND


def test_a_delay_counts_from_the_moment_the_move_was_done() -> None:
    began: list[float] = []

    def late(at: dict[str, str], now: float) -> float:
        if at["switch"] == "on" and not began:
            began.append(now)
        return 12.6 if began and now >= began[0] + 1.5 else 0.0

    cab = Cab([SWITCH], late)
    found = wire(cab)
    asked = found.now_s
    cab.put("switch", 1)
    look = found.after(asked, 3.5, 31.0)
    assert look.level is WireLevel.ON
    assert look.rose_s == pytest.approx(1.5, abs=0.15)


def test_a_change_before_it_was_said_to_be_done_has_no_delay() -> None:
    cab = Cab([SWITCH], lambda at, _: 12.6 if at["switch"] == "on" else 0.0)
    found = wire(cab)
    asked = found.now_s
    cab.put("switch", 1)
    for _ in range(20):
        found.poll()
    look = found.after(asked, 0.6, 31.0)
    assert (look.level, look.rose_s) == (WireLevel.ON, 0.0)


def test_it_is_watched_until_it_falls() -> None:
    cab = Cab([SWITCH], lambda at, now: 12.6 if at["switch"] == "on" or now < 12.0 else 0.0)
    found = wire(cab)
    look = found.after(found.now_s, 3.5, 31.0)
    assert look.level is WireLevel.OPEN
    assert look.fell_s is not None
    assert 11.0 < look.fell_s < 12.0
    assert found.now_s < 16.5


def test_a_flasher_is_no_edge_but_a_pulse() -> None:
    cab = Cab([SWITCH], lambda at, now: 12.6 if at["switch"] == "on" and now % 0.7 < 0.35 else 0.0)
    found = wire(cab)
    asked = found.now_s
    cab.put("switch", 1)
    assert found.after(asked, 3.5, 31.0).level is WireLevel.PULSED


def test_a_blink_shorter_than_100_ms_is_no_level() -> None:
    cab = Cab([SWITCH], lambda _, now: 12.6 if 1.0 < now < 1.05 else 0.0)
    found = wire(cab)
    assert found.after(found.now_s, 2.0, 31.0).level is WireLevel.OPEN
    assert not found.edges_since(0.2)


def test_no_delay_is_said_of_a_look_with_a_gap() -> None:
    cab = Cab([SWITCH], lambda at, _: 12.6 if at["switch"] == "on" else 0.0, losing=True)
    found = wire(cab)
    asked = found.now_s
    cab.put("switch", 1)
    look = found.after(asked, 1.0, 31.0)
    assert (look.level, look.rose_s) == (WireLevel.ON, None)
