"""Which position of a table that was learnt is which of the table that a switch should have.

Rule: positions are matched by what they join, never by their order; of those that differ the least difference counts.
"""

from collections.abc import Mapping
from itertools import combinations, permutations

from pulldrop.model.part.pair import Pair
from pulldrop.model.part.switch_table import JoinedState, SwitchTable

Ends = frozenset[str]
MOST = 8
"""Positions that agree with none, up to which all ways to match them are tried."""


def names(wanted: Mapping[str, tuple[Pair, ...]], table: SwitchTable) -> dict[int, str]:
    """Names by number from 0 in the table that was learnt; `wanted`: closed pairs by name."""
    should = {name: joined_by(pairs) for name, pairs in wanted.items()}
    return _match(should, {number: joined_in(row.state) for number, row in enumerate(table.positions)})


def joined_by(pairs: tuple[Pair, ...]) -> frozenset[Ends]:
    """Every two terminals that these pairs join."""
    groups: list[set[str]] = []
    for pair in pairs:
        touched = [one for one in groups if pair.a in one or pair.b in one]
        groups = [one for one in groups if one not in touched] + [{pair.a, pair.b}.union(*touched)]
    return frozenset(frozenset(two) for group in groups for two in combinations(sorted(group), 2))


def joined_in(state: JoinedState) -> frozenset[Ends]:
    """Every two terminals that are in one group."""
    return frozenset(frozenset(two) for group in state.groups for two in combinations(group, 2))


def _match(should: Mapping[str, frozenset[Ends]], found: Mapping[int, frozenset[Ends]]) -> dict[int, str]:
    """Names by number: first those that agree, then the rest with the least difference in all."""
    names: dict[int, str] = {}
    for name, ends in should.items():
        same = next((n for n, one in found.items() if one == ends and n not in names), None)
        if same is not None:
            names[same] = name
    left = [name for name in should if name not in names.values()]
    numbers = [number for number in found if number not in names]
    blank: list[int | None] = [None] * max(len(left) - len(numbers), 0)

    def cost(order: tuple[int | None, ...]) -> int:
        pairs = zip(left, order, strict=True)
        return sum(len(should[name] ^ found[number]) for name, number in pairs if number is not None)

    if len(left) > MOST or len(numbers) > MOST:
        best = tuple((numbers + blank)[: len(left)])  # nothing of such a table agrees
    else:
        best = min(permutations([*numbers, *blank], len(left)), key=cost)
    names |= {number: name for name, number in zip(left, best, strict=True) if number is not None}
    return dict(sorted(names.items()))
