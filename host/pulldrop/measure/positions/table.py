"""The workshop table from the places that a learner found: rows, parts built in, and every doubt in words."""

import math
from collections.abc import Mapping, Sequence
from itertools import combinations

from pulldrop.measure.positions.learner import ALIKE, ALIKE_OHM, VISITS, Learner, Place
from pulldrop.measure.positions.passages import Passages
from pulldrop.model.part.switch_table import JoinedState, Passage, Position, SwitchTable, Through

GLITCHES = 2
"""One opening may be a hand that slipped."""
COIL_OHM = (40.0, 500.0)
"""Coils of relays of 12 and 24 V, by their classes; pilot lamps are below, when they are cold."""
LADDER = 3
"""Values between two terminals from which on they are meant: a film has one."""


def table(
    terminals: Sequence[str], learner: Learner, passages: Passages | None = None, trouble: Sequence[str] = ()
) -> SwitchTable:
    """All that was found; `trouble`: further doubts."""
    places = [one for one in learner.places if one.visits]
    states = [one.back or one.state for one in places]
    inside = built_in(terminals, states)
    number = {at: places.index(one) for at, one in enumerate(learner.places) if one.visits}
    rows = tuple(_position(place, _without(state, inside), number) for place, state in zip(places, states, strict=True))
    found: tuple[Passage, ...] = passages.passages() if passages else ()
    doubts = [*trouble, *_doubts(places, rows, inside)]
    odd = _odd(rows)
    odd += [
        f"{one.a}-{one.b} has {one.ohm:.3g} ohm in one position alone: a part inside, or a film on a contact"
        for one in inside
        if not one.one_way and sum(not state.joined(one.a, one.b) for state in states) < 2
    ]
    if learner.unbidden:
        doubts.append("it was moved before the tone: whether positions spring back is not certain")
    return SwitchTable(
        terminals=tuple(terminals), positions=rows, passages=found, inside=inside, doubts=(*doubts, *odd),
        odd=tuple(odd),
    )  # fmt: skip


def built_in(terminals: Sequence[str], states: Sequence[JoinedState]) -> tuple[Through, ...]:
    """Paths that are there whenever a contact does not join their ends: lamps, diodes and resistors inside."""
    found: list[Through] = []
    for a, b in combinations(terminals, 2):
        apart = [state for state in states if not state.joined(a, b)]
        seen = [_between(state, a, b) for state in apart]
        known = [one for one in seen if one is not None]
        if not known or len(known) < len(seen) or not all(_same(one, known[0]) for one in known):
            continue
        one = known[0].model_copy(update={"a": a, "b": b})
        if math.isinf(one.ohm):
            one = Through(a=b, b=a, ohm=one.back_ohm or one.ohm, back_ohm=one.ohm)
        if not any(_explained(one, other, states) for other in found):
            found.append(one)
    return tuple(found)


def _between(state: JoinedState, a: str, b: str) -> Through | None:
    """What conducts between the groups of two terminals, from a's to b's."""
    for one in state.through:
        if {one.a, one.b} == {state.group(a)[0], state.group(b)[0]}:
            if one.a == state.group(a)[0]:
                return one
            back = one.back_ohm if one.back_ohm is not None else one.ohm
            return Through(a=one.b, b=one.a, ohm=back, back_ohm=one.ohm if one.back_ohm is not None else None)
    return None


def _same(one: Through, other: Through) -> bool:
    def near(a: float, b: float) -> bool:
        return a == b or abs(a - b) <= max(ALIKE * min(a, b), ALIKE_OHM)

    both = one.back_ohm is not None and other.back_ohm is not None
    return near(one.ohm, other.ohm) and (not both or near(one.back_ohm or 0.0, other.back_ohm or 0.0))


def _explained(one: Through, other: Through, states: Sequence[JoinedState]) -> bool:
    """Whether one that was found already is this one, seen from terminals that are joined to its ends."""
    return all(
        {state.group(one.a)[0], state.group(one.b)[0]} == {state.group(other.a)[0], state.group(other.b)[0]}
        for state in states
        if not state.joined(one.a, one.b)
    )


def _without(state: JoinedState, inside: Sequence[Through]) -> JoinedState:
    """A state with its built-in parts taken out."""
    ends = {frozenset((state.group(one.a)[0], state.group(one.b)[0])) for one in inside}
    return JoinedState(
        groups=state.groups, through=tuple(one for one in state.through if frozenset((one.a, one.b)) not in ends)
    )


def _position(place: Place, state: JoinedState, number: Mapping[int, int]) -> Position:
    to = None if place.springs_to is None else number.get(place.springs_to)
    return Position(
        state=state,
        visits=place.visits,
        sprung=None if not place.spring_known else to is not None,
        springs_to=to,
        unsteady=tuple(sorted(pair for pair, count in place.glitches.items() if count >= GLITCHES)),
    )


def _doubts(places: Sequence[Place], rows: Sequence[Position], inside: Sequence[Through]) -> list[str]:
    told = []
    if len(rows) < 2:
        told.append("fewer than two positions were seen; move the switch, and look whether its leads sit")
        told += [_no_switch(one) for one in inside]
        told += [
            f"{'-'.join(one)} stay joined: a fuse, a link or a welded contact" for r in rows for one in r.state.groups
        ]
    for number, (place, row) in enumerate(zip(places, rows, strict=True), 1):
        if place.visits < VISITS:
            told.append(f"position {number} was seen once; it may lie between two detents")
        elif row.sprung is None:
            told.append(f"whether position {number} springs back was not found out")
    return told


def _odd(rows: Sequence[Position]) -> list[str]:
    """What is strange of the switch itself."""
    told = []
    values: dict[tuple[str, str], list[float]] = {}
    for one in (path for row in rows for path in row.state.through):
        values.setdefault((one.a, one.b), []).append(one.ohm)
    ladders = {ends for ends, ohms in values.items() if _several(ohms) >= LADDER}
    for number, row in enumerate(rows, 1):
        if row.unsteady:
            told.append(f"{', '.join(row.unsteady)} changed while position {number} was held: a loose contact")
        for one in row.state.through:
            if (one.a, one.b) not in ladders:
                told.append(f"{one.a}-{one.b} has {one.ohm:.3g} ohm in position {number}: a film, or a part inside")
    return told


def _no_switch(one: Through) -> str:
    """What a path looks like that nothing opens."""
    if one.one_way:
        looks = "a diode, a LED or electronics has"
    elif one.ohm < COIL_OHM[0]:
        looks = "a cold lamp has"
    else:
        looks = "the coil of a relay has" if one.ohm <= COIL_OHM[1] else "a resistor has"
    return f"{one.a}-{one.b} has {one.ohm:.3g} ohm whatever is moved, as {looks}"


def _several(ohms: Sequence[float]) -> int:
    """Values that differ from each other."""
    kept: list[float] = []
    for ohm in sorted(one for one in ohms if math.isfinite(one)):
        if not kept or ohm - kept[-1] > max(ALIKE * ohm, ALIKE_OHM):
            kept.append(ohm)
    return len(kept)
