"""Plain elimination, the reference: one control at a time, then with the key on, then all on, then by pairs; once the
wire is live each control is taken away again, and what it was needed for is kept.

Rule: it waits for the wire as the hunt does, but knows of no timer, reads nothing back, and claims what its last check
shows.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from someone import Someone

from pulldrop.hunt.delays import WAIT_S
from pulldrop.hunt.space import MOVE_S, Setting, Space
from pulldrop.model.hunt.look import ACTS, Side

MOST_STEPS = 150


class TooMany(Exception):
    """The steps are used up."""


@dataclass
class Plain:
    """`terms`: the positions of each needed control, None where nothing was found."""

    space: Space
    person: Someone
    side: Side
    steps: int = 0
    terms: dict[int, set[int]] | None = None
    claims: bool = False

    def __post_init__(self) -> None:
        self._state = self.space.at_rest
        self._wait_s = WAIT_S

    def run(self) -> "Plain":
        try:
            base = self._find()
            if base is not None:
                self.terms = self._narrow(base)
                self.claims = self._live(base)
        except TooMany:
            pass
        return self

    def _find(self) -> Setting | None:
        return next((one for one in self._order() if self._live(one)), None)

    def _order(self) -> Iterator[Setting]:
        space = self.space
        rest = space.at_rest
        yield rest
        key = _put(rest, {0: 2})
        for base in (rest, key):
            for i in space.free:
                for position in space.allowed[i]:
                    if position:
                        yield _put(base, {i: position})
        stays = {i: max(p for p in space.allowed[i] if not space.holds(i, p)) for i in space.free}
        everything = _put(rest, stays | {0: 2})
        buttons = [i for i in space.free if stays[i] == 0]
        yield everything
        for i in buttons:
            yield _put(everything, {i: 1})
        for pair in combinations(buttons, 2):
            yield _put(everything, dict.fromkeys(pair, 1))
        for one, other in combinations([i for i in space.free if i], 2):
            yield _put(key, {one: space.allowed[one][1], other: space.allowed[other][1]})

    def _narrow(self, base: Setting) -> dict[int, set[int]]:
        """Takes each control away; changes `base` to what is left of it."""
        terms: dict[int, set[int]] = {}
        for i in [i for i in self.space.free if base[i]]:
            without = _put(base, {i: 0})
            if self._live(without):
                base[i] = 0
                continue
            terms[i] = {int(base[i])}
            for position in self.space.allowed[i]:
                if position not in (0, base[i]) and self._live(_put(base, {i: position})):
                    terms[i].add(position)
        return terms

    def _live(self, setting: Setting) -> bool:
        if not self.space.possible(setting[None])[0]:
            return False
        if self.steps >= MOST_STEPS:
            raise TooMany
        moves = self.space.route(self._state, [setting])
        looks = self.person.does(moves, MOVE_S, self._wait_s, self._wait_s)
        walk = [self._state, *self.space.through(self._state, moves)]
        self.steps += 1
        rises = [look.rose_s for look in looks if look.rose_s is not None]
        self._wait_s = max([self._wait_s if self._wait_s < WAIT_S else 0.0, *(one + 0.5 for one in rises)]) or WAIT_S
        self._state = self.space.let_go(walk[-1])
        at = max((i for i, one in enumerate(walk) if (one == setting).all()), default=0)
        return looks[max(0, at - 1)].level in ACTS[self.side]


def _put(base: Setting, changes: dict[int, int]) -> Setting:
    made = np.array(base)
    for control, position in changes.items():
        made[control] = position
    return made
