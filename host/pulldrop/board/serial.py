"""A board on a serial port: a real Nano, or the same firmware in the emulator behind a pseudo-terminal.

Rule: what a request needs to be done at all is in `requests`; here its fields are filled in, and its answer is read.
"""

import contextlib
import errno
import time
from collections.abc import Callable
from typing import Self

import serial

from pulldrop.board import memory, steady, values
from pulldrop.board.contract import Board, Status
from pulldrop.board.errors import BoardError, NoBoard, Refused, WrongBoard
from pulldrop.board.link import Link, Port
from pulldrop.board.request_types import LOAD_SUPPLY_LEAST, Analog, Drive, Follow, Load, Pulse, Scan, Stairs, Watch
from pulldrop.board.requests import Requests, trip_of
from pulldrop.model.bench.abilities import OF_BUILD, Build
from pulldrop.model.bench.identity import Identity
from pulldrop.model.raw import (
    TICKS_PER_S,
    Capture,
    CoilCounts,
    Contact,
    Edge,
    Followed,
    Landing,
    LeadCounts,
    PulseCounts,
    ScanCounts,
    ShuntWatch,
)
from pulldrop.wire import messages as wire
from pulldrop.wire.codec import Answer
from pulldrop.wire.messages import Fault, Reset
from pulldrop.wire.notes import REAL

BUILDS: dict[int, Build] = {wire.Build.FULL: "full", wire.Build.BARE: "bare", wire.Build.EVENING: "evening"}
"""The greeting's word for each build."""
DAC_ADDRESS = 0x60
"""The first of the four that the DAC of the coil supply may have (hardware/pins.yaml)."""
TICKS_PER_MS = TICKS_PER_S // 1000
SAMPLE_TICKS = TICKS_PER_MS // 20  # 50 us
CLOSED_BIT, NC_BIT = 1 << 31, 1 << 30
"""Of an edge; the bits below are its ticks (firmware/wire.yaml, read_edges)."""
NUMBERS = 1 << 16
"""Of a watch's readings on the wire; behind the last they begin again."""
COIL_OUTPUT, BRANCH_OUTPUTS, LAMP_OUTPUT, THROW_SHIFT, DRY_SHIFT = 0x01, 0x3C, 0x400, 6, 8
"""Of the outputs that `status` reports (firmware/wire.yaml)."""


def open_port(device: str, baud: int = wire.BAUD) -> serial.Serial:
    """A serial port with the line settings of the schema, or of a boot loader. Raises NoBoard."""
    try:
        port = serial.Serial(device, baud, timeout=0.01, write_timeout=1.0, exclusive=True)
    except (OSError, ValueError) as error:
        raise NoBoard(_not_opened(device, error)) from error
    with contextlib.suppress(OSError, ValueError, NotImplementedError):  # a pty has no such mode
        if hasattr(port, "set_low_latency_mode"):  # Linux; elsewhere the driver of the USB bridge decides
            port.set_low_latency_mode(True)
    return port


def _not_opened(device: str, error: Exception) -> str:
    """What stands in the way, and what to do; pyserial names the cause by number, except on Windows."""
    match getattr(error, "errno", None):
        case errno.ENOENT:
            return (
                f"There is no port {device}. Expected was a serial port, 'auto', 'virtual' or 'emulated';"
                " 'pulldrop board list' shows the boards that are there."
            )
        case errno.EACCES | errno.EPERM:
            return (
                f"You may not use the port {device}. On Linux, 'sudo usermod -aG dialout $USER' lets you,"
                " from your next login on."
            )
        case errno.EAGAIN | errno.EBUSY:
            return f"Another program holds the port {device}. Close it, then try again."
    return (
        f"{device} cannot be opened as a serial port: {error}. Check the name, that no other program holds the port,"
        " and that you may use serial ports."
    )


class SerialBoard(Board):
    """The Board contract over the wire. `port` needs pyserial's read, write, in_waiting and close."""

    def __init__(
        self,
        port: Port,
        name: str,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
        again: Callable[[str], Port] = open_port,
    ) -> None:
        self._clock, self._sleep, self._again = clock, sleep, again
        self._begin(port, name)

    def _begin(self, port: Port, name: str) -> None:
        """Greet what is there. Raises NoBoard or WrongBoard."""
        self._link = Link(port, name, self._clock)
        self._requests = Requests(self._link, self._clock, self._sleep)
        try:
            greeting = self._requests.greet()
            _same_schema(greeting, name)
            self._requests.begin(greeting)
            self._opened_ms = self._requests.uptime_ms
            loads = bool(OF_BUILD[_build(greeting)].loads_a)
            supply = loads and self._analog(Analog.LOAD_SUPPLY) >= LOAD_SUPPLY_LEAST
            self.identity = _identity(greeting, name, supply, self._requests.round_trip_s)
        except BaseException:
            self._link.close()
            raise

    @classmethod
    def open(cls, device: str) -> Self:
        """Open a serial port by its name and greet what is there. Raises NoBoard or WrongBoard."""
        return cls(open_port(device), device)

    def reopen(self) -> None:
        known = self.identity
        self._link.close()
        self._begin(self._again(self._link.name), self._link.name)
        found = self.identity
        if (found.kind, found.serial, found.build) != (known.kind, known.serial, known.build):
            self.identity = known
            self._link.close()
            raise WrongBoard(
                f"At {self._link.name} there is now {found.kind} board {found.serial} ({found.build}); expected was"
                f" {known.kind} board {known.serial} ({known.build}). Plug in the one that was there."
            )
        self.off()

    @property
    def damaged(self) -> int:
        """Frames from the board that came damaged; `status().bad_frames` counts the other direction."""
        return self._link.damaged

    def status(self) -> Status:
        answer = self._requests.ask(wire.STATUS)
        self._requests.as_left(answer)
        return _status(answer)

    def off(self) -> None:
        self._requests.ask(wire.ALL_OFF)

    def acknowledge(self) -> None:
        self._requests.ask(wire.ACKNOWLEDGE)

    def name(self, serial_number: int) -> None:
        """Write a serial number into the board, and see it greet by it. Its kind stays as it is."""
        self._requests.ask(wire.NAME_BOARD, (serial_number,), again=False)
        found = self._requests.ask(wire.GREET).number("serial")
        if found != serial_number:
            raise BoardError(
                f"The board at {self._link.name} was given the number {serial_number} and greets as number {found}. "
                "Try again; if it stays so, its EEPROM is worn out."
            )
        self.identity = self.identity.model_copy(update={"serial": found})

    def make_bare(self) -> None:
        """From its next start on it may be a bare board, though a part of the bus has answered it once.

        Refused ("build") while a part answers or the emergency stop is seen closed.
        """
        try:
            self._requests.ask(wire.MAKE_BARE, (wire.MAKE_BARE.request[0].least,), again=False)
        except Refused as refused:
            if refused.reason != "build":
                raise
            raise Refused(
                "build",
                f"The board at {self._link.name} stays a full one: a part on its bus answers, or an emergency stop is "
                "seen closed. Take off everything that hardware/bare-board.md does not name, then say it again.",
            ) from refused

    def hold_coil(self, drive: Drive) -> None:
        self._requests.work(wire.HOLD_COIL, values.of(wire.HOLD_COIL, drive), due_ms=0)

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        fields = values.of(wire.STEP_COIL, drive, window_ms=window_ms, divider=divider, low_side=low_side)
        done = self._requests.work(wire.STEP_COIL, fields, due_ms=window_ms)
        return self._captured(done, window_ms, divider, low_side)

    def hot_step(self, drive: Drive, load: Load, window_ms: int, divider: int) -> tuple[Capture, PulseCounts]:
        fields = values.of(wire.HOT_STEP, drive, load, window_ms=window_ms, divider=divider)
        done = self._requests.work(wire.HOT_STEP, fields, due_ms=load.limit_ms)
        pair = PulseCounts(drop=(done.number("drop"),), shunt=(done.number("shunt"),), gain=load.gain)
        return self._captured(done, window_ms, divider), pair

    def _captured(self, done: Answer, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        """What the board stored of its last step."""
        _at_rest(done)
        log = done.number("log")
        edges = self._requests.read(wire.READ_EDGES, "edges", done.number("edges"), log)
        samples = self._requests.read(wire.READ_SAMPLES, "samples", done.number("samples"), log)
        self._requests.settled()
        return Capture(
            edges=tuple(sorted((_edge(word) for word in edges), key=lambda edge: edge.tick)),
            contacts_before=Contact(done.number("before")),
            samples=samples,
            sample_ticks=divider * SAMPLE_TICKS,
            window_ticks=window_ms * TICKS_PER_MS,
            edges_lost=done.number("edges_lost"),
            low_side=low_side,
        )

    def staircase(self, stairs: Stairs) -> Landing:
        longest_ms = stairs.count * (stairs.dwell_ms + 1)
        done = self._requests.work(wire.STAIRCASE, values.of(wire.STAIRCASE, stairs.drive, stairs), due_ms=longest_ms)
        _at_rest(done)
        return Landing(
            stopped=bool(done.number("stopped")),
            index=done.number("index"),
            dac=done.number("dac"),
            contacts=Contact(done.number("contacts")) & stairs.watch,
        )

    def follow_coil(self, follow: Follow) -> Followed:
        done = self._requests.work(wire.FOLLOW_COIL, values.of(wire.FOLLOW_COIL, follow), due_ms=follow.window_ms)
        edges = self._requests.read(wire.READ_EDGES, "edges", done.number("edges"), done.number("log"))
        self._requests.settled()
        return Followed(
            contacts=Contact(done.number("contacts")),
            restless=Contact(done.number("restless")),
            edges=tuple(sorted((_edge(word) for word in edges), key=lambda edge: edge.tick)),
            edges_lost=done.number("edges_lost"),
            last_ms=done.number("last_ms"),
            span_ms=done.number("span_ms"),
            bus=done.numbers("bus"),
            shunt=done.numbers("shunt"),
        )

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        done = self._requests.work(wire.LOAD_PULSE, values.of(wire.LOAD_PULSE, pulse), due_ms=pulse.limit_ms)
        return PulseCounts(drop=done.numbers("drop"), shunt=done.numbers("shunt"), gain=pulse.gain)

    def watch_load(self, watch: Watch) -> ShuntWatch:
        done = self._requests.work(wire.WATCH_LOAD, values.of(wire.WATCH_LOAD, watch), due_ms=watch.watch_ms)
        return ShuntWatch(first=done.number("first"), last=done.number("last"), cut_ms=done.number("cut_ms"))

    def sense_coil(self) -> CoilCounts:
        done = self._requests.ask(wire.SENSE_COIL)
        self._requests.settled()
        return CoilCounts(bus=done.number("bus"), shunt=done.number("shunt"))

    def sense_analog(self, channel: Analog) -> int:
        counts = self._analog(channel)
        self._requests.settled()
        return counts

    def _analog(self, channel: Analog) -> int:
        return self._requests.ask(wire.SENSE_ANALOG, (channel,)).number("sum")

    def scan(self, scan: Scan) -> ScanCounts:
        done = self._requests.patiently(wire.SCAN, values.of(wire.SCAN, scan))
        self._requests.settled()
        return ScanCounts(
            source_line=scan.source,
            sink_line=scan.sink,
            look_line=scan.look,
            weak=scan.weak,
            **{field.name: done.number(field.name) for field in wire.SCAN.answer},
        )

    def sense_ground(self) -> int:
        return self._requests.patiently(wire.SENSE_GROUND, ()).number("sum")

    def watch_lead(self) -> None:
        self._requests.ask(wire.WATCH_LEAD, again=False)

    def read_lead(self, first: int) -> LeadCounts:
        done = self._requests.ask(wire.READ_LEAD, (first % NUMBERS,))
        at = first + (done.number("first") - first) % NUMBERS
        counts = done.numbers("readings")
        return LeadCounts(
            first=at,
            next=at + (done.number("next") - at) % NUMBERS,
            readings=tuple(zip(counts[0::4], counts[1::4], counts[2::4], counts[3::4], strict=True)),
        )

    def notes(self) -> bytes:
        return memory.read(self._requests.ask)

    def keep_notes(self, notes: bytes) -> None:
        memory.write(self._requests.ask, notes, self._link.name)

    def wait(self, seconds: float) -> None:
        self._requests.wait(seconds)

    def elapsed(self) -> float:
        return (self._requests.uptime_ms - self._opened_ms) / 1000

    def close(self) -> None:
        try:
            self._link.ask(wire.ALL_OFF)
        except BoardError:
            pass  # not reached: its lease turns everything off within 500 ms
        finally:
            self._link.close()


def _same_schema(greeting: Answer, port: str) -> None:
    """WrongBoard before anything else is asked: other messages may be laid out otherwise."""
    found = greeting.number("schema_hash")
    if found != wire.SCHEMA_HASH:
        raise WrongBoard(
            f"The board at {port} speaks another set of messages: schema 0x{wire.SCHEMA_HASH:08x} was expected, "
            f"0x{found:08x} found. Run `pulldrop board flash` to put this version's firmware on it."
        )


def _identity(greeting: Answer, port: str, load_supply: bool, round_trip_s: float) -> Identity:
    """Who answers.

    Only the kind byte 0x52 makes a board real (the firmware says it of a board that was never named, too, and the
    emulator names its board). Any other byte counts as simulated: a real measurement marked simulated does less harm
    than a simulated one that passes for real.
    """
    real = greeting.number("kind") == REAL
    causes = [flag.name or "" for flag in Reset(greeting.number("reset_cause"))]
    return Identity(
        kind="real" if real else "emulated",
        serial=greeting.number("serial"),
        firmware=".".join(str(part) for part in greeting.numbers("version")),
        schema_hash=wire.SCHEMA_HASH,
        reset_cause=", ".join(cause.lower().replace("_", " ") for cause in causes) or "unknown",
        port=port,
        load_supply=load_supply,
        build=_build(greeting),
        old_loader=real and bool(greeting.number("causes_kept")),
        round_trip_ms=round(round_trip_s * 1000, 1),
        dac_address=f"0x{DAC_ADDRESS + greeting.number('dac') - 1:02x}" if greeting.number("dac") else "",
    )


def _build(greeting: Answer) -> Build:
    """What the board found itself to be; an unknown word is a full one's, which is asked for all that it must have."""
    return BUILDS.get(greeting.number("build"), "full")


def _status(answer: Answer) -> Status:
    outputs = answer.number("outputs")
    loaded = outputs >> THROW_SHIFT if outputs & BRANCH_OUTPUTS else 0
    return Status(
        trip=trip_of(answer.number("trip")),
        on=bool(outputs & (COIL_OUTPUT | BRANCH_OUTPUTS)),
        contacts=Contact(answer.number("contacts")),
        emergency_stop=bool(answer.number("stop")),
        uptime_ms=answer.number("uptime_ms"),
        bad_frames=answer.number("bad_frames"),
        bus_silent=bool(answer.number("faults") & Fault.BUS),
        restless=Contact(answer.number("restless")),
        fed=Contact((outputs >> DRY_SHIFT | loaded) & 3),
        supplied=bool(outputs & LAMP_OUTPUT),
    )


def _at_rest(done: Answer) -> None:
    """Raises WireTrouble where the board ended its work because a pin did not come to rest."""
    if restless := Contact(done.number("restless")):
        raise steady.trouble(restless)


def _edge(word: int) -> Edge:
    return Edge(
        tick=word & (NC_BIT - 1),
        contact=Contact.NC if word & NC_BIT else Contact.NO,
        closed=bool(word & CLOSED_BIT),
    )
