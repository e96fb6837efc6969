"""How long a test takes on the bench against its physical floor: what the definitions make anyone wait for.

The floor is worked out here from the plan alone: steps of the staircases, magnetising and coming to rest before each
walk, the makes with their flux settled, the load pulses. Settings of our own procedures (their settling times, the
line, conversions) are not in it, unless a definition asks for them; each part says why it is there.
"""

import math
import random
import sys
from dataclasses import dataclass

import specimens
from report import Goal, close, options

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.run.plan import Plan
from pulldrop.model.step import Step
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.coil.drift import DriftStep
from pulldrop.model.steps.coil.thresholds import ThresholdsStep
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.model.steps.contacts.timing import TimingStep
from pulldrop.plant.relay.classes import Base
from pulldrop.protocol.load import plan

BASE: Base = "mini_12v_changeover"
MAGNETISE_S = 0.1
"""Four time constants of a seated core (25 ms): the same magnetic state before every walk and every break."""
REST_S = 0.03
"""Release and its bounce over (10 ms each at most), and the flux gone, before the next make."""
OPERATE_S = 0.01
"""A make may take this long (makers' sheets)."""
FIRST_PULSE_S = 0.012
"""As long as later ones."""
STEADY_S = 0.08
"""Three time constants until the coil current at nominal volts is within its last parts in a thousand, with the
averaging of the converter that reads it (18 ms): once for the coil, once for every landing."""
HELD_FOR = 3
"""Dwells for which an armature that creeps is given time."""
APPROACH = 1.5
"""A walk cannot begin at the threshold, which it does not know: on average so many steps of the coarser walk before."""
GOALS_S = {"full": 25.0, "quick": 6.0}


@dataclass(frozen=True)
class Share:
    """A part of the floor, and the definition that asks for it."""

    what: str
    seconds: float


def floor(at: Plan, pull_in_v: float, drop_out_v: float) -> list[Share]:
    """The floor of a plan for a part with these thresholds."""
    changeover = at.form == "C"
    return [share for step in at.steps for share in _of(step, at.rating.nominal, pull_in_v, drop_out_v, changeover)]


def _of(step: Step, nominal_v: float, pull_in_v: float, drop_out_v: float, changeover: bool) -> list[Share]:
    match step:
        case CoilStep():
            loads = (2 if changeover else 1) * FIRST_PULSE_S if step.load else 0.0
            return [
                Share("first make, from rest, and the first pulse of each throw", REST_S + OPERATE_S + loads),
                Share("coil: steady current at 1 V and at nominal", 2 * STEADY_S),
            ]
        case ThresholdsStep():
            return [
                _threshold("pull-in", step, pull_in_v, REST_S),
                _threshold("drop-out", step, 0.8 * nominal_v - drop_out_v, 0.0),
                *_held(step),
            ]
        case TimingStep():
            each = OPERATE_S + MAGNETISE_S + 2 * REST_S
            return [Share(f"times: {step.makes} makes from rest, breaks from a settled flux", step.makes * each)]
        case ContactStep():
            each = OPERATE_S + REST_S + (2 if changeover else 1) * step.pulse
            return [Share(f"contact: {step.makes} dry makes with a pulse a throw", step.makes * each)]
        case DriftStep():
            return [Share("winding: a rest between two readings of a settled coil", step.rest + 2 * MAGNETISE_S)]
        case _:
            return []


def _threshold(name: str, step: ThresholdsStep, way_v: float, rest_s: float) -> Share:
    """One coarse walk over the whole way, one middle walk if the sizes call for it, and the fine ones."""
    before = MAGNETISE_S + rest_s
    seconds = before + way_v / step.coarse * step.coarse_dwell
    size = step.coarse
    if step.coarse > 8 * step.fine:
        size = math.sqrt(step.coarse * step.fine)
        seconds += before + APPROACH * step.coarse / size * max(step.coarse_dwell, step.dwell / 2)
    seconds += before + APPROACH * size / step.fine * step.dwell + STEADY_S
    again = before + 4 * step.dwell + STEADY_S
    return Share(f"{name}: {step.walks} fine walk(s) of {1000 * step.fine:.0f} mV", seconds + (step.walks - 1) * again)


def _held(step: ThresholdsStep) -> list[Share]:
    """Behind a coarse walk, without a middle one, each part is held a step above its landing (decision 236)."""
    if step.coarse > 8 * step.fine:
        return []
    return [Share("drop-out: held above its landing", MAGNETISE_S + HELD_FOR * step.dwell)]


def main() -> int:
    given = options("Bench time of the shipped protocols against their physical floor.", 10)
    goals = []
    for depth, most_s in GOALS_S.items():
        at = plan(f"relay-{depth}", specimens.RATINGS[BASE])
        runs = [_run(at, given.seed, index) for index in range(given.parts)]
        longest_s, shares = max(runs, key=lambda run: run[0])
        print(f"{at.protocol}: {longest_s:.2f} s of bench time, the longest of {given.parts} parts. Its floor:")
        for share in shares:
            print(f"  {share.seconds:6.2f} s  {share.what}")
        ratio = max(taken_s / sum(s.seconds for s in parts) for taken_s, parts in runs)
        print(f"  {sum(s.seconds for s in shares):6.2f} s  in all; largest ratio of all parts {ratio:.2f}\n")
        goals += [
            Goal(f"{depth}: bench seconds", longest_s, high=most_s),
            Goal(f"{depth}: over floor", ratio, high=1.5),
        ]
    return close("pace", given, goals)


def _run(at: Plan, seed: int, index: int) -> tuple[float, list[Share]]:
    chance = random.Random(f"{seed}:{index}")
    specimen = specimens.specimen(BASE, chance)
    with VirtualBoard(specimen, chance.getrandbits(40)) as board:
        found = {f.id: f for f in perform(at, board, nominal(0)) if not isinstance(f, StepStarted)}
        taken_s = board.elapsed()
    pull_in_v, drop_out_v = (getattr(found[id], "value", 0.0) for id in ("pull_in_voltage", "drop_out_voltage"))
    return taken_s, floor(at, pull_in_v, drop_out_v)


if __name__ == "__main__":
    sys.exit(main())
