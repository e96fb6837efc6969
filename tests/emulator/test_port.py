"""The emulated board as a serial port: an unmodified pyserial client, a cable that comes out, noise on the line."""

import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import serial
from served.process import ENVIRONMENT, Emulator, Order

from pulldrop.emulator import build
from pulldrop.emulator.errors import EmulatorError
from pulldrop.plant.specimen import Specimen
from pulldrop.text.problem import BadText
from pulldrop.wire import codec, frames
from pulldrop.wire import messages as wire
from pulldrop.wire.codec import Answer
from pulldrop.wire.messages import Message, Reset, Result, Trip

GOOD = "title: 'invented: a good relay from the bus depot'"


class Client:
    """A serial client of a few lines."""

    def __init__(self, port: str) -> None:
        self.serial = serial.Serial(port, wire.BAUD, timeout=0.05)
        self.frames = frames.Frames()
        self._sequences = {False: 0, True: 0}  # of questions and of orders, as a host has them

    def ask(self, message: Message, values: tuple[int, ...] = (), within_s: float = 20.0) -> Answer | None:
        """Request and answer; None when none comes in time."""
        sequence = self._sequences[message.order] = (self._sequences[message.order] + 1) % 256
        self.serial.write(frames.frame(codec.request(sequence, message, values)))
        until = time.monotonic() + within_s
        while time.monotonic() < until:
            for content in self.frames.feed(self.serial.read(self.serial.in_waiting or 1)):
                answer = codec.answer(content)
                if (answer.message, answer.sequence) == (message, sequence):
                    return answer
        return None

    def told(self, message: Message, values: tuple[int, ...] = ()) -> Answer:
        """The answer, which must come."""
        answer = self.ask(message, values)
        assert answer is not None
        return answer

    def begin(self) -> None:
        """What a host says first to a board that has started."""
        self.told(wire.BEGIN, (self.told(wire.GREET).number("start"),))


@pytest.fixture
def emulator() -> Iterator[Emulator]:
    with Emulator(GOOD, None) as emulator:
        yield emulator


@pytest.fixture
def client(emulator: Emulator) -> Iterator[Client]:
    client = Client(emulator.port)
    yield client
    client.serial.close()


def test_the_firmware_greets_through_pyserial(client: Client) -> None:
    greeting = client.told(wire.GREET)
    assert greeting.number("schema_hash") == wire.SCHEMA_HASH
    assert greeting.number("kind") == 0x53
    assert greeting.number("reset_cause") == Reset.POWER_ON


def test_the_client_may_go_and_come_again(emulator: Emulator, client: Client) -> None:
    client.begin()
    start = client.told(wire.STATUS).number("start")
    client.told(wire.HOLD_COIL, (1843, 1, 0, 3, 60_000, 1000))
    client.serial.close()
    for patience_s in (0.7, 1.4, 2.8, 5.6):  # on a busy computer the board's time lags
        time.sleep(patience_s)
        again = Client(emulator.port)
        status = again.told(wire.STATUS)
        again.serial.close()
        if not status.number("outputs"):
            break
    assert status.number("start") == start, "the same board"
    assert Trip(status.number("trip")) is Trip.LEASE, "which heard nothing for 500 ms"
    assert status.number("outputs") == 0


def test_an_unplugged_board_is_lost_to_its_client(emulator: Emulator, client: Client) -> None:
    client.told(wire.STATUS)
    emulator.unplug()
    with pytest.raises((serial.SerialException, OSError)):
        client.ask(wire.STATUS)


def test_the_reset_button_and_a_stuck_bus_are_reached_from_outside(emulator: Emulator, client: Client) -> None:
    client.told(wire.STATUS)
    emulator.reset()
    greetings = (client.ask(wire.GREET, within_s=0.3) for _ in range(10))  # what comes before the UART is up is lost
    assert next(answer for answer in greetings if answer).number("boots") == 2
    emulator.hold_bus()
    assert client.told(wire.SENSE_COIL).result is Result.BUS


def test_the_process_ends_with_its_parent(elf: Path) -> None:
    order = Order(elf=str(elf), specimen=Specimen(title="invented"), seed=None, serial=1)
    process = subprocess.Popen(
        [sys.executable, "-m", "served"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        env=ENVIRONMENT,
    )  # fmt: skip
    assert process.stdin and process.stdout
    process.stdin.write(order.model_dump_json().encode() + b"\n")
    process.stdin.flush()
    assert b'"port":"/dev/' in process.stdout.readline()
    assert process.poll() is None
    process.stdin.close()
    assert process.wait(timeout=60) == 0
    process.stdout.close()


def test_closing_twice_is_harmless() -> None:
    emulator = Emulator(GOOD, None)
    emulator.close()
    emulator.close()


def test_a_bad_specimen_is_told_with_its_line() -> None:
    with pytest.raises(BadText, match="titel"):
        Emulator("titel: x", None)


def test_a_missing_firmware_is_told_with_what_to_do(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PULLDROP_FIRMWARE", str(tmp_path / "nothing.elf"))
    with pytest.raises(EmulatorError, match=r"nothing\.elf.*PULLDROP_FIRMWARE|PULLDROP_FIRMWARE.*nothing\.elf"):
        Emulator(GOOD, None)


def test_a_file_that_is_no_firmware_is_told_by_the_process(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "text.elf").write_text("not an ELF")
    monkeypatch.setenv("PULLDROP_FIRMWARE", str(tmp_path / "text.elf"))
    with pytest.raises(EmulatorError, match="not a firmware"):
        Emulator(GOOD, None)


def test_a_missing_compiler_is_told_with_the_line_that_installs_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(build, "user_cache_dir", lambda name: str(tmp_path))
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(EmulatorError, match="apt-get install gcc libsimavr-dev libelf-dev"):
        build.shim()


def test_a_missing_library_is_told_with_the_line_that_installs_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(build, "user_cache_dir", lambda name: str(tmp_path))
    monkeypatch.setattr(build, "LIBRARIES", ("-lsimavr-that-nobody-has",))
    with pytest.raises(EmulatorError, match="apt-get install gcc libsimavr-dev libelf-dev"):
        build.shim()
    assert not list(tmp_path.glob("*.so"))


@pytest.fixture(scope="module")
def running() -> Iterator[tuple[Emulator, Client]]:
    """One board for all that do not ask how it began. They come last, for it takes processor time while it waits."""
    with Emulator(GOOD, None) as emulator:
        client = Client(emulator.port)
        yield emulator, client
        client.serial.close()


@pytest.fixture
def begun(running: tuple[Emulator, Client]) -> tuple[Emulator, Client]:
    """That board with everything off, no trip latched, and a host that has begun."""
    client = running[1]
    client.begin()
    client.told(wire.ALL_OFF)
    if client.told(wire.STATUS).number("trip"):
        client.told(wire.ACKNOWLEDGE)
    return running


def test_a_relay_operates_through_the_port(begun: tuple[Emulator, Client]) -> None:
    _, client = begun
    done = client.told(wire.STEP_COIL, (1843, 1, 0, 3, 1000, 1000, 20, 2, 0))
    assert (done.result, done.number("before"), done.number("samples")) == (Result.DONE, 2, 200)
    edges = client.told(wire.READ_EDGES, (0,)).numbers("edges")
    first_no = next(e for e in edges if e >> 31 and not e >> 30 & 1)
    assert 0.001 < (first_no & 0x3FFFFFFF) * 0.5e-6 < 0.015
    assert client.told(wire.STATUS).number("contacts") == 1


def test_time_runs_no_faster_than_real_time(begun: tuple[Emulator, Client]) -> None:
    _, client = begun
    began, first = time.monotonic(), client.told(wire.STATUS).number("uptime_ms")
    time.sleep(0.5)
    last, ended = client.told(wire.STATUS).number("uptime_ms"), time.monotonic()
    assert (last - first) / 1000 <= ended - began + 0.03, "a lag of 20 ms may be caught up"
    assert last > first


def test_noise_towards_the_board_costs_the_frame_and_is_counted(begun: tuple[Emulator, Client]) -> None:
    emulator, client = begun
    before = client.told(wire.STATUS).number("bad_frames")
    emulator.garble(4)
    assert client.ask(wire.STATUS, within_s=0.3) is None
    assert client.told(wire.STATUS).number("bad_frames") == before + 1


def test_noise_from_the_board_is_seen_by_the_client(begun: tuple[Emulator, Client]) -> None:
    emulator, client = begun
    before, damaged = client.told(wire.STATUS).number("bad_frames"), client.frames.damaged
    emulator.garble(4, "out")
    assert client.ask(wire.STATUS, within_s=0.3) is None
    assert client.frames.damaged == damaged + 1
    assert client.told(wire.STATUS).number("bad_frames") == before


def test_the_emergency_stop_is_pressed_from_outside(begun: tuple[Emulator, Client]) -> None:
    emulator, client = begun
    client.told(wire.HOLD_COIL, (1843, 1, 0, 3, 60_000, 1000))
    emulator.open_stop()
    until = time.monotonic() + 2  # the control line is another way in than the port, and may be the slower one
    while not (status := client.told(wire.STATUS)).number("trip") and time.monotonic() < until:
        pass
    assert Trip(status.number("trip")) is Trip.EMERGENCY_STOP
    assert (status.number("outputs"), status.number("stop")) == (0, 1)
    emulator.open_stop(False)
    assert client.told(wire.ACKNOWLEDGE).result is Result.DONE


def test_two_seeds_are_two_benches(begun: tuple[Emulator, Client]) -> None:
    _, client = begun

    def supply(port_client: Client) -> int:
        return port_client.told(wire.SENSE_ANALOG, (2,)).number("sum")

    with Emulator(GOOD, seed=1) as other:
        second = Client(other.port)
        assert supply(client) != supply(second)
        second.serial.close()
