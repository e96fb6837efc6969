"""The leading rule: the heaviest class of rules that do the same in everything that one person can set.

Rule: rules of one class are never told apart by looks; the simplest speaks for it, the others are its twins.
"""

import random
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from pulldrop.hunt.language import Language
from pulldrop.hunt.odds import Odds
from pulldrop.hunt.proof import LeadingRule, without_implied
from pulldrop.hunt.space import Setting, Settings, Space

LOOKED_THROUGH = 300
"""Heaviest rules that are put into classes; a lighter one joins none."""
PROBES = 192


@dataclass(frozen=True)
class Leader:
    """`mass`: odds of its class; `twins`: other rules of the class."""

    rule: LeadingRule
    mass: float
    twins: tuple[LeadingRule, ...]


def probes(space: Space, seed: int) -> Settings:
    """A dense sample of what one person can set: all single changes from rest, and random settings."""
    draw = random.Random(seed)
    made: list[Setting] = [space.at_rest]
    for i in space.free:
        for position in space.allowed[i]:
            one = space.at_rest.copy()
            one[i] = position
            made.append(one)
    for _ in range(4 * PROBES):
        share = draw.choice((0.3, 0.5, 0.7, 0.9))
        one = space.at_rest.copy()
        for i in space.free:
            stays = [p for p in space.allowed[i] if not space.holds(i, p)]
            if draw.random() < share:
                one[i] = draw.choice(stays)
        for i in draw.sample(space.free, min(2, len(space.free))):
            one[i] = draw.choice(space.allowed[i])
        made.append(one)
    stacked = np.unique(np.array(made, np.int8), axis=0)
    stacked = stacked[space.possible(stacked)]
    return stacked[np.random.default_rng(seed).permutation(len(stacked))[: 2 * PROBES]]


def leader(odds: Odds, settings: Settings) -> Leader | None:
    """The leading rule; None where that is "never". One of three paths is outside of the language."""
    most = min(LOOKED_THROUGH, len(odds.weight))
    top = Odds(
        odds.language,
        odds.memories,
        odds.paths[:most],
        odds.memory[:most],
        odds.weight[:most],
        odds.turned,
        odds.live_seen,
    )
    live = np.packbits(top.live(settings), axis=0)
    classes: dict[tuple[bytes, int, int, bool], list[int]] = {}
    for i in range(most):
        memory = int(top.memory[i])
        own = (-1, -1, False)
        if memory >= 0:
            memories = odds.memories
            own = (int(memories.button[memory]), int(memories.position[memory]), bool(memories.resets[memory]))
        classes.setdefault((live[:, i].tobytes(), *own), []).append(i)
    best = max(classes, key=lambda one: top.weight[classes[one]].sum())
    listed = classes[best]
    if top.count[listed[0]] == 0 or not top.live(settings)[:, listed[0]].any():
        return None
    rules = _simplest(top.language, ([int(one) for one in top.paths[i]] for i in listed), best[1:])
    return Leader(rules[0], float(top.weight[listed].sum()), tuple(rules[1:]))


def _simplest(
    language: Language, paths: Iterable[list[int]], memory: tuple[int, int, bool]
) -> list[LeadingRule]:  # fmt: skip
    made = dict.fromkeys(LeadingRule(tuple(sorted(without_implied(language, one))), *memory) for one in paths)
    return sorted(made, key=lambda one: (len(one.paths), sum(int(language.order[path]) for path in one.paths)))
