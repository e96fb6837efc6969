"""The table of a switch from cycles of what is joined, without a board: cycles go in, words for the person come out.

Rule 1: a state counts once it was the same in two cycles in a row, for SETTLED_S; it is a position once a person came
to it twice. What is between two positions is never taken for one unless it was held twice.
Rule 2: whatever may be wrong or lacking is a doubt in words; nothing is dropped in silence.
"""

import itertools
from collections import Counter
from dataclasses import dataclass, field
from enum import StrEnum

from pulldrop.measure.positions.joints import Cycle
from pulldrop.model.part.switch_table import JoinedState, Through

SETTLED_S = 0.5
"""A person who rests on a position stays for longer; contacts have bounced for 0.2 s at most (Ganssle's outlier)."""
GLITCH_S = 1.5
"""Away and back within this is a contact that opened, not a hand that went to another position and returned."""
LET_GO_S = 1.5
"""From the word to let go until a spring has brought the knob back: reaction of a person 0.2 to 1 s (assumed)."""
SILENT_S = (0.0, 2.0, 3.5)
"""Silence before each word to let go. Whoever moves on without listening leaves in it; a held position does not."""
VISITS = STAYS = 2
VISITS_MOST = 7
"""Visits of one position after which whether it springs back stays open."""
HURRY_S = 12.0
"""Without a settled state for so long the person is asked to go slower."""
ALIKE, ALIKE_OHM = 0.06, 1.5
"""Two readings of one resistor: the scan's resistors and converter, and its zero."""


class Say(StrEnum):
    """What the bench says to the person, by sound and in large letters."""

    NEXT = "next position"
    LET_GO = "let go"
    HURRY = "slower: rest on each position until the tone"
    SLOWLY = "now once slowly through all positions"
    DONE = "done"


def alike(one: JoinedState, other: JoinedState) -> bool:
    """Whether two states are the same but for what readings scatter."""
    if one.groups != other.groups or len(one.through) != len(other.through):
        return False
    return all(_alike(a, b) for a, b in zip(one.through, other.through, strict=True))


def _alike(one: Through, other: Through) -> bool:
    return (one.a, one.b) == (other.a, other.b) and abs(one.ohm - other.ohm) <= max(ALIKE * one.ohm, ALIKE_OHM)


@dataclass
class Place:
    """One state that a person rested on: how often, and what happened at the word to let go. `back`: the state with its
    paths also looked at the other way round."""

    state: JoinedState
    back: JoinedState | None = None
    visits: int = 0
    glitches: Counter[str] = field(default_factory=Counter)
    stayed: int = 0
    early: int = 0
    sprang: Counter[int] = field(default_factory=Counter)

    @property
    def spring_known(self) -> bool:
        """It stayed whenever it was let go, or went to the same place at every word but one."""
        return (self.stayed >= STAYS and not self.sprang) or self.springs_to is not None

    @property
    def springs_to(self) -> int | None:
        """Where it went when it was let go, and at no other time; once the person may not have done it."""
        known = len(self.sprang) == 1 and self.stayed <= 1 and not self.early
        return next((to for to, count in self.sprang.items() if count >= len(SILENT_S)), None) if known else None

    @property
    def certain(self) -> bool:
        """Seen often enough."""
        return self.visits >= VISITS and (self.spring_known or self.visits >= VISITS_MOST)


class Learner:
    """Takes cycles in the order of time; `places` in the order in which they were first seen."""

    def __init__(self) -> None:
        self.places: list[Place] = []
        self.at: int | None = None
        self.new = False
        self._last: Cycle | None = None
        self._left_s: float | None = None
        self._broken = JoinedState()
        self._let_go_s: float | None = None
        self._due_s: float | None = None
        self._quiet_s = 0.0

    @property
    def complete(self) -> bool:
        """Nothing more is to be learnt of the positions that were seen."""
        return len(self.places) >= 2 and all(one.certain for one in self.places)

    @property
    def unbidden(self) -> int:
        """Times that the knob was moved before a word, or at one that was not for moving it."""
        hands = (one.sprang.total() for one in self.places if one.springs_to is None)
        return sum(hands) + sum(one.early for one in self.places)

    @property
    def settled(self) -> bool:
        """The knob rests on a known place."""
        return self.at is not None and self._left_s is None

    def take(self, cycle: Cycle) -> Say | None:
        """One cycle; what to say now, if anything. `new` is set by the first rest on a place until `see_back`."""
        last, self._last = self._last, cycle
        if self.at is not None and alike(cycle.state, self.places[self.at].state):
            return self._at_rest(cycle)
        if self._left_s is None:
            self._left_s, self._broken = cycle.began_s, cycle.state
        steady = last is not None and alike(cycle.state, last.state)
        if last is not None and steady and cycle.ended_s - last.began_s >= SETTLED_S:
            return self._arrive(cycle)
        if last is not None and steady:
            self._last = Cycle(last.began_s, cycle.ended_s, cycle.state)
        if cycle.ended_s - max(self._left_s or 0.0, self._quiet_s) > HURRY_S:
            self._quiet_s = cycle.ended_s
            return Say.HURRY
        return None

    def see_back(self, state: JoinedState) -> None:
        """The place it rests on, also looked at the other way round."""
        assert self.at is not None
        self.places[self.at].back = state
        self.new = False

    def _at_rest(self, cycle: Cycle) -> Say | None:
        """Still, or back again, on the place where it was."""
        assert self.at is not None
        place = self.places[self.at]
        if self._left_s is not None:
            away_s, self._left_s = cycle.began_s - self._left_s, None
            if away_s > GLITCH_S:
                return self._arrive(cycle)
            place.glitches.update(changed(place.state, self._broken))
        if self._due_s is not None and cycle.ended_s >= self._due_s:
            self._let_go_s, self._due_s = cycle.ended_s, None
            return Say.LET_GO
        if self._let_go_s is not None and cycle.ended_s - self._let_go_s > LET_GO_S:
            self._let_go_s = None
            place.stayed += 1
            return Say.NEXT
        return None

    def _arrive(self, cycle: Cycle) -> Say | None:
        """It rests on a place, an old one or a new one."""
        found = next((i for i, one in enumerate(self.places) if alike(cycle.state, one.state)), None)
        self.new = found is None
        if found is None:
            self.places.append(Place(cycle.state))
            found = len(self.places) - 1
        if self.at is not None and self.at != found:
            self._left(self.places[self.at], found)
        self.at, self._left_s, self._let_go_s, self._quiet_s = found, None, None, cycle.ended_s
        place = self.places[found]
        place.visits += 1
        self._due_s = None
        if place.spring_known or place.visits > VISITS_MOST:
            return Say.NEXT
        silent_s = SILENT_S[min(place.stayed + place.sprang.total(), len(SILENT_S) - 1)]
        if silent_s:
            self._due_s = cycle.ended_s + silent_s
            return None
        self._let_go_s = cycle.ended_s
        return Say.LET_GO

    def _left(self, place: Place, to: int) -> None:
        """It was left for another place: as a spring does at the word, or by a hand before any word."""
        if self._let_go_s is not None:
            place.sprang[to] += 1
        place.early += self._due_s is not None


def changed(one: JoinedState, other: JoinedState) -> tuple[str, ...]:
    """Pairs of neighbours in a group that are in one group in one state only, as `30-58`."""
    found = []
    for first, second in ((one, other), (other, one)):
        for group in first.groups:
            found += [f"{a}-{b}" for a, b in itertools.pairwise(group) if not second.joined(a, b)]
    return tuple(dict.fromkeys(found))
