"""What one person can set: two hands, one place at a time, nothing that is forbidden; and the moves that lead there.

Rule: whatever leaves this file as moves is possible and allowed. A *setting* is an array with one position for each
control; a *rest state* is one in which nothing is held.
"""

from collections.abc import Callable, Iterable, Sequence
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pulldrop.model.hunt.ask import Move
from pulldrop.model.hunt.control import CabinControl, Precautions, Reach

Setting = NDArray[np.int8]
Settings = NDArray[np.int8]
Words = NDArray[np.uint64]

GROUP_A = 25.0
"""Controls away from rest together switch less than this (a practitioner's limit, from memory)."""
HANDS = 2
READ_S, MOVE_S, WALK_S, CRANK_S, READ_ALOUD_S = 5.0, 2.0, 15.0, 10.0, 2.0
"""A person's time for reading a step, for each move (the wire is watched meanwhile), for getting out of the seat or
back, for START, and for reading one position aloud (assumed)."""


class Space:
    """The settings of a cabin that may be asked for."""

    def __init__(self, controls: Sequence[CabinControl], precautions: Precautions) -> None:
        """Raises ValueError for none, or for two of one name."""
        if not controls or len({one.id for one in controls}) < len(controls):
            raise ValueError("expected one control at least, each with a name of its own")
        self.controls = tuple(controls)
        self.n = len(controls)
        self.allowed = [_allowed(one, precautions) for one in controls]
        self.held = [frozenset(one.springs) for one in controls]
        self.outside = np.array([one.reach is Reach.OUTSIDE for one in controls])
        self.free = [i for i in range(self.n) if len(self.allowed[i]) > 1]
        most = max(len(one.positions) for one in controls)
        self._held = np.zeros((self.n, most), bool)
        self._may = np.zeros((self.n, most), bool)
        for i, one in enumerate(controls):
            self._held[i, list(one.springs)] = True
            self._may[i, list(self.allowed[i])] = True
        self._amps = np.array([one.amps for one in controls])
        sizes = [len(one.positions) for one in controls]
        self.offset = np.concatenate([[0], np.cumsum(sizes)[:-1]]).astype(int)
        self.words = -(-sum(sizes) // 64)

    @cached_property
    def at_rest(self) -> Setting:
        return np.zeros(self.n, np.int8)

    def index(self, control: str) -> int:
        """Raises KeyError for a control that is not there."""
        return self._by_name[control]

    @cached_property
    def _by_name(self) -> dict[str, int]:
        return {one.id: i for i, one in enumerate(self.controls)}

    def holds(self, control: int, position: int) -> bool:
        """Whether a hand must hold it there."""
        return position in self.held[control]

    def possible(self, settings: Settings) -> NDArray[np.bool_]:
        """Which settings (S, n) one person can set, and may."""
        rows = np.arange(self.n)
        held = self._held[rows, settings]
        away = settings != 0
        return np.asarray(
            self._may[rows, settings].all(1)
            & (held.sum(1) <= HANDS)
            & ~((held & self.outside).any(1) & (held & ~self.outside).any(1))
            & ((away * self._amps).sum(1) < GROUP_A)
        )

    def hands_can(self, needed: Iterable[int]) -> bool:
        """Whether these controls can be held at once."""
        listed = list(needed)
        return len(listed) <= HANDS and len({bool(self.outside[one]) for one in listed}) <= 1

    def bits(self, settings: Settings) -> Words:
        """One bit for each control's position: (S, n) into (S, words)."""
        made = np.zeros((len(settings), self.words), np.uint64)
        places = settings.astype(np.int64) + self.offset
        for i in range(self.n):
            word, bit = np.divmod(places[:, i], 64)
            made[np.arange(len(settings)), word] |= np.uint64(1) << bit.astype(np.uint64)
        return made

    def blocked(self, control: int, positions: Iterable[int]) -> Words:
        """The bits of the positions in which a condition on this control does not hold."""
        made = np.zeros(self.words, np.uint64)
        for position in set(range(len(self.controls[control].positions))) - set(positions):
            word, bit = divmod(int(self.offset[control]) + position, 64)
            made[word] |= np.uint64(1) << np.uint64(bit)
        return made

    def effort(self, control: int, position: int) -> tuple[bool, int]:
        """Sorts positions by what they ask of a hand."""
        return self.holds(control, position), position

    def let_go(self, setting: Setting) -> Setting:
        """The rest state once every held control is let go."""
        made = setting.copy()
        for i in range(self.n):
            made[i] = self.controls[i].springs.get(int(made[i]), int(made[i]))
        return made

    def route(self, state: Setting, targets: Iterable[Setting]) -> list[tuple[int, int]]:
        """Moves through the targets in order, from a rest state into a rest state; each is (control, position).

        A hand that holds is let go before another place or a third hand is needed."""
        now, moves = state.copy(), list[tuple[int, int]]()

        def move(control: int, position: int) -> None:
            now[control] = position
            moves.append((control, position))

        for target in targets:
            self._lead(now, target, move)
        for i in range(self.n):
            if self.holds(i, int(now[i])):
                move(i, self.controls[i].springs[int(now[i])])
        return moves

    def _lead(self, now: Setting, target: Setting, move: Callable[[int, int], None]) -> None:
        holding = [i for i in range(self.n) if self.holds(i, int(now[i]))]
        stays = [
            i for i in range(self.n) if now[i] != target[i] and i not in holding and not self.holds(i, int(target[i]))
        ]  # fmt: skip
        new = [i for i in range(self.n) if now[i] != target[i] and self.holds(i, int(target[i]))]
        places = {bool(self.outside[i]) for i in (*stays, *new)}
        for i in holding:
            crowded = len(holding) >= HANDS or places - {bool(self.outside[i])}
            if now[i] != target[i] or (stays and crowded):
                move(i, self.controls[i].springs[int(now[i])])
        where = bool(self.outside[new[0]]) if new else False
        changed = [i for i in range(self.n) if now[i] != target[i] and not self.holds(i, int(target[i]))]
        for i in sorted(changed, key=lambda i: (bool(self.outside[i]) is where, i)):
            move(i, int(target[i]))
        for i in range(self.n):
            if now[i] != target[i]:
                move(i, int(target[i]))

    def through(self, state: Setting, moves: Iterable[tuple[int, int]]) -> Settings:
        """The setting after each move, (moves, n)."""
        now, made = state.copy(), []
        for control, position in moves:
            now[control] = position
            made.append(now.copy())
        return np.array(made, np.int8).reshape(-1, self.n)

    def seconds(self, moves: Sequence[tuple[int, int]], wait_s: float, outside: bool) -> float:
        """A person's time for a step; `outside`: where the person stands before it."""
        total, where = READ_S, outside
        for control, position in moves:
            there = bool(self.outside[control])
            total += max(MOVE_S, wait_s) + WALK_S * (there != where)
            total += CRANK_S * (position in self.controls[control].cranks)
            where = there
        return total

    def named(self, moves: Iterable[tuple[int, int]]) -> tuple[Move, ...]:
        """The same moves by name."""
        return tuple(Move(control=self.controls[control].id, position=position) for control, position in moves)

    def numbered(self, moves: Iterable[Move]) -> list[tuple[int, int]]:
        """Back again. Raises KeyError for an unknown control, ValueError for a position that it does not have."""
        made = [(self.index(one.control), one.position) for one in moves]
        for control, position in made:
            if position not in range(len(self.controls[control].positions)):
                raise ValueError(f"{self.controls[control].id} has no position {position}")
        return made

    def beyond_hands(self) -> list[tuple[int, int]]:
        """Pairs of held controls that one person cannot hold at once, because they are in two places."""
        springs = [i for i in self.free if all(self.holds(i, p) for p in self.allowed[i] if p)]
        return [pair for pair in combinations(springs, 2) if not self.hands_can(pair)]


def _allowed(control: CabinControl, precautions: Precautions) -> tuple[int, ...]:
    """Rest alone where operating it does harm; no START while the starter could turn."""
    if control.harm is not None:
        return (0,)
    return tuple(
        position
        for position in range(len(control.positions))
        if precautions.solenoid_off or position not in control.cranks
    )
