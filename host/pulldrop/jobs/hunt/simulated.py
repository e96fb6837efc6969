"""A person in a simulated cabin, who does what is asked of the controls of an invented vehicle."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from pulldrop.hunt.session import Hunt
from pulldrop.jobs.hunt.loop import Answer, Done, Hands, Positions
from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.model.hunt.ask import AnyAsk, PauseStep, ReadBackStep
from pulldrop.model.hunt.control import CabinControl
from pulldrop.plant.bench.leaded import LeadBench
from pulldrop.plant.vehicle.lead import Placement

TAKES_S = 0.5
"""From the question to the hand."""


class SimulatedHands:
    """`shown`: whoever else sees what is asked, such as a screen."""

    def __init__(self, bench: LeadBench, controls: Sequence[CabinControl], shown: Hands | None = None) -> None:
        self._bench, self._shown = bench, shown
        self._controls = {one.id: one for one in controls}
        self._at = dict.fromkeys(self._controls, 0)
        self._answer: Answer = Done()
        self._due_s = 0.0
        bench.lead.place(clipped(bench), bench.time_s)

    def asks(self, hunt: Hunt, ask: AnyAsk, at: int) -> None:
        if self._shown:
            self._shown.asks(hunt, ask, at)
        self._due_s = self._bench.time_s + TAKES_S
        if isinstance(ask, ReadBackStep):
            self._answer = Positions(tuple(self._at.values()))
            return
        self._answer = Done()
        for one in ask.moves if isinstance(ask, PauseStep) else ask.moves[at : at + 1]:
            self._at[one.control] = one.position
        lead, now = self._bench.lead, self._bench.time_s
        named = {name: self._controls[name].positions[place] for name, place in self._at.items()}
        lead.place(replace(lead.placed(now), positions=named), now)

    def answer(self) -> Answer | None:
        return self._answer if self._bench.time_s >= self._due_s else None

    def sees(self, wire: HuntedWire, waits_s: float) -> None:
        if self._shown:
            self._shown.sees(wire, waits_s)

    def touches(self) -> Sequence[tuple[str, int]]:
        return ()


def clipped(bench: LeadBench, positions: Mapping[str, str] | None = None) -> Placement:
    """The lead as a hunt needs it: X1 on plus, X2 on the trigger, X6 on minus; controls at rest unless named."""
    vehicle = bench.lead.vehicle
    clips = {"X1": bench.lead.plus, "X2": vehicle.socket.node("trigger"), "X6": vehicle.minus}
    return Placement(clips=clips, positions=positions or {})
