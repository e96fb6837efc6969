"""A circuit solved by nodes: the volts of every node and the amps of every element at one moment.

Source: nodal analysis with Newton's method and limited steps, as circuit solvers do it; held against ngspice in
tests/published.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pulldrop.plant.vehicle.elements import Element, Moment

LEAK_S = 1e-9
"""From every node to the reference: 1 Gohm, so that a node that nothing holds has a voltage."""
STEPS = 200
STEP_V = 2.0
"""No node moves further in one step once the first, straight one is made: the laws of lamps and diodes bend."""
REST_V, REST_A2 = 1e-7, 1e-12
HALVES = 12


class NoSolution(Exception):
    """The circuit does not come to rest: a file that contradicts itself."""


@dataclass(frozen=True)
class Solved:
    """Volts by node against the reference, and amps from a to b by the element's name."""

    volts: dict[str, float]
    amps: dict[str, float]

    def between(self, a: str, b: str) -> float:
        """Volts of a against b."""
        return self.volts[a] - self.volts[b]


def solve(elements: Sequence[Element], reference: str, at: Moment = Moment()) -> Solved:  # noqa: B008
    """Volts against the node `reference`. Raises NoSolution, and KeyError when no element touches the reference."""
    names = list(dict.fromkeys(node for one in elements for node in (one.a, one.b)))
    place = {name: index for index, name in enumerate(names)}
    fixed = place[reference]
    free = np.array([index for index in range(len(names)) if index != fixed])
    ends = np.array([(place[one.a], place[one.b]) for one in elements])
    volts = np.zeros(len(names))

    def residual(of: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> tuple[np.ndarray, np.ndarray]:
        """Amps out of every node, and how they change with every node's volts."""
        out, slope = of * LEAK_S, np.eye(len(names)) * LEAK_S
        for one, (a, b) in zip(elements, ends, strict=True):
            amps, siemens = one.law(float(of[a] - of[b]), at)
            out[a] += amps
            out[b] -= amps
            slope[a, a] += siemens
            slope[b, b] += siemens
            slope[a, b] -= siemens
            slope[b, a] -= siemens
        return out, slope

    out, slope = residual(volts)
    for step in range(STEPS):
        move = np.zeros(len(names))
        move[free] = np.linalg.solve(slope[np.ix_(free, free)], -out[free])
        if step:
            move *= min(1.0, STEP_V / max(float(np.abs(move).max()), STEP_V))
        size = float(np.square(out[free]).sum())
        for halves in range(HALVES):
            tried = volts + move / 2**halves
            next_out, next_slope = residual(tried)
            if halves == HALVES - 1 or float(np.square(next_out[free]).sum()) <= size or size < REST_A2:
                break
        moved = float(np.abs(tried - volts).max())
        volts, out, slope = tried, next_out, next_slope
        if moved < REST_V:
            return Solved(
                {name: float(volts[index]) for name, index in place.items()},
                {
                    one.name: one.law(float(volts[a] - volts[b]), at)[0]
                    for one, (a, b) in zip(elements, ends, strict=True)
                },
            )
    raise NoSolution(f"the circuit with {len(elements)} elements does not come to rest in {STEPS} steps")
