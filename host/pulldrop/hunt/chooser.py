"""What to try next: the most expected information for a person's time.

A step is worth the entropy of what the looks along it could show, by the odds, over the person's time for it.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from pulldrop.hunt.language import Floats
from pulldrop.hunt.odds import Odds
from pulldrop.hunt.space import Setting, Settings, Space

SAMPLE, LEADERS, GROUPS = 320, 14, 16
"""Rules that stand for all, those whose own settings are tried, random groups."""
CLIMBS = 2
MOST_MOVES = 12
NOISE = 0.012
"""Odds that a look is wrong, as far as information is concerned."""


@dataclass(frozen=True)
class Choice:
    """Moves of the step, what it is expected to say in bits, and its time."""

    moves: tuple[tuple[int, int], ...]
    bits: float
    seconds: float

    @property
    def worth(self) -> float:
        return self.bits / self.seconds


@dataclass(frozen=True)
class Where:
    """The rest state, where the person stands, how long the wire is watched, and moves that are not to be asked."""

    state: Setting
    outside: bool
    wait_s: float


def choose(space: Space, odds: Odds, where: Where, seed: int) -> Choice | None:
    """The step of most worth; None where nothing can be set."""
    some = odds.some(SAMPLE)
    draw = random.Random(seed)
    targets = _unique(space, where.state, list(_targets(space, some, where.state, draw)))
    best = _best(space, some, where, targets)
    for _ in range(CLIMBS):
        if best is None:
            return None
        around = _unique(space, where.state, list(_around(space, _goal(space, where.state, best))))
        better = _best(space, some, where, around)
        if better is None or better.worth <= best.worth:
            break
        best = better
    return best


def entropy(live: NDArray[np.bool_], weight: Floats) -> Floats:
    """Bits that the patterns of walks (C, M, K) are expected to show: (C,)."""
    powers = 1 << np.arange(live.shape[1], dtype=np.int64)
    codes = np.tensordot(live, powers, axes=([1], [0]))
    order = np.argsort(codes, axis=1, kind="stable")
    ranked = np.take_along_axis(codes, order, 1)
    mass = np.cumsum(weight[order], axis=1)
    last = np.ones_like(ranked, bool)
    last[:, :-1] = ranked[:, 1:] != ranked[:, :-1]
    made = np.zeros(len(live))
    rows, columns = np.nonzero(last)
    ends = mass[rows, columns]
    share = np.diff(ends, prepend=0.0)
    fresh = np.diff(rows, prepend=-1) > 0
    share[fresh] = ends[fresh]
    np.add.at(made, rows, -share * np.log2(share + NOISE))
    return np.maximum(made, 0.0)


def _best(space: Space, some: Odds, where: Where, targets: Settings) -> Choice | None:
    routes = [tuple(space.route(where.state, [target])) for target in targets]
    routes = [route for route in routes if 0 < len(route) <= MOST_MOVES]
    if not routes:
        return None
    most = max(map(len, routes))
    walks = np.repeat(where.state[None, None], len(routes), 0).repeat(most, 1)
    moved = np.full((len(routes), most, 2), -1)
    for i, route in enumerate(routes):
        for j, (control, position) in enumerate(route):
            walks[i, j:, control] = position
            moved[i, j] = control, position
    bits = entropy(some.along(walks, moved), some.weight)
    seconds = np.array([space.seconds(route, where.wait_s, where.outside) for route in routes])
    at = int(np.argmax(bits / seconds))
    return Choice(routes[at], float(bits[at]), float(seconds[at]))


def _goal(space: Space, state: Setting, choice: Choice) -> Setting:
    """The setting of the step at which most is held or changed."""
    now, goal = state.copy(), state.copy()
    for control, position in choice.moves:
        lets_go = space.holds(control, int(now[control]))
        now[control] = position
        if not lets_go:
            goal = now.copy()
    return goal


def _targets(space: Space, some: Odds, state: Setting, draw: random.Random) -> Iterator[Setting]:
    rest = space.at_rest
    for base in (state, rest):
        yield base
        yield from _around(space, base)
    buttons = [(i, p) for i in space.free for p in space.allowed[i] if space.holds(i, p)]
    for i, one in enumerate(buttons):
        for other in buttons[i + 1 :]:
            yield _with(state, [one, other])
    leading = np.concatenate([some.paths[:LEADERS], some.paths[len(some.paths) // 2 :][:LEADERS]])
    full = np.array([_farthest(space, i) for i in range(space.n)], np.int8)
    for paths in leading:
        for conjunction in paths:
            if conjunction != some.language.never:
                yield from _of_path(space, some, int(conjunction), (state, rest, full))
    for _ in range(GROUPS):
        share = draw.choice((0.25, 0.5, 0.75))
        made = state.copy()
        for i in space.free:
            if draw.random() < share:
                made[i] = draw.choice(space.allowed[i])
        yield made


def _of_path(space: Space, some: Odds, conjunction: int, bases: Sequence[Setting]) -> Iterator[Setting]:
    """Settings in which the path holds, and with each condition broken."""
    conditions = some.language.conditions(conjunction)
    for base in bases:
        holds = base.copy()
        for one in conditions:
            if holds[one.control] not in one.positions:
                holds[one.control] = min(one.positions, key=partial(space.effort, one.control))
        yield holds
        if base is bases[-1]:
            continue
        for one in conditions:
            for position in space.allowed[one.control]:
                if position not in one.positions:
                    yield _with(holds, [(one.control, position)])


def _around(space: Space, base: Setting) -> Iterator[Setting]:
    for i in space.free:
        for position in space.allowed[i]:
            if position != base[i]:
                yield _with(base, [(i, position)])


def _with(base: Setting, changes: Sequence[tuple[int, int]]) -> Setting:
    made = base.copy()
    for control, position in changes:
        made[control] = position
    return made


def _farthest(space: Space, control: int) -> int:
    stays = [p for p in space.allowed[control] if not space.holds(control, p)]
    return stays[-1]


def _unique(space: Space, state: Setting, listed: list[Setting]) -> Settings:
    """Those that one person can set, other than the state itself."""
    stacked = np.unique(np.array(listed, np.int8).reshape(-1, space.n), axis=0)
    return np.asarray(stacked[space.possible(stacked) & (stacked != state).any(1)])
