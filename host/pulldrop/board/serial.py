"""A board on a serial port: a real Nano, or the same firmware in the emulator behind a pseudo-terminal.

Rule 1: no thread. The lease is renewed by the calls themselves: whoever has the coil on must call something, `wait`
for example, at least every 500 ms, or the board turns everything off. That is meant: a host that hangs is a host lost.
Rule 2: a request that moves energy is sent once. While its answer is awaited, `status` goes out every 100 ms.
Rule 3: bench time is the board's own clock: an emulated board on a busy computer lags behind the computer's.
Rule 4: nothing that was measured is believed before the board says that it neither tripped nor restarted meanwhile.
"""

import time
from collections.abc import Callable, Sequence
from typing import Self

import serial

from pulldrop.board import memory
from pulldrop.board.contract import Analog, Board, Drive, Pulse, Scan, Stairs, Status, Trip
from pulldrop.board.errors import BoardError, BoardReset, NoAnswer, NoBoard, Refused, Tripped, WrongBoard
from pulldrop.board.link import Link, Port
from pulldrop.model.identity import Identity
from pulldrop.model.raw import TICKS_PER_S, Capture, CoilCounts, Contact, Edge, Landing, PulseCounts, ScanCounts
from pulldrop.wire import messages as wire
from pulldrop.wire.codec import Answer, Malformed
from pulldrop.wire.messages import Message, Reset, Result
from pulldrop.wire.notes import REAL

BARE = 1
GREETING_S = 3.0
GREETING_AGAIN_S = 0.25
"""Opening the port of a Nano pulls its reset through DTR; its boot loader then listens for up to about 2 s."""

RENEW_S = 0.1
SILENCE_S = 1.0
OVERTIME_MS = 1000
"""How often the lease is renewed; how long a board at work may be silent; how much longer than due it may work."""

LOAD_SUPPLY_SUM = 6270
"""Sum of 16 conversions above which a load supply is there: 9 V behind 10 kohm over 2.7 kohm, 5 V reference."""

TICKS_PER_MS = TICKS_PER_S // 1000
SAMPLE_TICKS = TICKS_PER_MS // 20  # 50 us
CLOSED_BIT, NC_BIT = 1 << 31, 1 << 30
COIL_OUTPUT, BRANCH_OUTPUTS = 0x01, 0x3C

REFUSALS = {
    Result.BUSY: "it is still at work on another request. Wait for that one, or turn everything off.",
    Result.ARGUMENT: "a value is out of its range. Correct the protocol.",
    Result.DUTY: "the load would be on for more than 10 % of the last 10 s. Wait longer between pulses.",
    Result.BUS: "one of its I2C parts did not answer in time. Check the wiring of the converters.",
    Result.STOPPED: "it was ended before it was done, by all_off or by its own time limit. Run again.",
    Result.BUILD: "this build of the board has no part for it. See hardware/guide.md for what each build can do.",
    Result.ENERGISED: "the coil or a load is on. Turn everything off first.",
    Result.UNKNOWN: "it does not know the request. Run `make -C firmware flash`.",
}
TRIPS = {
    Trip.OVER_CURRENT: "the coil took more current than its limit for 1 ms. Look for a shorted or reversed part.",
    Trip.EMERGENCY_STOP: "the emergency stop was opened. Close it when the bench is safe.",
    Trip.LEASE: "it heard nothing from the computer for 500 ms. Run again.",
    Trip.ON_TIME: "the coil was on for longer than the request allowed. Run again.",
}


def open_port(device: str) -> serial.Serial:
    """A serial port with the line settings of the schema. Raises NoBoard."""
    try:
        return serial.Serial(device, wire.BAUD, timeout=0.01, write_timeout=1.0, exclusive=True)
    except (OSError, ValueError) as error:
        raise NoBoard(
            f"{device} cannot be opened: {error}. Check the name, that no other program holds the port, "
            "and that you may use serial ports (on Linux, the group dialout)."
        ) from error


class SerialBoard(Board):
    """The Board contract over the wire. `port` needs pyserial's read, write, in_waiting and close."""

    def __init__(
        self,
        port: Port,
        name: str,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._link = Link(port, name, clock)
        self._clock = clock
        self._sleep = sleep
        try:
            greeting = self._greet()
            _same_schema(greeting, name)
            self._boots = greeting.number("boots")
            self._opened_ms = self._uptime_ms = self._link.ask(wire.STATUS).number("uptime_ms")
            bare = greeting.number("build") == BARE
            supply = not bare and self.sense_analog(Analog.LOAD_SUPPLY) >= LOAD_SUPPLY_SUM
            self.identity = _identity(greeting, name, supply)
        except BaseException:
            self._link.close()
            raise

    @classmethod
    def open(cls, device: str) -> Self:
        """Open a serial port by its name and greet what is there. Raises NoBoard or WrongBoard."""
        return cls(open_port(device), device)

    @property
    def damaged(self) -> int:
        """Frames from the board that came damaged; `status().bad_frames` counts the other direction."""
        return self._link.damaged

    def status(self) -> Status:
        answer = self._ask(wire.STATUS)
        self._same_start(answer)
        return _status(answer)

    def off(self) -> None:
        self._ask(wire.ALL_OFF)

    def acknowledge(self) -> None:
        self._ask(wire.ACKNOWLEDGE)

    def name(self, serial_number: int) -> None:
        """Write a serial number into the board, and see it greet by it. Its kind stays as it is."""
        self._ask(wire.NAME_BOARD, (serial_number,), again=False)
        found = self._ask(wire.GREET).number("serial")
        if found != serial_number:
            raise BoardError(
                f"The board at {self._link.name} was given the number {serial_number} and greets as number {found}. "
                "Try again; if it stays so, its EEPROM is worn out."
            )
        self.identity = self.identity.model_copy(update={"serial": found})

    def hold_coil(self, drive: Drive) -> None:
        self._work(wire.HOLD_COIL, _drive(drive), due_ms=0)

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        done = self._work(wire.STEP_COIL, (*_drive(drive), window_ms, divider, low_side), due_ms=window_ms)
        edges = self._read(wire.READ_EDGES, "edges", done.number("edges"))
        samples = self._read(wire.READ_SAMPLES, "samples", done.number("samples"))
        self._settled()
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
        drive = stairs.drive
        values = (
            drive.dac, drive.diode, drive.dry, drive.on_ms, drive.limit,
            stairs.step, stairs.count, stairs.dwell_ms, stairs.watch, stairs.wanted,
        )  # fmt: skip
        done = self._work(wire.STAIRCASE, values, due_ms=stairs.count * (stairs.dwell_ms + 1))
        return Landing(
            stopped=bool(done.number("stopped")),
            index=done.number("index"),
            dac=done.number("dac"),
            contacts=Contact(done.number("contacts")),
        )

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        values = (pulse.throw, pulse.branches, pulse.settle_ms, pulse.samples, pulse.limit_ms, pulse.gain)
        done = self._work(wire.LOAD_PULSE, values, due_ms=pulse.limit_ms)
        return PulseCounts(drop=done.numbers("drop"), shunt=done.numbers("shunt"), gain=pulse.gain)

    def sense_coil(self) -> CoilCounts:
        done = self._ask(wire.SENSE_COIL)
        self._settled()
        return CoilCounts(bus=done.number("bus"), shunt=done.number("shunt"))

    def sense_analog(self, channel: Analog) -> int:
        return self._ask(wire.SENSE_ANALOG, (channel,)).number("sum")

    def scan(self, scan: Scan) -> ScanCounts:
        done = self._patiently(wire.SCAN, (scan.source, scan.sink, scan.look, int(scan.weak)))
        self._settled()
        return ScanCounts(
            source_line=scan.source,
            sink_line=scan.sink,
            look_line=scan.look,
            weak=scan.weak,
            **{field.name: done.number(field.name) for field in wire.SCAN.answer},
        )

    def notes(self) -> bytes:
        return memory.read(self._ask)

    def keep_notes(self, notes: bytes) -> None:
        memory.write(self._ask, notes, self._link.name)

    def wait(self, seconds: float) -> None:
        self._settled()
        until_ms = self._uptime_ms + seconds * 1000
        while (left_ms := until_ms - self._uptime_ms) > 0:
            self._sleep(min(left_ms / 1000, RENEW_S))
            self._settled()

    def elapsed(self) -> float:
        return (self._uptime_ms - self._opened_ms) / 1000

    def close(self) -> None:
        try:
            self._link.ask(wire.ALL_OFF)
        except BoardError:
            pass  # not reached: its lease turns everything off within 500 ms
        finally:
            self._link.close()

    def _greet(self) -> Answer:
        until = self._clock() + GREETING_S
        while self._clock() < until:
            self._link.send(wire.GREET)
            answer = self._link.receive(lambda answer: answer.message is wire.GREET, self._clock() + GREETING_AGAIN_S)
            if answer is not None and answer.result is Result.DONE:
                return answer
        where = self._link.name
        if self._link.heard:
            raise WrongBoard(
                f"Something at {where} sends bytes, but does not answer as a pulldrop board within {GREETING_S:.0f} s. "
                "Choose another port, or put the firmware on it with `make -C firmware flash`."
            )
        raise NoBoard(
            f"Nothing at {where} answered within {GREETING_S:.0f} s. "
            "Check the USB cable and the supply, or put the firmware on it with `make -C firmware flash`."
        )

    def _ask(self, message: Message, values: Sequence[int] = (), again: bool = True) -> Answer:
        try:
            return self._checked(self._link.ask(message, values, again))
        except Malformed as error:
            raise Refused("argument", f"Not sent: {error}. {REFUSALS[Result.ARGUMENT]}") from error

    def _work(self, message: Message, values: Sequence[int], due_ms: int) -> Answer:
        """Send a request that moves energy, and keep the lease until its answer comes."""
        try:
            sequence = self._link.send(message, values)
        except Malformed as error:
            raise Refused("argument", f"Not sent: {error}. {REFUSALS[Result.ARGUMENT]}") from error
        answer = self._await(message, sequence, due_ms + OVERTIME_MS)
        if answer is None:
            raise self._given_up(message)
        checked = self._checked(answer)
        self._settled()
        return checked

    def _patiently(self, message: Message, values: Sequence[int]) -> Answer:
        """Ask for work that moves no energy but takes its time; once more when its answer was lost."""
        for _ in range(2):
            try:
                sequence = self._link.send(message, values)
            except Malformed as error:
                raise Refused("argument", f"Not sent: {error}. {REFUSALS[Result.ARGUMENT]}") from error
            answer = self._await(message, sequence, OVERTIME_MS)
            if answer is not None:
                return self._checked(answer)
        raise NoAnswer(
            f"The board at {self._link.name} did not answer {message.name}, asked twice. "
            "Check the USB cable and the board's supply, then run again."
        )

    def _await(self, message: Message, sequence: int, most_ms: int) -> Answer | None:
        """The answer; None when the board is idle, silent or overdue without one.

        Overdue by the board's own clock, so that a slow emulator is not taken for a hanging board.
        """

        def wanted(answer: Answer) -> bool:
            return answer.message is wire.STATUS or (answer.message, answer.sequence) == (message, sequence)

        idle, began_ms, heard = 0, None, self._clock()
        while self._clock() - heard < SILENCE_S:
            answer = self._link.receive(wanted, self._clock() + RENEW_S)
            if answer is None:
                self._link.send(wire.STATUS)
                continue
            if answer.message is not wire.STATUS:
                return answer
            heard = self._clock()
            self._raise_trouble(answer)
            began_ms = self._uptime_ms if began_ms is None else began_ms
            idle = 0 if answer.number("work") == message.id else idle + 1
            if idle == 2 or self._uptime_ms - began_ms > most_ms:
                return None  # its answer was sent before the second idle status, so it is lost
        return None

    def _given_up(self, message: Message) -> NoAnswer:
        try:
            self._link.ask(wire.ALL_OFF)
            state = "The board was told to turn everything off, and says that it did."
        except BoardError:
            state = "It does not answer to all_off either; its lease turns everything off within 500 ms."
        return NoAnswer(
            f"The answer to {message.name} did not come from {self._link.name}. It moves energy and is not repeated, "
            f"so this run is over. {state} Check the cable, then run again."
        )

    def _read(self, message: Message, name: str, count: int) -> tuple[int, ...]:
        """Everything that the last step stored, as many in one answer as fit."""
        read: list[int] = []
        while len(read) < count:
            some = self._ask(message, (len(read),)).numbers(name)
            if not some:
                raise NoAnswer(
                    f"The board at {self._link.name} stored {count} {name} and gave only {len(read)}. Run again."
                )
            read += some
        return tuple(read[:count])

    def _checked(self, answer: Answer) -> Answer:
        if answer.result is Result.DONE:
            return answer
        if answer.result in (Result.TRIPPED, Result.STOPPED):
            self._settled()  # a trip is told as what it is
        word = answer.result.name.lower()
        reason = REFUSALS.get(answer.result, "it says that a trip is latched, and knows of none. Run again.")
        raise Refused(word, f"The board at {self._link.name} refused {answer.message.name}: {reason}")

    def _settled(self) -> None:
        """Renew the lease, and raise what happened since."""
        self._raise_trouble(self._link.ask(wire.STATUS))

    def _raise_trouble(self, status: Answer) -> None:
        self._same_start(status)
        trip = _trip(status.number("trip"))
        if trip is not Trip.NONE:
            raise Tripped(trip, f"The board at {self._link.name} turned everything off: {TRIPS[trip]}")

    def _same_start(self, status: Answer) -> None:
        boots = status.number("boots")
        if boots != self._boots:
            raise BoardReset(
                f"The board at {self._link.name} restarted during the run (start {boots}, was {self._boots}); "
                "everything is off. Look at its supply and the USB cable, then run again."
            )
        self._uptime_ms = status.number("uptime_ms")


def _same_schema(greeting: Answer, port: str) -> None:
    """WrongBoard before anything else is asked: other messages may be laid out otherwise."""
    found = greeting.number("schema_hash")
    if found != wire.SCHEMA_HASH:
        raise WrongBoard(
            f"The board at {port} speaks another set of messages: schema 0x{wire.SCHEMA_HASH:08x} was expected, "
            f"0x{found:08x} found. Run `make -C firmware flash` to put this version's firmware on it."
        )


def _identity(greeting: Answer, port: str, load_supply: bool) -> Identity:
    """Who answers.

    Only the kind byte 0x52 makes a board real (the firmware says it of a board that was never named, too, and the
    emulator names its board). Any other byte counts as simulated: a real measurement marked simulated does less harm
    than a simulated one that passes for real.
    """
    real = greeting.number("kind") == REAL
    causes = [flag.name or "" for flag in Reset(greeting.number("reset_cause"))]
    return Identity(
        kind="real" if real else "emulated",
        simulated=not real,
        serial=greeting.number("serial"),
        firmware=".".join(str(part) for part in greeting.numbers("version")),
        schema_hash=wire.SCHEMA_HASH,
        reset_cause=", ".join(cause.lower().replace("_", " ") for cause in causes) or "unknown",
        port=port,
        load_supply=load_supply,
        build="bare" if greeting.number("build") == BARE else "full",
    )


def _status(answer: Answer) -> Status:
    return Status(
        trip=_trip(answer.number("trip")),
        on=bool(answer.number("outputs") & (COIL_OUTPUT | BRANCH_OUTPUTS)),
        contacts=Contact(answer.number("contacts")),
        emergency_stop=bool(answer.number("stop")),
        uptime_ms=answer.number("uptime_ms"),
        bad_frames=answer.number("bad_frames"),
    )


def _trip(code: int) -> Trip:
    try:
        return Trip(code)
    except ValueError:
        raise BoardError(f"The board reports a trip {code} that the schema does not have. Flash it again.") from None


def _drive(drive: Drive) -> tuple[int, ...]:
    return drive.dac, int(drive.on), int(drive.diode), int(drive.dry), drive.on_ms, drive.limit


def _edge(word: int) -> Edge:
    return Edge(
        tick=word & (NC_BIT - 1),
        contact=Contact.NC if word & NC_BIT else Contact.NO,
        closed=bool(word & CLOSED_BIT),
    )
