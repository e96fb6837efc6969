"""What a line may do to the compiled firmware: a flood of requests, bytes with errors, and more than its rings hold."""

from pathlib import Path

from desk import Desk
from fake_bench import FakeBench
from test_storm import ON, Storm

from pulldrop.wire import codec, frames
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Result

SILENCE = b"\x00"
"""A delimiter: as many as you like mean nothing, so that losing some damages no frame."""


def test_a_flood_of_valid_requests_starves_nothing(fake_desk: Desk) -> None:
    """They came faster than they were answered, so the loop that serves never ended, and the watchdog restarted."""
    desk = fake_desk
    assert desk.ask(wire.HOLD_COIL, (1843, 1, 0, 0, 400, 1000)).result is Result.DONE
    asked = frames.frame(codec.request(200, wire.STATUS, ()))
    scan = desk.send(wire.SENSE_COIL)
    for _ in range(60):
        desk.machine.receive(asked * 64)
        desk.run(64 * len(asked) * 20e-6)
    assert desk.machine.restarts == 0
    assert not desk.machine.pins.coil, "its on-time is over"
    assert any(answer.sequence == scan for answer in desk.answers), "work goes on"
    desk.run(0.2)
    desk.machine.receive(SILENCE * 2)  # the byte after a gap spoils what it belongs to
    assert desk.ask(wire.STATUS).number("trip") == wire.Trip.ON_TIME


def test_a_byte_without_its_stop_bit_is_not_believed(fake_desk: Desk) -> None:
    fake_desk.machine.chip.break_byte(3)
    fake_desk.machine.receive(frames.frame(codec.request(200, wire.GREET, ())))
    fake_desk.run(0.01)
    assert fake_desk.answers == []
    assert fake_desk.ask(wire.STATUS).number("bad_frames") == 1


def test_bytes_that_come_before_the_receiver_is_on_leave_it_no_less_room(elf: Path) -> None:
    """The emulator once counted them as waiting, and a board greeted as it started was deaf for good."""
    with Desk(elf, FakeBench()) as desk:
        desk.machine.receive(SILENCE * 40)
        desk.run(0.01)
        assert desk.ask(wire.GREET).result is Result.DONE
        assert desk.machine.chip.lost == 0


def test_bytes_that_the_receiver_lost_are_noticed(elf: Path) -> None:
    """Edges of 87a keep the interrupt of the receiver waiting; it has room for two bytes and the one coming in."""
    with Desk(elf, Storm(lasts_s=1.2e-3)) as desk:
        desk.run(0.01)
        step = desk.send(wire.STEP_COIL, (*ON, 20, 100, 0))
        desk.seconds_until(lambda: desk.machine.pins.coil, 0.1)
        desk.machine.receive(SILENCE * 200)
        assert desk.answer(step).result is Result.DONE
        assert desk.machine.chip.lost > 0
        assert desk.ask(wire.STATUS).number("bad_frames") > 0


def test_bytes_that_the_ring_had_no_room_for_are_noticed(fake_desk: Desk) -> None:
    """A bus that is held takes 3 ms to give up; meanwhile more bytes come than the ring holds, which are 63."""
    fake_desk.machine.chip.hold_bus(True)
    fake_desk.send(wire.SENSE_COIL)
    fake_desk.machine.receive(SILENCE * 150)
    fake_desk.run(0.02)
    fake_desk.machine.chip.hold_bus(False)
    fake_desk.machine.receive(SILENCE * 2)
    assert fake_desk.machine.chip.lost == 0
    assert fake_desk.ask(wire.STATUS).number("bad_frames") > 0
