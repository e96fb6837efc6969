"""A board without a board: answers the contract from the plant, in simulated time, as the firmware would.

Rule 1: the same ranges, refusals, trips and limits as the firmware; only the lease is missing, because simulated time
passes only while somebody asks.
Rule 2: what the board times, it times with its own resonator, which is a little fast or slow.
"""

from dataclasses import replace
from typing import NoReturn

from pulldrop.board import values
from pulldrop.board.contract import Board, Status
from pulldrop.board.errors import Refused
from pulldrop.board.request_types import DAC_MAX, Analog, Branch, Drive, Follow, Load, Pulse, Scan, Stairs, Watch
from pulldrop.board.values import Part
from pulldrop.board.virtual.guard import RELEASED, Guard
from pulldrop.board.virtual.log import SAMPLE_S, Log
from pulldrop.board.virtual.scan import by_lines, by_pins
from pulldrop.model.bench.identity import Identity
from pulldrop.model.raw import (
    TICKS_PER_S,
    Capture,
    CoilCounts,
    Contact,
    Followed,
    Landing,
    Line,
    PulseCounts,
    ScanCounts,
    ShuntWatch,
)
from pulldrop.plant.bench.bench import Bench, PinEdge, Pins
from pulldrop.plant.specimen import Specimen
from pulldrop.wire import codec
from pulldrop.wire import messages as wire
from pulldrop.wire import notes as wire_notes
from pulldrop.wire.messages import Message

EXCHANGE_S = 1e-3
"""Bench time that one request and its answer take on the line, about."""
TICK_S = 0.5e-3
"""What a wait of the firmware takes longer than asked: half of the millisecond in which its clock counts."""
SETTLE_S, STEER_S = 3e-3 + TICK_S, 1e-3 + TICK_S
"""From the DAC to the coil switch, and, in a hot step, from the load to the step (firmware/core/coil/coil.c)."""
WATCH_SETTLE_S, WATCH_EVERY_MS, WATCH_SPARE_MS, ALONE_MOST_MS = 20e-3, 5, 10, 100
"""Of a watched load (firmware/core/measure/watch.c)."""
ADS_S, INA_S, INA_QUICK_S, ANALOG_S = 1.73e-3, 9.2e-3, 2.9e-3, 1.25e-3
"""One conversion with its bus traffic: ADS1115 at 860 samples a second, looked at until it is over; INA226
4 times two of 1.1 ms, or once; slow channel."""
FOLLOWED, AFTER_EDGE, FOLLOW_REST_S = 8, 2, 10e-3
"""Conversions that are kept of a followed coil, of them after its first edge, and how long its contacts rest
(firmware/core/coil/follow.c)."""


class VirtualBoard(Board):
    """One specimen on one bench. `seed` draws the bench's parts and is its serial number; None is a perfect bench.

    `bare`: the Nano and a few resistors only.
    """

    BENCH = Bench

    def __init__(self, specimen: Specimen, seed: int | None, bare: bool = False) -> None:
        self.identity = Identity(
            kind="virtual",
            serial=seed or 0,
            firmware="virtual",
            schema_hash=wire.SCHEMA_HASH,
            reset_cause="power on",
            load_supply=not bare,
            build="bare" if bare else "full",
        )
        self._bare = bare
        self._bench = self.BENCH(specimen, seed)
        self._guard = Guard(self._bench, clock=1 + self._bench.frontend.tick)
        self._notes = b"\xff" * wire_notes.ROOM
        self._log = Log(self._bench, self._guard, seed)

    # --- the contract ---

    def status(self) -> Status:
        self._guard.let_pass(EXCHANGE_S)
        pins = self._bench.pins
        return Status(
            trip=self._guard.trip,
            on=pins.coil or bool(pins.branches),
            contacts=self._closed(),
            emergency_stop=self._guard.stop_open,
            uptime_ms=int(self._bench.time_s * self._guard.clock * 1000),
            bad_frames=0,
            fed=self._fed,
            supplied=pins.lamp,
        )

    def off(self) -> None:
        self._guard.off()
        self._guard.let_pass(EXCHANGE_S)

    def acknowledge(self) -> None:
        self._guard.let_pass(EXCHANGE_S)
        self._guard.acknowledge()

    def hold_coil(self, drive: Drive) -> None:
        self._admit(wire.HOLD_COIL, drive)
        self._lead(drive)
        self._guard.energise(pins_of(drive), drive, drive.dac > 0)

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        self._admit(wire.STEP_COIL, drive, window_ms=window_ms, divider=divider, low_side=low_side)
        if drive.on and low_side:
            raise Refused("argument", "The low end is sampled with the coil switched off only. Correct the protocol.")
        contacts = self._prepare(drive)
        capture = self._step(drive, contacts, window_ms, divider, low_side)
        if self._fed != drive.dry:
            raise Refused("stopped", "The on-time was over before the step's window. Allow more time.")
        self._guard.energise(pins_of(drive), drive, drive.dac > 0)
        return capture

    def hot_step(self, drive: Drive, load: Load, window_ms: int, divider: int) -> tuple[Capture, PulseCounts]:
        self._admit(wire.HOT_STEP, drive, load, window_ms=window_ms, divider=divider)
        held = self._bench.pins.lamp
        contacts = self._prepare(drive)
        if held and not drive.on and not self._bench.pins.lamp:
            raise Refused("stopped", "The on-time of the coil supply was over before the load. Allow more time.")
        self._lead_load()
        self._guard.begin_pulse(load.throw, load.branches, load.limit_ms, drive.dry)
        self._guard.work(STEER_S)
        capture = self._step(drive, contacts, window_ms, divider)
        drop, shunt = self._pair(load.throw, load.gain)
        self._guard.end_pulse()
        self._guard.energise(pins_of(drive), drive, drive.dac > 0)
        return capture, PulseCounts(drop=(drop,), shunt=(shunt,), gain=load.gain)

    def staircase(self, stairs: Stairs) -> Landing:
        self._admit(wire.STAIRCASE, stairs.drive, stairs)
        drive = stairs.drive
        if not 0 <= drive.dac + (stairs.count - 1) * stairs.step <= DAC_MAX:
            raise Refused("argument", f"The last step of the stairs is outside 0..{DAC_MAX}. Correct the protocol.")
        for index in range(stairs.count):
            pins = replace(pins_of(drive), coil=True, dac=drive.dac + index * stairs.step)
            if index == 0:
                self._guard.energise(pins, drive, pins.dac > 0)
            else:
                self._guard.drive(pins, pins.dac > 0)
            self._guard.work(stairs.dwell_ms / 1000 + TICK_S)
            contacts = self._closed()
            stopped = contacts & stairs.watch == stairs.wanted & stairs.watch
            if stopped or index == stairs.count - 1:
                break
        return Landing(stopped=stopped, index=index, dac=pins.dac, contacts=contacts & stairs.watch)

    def follow_coil(self, follow: Follow) -> Followed:
        self._admit(wire.FOLLOW_COIL, follow)
        pins = self._bench.pins
        if not pins.coil:
            raise Refused("stopped", "The coil is off, so its volts cannot be followed. Allow more time.")
        since = self._bench.time_s
        self._guard.take_edges()
        self._guard.energise(pins, Drive(pins.dac, on=True, on_ms=follow.on_ms, limit=follow.limit))
        pairs: list[tuple[int, int, int]] = []
        edges: list[PinEdge] = []
        after_edge = 0
        while True:
            self._guard.work(INA_QUICK_S)
            at_ms = int(self._log.passed_ms(since))
            edges += self._guard.take_edges()
            if after_edge < AFTER_EDGE:
                pairs = [*pairs, (*self._bench.ina_counts(), at_ms)][-FOLLOWED:]
                after_edge += bool(edges)
            contacts = self._closed()
            lately = self._bench.time_s - FOLLOW_REST_S
            restless = Contact(sum({1 << e.throw for e in edges if e.time_s > lately})) & follow.watch
            arrived = contacts & follow.watch == follow.wanted & follow.watch and not restless
            if arrived or at_ms >= follow.window_ms:
                break
        logged, lost = self._log.edges(since, follow.window_ms, edges)
        bus, shunt, at = zip(*pairs, strict=True)
        return Followed(
            contacts=contacts, restless=restless, edges=logged, edges_lost=lost, last_ms=at[-1],
            span_ms=at[-1] - at[0],
            bus=bus, shunt=shunt,
        )  # fmt: skip

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        self._admit(wire.LOAD_PULSE, pulse)
        dry = Contact.NONE if pulse.branches else pulse.throw
        if pulse.branches:
            self._lead_load()
        self._guard.begin_pulse(pulse.throw, pulse.branches, pulse.limit_ms, dry)
        self._guard.work(pulse.settle_ms / 1000 + TICK_S)
        pairs = [self._pair(pulse.throw, pulse.gain) for _ in range(pulse.samples)]
        self._guard.end_pulse()
        self._load_ends()
        drop, shunt = zip(*pairs, strict=True)
        return PulseCounts(drop=drop, shunt=shunt, gain=pulse.gain)

    def _pair(self, throw: Contact, gain: int) -> tuple[int, int]:
        """Drop of one throw, then the load shunt; the load is on."""
        self._guard.work(ADS_S)
        drop = self._bench.ads_counts("no" if throw == Contact.NO else "nc", gain)
        self._guard.work(ADS_S)
        return drop, self._bench.ads_counts("shunt", 5)

    def watch_load(self, watch: Watch) -> ShuntWatch:
        self._admit(wire.WATCH_LOAD, watch)
        alone = bool(watch.throws) != bool(watch.branches)
        if not (watch.watch_ms <= ALONE_MOST_MS if alone else watch.throws and watch.branches == Branch.A1):
            raise Refused("argument", "Not done: throws or branches alone for 100 ms, or a throw with the 1 A branch.")
        return self._watched(watch, alone)

    def _watched(self, watch: Watch, alone: bool) -> ShuntWatch:
        self._guard.begin_load(watch.throws, watch.branches, watch.watch_ms + WATCH_SPARE_MS, Contact.NONE)
        since = self._bench.time_s
        self._guard.work(WATCH_SETTLE_S + TICK_S + ADS_S)
        first = last = self._bench.ads_counts("shunt", 5)
        cut_ms, low = 0, False
        while not alone and not cut_ms and self._log.passed_ms(since) + WATCH_EVERY_MS < watch.watch_ms:
            self._guard.work(WATCH_EVERY_MS / 1000 + TICK_S + ADS_S)
            last = self._bench.ads_counts("shunt", 5)
            if low and last < int(first / 4):
                cut_ms = int(self._log.passed_ms(since))
            low = last < int(first / 4)
        self._guard.end_pulse()
        return ShuntWatch(first=first, last=last, cut_ms=cut_ms)

    def sense_coil(self) -> CoilCounts:
        self._full_only()
        self._guard.let_pass(EXCHANGE_S + INA_S)
        self._guard.raise_trip()
        bus, shunt = self._bench.ina_counts()
        return CoilCounts(bus=bus, shunt=shunt)

    def sense_analog(self, channel: Analog) -> int:
        if channel is not Analog.BENCH_TEMPERATURE:
            self._full_only()
        total = 0
        for _ in range(16):
            self._guard.let_pass(ANALOG_S)
            total += self._bench.adc_counts(channel)
        return total

    def scan(self, scan: Scan) -> ScanCounts:
        self._ranged(wire.SCAN, scan)
        if self._bare and scan.source and scan.source == scan.sink:
            raise Refused("argument", "Not done: source and sink are the same line. Name two.")
        lines = (scan.source, scan.sink, scan.look)
        if self._bare and any(Line.LEAD_1 <= line <= Line.LEAD_4 for line in lines):
            self._not_built()
        if not self._bare and self._bench.pins.coil | bool(self._bench.pins.branches):
            raise Refused("energised", "The coil or a load is on. Turn everything off first.")
        if not self._bare and (scan.source is Line.T30 or scan.weak):
            self._not_built()
        self._guard.off()
        counts = by_pins(self._guard, scan, ANALOG_S) if self._bare else by_lines(self._guard, scan, ADS_S)
        self._guard.raise_trip()
        return counts

    def notes(self) -> bytes:
        return self._notes

    def keep_notes(self, notes: bytes) -> None:
        if len(notes) > wire_notes.ROOM:
            raise Refused("argument", f"Not done: {len(notes)} bytes, and there is room for {wire_notes.ROOM}.")
        wanted = notes + self._notes[len(notes) :]
        if wanted != self._notes and replace(self._bench.pins, dac=0) != RELEASED:
            raise Refused("energised", "The coil, a load or a dry source is on. Turn everything off first.")
        self._notes = wanted

    def wait(self, seconds: float) -> None:
        self._guard.raise_trip()
        self._guard.let_pass(seconds * self._guard.clock)
        self._guard.raise_trip()

    def elapsed(self) -> float:
        return self._bench.time_s

    def reopen(self) -> None:
        self._guard.off()

    def close(self) -> None:
        self._guard.off()

    # --- what a person does at the bench ---

    @property
    def plant(self) -> Bench:
        """The simulated bench, for simulated instruments that are held to it."""
        return self._bench

    def insert(self, specimen: Specimen) -> None:
        """Exchange what is in the socket, everything off."""
        self.off()
        self._bench.insert(specimen)

    def exchange_leads(self, exchanged: bool) -> None:
        """Put the leads to 85 and 86 into each other's place, or back into their own, everything off."""
        self.off()
        self._bench.exchange_leads(exchanged)

    def open_stop(self, opened: bool = True) -> None:
        """Open the emergency stop, or close it again."""
        self._guard.open_stop(opened)

    def _closed(self) -> Contact:
        """Throws seen closed; one that nothing feeds reads open, as the firmware has it."""
        return Contact(self._bench.closed()) & self._fed

    @property
    def _fed(self) -> Contact:
        pins = self._bench.pins
        return Contact(pins.dry | (pins.throws if pins.branches else 0))

    # --- what some builds need ahead of an order, and after a load ---

    def _lead(self, drive: Drive) -> None:
        """Ahead of a drive."""

    def _lead_load(self) -> None:
        """Ahead of a load."""

    def _load_ends(self) -> None:
        """After a load pulse."""

    # --- what is refused ---

    def _full_only(self) -> None:
        if self._bare:
            self._not_built()

    def _not_built(self) -> NoReturn:
        raise Refused("build", "This build of the board has no part for it. See hardware/guide.md.")

    def _admit(self, message: Message, *parts: Part, **more: int) -> None:
        """Range of every field, then what this build lacks, then trips, as the firmware's dispatch does."""
        self._ranged(message, *parts, **more)
        self._full_only()
        self._guard.raise_trip()

    def _ranged(self, message: Message, *parts: Part, **more: int) -> None:
        try:
            codec.pack(message, message.request, values.of(message, *parts, **more))
        except codec.Malformed as error:
            raise Refused("argument", f"Not done: {error}. Correct the protocol.") from error
        self._guard.let_pass(EXCHANGE_S)

    # --- capture ---

    def _prepare(self, drive: Drive) -> Contact:
        """Clamp, dry sources and DAC for a step; the throws closed then. Raises Refused where the on-time is over."""
        now = self._bench.pins
        pins = replace(pins_of(drive), coil=now.coil, dac=drive.dac if drive.on else now.dac)
        self._guard.energise(pins, drive, drive.dac > 0 if drive.on else None)
        if drive.on:
            self._lead(drive)
        self._guard.work(SETTLE_S)
        ready = self._bench.pins
        if ready.dry != pins.dry or (drive.on and drive.dac and not ready.lamp):
            self._guard.off()
            raise Refused("stopped", "The on-time was over before the step. Allow more time.")
        return self._closed()

    def _step(self, drive: Drive, contacts: Contact, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        """The step itself, and what is logged of it; the DAC of a coil that goes off stays until it is over."""
        stepped_at = self._bench.time_s
        self._guard.take_edges()
        self._guard.energise(replace(pins_of(drive), dac=self._bench.pins.dac), drive)
        samples = self._log.samples(window_ms, divider, Analog.COIL_LOW_SIDE if low_side else Analog.COIL_CURRENT)
        edges, lost = self._log.edges(stepped_at, window_ms, self._guard.take_edges())
        return Capture(
            edges=edges,
            contacts_before=contacts,
            samples=samples,
            sample_ticks=round(divider * SAMPLE_S * TICKS_PER_S),
            window_ticks=window_ms * TICKS_PER_S // 1000,
            edges_lost=lost,
            low_side=low_side,
        )


def pins_of(drive: Drive) -> Pins:
    """What a drive asks for."""
    return Pins(dac=drive.dac, coil=drive.on, diode=drive.diode, dry=int(drive.dry))
