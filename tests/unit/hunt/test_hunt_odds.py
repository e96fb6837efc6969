"""The odds of rules, against the same odds worked out one by one."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from pulldrop.hunt.language import MEMORY, NEVER, ONE, TWO, Language, Literal
from pulldrop.hunt.leader import Classes
from pulldrop.hunt.odds import FIRST_PATHS, FLIPS, Weigher
from pulldrop.hunt.record import Record
from pulldrop.hunt.space import Space
from pulldrop.model.hunt.control import Precautions, key, latching, momentary
from pulldrop.model.hunt.look import WireLevel

Wire = Callable[[np.ndarray], bool]


def looked(language: Language, settings: list[list[int]], wire: Wire) -> Record:
    record = Record(language.space)
    record.first(WireLevel.OPEN, False)
    for goal in settings:
        target = np.array(goal, np.int8)
        moves = language.space.route(record.state, [target])
        walk = language.space.through(record.state, moves)
        record.add(moves, [(WireLevel.ON if wire(one) else WireLevel.OPEN, wire(one)) for one in walk])
    return record


def likelihood(record: Record, live: Callable[[np.ndarray], bool]) -> float:
    """Of the looks if this is the rule."""
    made = 1.0
    for look in record.looks:
        live_wrong, dead_wrong = look.wrong
        if live(look.setting):
            made *= 1 - dead_wrong if look.acts else dead_wrong
        else:
            made *= live_wrong if look.acts else 1 - live_wrong
    return made


def test_one_path_and_two_weigh_as_bayes_has_it() -> None:
    language = Language(Space([latching("a"), latching("b"), latching("c")], Precautions()))
    record = looked(language, [[1, 0, 0], [0, 1, 0], [0, 1, 1], [1, 0, 0]], lambda s: s[0] == 1 or (s[1] and s[2]))
    odds = Weigher(language).weigh(record)
    prior = np.exp(language.log_prior)

    def holds(path: int) -> Callable[[np.ndarray], bool]:
        return lambda s: bool(language.holds(np.array([path]), s[None])[0, 0])

    first = language.find([Literal(0, (1,))])
    other = language.find([Literal(1, (1,)), Literal(2, (1,))])
    assert first is not None and other is not None
    wanted = {
        (first,): ONE * prior[first] * likelihood(record, holds(first)),
        (first, other): 2 * TWO * prior[first] * prior[other] * likelihood(record, lambda s: s[0] or (s[1] and s[2])),
        (): NEVER * likelihood(record, lambda s: False),
    }
    got = {}
    for row, weight in zip(odds.paths, odds.weight, strict=True):
        key_ = tuple(sorted(int(one) for one in row if one != language.never))
        if key_ in {tuple(sorted(one)) for one in wanted}:
            got[key_] = got.get(key_, 0.0) + float(weight)
    base = wanted[(first,)]
    for rule, weight in wanted.items():
        assert got.get(tuple(sorted(rule)), 0.0) / got[(first,)] == pytest.approx(weight / base, rel=1e-3, abs=1e-6)


def test_a_pair_is_weighed_once_even_where_both_are_among_the_first() -> None:
    language = Language(Space([latching("a"), latching("b")], Precautions()))
    assert len(language.members) < FIRST_PATHS
    odds = Weigher(language).weigh(looked(language, [[1, 0], [0, 1]], lambda s: bool(s.any())))
    pairs = [frozenset(row.tolist()) for row in odds.paths[odds.count == 2]]
    assert len(pairs) == len(set(pairs)) > 0


def test_a_memory_is_weighed_by_its_states() -> None:
    language = Language(Space([latching("a"), momentary("push")], Precautions()))
    weigher = Weigher(language)
    record = Record(language.space)
    state = [False]

    def press() -> tuple[WireLevel, bool]:
        state[0] = not state[0]
        return (WireLevel.ON if state[0] else WireLevel.OPEN, state[0])

    def still() -> tuple[WireLevel, bool]:
        return (WireLevel.ON if state[0] else WireLevel.OPEN, state[0])

    record.first(WireLevel.OPEN, False)
    record.add([(0, 1)], [(WireLevel.OPEN, False)])
    for _ in range(3):
        record.add([(1, 1), (1, 0)], [press(), still()])
    odds = weigher.weigh(record)
    memory = int(odds.memory[0])
    assert memory >= 0 and weigher.memories.button[memory] == 1
    own = [i for i in range(len(odds.memory)) if odds.memory[i] >= 0]
    assert odds.weight[own].sum() > 0.95
    assert odds.turned[memory] > 0.9
    # by hand, for a path of "a" that loses its state: one press after the other, from off
    rest = language.find([Literal(0, (1,))])
    mine = next(i for i, r in enumerate(weigher.memories.rest) if r == rest and weigher.memories.resets[i])
    on, total = 0.0, math.log(MEMORY) + float(weigher.memories.log_prior[mine])
    for look in record.looks:
        live_wrong, dead_wrong = look.wrong
        fed = look.setting[0] == 1
        if fed and (look.control, look.position) == (1, 1):
            on = FLIPS * (1 - on) + (1 - FLIPS) * on
        on = on if fed else 0.0
        if_on = (1 - dead_wrong if look.acts else dead_wrong) if fed else (live_wrong if look.acts else 1 - live_wrong)
        if_off = live_wrong if look.acts else 1 - live_wrong
        seen = on * if_on + (1 - on) * if_off
        on, total = on * if_on / seen, total + math.log(seen)
    other = next(
        i for i in own if weigher.memories.rest[odds.memory[i]] == rest and not weigher.memories.resets[odds.memory[i]]
    )
    same = next(i for i in own if odds.memory[i] == mine)
    never = math.log(NEVER * likelihood(record, lambda s: False))
    nothing = odds.weight[odds.count == 0]
    expected = math.exp(total - never)
    got = float(odds.weight[same] / nothing[0]) if len(nothing) else math.inf
    assert len(nothing) == 0 or got == pytest.approx(expected, rel=1e-3)
    assert odds.weight[same] == pytest.approx(odds.weight[other], rel=0.05), "nothing has told them apart yet"


def test_three_paths_are_recognised_as_outside_of_the_language() -> None:
    language = Language(Space([key(), *(latching(f"switch {i}") for i in range(4))], Precautions()))

    def wire(s: np.ndarray) -> bool:
        return bool(s[1] or s[2] or s[3])

    every = [[k, a, b, c, 0] for k in (0, 2) for a in (0, 1) for b in (0, 1) for c in (0, 1)]
    every = [one for goal in every for one in (goal, [0] * 5)]
    classes, weigher = Classes(language, 1), Weigher(language)
    three = classes.leader(weigher.weigh(looked(language, every, wire)))
    two = classes.leader(weigher.weigh(looked(language, every, lambda s: bool(s[1] or s[2]))))
    assert three is not None and len(three.rule.paths) == 3 and three.mass > 0.6
    assert two is not None and len(two.rule.paths) == 2 and two.mass > 0.6


def test_the_sample_keeps_heavy_rules_and_the_mass_of_light_ones() -> None:
    language = Language(Space([key(), *(latching(f"switch {i}") for i in range(7))], Precautions()))
    odds = Weigher(language).weigh(looked(language, [[0, 1, 0, 0, 0, 0, 0, 0]], lambda s: False))
    some = odds.some(200)
    assert len(some.weight) < len(odds.weight) and some.weight.sum() == pytest.approx(1)
    settings = np.array([[2, 1, 1, 0, 0, 0, 0, 0], [2, 1, 1, 1, 1, 1, 1, 1], [0, 0, 1, 0, 0, 0, 0, 0]], np.int8)
    whole, part = odds.live(settings) @ odds.weight, some.live(settings) @ some.weight
    assert part == pytest.approx(whole, abs=0.06)
