"""What a table says of a switch: which terminals are one, what is common, which contacts go together, what it is for.

Rule: nothing is asked; what is only likely says so.
"""

from itertools import combinations, pairwise

from pulldrop.model.part.switch_table import JoinedState, SwitchTable
from pulldrop.model.raw import Frozen


class Meaning(Frozen):
    """`one`: groups of terminals that are joined in every position; `common`: the terminal that every joint has;
    `together`: contacts that close in the same positions; `unused`: terminals that nothing joins or leads to; `likely`:
    what kind of switch it is, as a phrase."""

    one: tuple[tuple[str, ...], ...]
    common: str
    together: tuple[tuple[str, ...], ...]
    unused: tuple[str, ...]
    likely: str

    def __str__(self) -> str:
        """One thing after the other, for people."""
        told = [self.likely] if self.likely else []
        told += [f"{self.common} is common to all joints"] if self.common else []
        told += [f"{' and '.join(one)} are one terminal: joined in every position" for one in self.one]
        told += [f"{' and '.join(one)} close together" for one in self.together]
        return "; ".join(told + ([f"nothing joins {', '.join(self.unused)}"] if self.unused else []))


def meaning(table: SwitchTable) -> Meaning:
    """Of a table with two positions at least; of a shorter one nothing is worked out."""
    states = [row.state for row in table.positions]
    one = _always(table, states)
    heads = {name: group[0] for group in one for name in group}
    names = [name for name in table.terminals if heads.get(name, name) == name]
    closed = {
        (a, b): tuple(number for number, state in enumerate(states) if state.joined(a, b))
        for a, b in combinations(names, 2)
    }
    closed = {pair: places for pair, places in closed.items() if places}
    ends = {name for pair in closed for name in pair}
    led = {name for path in (*table.inside, *(p for s in states for p in s.through)) for name in (path.a, path.b)}
    return Meaning(
        one=one,
        common=_common(names, states),
        together=_together(closed),
        unused=tuple(name for name in names if name not in ends | led and name not in heads),
        likely=_likely(table, names, states) if len(states) >= 2 else "",
    )


def _always(table: SwitchTable, states: list[JoinedState]) -> tuple[tuple[str, ...], ...]:
    groups: list[list[str]] = []
    for name in table.terminals:
        home = next((g for g in groups if states and all(state.joined(g[0], name) for state in states)), None)
        if home is None:
            groups.append([name])
        else:
            home.append(name)
    return tuple(tuple(one) for one in groups if len(one) > 1)


def _common(names: list[str], states: list[JoinedState]) -> str:
    """The one terminal that is in every group of every position."""
    groups = [group for state in states for group in state.groups]
    found = [name for name in names if groups and all(name in group for group in groups)]
    several = len({frozenset(group) for group in groups}) > 1
    return found[0] if len(found) == 1 and several else ""


def _together(closed: dict[tuple[str, str], tuple[int, ...]]) -> tuple[tuple[str, ...], ...]:
    """Contacts without a terminal in common that close in the same positions, as `30-58`."""
    by_place: dict[tuple[int, ...], list[tuple[str, str]]] = {}
    for pair, places in closed.items():
        apart = by_place.setdefault(places, [])
        if not any(set(pair) & set(other) for other in apart):
            apart.append(pair)
    return tuple(tuple("-".join(pair) for pair in pairs) for pairs in by_place.values() if len(pairs) > 1)


def _likely(table: SwitchTable, names: list[str], states: list[JoinedState]) -> str:
    held = sum(bool(row.sprung) for row in table.positions)
    back = ", with spring return" if held else ""
    steps = [len(state.through) for state in states]
    closed = [frozenset(state.groups) for state in states]
    resting = [one for one in closed if one]
    if not resting and sum(steps) >= 3:
        return f"likely a ladder of {sum(map(bool, steps))} resistances"
    if len(states) == 2 and len(resting) == 1:
        return "likely a push-button" if held else "likely an on-off switch"
    joins = [{name for group in one for name in group} for one in closed]
    joins.sort(key=len)
    if all(a < b for a, b in pairwise(joins)):
        return f"likely a step switch: each position adds to the one before{back}"
    if _common(names, states) and all(len(one) <= 1 and all(len(g) == 2 for g in one) for one in closed):
        off = ", and one off" if len(resting) < len(closed) else ""
        return f"likely a selector of one in {len(resting)}{off}{back}"
    if len(resting) == 2:
        return f"likely a changeover{' with a position off' if len(closed) > 2 else ''}{back}"
    return f"a switch of {len(states)} positions{back}"
