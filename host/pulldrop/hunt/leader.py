"""The leading rule: the heaviest class of rules that do the same in everything that one person can set.

Rule: two rules are of one class when they agree in a dense sample and around every path of either: where it holds with
all else at rest, and with each of its controls, or of those of the heaviest rule, in every other position. The simplest
speaks for the class; the others that need no more ways are its twins.
"""

import random
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial

import numpy as np

from pulldrop.hunt.language import Language
from pulldrop.hunt.odds import Odds
from pulldrop.hunt.proof import LeadingRule, without_implied
from pulldrop.hunt.space import Setting, Settings, Space

LOOKED_THROUGH = 160
"""Heaviest rules that are put into classes; a lighter one joins none."""
PROBES = 300


@dataclass(frozen=True)
class Leader:
    """`mass`: odds of its class; `twins`: other rules of the class."""

    rule: LeadingRule
    mass: float
    twins: tuple[LeadingRule, ...]


class Classes:
    """Puts rules into classes; keeps the settings around each path."""

    def __init__(self, language: Language, seed: int) -> None:
        self.language = language
        self.probes = probes(language.space, seed)
        self._around: dict[int, Settings] = {}

    def leader(self, odds: Odds) -> Leader | None:
        """The leading rule; None where that is "never". One of three paths is outside of the language."""
        top = odds.top(LOOKED_THROUGH)
        live = np.packbits(top.live(self._settings(np.unique(top.paths))), axis=0)
        classes: dict[tuple[bytes, int, int, bool], list[int]] = {}
        for i, memory in enumerate(top.memory.tolist()):
            own = (-1, -1, False)
            if memory >= 0:
                memories = odds.memories
                own = (int(memories.button[memory]), int(memories.position[memory]), bool(memories.resets[memory]))
            classes.setdefault((live[:, i].tobytes(), *own), []).append(i)
        best = max(classes, key=lambda one: float(top.weight[classes[one]].sum()))
        if not any(best[0]):
            return None
        listed = self._alike(top, classes[best])
        rules = _simplest(top.language, ([int(one) for one in top.paths[i]] for i in listed), best[1:])
        return Leader(rules[0], float(top.weight[listed].sum()), tuple(rules[1:]))

    def _alike(self, top: Odds, listed: list[int]) -> list[int]:
        """Of rules of one class those that agree also around each other's paths: where a path of one holds, and a
        control that the heaviest names is in any other position."""
        heaviest = max(listed, key=lambda i: float(top.weight[i]))
        named = {one.control for path in top.paths[heaviest] for one in self.language.conditions(int(path))}
        paths = np.unique(top.paths[listed])
        settings = np.vstack([self._across(int(path), named) for path in paths if path != self.language.never])
        live = np.packbits(top.live(settings)[:, listed], axis=0)
        groups: dict[bytes, list[int]] = {}
        for column, i in enumerate(listed):
            groups.setdefault(live[:, column].tobytes(), []).append(i)
        return max(groups.values(), key=lambda one: float(top.weight[one].sum()))

    def _across(self, conjunction: int, named: Iterable[int]) -> Settings:
        """Where a path holds, with one more control in every position."""
        space = self.language.space
        base = self._of(conjunction)[:1]
        own = {one.control for one in self.language.conditions(conjunction)}
        made = [base]
        for control in named:
            if control not in own:
                places = space.allowed[control]
                others = base.repeat(len(places), 0)
                others[:, control] = places[: len(others)]
                made.append(others)
        stacked = np.vstack(made)
        return np.asarray(stacked[space.possible(stacked)])

    def _settings(self, conjunctions: Iterable[int]) -> Settings:
        around = [self._of(int(one)) for one in conjunctions if one != self.language.never]
        return np.vstack([self.probes, *around])

    def _of(self, conjunction: int) -> Settings:
        if conjunction not in self._around:
            space = self.language.space
            base = space.at_rest.copy()
            conditions = self.language.conditions(conjunction)
            for one in conditions:
                if base[one.control] not in one.positions:
                    base[one.control] = min(one.positions, key=partial(space.effort, one.control))
            made = [base]
            for one in conditions:
                for position in space.allowed[one.control]:
                    other = base.copy()
                    other[one.control] = position
                    made.append(other)
            stacked = np.array(made, np.int8)
            self._around[conjunction] = stacked[space.possible(stacked)]
        return self._around[conjunction]


def probes(space: Space, seed: int) -> Settings:
    """A dense sample of what one person can set: all single changes from rest, and random settings."""
    draw = random.Random(seed)
    made: list[Setting] = [space.at_rest]
    for i in space.free:
        for position in space.allowed[i]:
            one = space.at_rest.copy()
            one[i] = position
            made.append(one)
    for _ in range(PROBES):
        share = draw.choice((0.3, 0.5, 0.7, 0.9))
        one = space.at_rest.copy()
        for i in space.free:
            if draw.random() < share:
                one[i] = draw.choice([p for p in space.allowed[i] if not space.holds(i, p)])
        for i in draw.sample(space.free, min(2, len(space.free))):
            one[i] = draw.choice(space.allowed[i])
        made.append(one)
    stacked = np.unique(np.array(made, np.int8), axis=0)
    return np.asarray(stacked[space.possible(stacked)])


def _simplest(
    language: Language, paths: Iterable[list[int]], memory: tuple[int, int, bool]
) -> list[LeadingRule]:  # fmt: skip
    made = dict.fromkeys(LeadingRule(tuple(sorted(without_implied(language, one))), *memory) for one in paths)
    listed = sorted(made, key=lambda one: (len(one.paths), sum(int(language.order[path]) for path in one.paths)))
    return [one for one in listed if len(one.paths) == len(listed[0].paths)]
