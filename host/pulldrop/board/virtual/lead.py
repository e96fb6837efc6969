"""A bare board with the vehicle lead, without a board: the same turns of the converter, numbers and losses.

Rule: what the firmware does (firmware/core/measure/lead.c, firmware/nano/adc.c); only the lease is missing, because
simulated time passes only while somebody asks.
"""

from pulldrop.board.errors import Refused
from pulldrop.board.request_types import Scan
from pulldrop.board.virtual.board import ANALOG_S, EXCHANGE_S, VirtualBoard
from pulldrop.model.raw import GROUND_SUMMED, LEAD_S, LEAD_SUMMED, LeadCounts, ScanCounts
from pulldrop.plant.bench.leaded import NOTHING, LeadBench
from pulldrop.plant.vehicle.vehicle import Vehicle

TURN_S = 1e-4
"""From one conversion of a watch to the next."""
ROOM, TOLD = 64, 6
"""Readings that the board keeps, the one in work with them, and tells at a time."""
REFERENCE_S = 25.5e-3
"""Until the chip's own reference stands."""


class LeadBoard(VirtualBoard):
    """On one vehicle; `seed` as for VirtualBoard."""

    _bench: LeadBench

    def __init__(self, vehicle: Vehicle, seed: int | None) -> None:
        self._vehicle = vehicle
        self._began_s: float | None = None
        self._made: list[tuple[int, int, int, int]] = []
        self._gone = 0
        super().__init__(NOTHING, seed, bare=True)
        self._bench = LeadBench(vehicle, seed)
        self._guard.bench = self._bench

    @property
    def plant(self) -> LeadBench:
        return self._bench

    def off(self) -> None:
        self._began_s = None
        super().off()

    def sense_ground(self) -> int:
        self._began_s = None
        self._guard.let_pass(EXCHANGE_S + REFERENCE_S)
        total = 0
        for _ in range(GROUND_SUMMED):
            self._guard.let_pass(ANALOG_S)
            volts = self._bench.input_v(4, self._bench.time_s)
            total += self._bench.input_counts(volts, self._bench.lead.own_v)
        return total

    def watch_lead(self) -> None:
        self._guard.let_pass(EXCHANGE_S)
        self._began_s, self._made, self._gone = self._bench.time_s, [], 0

    def read_lead(self, first: int) -> LeadCounts:
        self._guard.let_pass(EXCHANGE_S)
        if self._began_s is None:
            raise Refused("stopped", "Nothing is watched. Begin the watch again.")
        self._convert(self._began_s)
        following = self._gone + len(self._made)
        behind = following - first
        if not 0 <= behind < ROOM:
            first = max(following - ROOM + 1, 0)
        told = self._made[first - self._gone : first - self._gone + TOLD]
        return LeadCounts(first=first, next=following, readings=tuple(told))

    def scan(self, scan: Scan) -> ScanCounts:
        self._began_s = None
        return super().scan(scan)

    def _convert(self, began_s: float) -> None:
        """Every reading that is whole by now; only what the board has room for is kept."""
        bench, turn_s = self._bench, TURN_S / self._guard.clock
        following = self._gone + len(self._made)
        whole = int((bench.time_s - began_s) / (LEAD_S / self._guard.clock))
        if whole - following >= ROOM:
            self._gone, self._made = whole - ROOM + 1, []
        for number in range(self._gone + len(self._made), whole):
            sums = [0, 0, 0, 0]
            for turn in range(4 * LEAD_SUMMED):
                at_s = began_s + (number * 4 * LEAD_SUMMED + turn) * turn_s
                sums[turn % 4] += bench.input_counts(bench.input_v(turn % 4, at_s), bench.frontend.vcc_v)
            self._made.append((sums[0], sums[1], sums[2], sums[3]))
        if len(self._made) >= 2 * ROOM:
            self._gone += len(self._made) - ROOM
            self._made = self._made[-ROOM:]
