"""One hunt from its first step to its outcome: asks the person, watches the wire meanwhile, and logs what happened.

Rule: a move counts from the moment at which the person says it is done. Who did something else says so and nothing is
lost.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from pulldrop.hunt.session import Hunt
from pulldrop.jobs.hunt.log import HuntLog
from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.model.hunt.ask import AnyAsk, AskReason, Move, PauseStep, ReadBackStep, SetStep
from pulldrop.model.hunt.diary import Touch, WireEdge
from pulldrop.model.hunt.look import WireLook
from pulldrop.model.hunt.outcome import HuntOutcome


@dataclass(frozen=True, slots=True)
class Done:
    """The move that is shown, the reading, or the pause is done."""


@dataclass(frozen=True, slots=True)
class Otherwise:
    """These moves were made in place of what is shown."""

    moves: tuple[Move, ...]


@dataclass(frozen=True, slots=True)
class Positions:
    """Every position as it was read, in the order of the controls."""

    read: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Leave:
    """The person ends here; the log goes on another day."""


Answer = Done | Otherwise | Positions | Leave


class Left(Exception):
    """The person ended the hunt before its end."""


class Hands(Protocol):
    """A person at the controls."""

    def asks(self, hunt: Hunt, ask: AnyAsk, at: int) -> None:
        """A step is shown, and of a SetStep the move number `at`."""

    def answer(self) -> Answer | None:
        """What the person says to it; None while they are at it."""

    def sees(self, wire: HuntedWire, waits_s: float) -> None:
        """The wire as it is now; for how long it is only watched, 0 while the person is at it."""

    def touches(self) -> Sequence[tuple[str, int]]:
        """What was tapped since the last call while the person plays: controls and positions."""


def go(hunt: Hunt, wire: HuntedWire, hands: Hands, log: HuntLog) -> HuntOutcome:
    """To the end of the hunt. Raises Left, BoardError and OSError; the log holds all that was done."""
    wire.settle()
    while (ask := hunt.next_step()) is not None:
        _step(hunt, ask, wire, hands)
        log.add(hunt.entries[-1])
    return hunt.result()


def play(hunt: Hunt, wire: HuntedWire, hands: Hands, log: HuntLog, seconds: float) -> None:
    """Free play: the person operates what they like, and taps what it was."""
    wire.settle()
    began_s = wire.now_s
    before = WireLook(level=wire.level, battery_v=round(wire.battery_v, 2))
    touches: list[Touch] = []
    while wire.now_s < began_s + seconds:
        wire.poll()
        hands.sees(wire, began_s + seconds - wire.now_s)
        touches += [Touch(control=one, position=at, at_s=wire.now_s - began_s) for one, at in hands.touches()]
        if isinstance(hands.answer(), Done | Leave):
            break
    edges = [
        WireEdge(look=WireLook(level=one.level), at_s=one.at_s - began_s) for one in wire.edges_since(began_s)
    ]  # fmt: skip
    if touches:
        hunt.play(touches, edges, before, at_s=began_s)
        log.add(hunt.entries[-1])


def _step(hunt: Hunt, ask: AnyAsk, wire: HuntedWire, hands: Hands) -> None:
    if isinstance(ask, ReadBackStep):
        hands.asks(hunt, ask, 0)
        answer = _answered(wire, hands)
        while not isinstance(answer, Positions):
            answer = _answered(wire, hands)
        hunt.read_back(answer.read, at_s=wire.now_s)
    elif isinstance(ask, PauseStep):
        hands.asks(hunt, ask, 0)
        _answered(wire, hands)
        _watch(wire, hands, ask.seconds)
        hunt.paused(at_s=wire.now_s)
    else:
        _moves(hunt, ask, wire, hands)


def _moves(hunt: Hunt, ask: SetStep, wire: HuntedWire, hands: Hands) -> None:
    looks: list[WireLook] = []
    for at in range(max(1, len(ask.moves))):
        asked_s = wire.now_s
        hands.asks(hunt, ask, at)
        answer = _answered(wire, hands) if ask.moves else Done()
        if isinstance(answer, Otherwise):
            looks += [_look(ask, wire, hands, asked_s, True) for _ in answer.moves]
            hunt.did_something_else((*ask.moves[:at], *answer.moves), looks, at_s=wire.now_s)
            return
        looks.append(_look(ask, wire, hands, asked_s, at >= len(ask.moves) - 1))
    hunt.seen(looks, at_s=wire.now_s)


def _look(ask: SetStep, wire: HuntedWire, hands: Hands, asked_s: float, last: bool) -> WireLook:
    """The look after a move; to time the fall the last alone is watched for so long."""
    wait_s = ask.wait_s if last else ask.pace_s
    hands.sees(wire, wait_s)
    return wire.after(asked_s, wait_s, ask.fall_s if last or ask.reason is not AskReason.FALL else ask.wait_s)


def _answered(wire: HuntedWire, hands: Hands) -> Answer:
    """What the person says; the wire is watched meanwhile. Raises Left."""
    while (answer := hands.answer()) is None:
        wire.poll()
        hands.sees(wire, 0.0)
    if isinstance(answer, Leave):
        raise Left
    return answer


def _watch(wire: HuntedWire, hands: Hands, seconds: float) -> None:
    until_s = wire.now_s + seconds
    while wire.now_s < until_s:
        wire.poll()
        hands.sees(wire, until_s - wire.now_s)
