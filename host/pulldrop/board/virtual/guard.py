"""What the firmware's guard does, for the board that has no firmware: outputs, their longest times, trips, duty.

Rule: outputs change and time passes only here; whatever is on ends when the firmware would end it.
"""

from collections import deque
from dataclasses import replace
from math import inf

from pulldrop.board.contract import Trip
from pulldrop.board.errors import TRIPS, Refused, Tripped
from pulldrop.board.request_types import Analog, Branch, Drive
from pulldrop.model.raw import Contact
from pulldrop.plant.bench.bench import Bench, PinEdge, Pins

RELEASED = Pins()
OVER_S, WATCH_S, CLOSELY_S = 1e-3, 20e-3, 0.2e-3
"""Over-current must last this long to trip (firmware/core/safety/guard.c: 20 samples); it is looked for this often, and
closely once it is there."""
DUTY_WINDOW_S, DUTY_MOST_S = 10.25, 1.0
"""The firmware counts load time in 41 slots of 250 ms (firmware/core/safety/duty.c), so that any 10 s lie within."""
RECENT_S, RECENT_MOST_S = 1.0, 0.5
"""And in the last four of them what the pulse limit in hardware allows without a rest."""
LOOK_S, LOOK_LIMIT = 0.1, 110
"""Of the look at a coil with an evening build's main relay open, s and counts (firmware/core/safety/guard.c)."""
DUTY = "The load would be on for more than 10 % of the last 10 s, or half of the last second. Wait between pulses."


class Guard:
    """Keeps one bench. `clock`: seconds of the board's own resonator in a second of the bench."""

    def __init__(self, bench: Bench, clock: float) -> None:
        self.bench, self.clock = bench, clock
        self.trip = Trip.NONE
        self._limit = 0
        self._was_over: bool | None = None
        self._over_since: float | None = None
        self._on_until = 0.0
        self._pulse_until: float | None = None
        self._dry_after = 0
        self._supplied = False
        self._loaded: deque[tuple[float, float]] = deque()
        self._edges: list[PinEdge] = []

    @property
    def supplied(self) -> bool:
        """Whether the coil supply is let on for its own sake."""
        return self._supplied

    @property
    def stop_open(self) -> bool:
        """Whether the stop input reads open."""
        return self.bench.stop_open

    # --- outputs ---

    def off(self) -> None:
        """Everything off, the coil supply too."""
        self.drive(RELEASED, supplied=False)
        self._pulse_until = None

    def energise(self, pins: Pins, drive: Drive, supplied: bool | None = None) -> None:
        """Drive, and start the on-time again; a load that runs stays. `supplied` as of `drive`."""
        if self.stop_open:
            self.trip_now(Trip.EMERGENCY_STOP)
        self.raise_trip()
        if self._pulse_until is not None:
            pins = replace(pins, branches=self.bench.pins.branches, throws=self.bench.pins.throws)
        self._limit, self._was_over = drive.limit, None
        self._on_until = self.bench.time_s + drive.on_ms / 1000 / self.clock
        self.drive(pins, supplied)

    def drive(self, pins: Pins, supplied: bool | None = None) -> None:
        """Drive within the on-time that runs, and keep account of the load's time. `supplied`: from now on the coil
        supply follows its DAC, or is held at 0 while neither coil nor load is on; None: as it was."""
        bench = self.bench
        self._supplied = self._supplied if supplied is None else supplied
        pins = replace(pins, lamp=self._supplied or bool(pins.coil or pins.branches or pins.throws))
        loads, loaded = pins.branches | pins.throws, bench.pins.branches | bench.pins.throws
        if loads and not loaded:
            self._loaded.append((bench.time_s, float("inf")))
        elif loaded and not loads:
            self._loaded[-1] = (self._loaded[-1][0], bench.time_s)
        self._was_over = None
        bench.drive(pins)

    def feed(self, seconds: float) -> None:
        """Let an evening build's main relay close, for so long at least."""
        if not self.bench.pins.lamp:
            running = self._on_until if self._on_time_runs() else 0.0
            self._on_until = max(running, self.bench.time_s + seconds / self.clock)
        self.drive(self.bench.pins, supplied=True)

    def look(self) -> None:
        """An evening build's few mA through the coil, its main relay open: for 100 ms, 33 mA at most."""
        if self.stop_open:
            self.trip_now(Trip.EMERGENCY_STOP)
        self.raise_trip()
        self.off()
        self._limit, self._was_over = LOOK_LIMIT, None
        self._on_until = self.bench.time_s + LOOK_S / self.clock
        self.bench.drive(replace(RELEASED, coil=True, diode=True))

    def begin_pulse(self, throw: Contact, branches: Branch, limit_ms: int, dry: Contact) -> None:
        """Load one throw, with no branch not at all, and dry sources as said; the coil stays. Raises Refused."""
        self.begin_load(throw if branches else Contact.NONE, branches, limit_ms, dry)

    def begin_load(self, throws: Contact, branches: Branch, limit_ms: int, dry: Contact) -> None:
        """Throws and branches, either of them without the other too; a coil supply that is held at 0 is set to 0, for
        the lamp lets it on. Raises Refused.
        """
        if (branches or throws) and not self._duty_allows(limit_ms / 1000):
            raise Refused("duty", DUTY)
        pins = self.bench.pins
        self._dry_after = pins.dry
        self._pulse_until = self.bench.time_s + limit_ms / 1000 / self.clock
        unasked = bool(branches or throws) and not self._supplied
        dac = 0 if unasked else pins.dac
        self.drive(replace(pins, dac=dac, branches=int(branches), throws=int(throws), dry=int(dry)))

    def end_pulse(self) -> None:
        """Load off, the dry sources as before it."""
        self._pulse_until = None
        self.drive(replace(self.bench.pins, branches=int(Branch.NONE), throws=0, dry=self._dry_after))

    def _duty_allows(self, pulse_s: float) -> bool:
        since = self.bench.time_s - DUTY_WINDOW_S
        while self._loaded and self._loaded[0][1] < since:
            self._loaded.popleft()
        used = sum(end - max(start, since) for start, end in self._loaded)
        lately = self.bench.time_s - RECENT_S
        recent = sum(max(end - max(start, lately), 0.0) for start, end in self._loaded)
        return used + pulse_s <= DUTY_MOST_S and (not recent or recent + pulse_s <= RECENT_MOST_S)

    # --- trips ---

    def open_stop(self, opened: bool) -> None:
        """The emergency stop, opened or closed again."""
        self.bench.press_stop(opened)
        if self.stop_open:
            self.trip_now(Trip.EMERGENCY_STOP)

    def acknowledge(self) -> None:
        """Forget the trip. Raises Tripped while the emergency stop is open."""
        if self.stop_open:
            raise _tripped(Trip.EMERGENCY_STOP)
        self.trip = Trip.NONE

    def trip_now(self, trip: Trip) -> None:
        """Everything off; the first reason stays latched."""
        self.off()
        if self.trip is Trip.NONE:
            self.trip = trip

    def raise_trip(self) -> None:
        """Raises Tripped when one is latched."""
        if self.trip is not Trip.NONE:
            raise _tripped(self.trip)

    # --- time ---

    def work(self, board_s: float) -> None:
        """Let work take its time; a trip or the end of a pulse in between ends it. Raises Tripped, Refused."""
        pulsing = self._pulse_until is not None
        self.let_pass(board_s)
        self.raise_trip()
        if pulsing and self._pulse_until is None:
            raise Refused("stopped", "The load pulse was ended by its own time limit. Allow more time, or sample less.")

    def let_pass(self, board_s: float) -> None:
        """Let `board_s` seconds of the board's clock pass, or as many as there are until a trip."""
        bench, tripped = self.bench, self.trip
        until = bench.time_s + board_s / self.clock
        while bench.time_s < until and self.trip is tripped:
            to, since, stopped = until, bench.time_s, not self._on_time_runs()
            if self._on_time_runs():
                to = min(to, max(self._on_until, bench.time_s))
            if self._pulse_until is not None:
                to = min(to, max(self._pulse_until, bench.time_s))
            if bench.pins.coil:
                to = self._watch(min(to, bench.time_s + WATCH_S))
            else:
                self._edges += bench.advance(to)
            if stopped:
                self._on_until += to - since
            self._time_out(to)

    def sampled(self, analog: Analog, times_s: list[float]) -> list[int] | None:
        """Counts now and at each of these moments of the bench, if nothing ends until the last and what flows stays
        below its limit; else None, and no time has passed."""
        bench, end, runs = self.bench, times_s[-1], self._on_time_runs()
        ends = min(self._on_until if runs else inf, inf if self._pulse_until is None else self._pulse_until)
        if end >= ends or self.trip is not Trip.NONE:
            return None
        before, since = bench.snapshot(), bench.time_s
        edges, volts = bench.advance_through(times_s, analog, noisy=True)
        counts = [bench.frontend.adc_counts(one) for one in volts]
        if bench.pins.coil and max(counts) >= self._limit:
            bench.restore(before)
            return None
        if not runs:
            self._on_until += end - since
        self._edges += edges
        return counts

    def take_edges(self) -> list[PinEdge]:
        """The edges since they were last taken."""
        edges, self._edges = self._edges, []
        return edges

    def _watch(self, until: float) -> float:
        """Advance with the coil on; the moment reached. In one go, unless over-current is found at either end."""
        bench = self.bench
        closely = min(until, bench.time_s + CLOSELY_S)
        before = bench.snapshot() if until > closely else None
        was_over = self._over() if self._was_over is None else self._was_over
        to = closely if was_over else until
        edges = bench.advance(to)
        over = self._over()
        if over and to > closely:
            bench.restore(before)
            to, edges = closely, bench.advance(closely)
            over = self._over()
        self._edges += edges
        self._was_over = over
        if not over:
            self._over_since = None
        elif self._over_since is None:
            self._over_since = to
        elif to - self._over_since >= OVER_S:
            self._over_since = None
            self.trip_now(Trip.OVER_CURRENT)
        return to

    def _over(self) -> bool:
        return self.bench.adc_counts(Analog.COIL_CURRENT) >= self._limit

    def _time_out(self, now: float) -> None:
        """End what has been on for as long as it may."""
        pins = self.bench.pins
        if self._pulse_until is not None and now >= self._pulse_until:
            self.end_pulse()
        elif now >= self._on_until and self._on_time_runs():
            if pins.coil or pins.branches:
                self.trip_now(Trip.ON_TIME)
            else:
                pulsed = 0 if self._pulse_until is None else pins.dry  # a dry pulse has its own time for its source
                self._on_until, self._dry_after = inf, 0
                self.drive(replace(RELEASED, dac=pins.dac, dry=pulsed), supplied=False)

    def _on_time_runs(self) -> bool:
        """Something is on; a load without the coil has its own time, and stops this one. The DAC keeps its code when
        the time is over, as on the firmware.
        """
        pins = self.bench.pins
        live = bool(pins.lamp or pins.diode or pins.dry)
        return live and (bool(pins.coil) or not (pins.branches or pins.throws))


def _tripped(trip: Trip) -> Tripped:
    return Tripped(trip, f"The virtual board turned everything off: {TRIPS[trip]}")
