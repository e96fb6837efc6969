"""A small network of resistors and straight-line diodes between named nodes, solved for its volts.

Rule: a diode is a corner, not a curve: it blocks below `volts` and is `ohm` in series with `volts` above.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

INSULATION_S = 1e-12
"""From every node to ground, so that a node that nothing holds has a voltage: 1 Tohm."""
LOOKS = 40
"""Most changes of diodes that are tried; a handful suffices for the few there are."""


@dataclass(frozen=True, slots=True)
class Resistor:
    """`ohm` between two nodes."""

    a: str
    b: str
    ohm: float


@dataclass(frozen=True, slots=True)
class Diode:
    """Conducts from `anode` to `cathode` above `volts`, with `ohm` in series."""

    anode: str
    cathode: str
    volts: float
    ohm: float


Element = Resistor | Diode


def solve(elements: Sequence[Element], held: Mapping[str, float]) -> dict[str, float]:
    """Volts of every node against ground; `held` are the nodes whose volts are given, ground among them."""
    diodes = [one for one in elements if isinstance(one, Diode)]
    on = [False] * len(diodes)
    volts: dict[str, float] = {}
    for look in range(LOOKS):
        volts = _linear(elements, dict(zip(map(id, diodes), on, strict=True)), held)
        wrong = [_excess(one, volts) * (-1 if lit else 1) for one, lit in zip(diodes, on, strict=True)]
        if not wrong or max(wrong) <= 1e-9:
            break
        if look == 0:
            on = [one > 1e-9 for one in wrong]
        else:  # from here on one by one, for all at once could go back and forth
            worst = wrong.index(max(wrong))
            on[worst] = not on[worst]
    return volts


def _excess(diode: Diode, volts: Mapping[str, float]) -> float:
    return volts[diode.anode] - volts[diode.cathode] - diode.volts


def _linear(elements: Sequence[Element], on: Mapping[int, bool], held: Mapping[str, float]) -> dict[str, float]:
    """Nodal analysis with every diode taken as open, or as its source and resistance."""
    names = {n for e in elements for n in ((e.a, e.b) if isinstance(e, Resistor) else (e.anode, e.cathode))}
    free = sorted(names - set(held))
    place = {name: index for index, name in enumerate(free)}
    matrix = [[INSULATION_S if r == c else 0.0 for c in range(len(free))] + [0.0] for r in range(len(free))]

    def join(a: str, b: str, siemens: float, source_a: float) -> None:
        """A conductance, and a source in parallel that drives amps from `b` into `a`."""
        for node, other, amps in ((a, b, source_a), (b, a, -source_a)):
            if node in place:
                row = matrix[place[node]]
                row[place[node]] += siemens
                row[-1] += amps
                if other in place:
                    row[place[other]] -= siemens
                else:
                    row[-1] += siemens * held[other]

    for one in elements:
        if isinstance(one, Resistor):
            join(one.a, one.b, 1 / one.ohm, 0.0)
        elif on[id(one)]:
            join(one.anode, one.cathode, 1 / one.ohm, one.volts / one.ohm)
    return dict(held) | dict(zip(free, _eliminate(matrix), strict=True))


def _eliminate(rows: list[list[float]]) -> list[float]:
    """Gauss without exchange of rows: with conductances alone, each row's diagonal outweighs the rest of it."""
    size = len(rows)
    for k, pivot in enumerate(rows):
        for r in range(k + 1, size):
            factor = rows[r][k] / pivot[k]
            if factor:
                rows[r] = [value - factor * above for value, above in zip(rows[r], pivot, strict=True)]
    found = [0.0] * size
    for k in reversed(range(size)):
        known = sum(value * volts for value, volts in zip(rows[k][k + 1 : -1], found[k + 1 :], strict=True))
        found[k] = (rows[k][-1] - known) / rows[k][k]
    return found
