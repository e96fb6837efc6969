"""The evening build without a board: its main relay ahead of coil and load, its one load, its look at the coil.

Rule: what the firmware refuses and waits for (firmware/core/build.c, measure/feed.c, scan.c); the rest is the full
one's.
"""

from dataclasses import replace

from pulldrop.board.errors import Refused
from pulldrop.board.request_types import DAC_MAX, Branch, Drive, Load, Pulse, Scan, Stairs, Watch
from pulldrop.board.values import Part
from pulldrop.board.virtual.board import INA_S, TICK_S, VirtualBoard, pins_of
from pulldrop.model.raw import Landing, Line, ScanCounts, ShuntWatch
from pulldrop.plant.bench.evening import EveningBench
from pulldrop.plant.specimen import Specimen
from pulldrop.wire import messages as wire
from pulldrop.wire.messages import Message

LEAD_S, FEED_S = 25.5e-3, 40e-3
"""K1 ahead of what it feeds, and its own time ahead of a load (firmware/core/measure/feed.c)."""
OPENS_S, SETTLES_S = 30e-3 + TICK_S, 20e-3 + TICK_S
"""Of a look: until K1 has opened, and until the coil's current is steady."""


class EveningBoard(VirtualBoard):
    """One specimen on one evening bench; `seed` as for VirtualBoard."""

    BENCH = EveningBench
    _bench: EveningBench

    def __init__(self, specimen: Specimen, seed: int | None) -> None:
        super().__init__(specimen, seed)
        self.identity = self.identity.model_copy(update={"build": "evening"})
        self._of_load = False

    def staircase(self, stairs: Stairs) -> Landing:
        self._admit(wire.STAIRCASE, stairs.drive, stairs)
        self._not_built()

    def watch_load(self, watch: Watch) -> ShuntWatch:
        super()._admit(wire.WATCH_LOAD, watch)
        if not watch.throws or watch.branches != Branch.A10:
            self._not_built()
        self._lead_load()
        watched = self._watched(watch, alone=False)
        self._load_ends()
        return watched

    def scan(self, scan: Scan) -> ScanCounts:
        self._ranged(wire.SCAN, scan)
        if self._bench.pins.coil or self._bench.pins.branches:
            raise Refused("energised", "The coil or a load is on. Turn everything off first.")
        if (scan.source, scan.sink, scan.look) != (Line.T86, Line.T85, Line.NONE) or scan.weak:
            self._not_built()
        self._guard.off()
        self._guard.work(OPENS_S)
        self._guard.look()
        self._guard.work(SETTLES_S + INA_S)
        bus, shunt = self._bench.ina_counts()
        self._guard.off()
        return ScanCounts(
            source_line=scan.source, sink_line=scan.sink, look_line=scan.look, weak=False,
            driven=shunt, sunk=0, source=bus, sink=0, look=0, supply=0,
        )  # fmt: skip

    @property
    def plant(self) -> EveningBench:
        """See VirtualBoard."""
        return self._bench

    # --- what is refused, and what comes first ---

    def _admit(self, message: Message, *parts: Part, **more: int) -> None:
        super()._admit(message, *parts, **more)
        for part in parts:
            if isinstance(part, Drive) and not (
                not part.diode and part.dac in (DAC_MAX, 0 if not part.on else DAC_MAX)
            ):
                self._not_built()
            if isinstance(part, Load | Pulse) and part.branches not in (Branch.A10, Branch.NONE):
                self._not_built()

    def _lead(self, drive: Drive) -> None:
        if not drive.dac:
            return
        if not self._bench.pins.lamp:
            coil = self._bench.pins.coil
            self._guard.energise(replace(pins_of(drive), coil=coil), drive, supplied=True)
        self._wait_for_relay()

    def _lead_load(self) -> None:
        self._of_load = not self._guard.supplied
        if self._of_load:
            self._guard.feed(FEED_S)
        self._wait_for_relay()

    def _wait_for_relay(self) -> None:
        lit_s = self._bench.time_s - self._bench.lit_since
        if self._bench.pins.lamp and lit_s < LEAD_S:
            self._guard.work(LEAD_S - lit_s)
        if not self._bench.pins.lamp:
            self._guard.off()
            raise Refused("stopped", "The on-time was over before the main relay had closed. Allow more time.")

    def _load_ends(self) -> None:
        if self._of_load:
            self._of_load = False
            self._guard.drive(self._bench.pins, supplied=False)
