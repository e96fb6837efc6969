"""The odds of every rule after what was seen.

Looks enter as logarithms relative to "never live". Two paths: L(t1 or t2) = L(t1) + sum of w (1 - A1) A2, one matrix
product for the best first paths (A: conjunction holds at setting, w: weight of the setting's looks). Before anything
was live the two are taken as independent. A memory is a two-state filter. Three paths are outside of the language: they
are weighed for the best pairs alone, so that such a wire is recognised.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pulldrop.hunt.language import MEMORY, NEVER, ONE, TWO, Floats, Indices, Language, Memories
from pulldrop.hunt.record import ERROR, NO_CONTACT, Record
from pulldrop.hunt.space import Settings

FIRST_PATHS, PAIRS = 12, 3
"""First paths for which a second is weighed, and pairs for which a third is."""
THREE = 0.02
"""Odds of three paths (assumed)."""
LIGHTEST = 1e-7
"""Share of the heaviest below which a rule is dropped."""
SAMPLED = 1000
"""Rules that stand for all when a look is weighed."""
FLIPS = 0.97
"""A press that turns a memory over; the others are missed."""


@dataclass(frozen=True)
class Odds:
    """Rules by weight, heaviest first: (K,) each. `paths` (K, 3): conjunctions, `never` where there is none; `memory`:
    its index, or -1. `weight` sums to 1. `turned`: state of each memory now."""

    language: Language
    memories: Memories
    paths: Indices
    memory: Indices
    weight: Floats
    turned: Floats
    live_seen: bool

    @cached_property
    def count(self) -> Indices:
        """Paths of each rule; 0 for never."""
        return np.asarray((self.paths != self.language.never).sum(1))

    @property
    def nothing(self) -> float:
        """Odds that nothing drives the wire."""
        return float(self.weight[self.count == 0].sum())

    def some(self, most: int) -> "Odds":
        """Heavy rules as they are, light ones by a regular draw, about `most` in all."""
        heavy = int(np.searchsorted(-self.weight, -1 / most, side="left"))
        heavy = min(max(heavy, 40), len(self.weight))
        rest = self.weight[heavy:]
        picked, weight = np.arange(heavy), self.weight[:heavy]
        total = rest.sum()
        if total > 0:
            ends = np.cumsum(rest) / total
            draws = max(1, round(most * total))
            places, counts = np.unique(
                np.minimum(np.searchsorted(ends, (np.arange(draws) + 0.5) / draws), len(rest) - 1), return_counts=True
            )
            picked = np.concatenate([picked, heavy + places])
            weight = np.concatenate([weight, total * counts / draws])
        return replace(
            self, paths=self.paths[picked], memory=self.memory[picked], weight=weight / weight.sum()
        )  # fmt: skip

    def top(self, most: int) -> "Odds":
        """The heaviest rules, with the weights that they have among all."""
        return replace(self, paths=self.paths[:most], memory=self.memory[:most], weight=self.weight[:most])

    def of_looks(self, walk: Settings, moved: Indices, acts: Sequence[bool]) -> list[float]:
        """Odds of each look along a walk (M, n), given those before it."""
        some = self.some(SAMPLED)
        live, weight, made = some.along(walk[None], moved[None])[0], some.weight.copy(), []
        for row, seen in zip(live, acts, strict=True):
            wrong = ERROR + NO_CONTACT * (not seen)
            match = np.where(row == seen, 1 - wrong, wrong)
            made.append(float((weight * match).sum()))
            weight = weight * match / made[-1]
        return made

    def live(self, settings: Settings) -> NDArray[np.bool_]:
        """Which rules (K) are live in which settings (S), memories taken as turned on: (S, K)."""
        unique, inverse = np.unique(self.paths, return_inverse=True)
        held = self.language.holds(unique, settings)
        columns = inverse.reshape(self.paths.shape)
        made = held[:, columns[:, 0]]
        for column in (1, 2):
            some = np.flatnonzero(self.paths[:, column] != self.language.never)
            made[:, some] |= held[:, columns[some, column]]
        return np.asarray(made)

    def along(self, walks: Settings, moved: Indices) -> NDArray[np.bool_]:
        """Which rules are live along walks (C, M, n), whose moves (C, M, 2) are control and position, padded with -1:
        (C, M, K). A memory starts as it probably is."""
        walk_count, most, n = walks.shape
        made = self.live(walks.reshape(-1, n)).reshape(walk_count, most, -1)
        own = np.flatnonzero(self.memory >= 0)
        if not len(own):
            return made
        index = self.memory[own]
        button, position, resets = (
            self.memories.button[index],
            self.memories.position[index],
            self.memories.resets[index],
        )
        state = np.repeat(self.turned[index][None] > 0.5, walk_count, 0)
        for step in range(most):
            fed = made[:, step, own]
            pressed = (moved[:, step, 0, None] == button) & (moved[:, step, 1, None] == position)
            state = (state ^ (pressed & fed)) & (fed | ~resets)
            made[:, step, own] = fed & state
        return made


class Weigher:
    """Keeps what the settings so far say about every conjunction, and makes the odds."""

    def __init__(self, language: Language) -> None:
        self.language = language
        self.memories = Memories.of(language)
        self._rows: dict[bytes, int] = {}
        self._table = np.zeros((32, len(language.members)), np.float32)
        self._filter = MemoryFilter(language, self.memories)

    def weigh(self, record: Record) -> Odds:
        """The odds after these looks."""
        tallies = record.tallies()
        live_seen = any(one.live for one in tallies)
        table = self._held(np.array([one.setting for one in tallies], np.int8).reshape(-1, self.language.space.n))
        weights = np.array([one.weight for one in tallies], np.float32)
        prior = self.language.log_prior
        single = prior + (weights @ table if len(tallies) else 0.0)
        never, blocks = self.language.never, list[tuple[Indices, Indices, Floats]]()
        blocks.append((np.array([[never] * 3]), np.array([-1]), np.array([np.log(NEVER)])))
        blocks.append(_block(single + np.log(ONE), np.arange(len(single)), never))
        if live_seen:
            blocks += self._more(single, table, weights)
        else:
            blocks += _independent(single, never)
        turned = np.zeros(0)
        if len(self.memories):
            likely, turned = self._filter.weigh(record)
            log = np.log(MEMORY) + self.memories.log_prior + likely
            blocks.append((_padded(self.memories.rest, never), np.arange(len(log)), log))
        return self._sorted(blocks, turned, live_seen)

    def _more(
        self, single: Floats, table: NDArray[np.float32], weights: NDArray[np.float32]
    ) -> list[tuple[Indices, Indices, Floats]]:
        """Second paths beside the best first ones, third ones beside the best pairs."""
        never, prior = self.language.never, self.language.log_prior
        best = _heaviest(single, FIRST_PATHS)
        second = ((1 - table[:, best]).T * weights) @ table
        second += prior.astype(np.float32)
        double = second + (single[best, None] + np.log(2 * TWO)).astype(np.float32)
        for i in range(len(best)):
            double[i, best[: i + 1]] = -np.inf
        top = float(max(single.max() + np.log(ONE), double.max()))
        rows, columns = np.nonzero(double > top + np.log(LIGHTEST))
        leading = _heaviest(double[rows, columns], PAIRS) if len(rows) else np.zeros(0, np.int64)
        paths = np.stack([best[rows], columns, np.full(len(rows), never)], 1)
        made = [(paths, np.full(len(rows), -1), double[rows, columns].astype(float))]
        for one, two in zip(best[rows[leading]], columns[leading], strict=True):
            covered = np.maximum(table[:, one], table[:, two])
            third = (single[one] + prior[two] + ((1 - table[:, one]) * table[:, two] * weights).sum()) + (
                prior + ((1 - covered) * weights) @ table + np.log(6 * THREE)
            )
            keep = np.flatnonzero(third > top + np.log(LIGHTEST))
            rows3 = np.stack([np.full(len(keep), one), np.full(len(keep), two), keep], 1)
            made.append((rows3, np.full(len(keep), -1), third[keep]))
        return made

    def _held(self, settings: Settings) -> NDArray[np.float32]:
        keys = [one.tobytes() for one in settings]
        new = [i for i, one in enumerate(keys) if one not in self._rows]
        if new:
            held = self.language.holds(slice(None), settings[new])
            while len(self._rows) + len(new) > len(self._table):
                self._table = np.vstack([self._table, np.zeros_like(self._table)])
            for i, row in zip(new, held, strict=True):
                self._table[len(self._rows)] = row
                self._rows[keys[i]] = len(self._rows)
        return self._table[[self._rows[one] for one in keys]]

    def _sorted(self, blocks: list[tuple[Indices, Indices, Floats]], turned: Floats, live_seen: bool) -> Odds:
        top = max(float(one[2].max()) for one in blocks if len(one[2]))
        kept = [np.flatnonzero(one[2] > top + np.log(LIGHTEST)) for one in blocks]
        log = np.concatenate([one[2][keep] for one, keep in zip(blocks, kept, strict=True)])
        paths = np.vstack([one[0][keep] for one, keep in zip(blocks, kept, strict=True)])
        memory = np.concatenate([one[1][keep] for one, keep in zip(blocks, kept, strict=True)])
        order = np.argsort(-log)
        weight = np.exp(log[order] - top)
        return Odds(
            self.language, self.memories, paths[order], memory[order], weight / weight.sum(), turned, live_seen
        )  # fmt: skip


class MemoryFilter:
    """For each memory the odds of its state, and of what was seen relative to "never live"."""

    def __init__(self, language: Language, memories: Memories) -> None:
        self.language, self.memories = language, memories
        self._restart()
        self._rewritten = 0

    def _restart(self) -> None:
        self._done = 0
        self._turned = np.zeros(len(self.memories))
        self._log = np.zeros(len(self.memories))
        self._fed: dict[bytes, NDArray[np.bool_]] = {}

    def weigh(self, record: Record) -> tuple[Floats, Floats]:
        if record.rewritten != self._rewritten:
            self._restart()
            self._rewritten = record.rewritten
        for look in record.looks[self._done :]:
            fed = self._fed_at(look.setting)
            pressed = (self.memories.button == look.control) & (self.memories.position == look.position) & fed
            turned = np.where(pressed, FLIPS * (1 - self._turned) + (1 - FLIPS) * self._turned, self._turned)
            turned = np.where(self.memories.resets & ~fed, 0.0, turned)
            live_wrong, dead_wrong = look.wrong
            if_off = live_wrong if look.acts else 1 - live_wrong
            if_on = np.where(fed, 1 - dead_wrong if look.acts else dead_wrong, if_off)
            seen = turned * if_on + (1 - turned) * if_off
            self._turned = turned * if_on / seen
            self._log += np.log(seen / if_off)
        self._done = len(record.looks)
        return self._log, self._turned

    def _fed_at(self, setting: NDArray[np.int8]) -> NDArray[np.bool_]:
        key = setting.tobytes()
        if key not in self._fed:
            self._fed[key] = self.language.holds(self.memories.rest, setting[None])[0]
        return self._fed[key]


def _heaviest(log: Floats, most: int) -> Indices:
    """Indices of the largest, largest first."""
    most = min(most, len(log))
    some = np.argpartition(-log, most - 1)[:most]
    return np.asarray(some[np.argsort(-log[some])])


def _padded(paths: Indices, never: int) -> Indices:
    return np.stack([paths, np.full(len(paths), never), np.full(len(paths), never)], 1)


def _block(log: Floats, conjunctions: Indices, never: int) -> tuple[Indices, Indices, Floats]:
    return _padded(conjunctions, never), np.full(len(conjunctions), -1), log


def _independent(single: Floats, never: int) -> list[tuple[Indices, Indices, Floats]]:
    """Pairs while nothing was live: drawn as two of the single paths, their sum as if they were independent."""
    weight = np.exp(single)
    total = weight.sum()
    draws = 256
    ends = np.cumsum(weight) / total
    at = (np.arange(draws) + 0.5) / draws
    first = np.minimum(np.searchsorted(ends, at), len(ends) - 1)
    second = np.minimum(np.searchsorted(ends, (at * 97 + 0.31) % 1.0), len(ends) - 1)
    paths = np.stack([first, second, np.full(draws, never)], 1)
    return [(paths, np.full(draws, -1), np.full(draws, np.log(TWO) + 2 * np.log(total) - np.log(draws)))]
