"""A cabin with a wire of a known rule, in time, and a person who does what is asked, or something else."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from pulldrop.hunt.session import Hunt
from pulldrop.jobs.hunt.log import LogHead
from pulldrop.jobs.hunt.loop import Answer, Done, Leave, Otherwise, Positions
from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.model.hunt.ask import AnyAsk, Move, PauseStep, ReadBackStep, SetStep
from pulldrop.model.hunt.cabin import Cabin, ControlLine
from pulldrop.model.hunt.control import CabinControl, ControlKind
from pulldrop.model.vehicle.lead import LeadReading

STEP_S = 0.02
Volts = Callable[[dict[str, str], float], float]
"""Of the wire, by positions and time."""


CABIN = Cabin(
    cabin="a-van",
    title="a van",
    source="invented",
    wire="the wire",
    controls=(
        ControlLine(name="key", kind=ControlKind.KEY),
        ControlLine(name="lamps", kind=ControlKind.LATCHING),
        ControlLine(name="fan", kind=ControlKind.ROTARY, positions=("off", "slow", "fast")),
        ControlLine(name="bell", kind=ControlKind.MOMENTARY),
    ),
)


def head(most_steps: int = 45) -> LogHead:
    return LogHead(simulated=True, begun="today", cabin=CABIN, solenoid_off=False, seed=1, most_steps=most_steps)


def live(at: dict[str, str], _: float) -> float:
    """Key at ON, lamps on, and the fan not at fast."""
    return 12.4 if at["key"] in ("ON", "START") and at["lamps"] == "on" and at["fan"] != "fast" else 0.1


@dataclass
class Cab:
    """The wire's samples; also the clock."""

    controls: Sequence[CabinControl]
    volts: Volts
    battery_v: float = 12.6
    now_s: float = 0.0
    positions: dict[str, str] = field(default_factory=dict)
    losing: bool = False
    hurried: bool = True
    """False: time passes, fifty times as fast as on a clock."""

    def __post_init__(self) -> None:
        self.positions = {one.id: one.positions[0] for one in self.controls}

    def read(self) -> list[LeadReading]:
        self.now_s += STEP_S
        if not self.hurried:
            time.sleep(STEP_S / 50)
        volts = (self.battery_v, self.volts(self.positions, self.now_s), 0.0, 0.0)
        return [LeadReading(at_s=self.now_s, volts=volts, lost=3 if self.losing else 0)]

    def put(self, control: str, position: int) -> None:
        one = next(one for one in self.controls if one.id == control)
        self.positions[control] = one.positions[position]

    def at(self, control: str) -> int:
        one = next(one for one in self.controls if one.id == control)
        return one.positions.index(self.positions[control])


@dataclass
class Somebody:
    """`otherwise`: for the step of that number other moves. `leaves`: the step at which the person goes."""

    cab: Cab
    otherwise: dict[int, tuple[Move, ...]] = field(default_factory=dict)
    leaves: int = 10_000
    takes_s: float = 0.4
    asked: list[AnyAsk] = field(default_factory=list)
    _due_s: float = 0.0
    _answer: Answer | None = None

    def asks(self, hunt: Hunt, ask: AnyAsk, at: int) -> None:
        if at == 0:
            self.asked.append(ask)
        self._due_s = self.cab.now_s + self.takes_s
        other = self.otherwise.pop(len(self.asked), None)
        if len(self.asked) >= self.leaves:
            self._answer = Leave()
        elif isinstance(ask, ReadBackStep):
            self._answer = Positions(tuple(map(self.cab.at, (one.id for one in self.cab.controls))))
        elif other is not None:
            self._answer = Otherwise(other)
        else:
            self._answer = Done()
        moves = other or (ask.moves[at : at + 1] if isinstance(ask, SetStep) else ())
        moves = ask.moves if isinstance(ask, PauseStep) else moves
        for one in moves:
            self.cab.put(one.control, one.position)

    def answer(self) -> Answer | None:
        return self._answer if self.cab.now_s >= self._due_s else None

    def sees(self, wire: HuntedWire, waits_s: float) -> None:
        pass

    def touches(self) -> Sequence[tuple[str, int]]:
        return ()
