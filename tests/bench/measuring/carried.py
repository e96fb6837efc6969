"""Parts carried in from a cold yard: does the stated uncertainty hold of what is brought to the bench's temperature?

Rule: how cold they are, how quickly they warm, and how long they waited are drawn otherwise than the budget assumes; a
person states the wait as people do, rounded down to five minutes.
"""

import math
import random
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

import specimens
from calibrated import calibrate_virtual
from report import close, options, share
from truth import coil, thresholds

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import StepStarted, perform
from pulldrop.model.reading import Reading
from pulldrop.protocol.load import plan

COLDER_K = (14.0, 6.0)
"""By how much a yard is colder than the room, normal; now and then it is warmer."""
WARMS_S, WARMS_SPREAD = 400.0, 0.4
"""With which time constant a part comes to the room, lognormal; the budget assumes 900 s."""
WAIT_S = 900.0
"""How long parts have lain when they are tested, exponential."""
STATED_S = 300.0
BROUGHT = (
    "coil_resistance", "coil_resistance_20c", "coil_current", "pull_in_voltage", "pull_in_voltage_20c",
    "drop_out_voltage", "winding_drift",
)  # fmt: skip
"""What holds at the temperature of the bench, or at 20 degC; and what shows a winding that is not at the bench's."""
STEPS = ("coil", "drift", "thresholds")


@dataclass(frozen=True)
class Line:
    """One reading beside its truth; `off_k`: the winding against the bench; `stated_s`: None where nobody said."""

    id: str
    true: float
    error: float
    expanded: float
    off_k: float
    stated_s: float | None

    @property
    def seen(self) -> bool:
        """Of the drift: whether it is told from none."""
        return abs(self.true + self.error) > self.expanded

    @property
    def inside(self) -> bool:
        return abs(self.error) <= self.expanded


def one_part(index: int, seed: int) -> list[Line]:
    """A part at one moment of its warming, by the full protocol: as people state its wait, and with nothing said."""
    chance = random.Random(f"carried:{seed}:{index}")
    base = chance.choices(specimens.BASES, specimens.SHARES)[0]
    specimen = specimens.specimen(base, chance)
    assert specimen.temperature_c is not None
    warms_s = WARMS_S * math.exp(chance.gauss(0, WARMS_SPREAD))
    waited_s = chance.expovariate(1 / WAIT_S)
    off_k = -chance.gauss(*COLDER_K) * math.exp(-waited_s / warms_s)
    warming = specimen.coil.model_copy(update={"heating_s": warms_s})
    cold = specimen.model_copy(update={"winding_c": specimen.temperature_c + off_k, "coil": warming})
    at, bench = plan("relay-full", specimens.RATINGS[base]), chance.getrandbits(40)
    at = at.model_copy(update={"steps": tuple(step for step in at.steps if step.measure in STEPS)})
    true = coil(specimen, at.rating.nominal) | thresholds(specimen, at.rating.nominal)
    true["winding_drift"] = -60 * off_k / warms_s
    lines = list[Line]()
    for stated_s in (STATED_S * (waited_s // STATED_S), None):
        with VirtualBoard(cold, bench) as board:
            for one in perform(at, board, calibrate_virtual(bench), rested_s=stated_s):
                if not isinstance(one, StepStarted) and isinstance(one, Reading) and one.id in BROUGHT and one.value:
                    lines.append(
                        Line(one.id, true[one.id], one.value - true[one.id], one.expanded_uncertainty, off_k, stated_s)
                    )
    return lines


def campaign(seed: int, parts: int, workers: int = 2) -> list[Line]:
    """All lines of all parts."""
    work = partial(one_part, seed=seed)
    if workers == 1:
        return [line for index in range(parts) for line in work(index)]
    with ProcessPoolExecutor(workers) as pool:
        return [line for lines in pool.map(work, range(parts), chunksize=3) for line in lines]


def told(lines: Sequence[Line], id: str) -> str:
    """One row: shares inside U with the wait stated, and with nothing said."""
    row = [id]
    for said in (True, False):
        some = [line for line in lines if line.id == id and (line.stated_s is not None) is said]
        row.append(f"{100 * sum(line.inside for line in some) / max(len(some), 1):5.1f} % of {len(some)}")
    return f"{row[0]:22} stated {row[1]:16} nothing said {row[2]}"


def main() -> int:
    given = options(__doc__.splitlines()[0], 60)
    lines = campaign(given.seed, given.parts)
    for id in BROUGHT:
        print(told(lines, id))
    off = sorted(abs(line.off_k) for line in lines[:: 2 * len(BROUGHT)])
    drifts = [line for line in lines if line.id == "winding_drift" and line.stated_s is None]
    for least_k in (3.0, 6.0, 10.0):
        far = [line for line in drifts if abs(line.off_k) > least_k]
        print(f"more than {least_k:g} K off: seen by their ohms at rest {sum(line.seen for line in far)} of {len(far)}")
    print(f"windings off the bench: median {off[len(off) // 2]:.1f} K, most {off[-1]:.1f} K")
    stated = [line for line in lines if line.stated_s is not None]
    goals = [
        share(f"{id}: inside U, wait stated", (x.inside for x in stated if x.id == id), low=0.90) for id in BROUGHT
    ]
    return close("carried", given, goals)


if __name__ == "__main__":
    sys.exit(main())
