"""A table that was learnt beside the one that a switch should have: positions by name, and every difference in words.

Rule: positions are matched by what they join, never by their order; of those that differ the least difference counts.
"""

from collections.abc import Mapping
from itertools import combinations, permutations

from pulldrop.model.part.pair import Pair
from pulldrop.model.part.switch_table import JoinedState, SwitchTable
from pulldrop.model.raw import Frozen

Ends = frozenset[str]


class Difference(Frozen):
    """One difference. `position`: its name in the reference, empty for what concerns all. `kind`: for programs."""

    kind: str
    position: str
    text: str


class Comparison(Frozen):
    """`names`: of the reference's positions, by number from 0 in the table; `differences`: none when they agree."""

    names: dict[int, str]
    differences: tuple[Difference, ...]


def compare(
    wanted: Mapping[str, tuple[Pair, ...]], table: SwitchTable, springs: Mapping[str, str] | None = None
) -> Comparison:
    """The table beside the closed pairs that each position should have; `springs`: which should spring back, and where
    to, None where that is unknown."""
    should = {name: _groups(pairs) for name, pairs in wanted.items()}
    found = {number: _ends(row.state) for number, row in enumerate(table.positions)}
    names = _match(should, found)
    told = [one for number, name in names.items() for one in _differ(name, wanted[name], should[name], found[number])]
    bridged = _always(found) - _always(should)
    told = [one for one in told if one.kind != "extra" or frozenset(one.text.split()[0].split("-")) not in bridged]
    told += [_bridged(ends) for ends in sorted(bridged, key=sorted)]
    told += [
        Difference(kind="not found", position=name, text=f"position {name} was not found, or joins the same as another")
        for name in should
        if name not in names.values()
    ]
    for number in found:
        if number not in names:
            joins = str(table.positions[number].state)
            told.append(
                Difference(kind="unknown", position="", text=f"position {number + 1} is not in the table: {joins}")
            )
    for number, name in names.items():
        told += [
            Difference(kind="late", position=name, text=f"{pair} comes late or is loose in position {name}")
            for pair in table.positions[number].unsteady
        ]
    if springs is not None:
        told += [one for number, name in names.items() if (one := _spring(number, name, names, table, springs))]
    return Comparison(names=names, differences=tuple(told))


def _groups(pairs: tuple[Pair, ...]) -> frozenset[Ends]:
    """Every two terminals that these pairs join."""
    groups: list[set[str]] = []
    for pair in pairs:
        touched = [one for one in groups if pair.a in one or pair.b in one]
        groups = [one for one in groups if one not in touched] + [{pair.a, pair.b}.union(*touched)]
    return frozenset(frozenset(two) for group in groups for two in combinations(sorted(group), 2))


def _ends(state: JoinedState) -> frozenset[Ends]:
    return frozenset(frozenset(two) for group in state.groups for two in combinations(group, 2))


def _always(states: Mapping[str, frozenset[Ends]] | Mapping[int, frozenset[Ends]]) -> frozenset[Ends]:
    """What is joined in every position."""
    return frozenset.intersection(*states.values()) if states else frozenset()


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

    orders = permutations([*numbers, *blank], len(left))
    best = min(orders, key=cost)
    names |= {number: name for name, number in zip(left, best, strict=True) if number is not None}
    return dict(sorted(names.items()))


def _differ(name: str, pairs: tuple[Pair, ...], should: frozenset[Ends], found: frozenset[Ends]) -> list[Difference]:
    missing = [pair for pair in pairs if frozenset((pair.a, pair.b)) not in found]
    told = [
        Difference(kind="missing", position=name, text=f"{pair} is not joined in position {name}, and should be")
        for pair in missing
    ]
    joined: set[Ends] = set(should)
    for ends in sorted(found - should, key=sorted):
        if ends in joined:
            continue
        told.append(
            Difference(
                kind="extra", position=name, text=f"{'-'.join(sorted(ends))} is joined in position {name} without need"
            )
        )
        joined |= _groups(tuple(Pair(*sorted(one)) for one in joined | {ends}))
    return told


def _spring(
    number: int, name: str, names: Mapping[int, str], table: SwitchTable, springs: Mapping[str, str]
) -> Difference | None:
    """Whether a position springs back as it should; nothing where that was not found out."""
    row, wanted = table.positions[number], springs.get(name)
    if row.sprung is None:
        return None
    to = names.get(row.springs_to, "another position") if row.springs_to is not None else None
    if to == wanted:
        return None
    text = f"position {name} stays, and should spring back to {wanted}"
    if to is not None:
        should = f"to {wanted}" if wanted else "stay"
        text = f"position {name} springs back to {to}, and should {should}"
    return Difference(kind="spring", position=name, text=text)


def _bridged(ends: Ends) -> Difference:
    text = f"{'-'.join(sorted(ends))} is joined in every position: a bridge or a welded contact"
    return Difference(kind="bridged", position="", text=text)
