"""The rules that a hunt can think of: conjunctions as bit masks, memories, their odds before anything was looked at.

Rule: a rule is listed once, and only if one person could see it at work; the others are counted.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pulldrop.hunt.space import Settings, Space, Words
from pulldrop.model.hunt.control import ControlKind

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

ORDERS = 4
NEVER, MEMORY, ONE, TWO = 0.10, 0.07, 0.51, 0.32
"""Odds of nothing, a memory relay, one path, two paths (assumed, as are all here). Second paths and long ones are
likelier here than they probably are: else "nothing more was found" would be said with too much confidence."""
OF_ORDER = (0.31, 0.30, 0.22, 0.17)
INHIBITED, ALONE = 0.27, 0.02
"""Share of paths with an inhibitor; and of an inhibitor or nothing at all needed: live at rest."""
KEYED = 3.0
ADDED = 3.0
"""How much likelier a condition on the key is; and, in added wiring, a single switch."""
MOST = 150_000
"""Conjunctions at most: a cabin with more leaves its highest order out, and says so."""


@dataclass(frozen=True)
class Literal:
    """One condition: a control in one of these of its allowed positions."""

    control: int
    positions: tuple[int, ...]

    @property
    def inhibits(self) -> bool:
        return 0 in self.positions


@dataclass
class Language:
    """`members` (H, 4): indices of literals, -1 for none. The last conjunction is one that never holds."""

    space: Space
    added: bool | None = None
    literals: list[Literal] = field(init=False)
    members: Indices = field(init=False)
    log_prior: Floats = field(init=False)
    blocked: Words = field(init=False)
    orders: int = field(init=False)
    unseen: int = field(init=False)
    """Conjunctions that no person could see at work."""

    def __post_init__(self) -> None:
        space = self.space
        needed = [Literal(i, mask) for i in space.free for mask in _masks(space.allowed[i], space.controls[i].kind)]
        inhibitors = [
            Literal(one.control, tuple(p for p in space.allowed[one.control] if p not in one.positions))
            for one in needed
        ]
        self.literals = [*needed, *inhibitors]
        count = len(needed)
        owner = np.array([one.control for one in self.literals], np.int64)
        lower, rows, self.orders = _conjunctions(count, 0, owner), list[Indices](), 0
        rows.append(lower)
        for order in range(1, ORDERS + 1):
            if max(math.comb(count, order), len(lower) * count) > MOST:
                break
            plain = _conjunctions(count, order, owner)
            new = [plain, _inhibited(lower, count, owner)]
            if sum(map(len, (*rows, *new))) > MOST:
                break
            rows += new
            lower, self.orders = plain, order
        members = np.vstack([*rows])
        seen = self._can_be_seen(members)
        self.unseen = int((~seen).sum())
        self.members = np.vstack([members[seen], np.full((1, ORDERS), -2)])
        self.log_prior = self._prior(count)
        self.blocked = self._blocked()

    @property
    def never(self) -> int:
        """Index of the conjunction that never holds."""
        return len(self.members) - 1

    @cached_property
    def order(self) -> Indices:
        """Conditions of each conjunction."""
        return np.asarray((self.members >= 0).sum(1))

    def conditions(self, conjunction: int) -> list[Literal]:
        return [self.literals[i] for i in self.members[conjunction] if i >= 0]

    def holds(self, conjunctions: Indices | slice, settings: Settings) -> NDArray[np.bool_]:
        """Which conjunctions hold in which settings: (S, H)."""
        bits, blocked = self.space.bits(settings), self.blocked[conjunctions]
        held = (bits[:, 0, None] & blocked[None, :, 0]) == 0
        for word in range(1, self.space.words):
            held &= (bits[:, word, None] & blocked[None, :, word]) == 0
        return np.asarray(held)

    def find(self, literals: Iterable[Literal]) -> int | None:
        """The conjunction of exactly these."""
        wanted = sorted(self.literals.index(one) for one in literals)
        row = np.array([*wanted, *[-1] * (ORDERS - len(wanted))])
        found = np.flatnonzero((np.sort(self.members, 1)[:, ::-1] == np.sort(row)[::-1]).all(1))
        return int(found[0]) if len(found) else None

    def _can_be_seen(self, members: Indices) -> NDArray[np.bool_]:
        """Not those whose held controls are more than two hands, or in two places."""
        space = self.space
        hand = np.array([_by_hand(space, one) for one in self.literals] + [False])
        out = np.array([bool(space.outside[one.control]) for one in self.literals] + [False])
        held = hand[members]
        return np.asarray(
            (held.sum(1) <= 2) & ~((held & out[members]).any(1) & (held & ~out[members]).any(1))
        )  # fmt: skip

    def _prior(self, needed: int) -> Floats:
        keys = [i for i, one in enumerate(self.space.controls) if one.kind is ControlKind.KEY]
        keyed = np.array([one.control in keys and i < needed for i, one in enumerate(self.literals)] + [False] * 2)
        inhibits = np.array([i >= needed for i in range(len(self.literals))] + [False] * 2)
        order = (self.members >= 0).sum(1)
        has = inhibits[self.members].any(1)
        weight = KEYED ** keyed[self.members].sum(1).astype(float)
        weight[-1] = 0.0
        with_inhibitor = [0.0, *(INHIBITED * one for one in OF_ORDER)]
        total = np.zeros(len(weight))
        for i in range(self.orders + 1):
            for flag in (False, True):
                group = (order == i) & (has == flag) & (weight > 0)
                if not group.any():
                    continue
                if i == 0 or (i == 1 and flag):
                    share = ALONE / 2
                else:
                    share = with_inhibitor[i] if flag else OF_ORDER[i - 1] - (with_inhibitor[i] if i > 1 else 0)
                    share *= ADDED if self.added and i == 1 else 1.0
                total[group] = share * weight[group] / weight[group].sum()
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(total / total.sum()))

    def _blocked(self) -> Words:
        table = np.vstack(
            [
                *(self.space.blocked(one.control, one.positions) for one in self.literals),
                np.full(self.space.words, ~np.uint64(0)),
                np.zeros(self.space.words, np.uint64),
            ]
        )
        return np.asarray(np.bitwise_or.reduce(table[self.members], axis=1))


@dataclass
class Memories:
    """Rules with a button that turns the wire on and off by turns: (T,) each."""

    rest: Indices
    button: Indices
    position: Indices
    resets: NDArray[np.bool_]
    log_prior: Floats

    @classmethod
    def of(cls, language: Language) -> "Memories":
        """Paths of at most two conditions, none of which a hand holds, beside each button that is not among them."""
        space = language.space
        buttons = [
            (i, p)
            for i in space.free
            for p in space.allowed[i]
            if space.holds(i, p) and p not in space.controls[i].cranks
        ]
        held = np.array([_by_hand(space, one) for one in language.literals] + [False] * 2)
        few = np.flatnonzero(
            (language.order <= 2) & np.isfinite(language.log_prior) & ~held[language.members].any(1)
        )  # fmt: skip
        owner = np.array([one.control for one in language.literals] + [-1] * 2)
        rows: list[tuple[Indices, int, int]] = []
        for control, position in buttons:
            apart = few[(owner[language.members[few]] != control).all(1)]
            rows.append((apart, control, position))
        rest = np.concatenate([row for row, _, _ in rows for _ in range(2)] or [np.zeros(0, np.int64)])
        lengths = [len(row) for row, _, _ in rows for _ in range(2)]
        button = np.repeat([one for _, one, _ in rows for _ in range(2)], lengths).astype(np.int64)
        position_ = np.repeat([one for _, _, one in rows for _ in range(2)], lengths).astype(np.int64)
        resets = np.repeat([flag for _ in rows for flag in (True, False)], lengths).astype(bool)
        weight = language.log_prior[rest]
        total = np.log(np.exp(weight).sum()) if len(weight) else 0.0
        return cls(rest, button, position_, resets, weight - total)

    def __len__(self) -> int:
        return len(self.rest)


def _by_hand(space: Space, one: Literal) -> bool:
    """Whether the condition holds only while a hand holds its control."""
    return all(space.holds(one.control, position) for position in one.positions)


def _masks(allowed: tuple[int, ...], kind: ControlKind) -> list[tuple[int, ...]]:
    """Sets of positions away from rest: neighbours, and all. Of a stalk each alone, and all."""
    away = [position for position in allowed if position]
    runs = [tuple(away[i:j]) for i, j in combinations(range(len(away) + 1), 2)]
    if kind is ControlKind.STALK:
        runs = [run for run in runs if len(run) in (1, len(away))]
    return list(dict.fromkeys(runs))


def _conjunctions(count: int, order: int, owner: Indices) -> Indices:
    listed = list(combinations(range(count), order))
    rows = np.array(listed, np.int64).reshape(len(listed), order)
    for i, j in combinations(range(order), 2):
        rows = rows[owner[rows[:, i]] != owner[rows[:, j]]]
    return np.hstack([rows, np.full((len(rows), ORDERS - order), -1)])


def _inhibited(rows: Indices, count: int, owner: Indices) -> Indices:
    """Each of these with one inhibitor of a control that is not in it."""
    made = []
    for inhibitor in range(count, 2 * count):
        apart = rows[(np.where(rows >= 0, owner[rows], -1) != owner[inhibitor]).all(1)]
        new = apart.copy()
        if len(new):
            new[np.arange(len(new)), (new >= 0).sum(1)] = inhibitor
        made.append(new)
    return np.vstack(made) if made else np.zeros((0, ORDERS), np.int64)
