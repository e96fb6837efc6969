"""Benches and parts that the budgets do not know: does the stated uncertainty still hold?

Rule: nothing here is drawn as the budgets assume it. Errors of the bench's parts and of the garage's instruments lie
near their makers' limits, or are normal and now and then beyond them; clips differ from seating to seating by several
times what is assumed before anybody looked, and the calibration learns it by seating a link; windings come from a cold
yard, and people state the wait in round numbers.
"""

import math
import random
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from unittest.mock import patch

import specimens
from carried import COLDER_K, STATED_S, WAIT_S, WARMS_S, WARMS_SPREAD
from report import close, options, share
from truth import truths

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.calibrate.virtual import calibrate_board
from pulldrop.jobs.self_test.talk import Refusal, Turn
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.reading import Reading
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.steps.contacts.timing import TimingStep
from pulldrop.plant.bench import frontend, instruments
from pulldrop.plant.noise import Chance
from pulldrop.protocol.load import plan

SEAT_MOHM = (0.03, 0.3)
"""By which clips differ from seating to seating, either way: any of these, of the logarithm."""
NOT_HELD = ("winding_drift", "bounce_time_no", "bounce_time_nc")
"""The first is shown by `carried`; of a bounce the part itself differs from make to make by more than U."""


PATIENCE = 25
"""Refusals of a calibration after which its bench is given up."""


class Refused(Exception):
    """A bench so far beyond its makers' limits that nothing calibrates it."""


def arcsine(chance: Chance, most: float) -> float:
    """Between the limits, and mostly near one of them: standard deviation 0.71 of the limit."""
    return most * math.sin(math.pi * (chance.uniform() - 0.5))


def bell(chance: Chance, most: float) -> float:
    """Normal, one in twenty beyond the limits, by a quarter at most (a calibration refuses what is far beyond them):
    standard deviation nearly 0.5 of the limit."""
    return most * min(max(0.5 * chance.normal(), -1.25), 1.25)


SHAPES: dict[str, Callable[[Chance, float], float]] = {"near the limits": arcsine, "now and then beyond": bell}


@contextmanager
def other_errors(shape: str, seat_ohm: float) -> Iterator[None]:
    """Every part and instrument that is drawn meanwhile errs so."""
    with patch.object(Chance, "within", SHAPES[shape]), patch.object(frontend, "SEAT_OHM", seat_ohm):
        yield


@dataclass(frozen=True)
class Line:
    """One reading beside its truth."""

    shape: str
    id: str
    error: float
    expanded: float

    @property
    def inside(self) -> bool:
        return abs(self.error) <= self.expanded


def one_part(index: int, seed: int) -> list[Line]:
    """One part from a cold yard on one such bench, calibrated by its own instruments, by the full protocol."""
    chance = random.Random(f"stressed:{seed}:{index}")
    base = chance.choices(specimens.BASES, specimens.SHARES)[0]
    specimen, shape = specimens.specimen(base, chance), list(SHAPES)[index % len(SHAPES)]
    assert specimen.temperature_c is not None
    warms_s, waited_s = WARMS_S * math.exp(chance.gauss(0, WARMS_SPREAD)), chance.expovariate(1 / WAIT_S)
    off_k = -chance.gauss(*COLDER_K) * math.exp(-waited_s / warms_s)
    warming = specimen.coil.model_copy(update={"heating_s": warms_s})
    cold = specimen.model_copy(update={"winding_c": specimen.temperature_c + off_k, "coil": warming})
    at, bench = plan("relay-full", specimens.RATINGS[base]), chance.getrandbits(40)
    test_v = next(one.coil for one in at.steps if isinstance(one, TimingStep))
    load_a = next(one.load for one in at.steps if isinstance(one, ContactStep))
    true = truths(specimen, at.rating.nominal, test_v, load_a)
    seat_ohm = 1e-3 * math.exp(chance.uniform(*map(math.log, SEAT_MOHM)))
    with other_errors(shape, seat_ohm):
        calibration = _calibrated(bench)
        if calibration is None:
            return []
        with VirtualBoard(cold, bench) as board:
            found = list(perform(at, board, calibration, rested_s=STATED_S * (waited_s // STATED_S)))
    return [
        Line(shape, one.id, one.value - true[one.id], one.expanded_uncertainty)
        for one in found
        if not isinstance(one, StepStarted) and isinstance(one, Reading) and one.value is not None and one.bound == "="
        if one.id in true and one.id not in NOT_HELD
    ]


def _calibrated(bench: int) -> Calibration | None:
    """By the dialogue; None where it refuses the bench again and again, and a person would have to mend it."""
    refused = list[str]()

    def told(turn: Turn, _answer: float | None) -> None:
        if isinstance(turn, Refusal):
            refused.append(turn.text)
        if len(refused) > PATIENCE:
            raise Refused

    try:
        with VirtualBoard(instruments.empty(), bench) as board:
            return calibrate_board(board, bench, told=told).calibration
    except Refused:
        return None


def campaign(seed: int, parts: int, workers: int = 1) -> list[Line]:
    """All lines of all parts."""
    work = partial(one_part, seed=seed)
    if workers == 1:
        return [line for index in range(parts) for line in work(index)]
    with ProcessPoolExecutor(workers) as pool:
        return [line for lines in pool.map(work, range(parts), chunksize=3) for line in lines]


def main() -> int:
    given = options(__doc__.splitlines()[0], 100)
    lines = campaign(given.seed, given.parts)
    print(f"{given.parts - sum(line.id == 'coil_resistance' for line in lines)} benches could not be calibrated.")
    for shape in SHAPES:
        some = [line for line in lines if line.shape == shape]
        print(f"{shape}: {sum(line.inside for line in some)} of {len(some)} inside U")
    for id, count in Counter(line.id for line in lines).items():
        some = [line for line in lines if line.id == id]
        worst = max(abs(line.error) / line.expanded for line in some)
        print(f"{id:22} {100 * sum(line.inside for line in some) / count:5.1f} % of {count}, worst {worst:.2f} U")
    goals = [
        share(f"{id}: inside U", (x.inside for x in lines if x.id == id), low=0.90) for id in {x.id for x in lines}
    ]
    return close("stressed", given, sorted(goals, key=lambda one: one.name))


if __name__ == "__main__":
    sys.exit(main())
