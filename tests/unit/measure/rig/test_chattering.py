"""What chatters, or noise on a pin, gives no figure: a log that is full, makes that contradict each other, a contact
that is closed though its edges show an opening."""

from dataclasses import dataclass

import pytest

from pulldrop.board.request_types import Drive
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run.specimens import find
from pulldrop.measure import perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact, Edge
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.contacts.hot import HotStep
from pulldrop.model.steps.contacts.sticking import StickingStep
from pulldrop.model.steps.contacts.timing import TimingStep
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


@dataclass(frozen=True)
class Burst:
    """Noise on the pin of one throw: `edges` of them every 0.2 ms, from so many ms after each of these steps on."""

    contact: Contact
    from_ms: float
    edges: int = 6
    on: bool = True
    steps: tuple[int, ...] = tuple(range(20))

    def __call__(self, made: Capture) -> Capture:
        """As the board logs it: each edge of the noise turns the pin over, whatever the contact does meanwhile."""
        ticks = [e.tick for e in made.edges if e.contact == self.contact]
        noise = [round((self.from_ms / 1000 + i * 0.2e-3) * TICKS_PER_S) for i in range(self.edges)]
        closed, mixed = bool(made.contacts_before & self.contact), list[Edge]()
        for tick in sorted(t for t in [*ticks, *noise] if t < made.window_ticks):
            closed = not closed
            mixed.append(Edge(tick=tick, contact=self.contact, closed=closed))
        others = [e for e in made.edges if e.contact != self.contact]
        return made.model_copy(update={"edges": tuple(sorted([*others, *mixed], key=lambda e: e.tick))})


def amid(burst: Burst, part: str = "good-12v-changeover", step: type = TimingStep) -> dict[str, Finding]:
    class Noisy(VirtualBoard):
        steps = 0

        def step_coil(self, drive: Drive, window_ms: int, divider: int, low_side: bool = False) -> Capture:
            made = super().step_coil(drive, window_ms, divider, low_side)
            if drive.on != burst.on:
                return made
            self.steps += 1
            return burst(made) if self.steps - 1 in burst.steps else made

    at = plan("relay-diagnose", "class-mini-12v-form-c")
    at = at.model_copy(update={"steps": tuple(s for s in at.steps if isinstance(s, CoilStep | step))})
    with Noisy(find(part).specimen, 1) as board:
        return {f.id: f for f in perform(at, board, nominal(0)) if isinstance(f, Reading | NotTested)}


@pytest.mark.parametrize("edges", [2, 6, 7, 60])
@pytest.mark.parametrize(
    ("part", "step", "id"),
    [("tacking", StickingStep, "release_after_load"), ("tacking-hot", HotStep, "release_after_hot_make")],
)
def test_a_contact_that_is_still_closed_after_its_break_has_not_let_go(
    part: str, step: type, id: str, edges: int
) -> None:
    """An edge of noise was its opening, and a part that sticks passed."""
    found = amid(Burst(Contact.NO, 2.0, edges, on=False), part, step)[id]
    assert isinstance(found, Reading) and (found.bound, found.value) == (">", 0.03)


@pytest.mark.parametrize(("from_ms", "edges"), [(29.5, 3), (20.1, 1)])
def test_a_sound_contact_that_noise_shows_closed_does_not_stick(from_ms: float, edges: int) -> None:
    found = amid(Burst(Contact.NO, from_ms, edges, on=False), step=StickingStep)["release_after_load"]
    assert isinstance(found, NotTested) and "was not seen to stay open" in found.reason


def test_noise_before_an_opening_is_not_the_opening() -> None:
    calm, noisy = (amid(Burst(Contact.NC, 0.2, edges), step=HotStep)["opening_after_hot_make_nc"] for edges in (0, 2))
    assert isinstance(calm, Reading) and isinstance(noisy, Reading)
    assert noisy.value == pytest.approx(calm.value)


def test_a_contact_that_moves_again_after_a_rest_gives_no_times() -> None:
    """A spark every 30 ms made a bounce of 12 ms of a sound part, and it failed."""
    found = amid(Burst(Contact.NO, 17.0))
    for id in ("operate_time", "bounce_time_no", "transfer_time"):
        assert isinstance(found[id], NotTested) and "rested and then moved again" in found[id].reason
    assert isinstance(found["release_time"], Reading) and isinstance(found["bounce_time_nc"], Reading)


def test_makes_that_contradict_each_other_give_no_time() -> None:
    """Noise closed NO before the coil could move it, and the part had an operate time of 1.5 ms."""
    found = amid(Burst(Contact.NO, 2.6, steps=(0, 2, 3)))
    assert all(isinstance(found[id], NotTested) for id in ("operate_time", "bounce_time_no", "transfer_time"))
    assert "contradict each other, a contact switches 2.6" in found["operate_time"].reason  # type: ignore[union-attr]


def test_bounces_that_contradict_each_other_give_none() -> None:
    found = amid(Burst(Contact.NO, 7.8, steps=(0, 2, 3)))
    assert isinstance(found["operate_time"], Reading)
    bounced = found["bounce_time_no"]
    assert isinstance(bounced, NotTested) and "contradict each other, a contact bounces for 0." in bounced.reason
