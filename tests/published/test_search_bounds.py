"""The hunt's measure of a look, followed greedily, against published numbers of questions.

No method asks fewer questions than the logarithm of the cases; a monotone function of n switches takes Hansel's number
in the worst case; Hwang's splitting finds d of n in at most d - 1 more than the logarithm. Sources: Hansel 1966 as
quoted in arXiv 2411.19833, and Dedekind's numbers, which the test counts itself; Hwang 1972 and Du and Hwang, from
memory, their figures calculated.
"""

import math
from itertools import combinations, product

import numpy as np
import pytest
from numpy.typing import NDArray

from pulldrop.hunt.chooser import Where, choose, entropy
from pulldrop.hunt.language import Language, Literal, Memories
from pulldrop.hunt.odds import Odds
from pulldrop.hunt.space import Space
from pulldrop.model.hunt.control import Precautions, latching

HANSEL = {1: 2, 2: 3, 3: 6, 4: 10}
"""C(n, n/2) + C(n, n/2 + 1), n/2 rounded down; for one switch 2."""
DEDEKIND = {1: 3, 2: 6, 3: 20, 4: 168}
SPLITTING = {(8, 1): 3, (8, 2): 5, (8, 3): 6, (12, 2): 7, (12, 3): 8, (16, 3): 10}
"""ceil log2 C(n, k): the least for exactly k of n; splitting takes k - 1 more at most."""
AT_MOST = {(8, 1): 4, (8, 2): 6, (8, 3): 8, (12, 2): 7, (12, 3): 10}
"""Hwang's splitting, worst case for at most d of n."""


def worst_and_mean(live: NDArray[np.bool_]) -> tuple[int, float]:
    """Questions that the greedy choice needs for rules (K) that are live in settings (S): (S, K)."""
    counts = [0] * live.shape[1]

    def split(left: NDArray[np.int64], depth: int) -> None:
        if len(left) == 1:
            counts[int(left[0])] = depth
            return
        weight = np.full(len(left), 1 / len(left))
        best = int(np.argmax(entropy(live[:, None, left], weight)))
        yes = live[best, left]
        assert 0 < yes.sum() < len(left), "a question with one answer"
        split(left[yes], depth + 1)
        split(left[~yes], depth + 1)

    split(np.arange(live.shape[1]), 0)
    return max(counts), sum(counts) / len(counts)


def conjunctions(n: int, sizes: list[int]) -> NDArray[np.bool_]:
    """Which sets of needed switches are live in which of all settings."""
    settings = np.array(list(product((False, True), repeat=n)))
    sets = [np.isin(np.arange(n), one) for size in sizes for one in combinations(range(n), size)]
    return np.array([(settings | ~one).all(1) for one in sets]).T


def monotone(n: int) -> NDArray[np.bool_]:
    """All monotone functions of n switches, in all settings."""
    settings = list(product((0, 1), repeat=n))
    below = [
        (i, j) for i, one in enumerate(settings) for j, other in enumerate(settings)
        if i != j and all(a <= b for a, b in zip(one, other, strict=True))
    ]  # fmt: skip
    tables = np.array(list(product((False, True), repeat=len(settings))))
    good = np.ones(len(tables), bool)
    for i, j in below:
        good &= ~(tables[:, i] & ~tables[:, j])
    return tables[good].T


@pytest.mark.parametrize("n", HANSEL)
def test_any_monotone_rule_takes_hansels_number_of_looks(n: int) -> None:
    rules = monotone(n)
    assert rules.shape[1] == DEDEKIND[n]
    worst, mean = worst_and_mean(rules)
    assert HANSEL[n] == (math.comb(n, n // 2) + math.comb(n, n // 2 + 1))
    assert worst >= HANSEL[n], "no method can do with less"
    assert worst <= HANSEL[n] + (n == 4), "and the greedy one needs one more at most"
    assert mean >= math.log2(DEDEKIND[n])


@pytest.mark.parametrize(("n", "k"), SPLITTING)
def test_k_needed_switches_of_n_take_hardly_more_looks_than_their_logarithm(n: int, k: int) -> None:
    least = SPLITTING[n, k]
    assert least == math.ceil(math.log2(math.comb(n, k)))
    worst, mean = worst_and_mean(conjunctions(n, [k]) if n < 16 else some_settings(n, k))
    assert least <= worst <= least + max(0, k - 1)
    assert math.log2(math.comb(n, k)) <= mean <= math.log2(math.comb(n, k)) + 0.5


def some_settings(n: int, k: int) -> NDArray[np.bool_]:
    """For many switches: all settings with at most five of them off, or as many as halves the sets."""
    off = [one for size in range(6) for one in combinations(range(n), size)]
    sets = [set(one) for one in combinations(range(n), k)]
    return np.array([[not one & set(gone) for one in sets] for gone in off])


@pytest.mark.parametrize(("n", "d"), AT_MOST)
def test_at_most_d_of_n_take_no_more_looks_than_splitting(n: int, d: int) -> None:
    sizes = list(range(d + 1))
    worst, _ = worst_and_mean(conjunctions(n, sizes))
    least = math.ceil(math.log2(sum(math.comb(n, size) for size in sizes)))
    assert least <= worst <= AT_MOST[n, d]


def test_steps_of_the_chooser_need_looks_like_halving_and_fewer_steps_than_questions() -> None:
    """8 switches, 3 of them needed: by halves 9.1 looks in the mean, 12 at most (Junker 2004, counted); 6 questions."""
    space = Space([latching(f"switch {i}") for i in range(8)], Precautions())
    language = Language(space)
    sets = list(combinations(range(8), 3))
    found = [language.find([Literal(i, (1,)) for i in one]) for one in sets]
    looks, steps = [], []
    for truth in sets[::5]:
        left = [one for one in found if one is not None]
        state, count, step = np.ones(8, np.int8), 0, 0
        while len(left) > 1:
            paths = np.array([[one, language.never, language.never] for one in left])
            none = np.full(len(left), -1)
            weight = np.full(len(left), 1 / len(left))
            odds = Odds(language, Memories.of(language), paths, none, weight, np.zeros(0), True)
            choice = choose(space, odds, Where(state, False, 0.5), step)
            assert choice is not None
            walk = space.through(state, choice.moves)
            live = [bool(one[list(truth)].all()) for one in walk]
            held = language.holds(np.array(left), walk)
            left = [one for one, row in zip(left, held.T, strict=True) if row.tolist() == live]
            state, count, step = walk[-1], count + len(walk), step + 1
        assert left == [language.find([Literal(i, (1,)) for i in truth])]
        looks.append(count)
        steps.append(step)
    assert math.log2(56) <= sum(looks) / len(looks) <= 12
    assert sum(steps) / len(steps) < 6, "several looks go into a step"
