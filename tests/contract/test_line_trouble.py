"""Trouble on a real serial port, with the firmware behind it: noise, silence, restarts, a cable that comes out."""

import struct
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from threading import Timer

import pytest
from serial import Serial
from served.process import Emulator

from pulldrop.board.contract import Board, Trip
from pulldrop.board.errors import BoardLost, BoardReset, NoAnswer, Tripped
from pulldrop.board.request_types import DAC_MAX, Drive, Stairs
from pulldrop.board.serial import SerialBoard, open_port
from pulldrop.measure import perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import Contact
from pulldrop.model.reading import Reading
from pulldrop.protocol.load import plan
from pulldrop.wire import codec
from pulldrop.wire import messages as wire
from pulldrop.wire.codec import Answer
from pulldrop.wire.frames import Frames, frame
from pulldrop.wire.messages import MESSAGES, Field, Message, Result

ON = Drive(dac=1843, on=True, on_ms=5000)
PATIENCE_S = 20
LONG = Stairs(Drive(dac=100, on=True, on_ms=5000), 1, 100, dwell_ms=50, watch=Contact.NO, wanted=Contact.NO)


@pytest.fixture(scope="module")
def emulator() -> Iterator[Emulator]:
    with Emulator("title: a sound 12 V changeover relay, invented for the line's troubles\n", 7) as running:
        yield running


@pytest.fixture
def fed_by_its_relay() -> Iterator[Emulator]:
    """An evening build."""
    with Emulator(
        "title: a sound 12 V changeover relay, invented for the line's troubles\n", 7, evening=True
    ) as running:
        yield running


@pytest.fixture
def board(emulator: Emulator) -> Iterator[SerialBoard]:
    with SerialBoard.open(emulator.port) as opened:
        opened.off()
        opened.acknowledge()
        yield opened


def test_a_question_damaged_on_its_way_is_asked_again(board: SerialBoard, emulator: Emulator) -> None:
    before = board.status().bad_frames
    emulator.garble(3, "in")
    assert board.sense_coil().bus >= 0
    assert board.status().bad_frames > before


def test_an_answer_damaged_on_its_way_is_asked_for_again(board: SerialBoard, emulator: Emulator) -> None:
    emulator.garble(6, "out")
    assert board.sense_coil().bus >= 0
    assert board.damaged == 1


def test_an_order_damaged_on_its_way_is_not_repeated_and_ends_the_run(board: SerialBoard, emulator: Emulator) -> None:
    emulator.garble(5, "in")
    with pytest.raises(NoAnswer, match="not repeated, so this run is over"):
        board.hold_coil(ON)
    assert not board.status().on


def test_an_order_whose_answer_is_damaged_is_undone(board: SerialBoard, emulator: Emulator) -> None:
    time.sleep(0.3)  # what the board still says of earlier requests comes first on a busy computer
    emulator.garble(5, "out")
    with pytest.raises(NoAnswer, match="and confirms it"):
        board.hold_coil(ON)
    assert not board.status().on


def test_a_host_that_falls_silent_loses_the_lease(board: SerialBoard) -> None:
    """The emulated board's time lags on a busy computer: then the host stays silent for longer."""
    board.hold_coil(Drive(dac=1843, on=True, on_ms=60_000))
    for patience in (1.2, 2.4, 4.8, 9.6):
        time.sleep(patience * wire.LEASE_MS / 1000)
        status = board.status()
        if not status.on:
            break
    assert (status.trip, status.on) == (Trip.LEASE, False)
    with pytest.raises(Tripped, match="heard nothing from the computer for 500 ms"):
        board.hold_coil(ON)


def test_a_host_that_waits_keeps_the_lease(open_board: Callable[[str], Board]) -> None:
    """In simulated time: a busy computer may keep a host from its port for longer than the lease."""
    board = open_board("emulated")
    board.hold_coil(ON)
    board.wait(0.8)
    assert board.status().on


def test_a_host_keeps_the_lease_through_a_whole_test_in_real_time(emulator: Emulator) -> None:
    """Begun again where the computer stood still for half a second: then the board rightly turns off."""
    for _ in range(4):
        with SerialBoard.open(emulator.port) as board, suppress(Tripped):
            board.acknowledge()
            found = [
                one
                for one in perform(plan("relay-quick", "class-mini-12v-form-c"), board, nominal(7))
                if isinstance(one, Reading)
            ]
            assert {one.id for one in found} >= {"pull_in_voltage", "operate_time", "contact_drop_no"}
            return
    raise AssertionError("the board heard nothing for 500 ms in each of four tests")


def test_a_board_that_restarts_at_work_ends_the_run(board: SerialBoard, emulator: Emulator) -> None:
    Timer(0.3, emulator.reset).start()
    with pytest.raises(BoardReset, match="restarted during the run"):
        board.staircase(LONG)


def test_an_order_after_a_restart_is_not_done(board: SerialBoard, emulator: Emulator) -> None:
    """It was done, 10 A for 55 ms, before the host heard of the restart."""
    board.hold_coil(ON)
    emulator.reset()
    with pytest.raises(BoardReset, match="restarted during the run"):
        board.hold_coil(ON)
    board.reopen()
    status = board.status()
    assert (status.on, status.trip, status.uptime_ms < 10_000) == (False, Trip.NONE, True)


def test_after_a_restart_a_fresh_opening_finds_everything_off(emulator: Emulator) -> None:
    with SerialBoard.open(emulator.port) as board:
        emulator.reset()
    with SerialBoard.open(emulator.port) as board:
        assert board.identity.reset_cause == "external"
        assert not board.status().on


def test_leaving_the_board_turns_it_off(emulator: Emulator) -> None:
    with pytest.raises(KeyboardInterrupt), SerialBoard.open(emulator.port) as board:
        board.hold_coil(ON)
        raise KeyboardInterrupt
    with SerialBoard.open(emulator.port) as board:
        status = board.status()
        assert (status.on, status.trip) == (False, Trip.NONE)


def test_an_evening_board_is_off_after_each_of_these(fed_by_its_relay: Emulator) -> None:
    """Its main relay opens as well: after an order that came damaged, a host that fell silent, and a restart."""
    emulator, hold = fed_by_its_relay, Drive(dac=DAC_MAX, on=True, on_ms=60_000)

    def off(board: SerialBoard) -> None:
        status = board.status()
        assert not status.on and not status.supplied

    with SerialBoard.open(emulator.port) as board:
        emulator.garble(5, "in")
        with pytest.raises(NoAnswer, match="not repeated, so this run is over"):
            board.hold_coil(hold)
        off(board)
    with SerialBoard.open(emulator.port) as board:
        board.hold_coil(hold)
        assert board.status().supplied
        for patience in (1.2, 2.4, 4.8, 9.6):
            time.sleep(patience * wire.LEASE_MS / 1000)
            if board.status().trip is Trip.LEASE:
                break
        off(board)
        board.acknowledge()
        board.hold_coil(hold)
        emulator.reset()
        with pytest.raises(BoardReset, match="restarted during the run"):
            board.hold_coil(hold)
        board.reopen()
        off(board)


def _begun(port: Serial, frames: Frames) -> int:
    """Begin as a host does; the number of the last order that the board heard."""
    greeting = _answer(port, frames, wire.GREET)
    _answer(port, frames, wire.BEGIN, greeting.number("start"))
    return greeting.number("order")


def _answer(port: Serial, frames: Frames, message: Message, *values: int) -> Answer:
    port.write(frame(codec.request(0, message, values)))
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        for one in frames.feed(port.read(64)):
            return codec.answer(one)
    raise AssertionError(f"no answer to {message.name}")


def _wrong_values() -> list[tuple[Message, Field, int]]:
    widest = {"u8": 0xFF, "u16": 0xFFFF}
    return [
        (message, field, wrong)
        for message in MESSAGES.values()
        for field in message.request
        for wrong in (field.least - 1, field.most + 1)
        if field.type in widest and 0 <= wrong <= widest[field.type]
    ]


def test_the_firmware_itself_refuses_every_value_out_of_range(emulator: Emulator) -> None:
    """The host would not send these; a faulty one might."""
    port, frames = open_port(emulator.port), Frames()
    newest = _begun(port, frames)
    for number, (message, field, wrong) in enumerate(_wrong_values(), newest + 1):
        values = [wrong if other is field else other.least for other in message.request]
        content = bytes([number % 256, message.id]) + b"".join(
            struct.pack({"u8": "<B", "u16": "<H", "u32": "<I", "i16": "<h"}[other.type], value)
            for other, value in zip(message.request, values, strict=True)
        )
        port.write(frame(content))
        found: list[bytes] = []
        until = time.monotonic() + PATIENCE_S
        while not found and time.monotonic() < until:
            found = frames.feed(port.read(64))
        assert [codec.answer(one).result for one in found] == [Result.ARGUMENT], (message.name, field.name, wrong)
    port.close()


def test_a_cable_that_comes_out_is_a_lost_board(board: Board, emulator: Emulator) -> None:
    Timer(0.3, emulator.unplug).start()
    with pytest.raises(BoardLost, match="Plug it in again"):
        board.staircase(LONG)
