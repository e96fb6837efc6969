"""The table of a switch from cycles of what is joined, without a board: cycles go in, words for the person come out.

Rule 1: a state counts once it was the same in some cycles in a row, for SETTLED_S; it is a position once a person came
to it twice. What is between two positions is never taken for one unless it was held twice.
Rule 2: whatever may be wrong or lacking is a doubt in words; nothing is dropped in silence.
"""

import itertools
from collections import Counter
from dataclasses import dataclass, field

from pulldrop.measure.positions.joints import Cycle
from pulldrop.model.part.switch_table import JoinedState, Say, Through

SETTLED_S, SETTLED_CYCLES = 1.0, 3
"""A person who rests on a position stays for longer, and one who passes it slowly does not; contacts bounce for 0.2 s
at most (Ganssle's outlier)."""
GLITCH_S = 1.5
"""Away and back within this is a contact that opened, not a hand that went to another position and returned."""
LET_GO_S, LET_GO_MOST_S = 2.0, 5.0
SLOWER, ANSWERS = 0.5, 3
"""Least and most from the word to let go until a spring has brought the knob back; in between this person's slowest
answer to a word so far and SLOWER of it more, once ANSWERS are known."""
RESTED_S = 0.75
"""A place that is left sooner than this after it settled was passed, and counts for nothing; SILENT_S is longer."""
SILENT_S = (1.0, 2.0, 3.5)
"""Silence before a word to let go, by how often it was tried. Whoever moves on without listening leaves in it; a held
position does not."""
VISITS, STAYS = 2, 3
VISITS_MOST = 7
"""Visits of one position after which whether it springs back stays open."""
RESTLESS = 3
"""Openings and closings during one rest from which on it is no rest."""
OPENINGS = 2
"""Of one pair while the knob comes to rest, from which on it is loose: a hand that overshoots makes one."""
REPEAT_S = 8.0
"""Without a movement for so long after the word for the next position it is said again: two positions may join the
same."""
HURRY_S = 12.0
"""Without a settled state for so long the person is asked to go slower."""
ALIKE, ALIKE_OHM = 0.06, 1.5
"""Two readings of one resistor: the scan's resistors and converter, and its zero."""


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
        """Where it went when it was let go, and at no other time; one word in three may not have been done."""
        if len(self.sprang) != 1 or self.early:
            return None
        ((to, count),) = self.sprang.items()
        return to if count >= max(len(SILENT_S), 2 * self.stayed) else None

    @property
    def certain(self) -> bool:
        """Seen often enough; one that was only passed is no place."""
        return not self.visits or (self.visits >= VISITS and (self.spring_known or self.visits >= VISITS_MOST))


class Learner:
    """Takes cycles in the order of time; `places` in the order in which they were first seen."""

    def __init__(self) -> None:
        self.places: list[Place] = []
        self.at: int | None = None
        self._last: Cycle | None = None
        self._alike = 0
        self._left_s: float | None = None
        self._broken = JoinedState()
        self._let_go_s: float | None = None
        self._due_s: float | None = None
        self._arrived_s = 0.0
        self.arrivals = 0
        self._quiet_s = 0.0
        self._next_s: float | None = None
        self._answers_s: list[float] = []
        self._unsettled: list[JoinedState] = []

    @property
    def complete(self) -> bool:
        """Nothing more is to be learnt of the positions that were seen."""
        return sum(bool(one.visits) for one in self.places) >= 2 and all(one.certain for one in self.places)

    @property
    def unbidden(self) -> int:
        """Times that the knob was moved before a word, or at one that was not for moving it."""
        hands = (one.sprang.total() for one in self.places if one.springs_to is None)
        return sum(hands) + sum(one.early for one in self.places)

    @property
    def settled(self) -> bool:
        """The knob rests on a known place."""
        return self.at is not None and self._left_s is None

    @property
    def steady(self) -> bool:
        """It rests, or begins to: the last two cycles were alike."""
        return self.settled or self._alike > 1

    @property
    def restless(self) -> bool:
        """It does not rest, or only seems to."""
        return not self.settled or (self.at is not None and self.places[self.at].glitches.total() > RESTLESS)

    @property
    def half_seen(self) -> int | None:
        """The place on which it has rested for a while, if that was not yet looked at the other way round."""
        if self.at is None or self._last is None or not self.settled or self.places[self.at].back is not None:
            return None
        return self.at if self._last.ended_s - self._arrived_s >= RESTED_S else None

    def take(self, cycle: Cycle) -> Say | None:
        """One cycle; what to say now, if anything."""
        said = self._take(cycle)
        if said is Say.NEXT:
            self._next_s = cycle.ended_s
        return said

    def _take(self, cycle: Cycle) -> Say | None:
        last, self._last = self._last, cycle
        if self.at is not None and alike(cycle.state, self.places[self.at].state):
            return self._at_rest(cycle)
        if self._left_s is None:
            self._left_s, self._broken = cycle.began_s, cycle.state
            self._answered(cycle.ended_s)
        self._unsettled.append(cycle.state)
        steady = last is not None and alike(cycle.state, last.state)
        self._alike = self._alike + 1 if steady else 1
        if last is not None and self._alike >= SETTLED_CYCLES and cycle.ended_s - last.began_s >= SETTLED_S:
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
        if self._next_s is not None and cycle.ended_s - self._next_s > REPEAT_S:
            return Say.NEXT
        if self._let_go_s is not None and cycle.ended_s - self._let_go_s > self._let_go_most_s:
            self._let_go_s = None
            place.stayed += 1
            if place.visits >= VISITS and not place.spring_known and not place.sprang:
                self._let_go_s = cycle.ended_s
                return Say.LET_GO
            return Say.NEXT
        return None

    def _arrive(self, cycle: Cycle) -> Say | None:
        """It rests on a place, an old one or a new one."""
        found = next((i for i, one in enumerate(self.places) if alike(cycle.state, one.state)), None)
        if found is None:
            self.places.append(Place(cycle.state))
            found = len(self.places) - 1
        if self.at is not None and self.at != found:
            self._left(self.places[self.at], found)
        self.at, self._left_s, self._let_go_s, self._quiet_s = found, None, None, cycle.ended_s
        self._arrived_s = cycle.ended_s
        self.arrivals += 1
        place = self.places[found]
        place.visits += 1
        place.glitches.update(self._rocked(place))
        self._unsettled.clear()
        self._due_s = None
        if place.spring_known or place.visits > VISITS_MOST:
            return Say.NEXT
        tried = place.stayed + place.sprang.total()
        self._due_s = cycle.ended_s + SILENT_S[min(tried, len(SILENT_S) - 1)]
        return None

    def _rocked(self, place: Place) -> Counter[str]:
        """Pairs that opened again and again while the knob came to rest here, and how often; a hand that went too far
        and came back opens them once, or comes by another place."""
        opened = Counter[str]()
        before: tuple[str, ...] | None = None
        others = [one.state for one in self.places if one is not place]
        for state in self._unsettled:
            if alike(state, place.state):
                if before:
                    opened.update(before)
                before = ()
            elif before is not None:
                if any(alike(state, one) for one in others) or not _part_of(state, place.state):
                    return Counter()
                before = before or changed(place.state, state)
        return Counter({pair: count for pair, count in opened.items() if count >= OPENINGS})

    def _left(self, place: Place, to: int) -> None:
        """It was left for another place: as a spring does at the word, or by a hand before any word."""
        if (self._left_s or 0.0) - self._arrived_s < RESTED_S:
            place.visits -= 1
        elif self._let_go_s is not None:
            place.sprang[to] += 1
        else:
            place.early += self._due_s is not None

    def _answered(self, now_s: float) -> None:
        """The knob moves: how long after the word for it."""
        if self._next_s is not None:
            self._answers_s.append(now_s - self._next_s)
            self._next_s = None

    @property
    def _let_go_most_s(self) -> float:
        if len(self._answers_s) < ANSWERS:
            return LET_GO_MOST_S
        return min(max((1 + SLOWER) * max(self._answers_s), LET_GO_S), LET_GO_MOST_S)


def _part_of(state: JoinedState, whole: JoinedState) -> bool:
    """Whether nothing is joined in a state that is not joined in the whole."""
    return all(whole.joined(a, b) for group in state.groups for a, b in itertools.pairwise(group))


def changed(one: JoinedState, other: JoinedState) -> tuple[str, ...]:
    """Pairs of neighbours in a group that are in one group in one state only, as `30-58`."""
    found = []
    for first, second in ((one, other), (other, one)):
        for group in first.groups:
            found += [f"{a}-{b}" for a, b in itertools.pairwise(group) if not second.joined(a, b)]
    return tuple(dict.fromkeys(found))
