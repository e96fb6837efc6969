"""A board without a board: answers the contract from the plant, in simulated time, as the firmware would.

Rule 1: the same ranges, refusals, trips and limits as the firmware; only the lease is missing, because simulated time
passes only while somebody asks.
Rule 2: what the board times, it times with its own resonator, which is a little fast or slow.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import replace
from math import ceil

from pulldrop.board import latency
from pulldrop.board.contract import Analog, Board, Branch, Drive, Pulse, Scan, Stairs, Status, Trip
from pulldrop.board.errors import Refused, Tripped
from pulldrop.model.identity import Identity
from pulldrop.model.raw import TICKS_PER_S, Capture, CoilCounts, Contact, Edge, Landing, Line, PulseCounts, ScanCounts
from pulldrop.plant import scan as plant_scan
from pulldrop.plant.bench import Bench, PinEdge, Pins
from pulldrop.plant.noise import Chance
from pulldrop.plant.specimen import Specimen
from pulldrop.wire import codec
from pulldrop.wire import messages as wire
from pulldrop.wire import notes as wire_notes
from pulldrop.wire.messages import Message

EXCHANGE_S = 1e-3
"""Bench time that one request and its answer take on the line, about."""
SETTLE_S = 3.5e-3
"""DAC to coil switch: 3 ms, and up to a millisecond until the board's clock has told them."""
DWELL_OVER_S = 0.5e-3
"""The same for a dwell."""
SAMPLE_S = 50e-6
MOST_SAMPLES, MOST_EDGES = 360, 40
OVER_S, WATCH_S, CLOSELY_S = 1e-3, 20e-3, 0.2e-3
"""Over-current must last this long to trip; it is looked for this often, and closely once it is there."""
DUTY_WINDOW_S, DUTY_MOST_S = 10.25, 1.0
"""The firmware counts load time in slots of 250 ms, 41 of them."""
SCAN_SETTLE_S, COLLAPSE_S = 20.5e-3, 10.5e-3
ADS_S, INA_S, ANALOG_S = 1.5e-3, 9.2e-3, 1.25e-3
"""One conversion with its bus traffic: ADS1115 at 860 samples a second; INA226 4 times two of 1.1 ms; slow channel."""
RELEASED = Pins()


class VirtualBoard(Board):
    """One specimen on one bench. `seed` draws the bench's parts and is its serial number; None is a perfect bench.

    `bare`: the Nano and a few resistors only.
    """

    def __init__(self, specimen: Specimen, seed: int | None, bare: bool = False) -> None:
        self.identity = Identity(
            kind="virtual",
            simulated=True,
            serial=seed or 0,
            firmware="virtual",
            schema_hash=wire.SCHEMA_HASH,
            reset_cause="power on",
            load_supply=not bare,
            build="bare" if bare else "full",
        )
        self._bare = bare
        self._bench = Bench(specimen, seed)
        self._clock = 1 + self._bench.frontend.tick
        self._trip = Trip.NONE
        self._stop_open = False
        self._limit = 0
        self._over_since: float | None = None
        self._on_until = 0.0
        self._pulse_until: float | None = None
        self._dry_after = 0
        self._loaded: deque[tuple[float, float]] = deque()
        self._notes = b"\xff" * wire_notes.ROOM
        self._edges: list[PinEdge] = []
        self._busy = None if seed is None else Chance(seed)

    # --- the contract ---

    def status(self) -> Status:
        self._pass(EXCHANGE_S)
        pins = self._bench.pins
        return Status(
            trip=self._trip,
            on=pins.coil or bool(pins.branches),
            contacts=Contact(self._bench.closed()),
            emergency_stop=self._stop_open,
            uptime_ms=int(self._bench.time_s * self._clock * 1000),
            bad_frames=0,
        )

    def off(self) -> None:
        self._drive(RELEASED)
        self._pulse_until = None
        self._pass(EXCHANGE_S)

    def acknowledge(self) -> None:
        self._pass(EXCHANGE_S)
        if self._stop_open:
            raise _tripped(Trip.EMERGENCY_STOP)
        self._trip = Trip.NONE

    def hold_coil(self, drive: Drive) -> None:
        self._admit(wire.HOLD_COIL, _drive_values(drive))
        self._energise(_pins(drive), drive)

    def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
        self._admit(wire.STEP_COIL, (*_drive_values(drive), window_ms, divider, low_side))
        if drive.on and low_side:
            raise Refused("argument", "The low end is sampled with the coil switched off only. Correct the protocol.")
        pins, now = _pins(drive), self._bench.pins
        before = replace(pins, coil=now.coil, dac=pins.dac if drive.on else now.dac)
        self._energise(before, drive)
        self._work(SETTLE_S)
        contacts = Contact(self._bench.closed())
        stepped_at = self._bench.time_s
        self._edges = []
        self._energise(replace(before, coil=drive.on), drive)
        samples = self._sample(window_ms, divider, Analog.COIL_LOW_SIDE if low_side else Analog.COIL_CURRENT)
        edges, lost = self._logged(stepped_at, window_ms)
        self._energise(pins, drive)
        return Capture(
            edges=edges,
            contacts_before=contacts,
            samples=samples,
            sample_ticks=round(divider * SAMPLE_S * TICKS_PER_S),
            window_ticks=window_ms * TICKS_PER_S // 1000,
            edges_lost=lost,
            low_side=low_side,
        )

    def staircase(self, stairs: Stairs) -> Landing:
        drive = stairs.drive
        values = (
            drive.dac, drive.diode, drive.dry, drive.on_ms, drive.limit,
            stairs.step, stairs.count, stairs.dwell_ms, stairs.watch, stairs.wanted,
        )  # fmt: skip
        self._admit(wire.STAIRCASE, values)
        if not 0 <= drive.dac + (stairs.count - 1) * stairs.step <= 4095:
            raise Refused("argument", "The last step of the stairs is outside 0..4095. Correct the protocol.")
        for index in range(stairs.count):
            pins = replace(_pins(drive), coil=True, dac=drive.dac + index * stairs.step)
            if index == 0:
                self._energise(pins, drive)
            else:
                self._drive(pins)
            self._work(stairs.dwell_ms / 1000 + DWELL_OVER_S)
            contacts = Contact(self._bench.closed())
            stopped = contacts & stairs.watch == stairs.wanted & stairs.watch
            if stopped or index == stairs.count - 1:
                break
        return Landing(stopped=stopped, index=index, dac=pins.dac, contacts=contacts)

    def load_pulse(self, pulse: Pulse) -> PulseCounts:
        self._admit(
            wire.LOAD_PULSE,
            (pulse.throw, pulse.branches, pulse.settle_ms, pulse.samples, pulse.limit_ms, pulse.gain),
        )
        if pulse.branches and not self._duty_allows(pulse.limit_ms / 1000):
            raise Refused("duty", "The load would be on for more than 10 % of the last 10 s. Wait between pulses.")
        self._begin_pulse(pulse)
        self._work(pulse.settle_ms / 1000 + DWELL_OVER_S)
        drop, shunt = [], []
        for _ in range(pulse.samples):
            self._work(ADS_S)
            drop.append(self._bench.ads_counts("no" if pulse.throw == Contact.NO else "nc", pulse.gain))
            self._work(ADS_S)
            shunt.append(self._bench.ads_counts("shunt", 5))
        self._end_pulse()
        return PulseCounts(drop=tuple(drop), shunt=tuple(shunt), gain=pulse.gain)

    def sense_coil(self) -> CoilCounts:
        self._full_only()
        self._pass(EXCHANGE_S + INA_S)
        self._raise_trip()
        bus, shunt = self._bench.ina_counts()
        return CoilCounts(bus=bus, shunt=shunt)

    def sense_analog(self, channel: Analog) -> int:
        if channel is not Analog.BENCH_TEMPERATURE:
            self._full_only()
        total = 0
        for _ in range(16):
            self._pass(ANALOG_S)
            total += self._bench.adc_counts(channel)
        return total

    def scan(self, scan: Scan) -> ScanCounts:
        self._ranged(wire.SCAN, (scan.source, scan.sink, scan.look, scan.weak))
        if scan.source and scan.source == scan.sink:
            raise Refused("argument", "Not done: source and sink are the same line. Name two.")
        lines = (scan.source, scan.sink, scan.look)
        if self._bare and any(Line.LEAD_1 <= line <= Line.LEAD_4 for line in lines):
            self._not_built()
        if not self._bare and self._bench.pins.coil | bool(self._bench.pins.branches):
            raise Refused("energised", "The coil or a load is on. Turn everything off first.")
        if not self._bare and (scan.source is Line.T30 or scan.weak):
            self._not_built()
        self._drive(RELEASED)
        counts = self._scan_pins(scan) if self._bare else self._scan_lines(scan)
        self._raise_trip()
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
        self._raise_trip()
        self._pass(seconds * self._clock)
        self._raise_trip()

    def elapsed(self) -> float:
        return self._bench.time_s

    def close(self) -> None:
        self._drive(RELEASED)
        self._pulse_until = None

    # --- what a person does at the bench ---

    @property
    def plant(self) -> Bench:
        """The simulated bench, for simulated instruments that are held to it."""
        return self._bench

    def insert(self, specimen: Specimen) -> None:
        """Exchange what is in the socket, everything off."""
        self.off()
        self._bench.insert(specimen)

    def open_stop(self, opened: bool = True) -> None:
        """Open the emergency stop, or close it again."""
        self._stop_open = opened
        if opened:
            self._trip_now(Trip.EMERGENCY_STOP)

    # --- terminal scan ---

    def _scan_lines(self, scan: Scan) -> ScanCounts:
        def counts(line: Line, mux: int, gain: int) -> int:
            self._pass(ADS_S)
            return self._bench.scan_counts(*plant_scan.ports(scan.source, scan.sink, line), mux, gain)

        def looked(line: Line) -> int:
            self._pass(DWELL_OVER_S + 1e-3)
            return counts(line, plant_scan.LOOK, 0) if line not in (Line.NONE, Line.T30) else 0

        self._pass(SCAN_SETTLE_S)
        return ScanCounts(
            source_line=scan.source, sink_line=scan.sink, look_line=scan.look, weak=scan.weak,
            driven=counts(scan.source, plant_scan.DRIVEN, 4),
            sunk=counts(scan.source, plant_scan.SUNK, 5),
            supply=counts(scan.source, plant_scan.SUPPLY, 0),
            source=looked(scan.source), sink=looked(scan.sink), look=looked(scan.look),
        )  # fmt: skip

    def _scan_pins(self, scan: Scan) -> ScanCounts:
        levels = plant_scan.levels(scan.source, scan.sink, scan.weak)

        def summed(line: Line) -> int:
            if line is Line.NONE:
                return 0
            self._pass(16 * ANALOG_S)
            bench = self._bench
            volts = bench.bare_volts(levels)[plant_scan.BARE_LINES[line]]
            return sum(bench.frontend.adc_counts(bench.noisy(volts)) for _ in range(16))

        self._pass(SCAN_SETTLE_S)
        counts = ScanCounts(
            source_line=scan.source, sink_line=scan.sink, look_line=scan.look, weak=scan.weak,
            driven=0, sunk=0, supply=0,
            source=summed(scan.source), sink=summed(scan.sink), look=summed(scan.look),
        )  # fmt: skip
        self._pass(COLLAPSE_S)
        return counts

    # --- guard ---

    def _full_only(self) -> None:
        if self._bare:
            self._not_built()

    def _not_built(self) -> None:
        raise Refused("build", "This build of the board has no part for it. See hardware/guide.md.")

    def _admit(self, message: Message, values: Sequence[int]) -> None:
        """Range of every field, then what this build lacks, then trips, as the firmware's dispatch does."""
        self._ranged(message, values)
        self._full_only()
        self._raise_trip()

    def _ranged(self, message: Message, values: Sequence[int]) -> None:
        try:
            codec.pack(message, message.request, [int(value) for value in values])
        except codec.Malformed as error:
            raise Refused("argument", f"Not done: {error}. Correct the protocol.") from error
        self._pass(EXCHANGE_S)

    def _energise(self, pins: Pins, drive: Drive) -> None:
        """Drive, and start the on-time anew."""
        if self._stop_open:
            self._trip_now(Trip.EMERGENCY_STOP)
        self._raise_trip()
        self._limit = drive.limit
        self._on_until = self._bench.time_s + drive.on_ms / 1000 / self._clock
        self._drive(pins)

    def _drive(self, pins: Pins) -> None:
        bench = self._bench
        if pins.branches and not bench.pins.branches:
            self._loaded.append((bench.time_s, float("inf")))
        elif bench.pins.branches and not pins.branches:
            self._loaded[-1] = (self._loaded[-1][0], bench.time_s)
        bench.drive(pins)

    def _trip_now(self, trip: Trip) -> None:
        self._drive(RELEASED)
        self._pulse_until = None
        if self._trip is Trip.NONE:
            self._trip = trip

    def _raise_trip(self) -> None:
        if self._trip is not Trip.NONE:
            raise _tripped(self._trip)

    # --- time ---

    def _work(self, board_s: float) -> None:
        """Let work take its time; a trip or the end of a pulse in between ends it."""
        pulsing = self._pulse_until is not None
        self._pass(board_s)
        self._raise_trip()
        if pulsing and self._pulse_until is None:
            raise Refused("stopped", "The load pulse was ended by its own time limit. Allow more time, or sample less.")

    def _pass(self, board_s: float) -> None:
        """Let `board_s` seconds of the board's clock pass, or as many as there are until a trip."""
        bench, tripped = self._bench, self._trip
        until = bench.time_s + board_s / self._clock
        while bench.time_s < until and self._trip is tripped:
            to = until
            if _live(bench.pins) and (bench.pins.coil or self._pulse_until is None):
                to = min(to, max(self._on_until, bench.time_s))
            if self._pulse_until is not None:
                to = min(to, max(self._pulse_until, bench.time_s))
            if bench.pins.coil:
                to = self._watch(min(to, bench.time_s + WATCH_S))
            else:
                self._edges += bench.advance(to)
            self._time_out(to)

    def _watch(self, until: float) -> float:
        """Advance with the coil on; the moment reached. In one go, unless over-current is found at either end."""
        bench = self._bench
        before, closely = bench.snapshot(), min(until, bench.time_s + CLOSELY_S)
        to = closely if self._over() else until
        edges = bench.advance(to)
        over = self._over()
        if over and to > closely:
            bench.restore(before)
            to, edges = closely, bench.advance(closely)
            over = self._over()
        self._edges += edges
        if not over:
            self._over_since = None
        elif self._over_since is None:
            self._over_since = to
        elif to - self._over_since >= OVER_S:
            self._over_since = None
            self._trip_now(Trip.OVER_CURRENT)
        return to

    def _over(self) -> bool:
        return self._bench.adc_counts(Analog.COIL_CURRENT) >= self._limit

    def _time_out(self, now: float) -> None:
        """End what has been on for as long as it may."""
        pins = self._bench.pins
        if self._pulse_until is not None and now >= self._pulse_until:
            self._end_pulse()
        elif _live(pins) and now >= self._on_until and (pins.coil or self._pulse_until is None):
            if pins.coil or pins.branches:
                self._trip_now(Trip.ON_TIME)
            else:
                self._drive(replace(RELEASED, dac=pins.dac))

    # --- capture and pulse ---

    def _sample(self, window_ms: int, divider: int, channel: Analog) -> tuple[int, ...]:
        wanted = min(MOST_SAMPLES, ceil(window_ms / 1000 / (SAMPLE_S * divider) - 1e-9))
        samples = []
        for index in range(wanted):
            if index:
                self._work(divider * SAMPLE_S)
            samples.append(self._bench.adc_counts(channel))
        self._work(window_ms / 1000 - (wanted - 1) * divider * SAMPLE_S)
        return tuple(samples)

    def _logged(self, stepped_at: float, window_ms: int) -> tuple[tuple[Edge, ...], int]:
        """Edges of the window in ticks of the board's clock, and how many had no room."""
        edges = []
        for edge in latency.logged(self._edges, self._busy):
            tick = round((edge.time_s - stepped_at) * self._clock * TICKS_PER_S)
            if 0 < tick <= window_ms * TICKS_PER_S // 1000:
                edges.append(Edge(tick=tick, contact=Contact(1 << edge.throw), closed=edge.closed))
        self._edges = []
        return tuple(edges[:MOST_EDGES]), max(0, len(edges) - MOST_EDGES)

    def _begin_pulse(self, pulse: Pulse) -> None:
        pins = self._bench.pins
        self._dry_after = pins.dry
        self._pulse_until = self._bench.time_s + pulse.limit_ms / 1000 / self._clock
        self._drive(
            replace(
                pins,
                branches=int(pulse.branches),
                throws=int(pulse.throw) if pulse.branches else 0,
                dry=0 if pulse.branches else int(pulse.throw),
            )
        )

    def _end_pulse(self) -> None:
        self._pulse_until = None
        self._drive(replace(self._bench.pins, branches=int(Branch.NONE), throws=0, dry=self._dry_after))

    def _duty_allows(self, pulse_s: float) -> bool:
        since = self._bench.time_s - DUTY_WINDOW_S
        while self._loaded and self._loaded[0][1] < since:
            self._loaded.popleft()
        used = sum(end - max(start, since) for start, end in self._loaded)
        return used + pulse_s <= DUTY_MOST_S


def _drive_values(drive: Drive) -> tuple[int, ...]:
    return drive.dac, drive.on, drive.diode, drive.dry, drive.on_ms, drive.limit


def _pins(drive: Drive) -> Pins:
    return Pins(dac=drive.dac, coil=drive.on, diode=drive.diode, dry=int(drive.dry))


def _live(pins: Pins) -> bool:
    """Whether anything is on; the DAC keeps its code when the time is over, as on the firmware."""
    return pins != replace(RELEASED, dac=pins.dac)


def _tripped(trip: Trip) -> Tripped:
    why = {
        Trip.OVER_CURRENT: "the coil took more current than its limit for 1 ms. Look for a shorted or reversed part.",
        Trip.EMERGENCY_STOP: "the emergency stop was opened. Close it when the bench is safe.",
        Trip.ON_TIME: "the coil was on for longer than the request allowed. Run again.",
    }
    return Tripped(trip, f"The virtual board turned everything off: {why[trip]}")
