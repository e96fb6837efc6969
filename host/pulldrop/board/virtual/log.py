"""The firmware's two logs of a step, for the board that has none: samples of the coil, and edges in ticks."""

from math import ceil

from pulldrop.board.request_types import Analog
from pulldrop.board.virtual import latency
from pulldrop.board.virtual.guard import Guard
from pulldrop.model.raw import TICKS_PER_S, Contact, Edge
from pulldrop.plant.bench.bench import Bench, PinEdge
from pulldrop.plant.noise import Chance

SAMPLE_S = 50e-6
MOST_SAMPLES, MOST_EDGES = 360, 40
"""As the firmware samples, and what it has room for (firmware/core/measure/capture.c)."""


class Log:
    """Of one board; `seed` draws how late it sees an edge, None is a board without noise."""

    def __init__(self, bench: Bench, guard: Guard, seed: int | None) -> None:
        self._bench, self._guard = bench, guard
        self._timer = None if seed is None else Chance(seed)
        self._late = latency.TYPICAL if self._timer is None else latency.of_board(self._timer)

    def passed_ms(self, since: float) -> float:
        """Milliseconds of the board's own clock since that moment of the bench."""
        return (self._bench.time_s - since) * self._guard.clock * 1000

    def samples(self, window_ms: int, divider: int, channel: Analog) -> tuple[int, ...]:
        """Counts of one channel, every `divider` samplings, while the window passes."""
        wanted = min(MOST_SAMPLES, ceil(window_ms / 1000 / (SAMPLE_S * divider) - 1e-9))
        ends = [index * divider * SAMPLE_S for index in range(1, wanted)] + [window_ms / 1000]
        if counts := self._guard.sampled(channel, [self._bench.time_s + at / self._guard.clock for at in ends]):
            return tuple(counts[:wanted])
        samples = []
        for index in range(wanted):
            if index:
                self._guard.work(divider * SAMPLE_S)
            samples.append(self._bench.adc_counts(channel))
        self._guard.work(window_ms / 1000 - (wanted - 1) * divider * SAMPLE_S)
        return tuple(samples)

    def edges(self, stepped_at: float, window_ms: int, seen: list[PinEdge]) -> tuple[tuple[Edge, ...], int]:
        """Edges of the window in ticks of the board's clock, and whether there were more than have room."""
        edges = []
        into_tick = 0.5 if self._timer is None else self._timer.uniform()
        counted = [PinEdge((e.time_s - stepped_at) * self._guard.clock, e.throw, e.closed) for e in seen]
        for edge in latency.logged(counted, self._timer is not None, self._late):
            tick = int(edge.time_s * TICKS_PER_S + into_tick)
            if 0 < tick <= window_ms * TICKS_PER_S // 1000:
                edges.append(Edge(tick=tick, contact=Contact(1 << edge.throw), closed=edge.closed))
        return tuple(edges[:MOST_EDGES]), int(len(edges) > MOST_EDGES)
