"""A log that is full says nothing of a part: what chatters or what noise fills it ends without a verdict."""

from dataclasses import dataclass

import pytest

from pulldrop.board.request_types import Drive
from pulldrop.board.virtual import VirtualBoard
from pulldrop.measure import perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact, Edge
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

QUICK = plan("relay-quick", "class-mini-12v-form-c")
ROOM = 40
"""Edges that the log holds."""


@dataclass(frozen=True)
class Chatter:
    """One throw goes to and fro from its first edge on when the coil comes on: a spring that swings at 1.7 kHz."""

    contact: Contact
    gap: int = round(0.3e-3 * TICKS_PER_S)

    def __call__(self, made: Capture) -> Capture:
        first = next(e for e in made.edges if e.contact == self.contact)
        more = [
            Edge(tick=first.tick + self.gap * i, contact=self.contact, closed=first.closed ^ bool(i % 2))
            for i in range(60)
        ]
        others = [e for e in made.edges if e.contact != self.contact]
        edges = sorted([*others, *more], key=lambda e: e.tick)[:ROOM]
        return made.model_copy(update={"edges": tuple(edges), "edges_lost": 1})


def findings(chatter: Chatter) -> dict[str, Finding]:
    class Chattering(VirtualBoard):
        def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
            made = super().step_coil(drive, window_ms, divider, low_side)
            return chatter(made) if drive.on else made

    with Chattering(Specimen(title="invented"), None) as board:
        return {f.id: f for f in perform(QUICK, board, nominal(0)) if isinstance(f, Reading | NotTested)}


@pytest.mark.parametrize("gap_s", [0.12e-3, 0.2e-3, 0.3e-3])
def test_a_bounce_whose_end_was_not_logged_is_no_bounce_of_the_part(gap_s: float) -> None:
    """A sound part failed by its bounce, because slow noise on the pin had filled the log."""
    found = findings(Chatter(Contact.NO, gap=round(gap_s * TICKS_PER_S)))
    bounced, operated = found["bounce_time_no"], found["operate_time"]
    assert isinstance(bounced, NotTested) and "noise on its wire" in bounced.reason
    assert isinstance(operated, Reading) and operated.bound == "="


def test_a_log_that_was_full_before_a_throw_closed_does_not_say_that_it_stayed_open() -> None:
    found = findings(Chatter(Contact.NC, gap=10))
    assert isinstance(found["operate_time"], NotTested)
    assert "chattered until the board's log of edges was full" in found["operate_time"].reason
