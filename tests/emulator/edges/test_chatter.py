"""However fast NO chatters as it closes, the last edge that the firmware logs is the state it came to rest in."""

from dataclasses import dataclass, field
from pathlib import Path

from desk import Desk
from fake_bench import FakeBench

from pulldrop.plant.bench.bench import PinEdge, Pins
from pulldrop.wire import messages as wire

NO = 0
CLOSED, NC = 1 << 31, 1 << 30


@dataclass
class Chattering(FakeBench):
    """NO closes `operate_s` after the coil, opens `opens_s` later and is closed for good `stays_s` after that."""

    opens_s: float = 4e-6
    stays_s: float = 1e-6
    ahead: tuple[PinEdge, ...] = field(default=())

    def drive(self, pins: Pins) -> None:
        if pins.coil != self.pins.coil:
            first = self.time_s + (self.operate_s if pins.coil else self.release_s)
            again = ((first + self.opens_s, False), (first + self.opens_s + self.stays_s, True)) if pins.coil else ()
            self.ahead = tuple(PinEdge(at, NO, closed) for at, closed in ((first, pins.coil), *again))
        self.pins = pins

    def advance(self, until_s: float) -> list[PinEdge]:
        due = [edge for edge in self.ahead if edge.time_s <= until_s]
        self.ahead = self.ahead[len(due) :]
        self.on = due[-1].closed if due else self.on
        self.time_s = until_s
        return due

    def closed(self) -> int:
        return int(self.on) & self.pins.dry

    def snapshot(self) -> object:
        return self.time_s, self.pins, self.on, self.ahead

    def restore(self, snapshot: object) -> None:
        self.time_s, self.pins, self.on, self.ahead = snapshot  # type: ignore[misc]  # what snapshot() made


def test_the_last_edge_is_the_state_of_rest(elf: Path) -> None:
    bench = Chattering()
    with Desk(elf, bench) as desk:
        desk.run(0.01)
        for opens in range(4, 60, 3):
            for stays in (1, 3, 5, 8, 12, 20, 30):
                desk.answers.clear()  # sequence numbers come round again
                bench.opens_s, bench.stays_s = opens * 0.25e-6, stays * 0.25e-6
                done = desk.ask(wire.STEP_COIL, (1843, 1, 0, 1, 1000, 1000, 4, 20, 0))
                edges = desk.ask(wire.READ_EDGES, (0,)).numbers("edges")
                assert done.number("edges") == len(edges) % 2 * len(edges), (opens, stays, "an odd number")
                assert edges[-1] & CLOSED and not edges[-1] & NC, (opens, stays)
                desk.ask(wire.STEP_COIL, (0, 0, 0, 1, 1000, 1000, 4, 20, 0))
