"""A table that was learnt beside the one that a switch should have: positions by name, every difference in words."""

from collections.abc import Mapping

from pulldrop.model.part.pair import Pair
from pulldrop.model.part.position_names import Ends, joined_by, joined_in
from pulldrop.model.part.position_names import names as names_of
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.model.raw import Frozen


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
    should = {name: joined_by(pairs) for name, pairs in wanted.items()}
    found = {number: joined_in(row.state) for number, row in enumerate(table.positions)}
    names = names_of(wanted, table)
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


def _always(states: Mapping[str, frozenset[Ends]] | Mapping[int, frozenset[Ends]]) -> frozenset[Ends]:
    """What is joined in every position."""
    return frozenset.intersection(*states.values()) if states else frozenset()


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
        joined |= joined_by(tuple(Pair(*sorted(one)) for one in joined | {ends}))
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
