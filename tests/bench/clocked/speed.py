"""CPU time of one virtual test and wall time of the command's start, beside a fixed loop run on the same machine now.

A time in seconds belongs to one machine on one day; its ratio to the loop is comparable from day to day.
"""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial

from report import Goal, close, options
from work_time import TURNS, loop, seconds

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.run.plan import Plan
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

TESTED_MOST_S, START_MOST_S = 0.3, 1.0
TESTED_MOST_LOOPS = 6.0
"""Of one full test. It takes 4 to 4.5; with the plant stepped to every sample it took 5.2."""


def compared(work: Callable[[], object], times: int) -> tuple[float, float]:
    """Medians of so many runs: CPU time, and its ratio to the loop's, run just before."""
    work()
    pairs = [(seconds(loop), seconds(work)) for _ in range(times)]
    return statistics.median(took for _, took in pairs), statistics.median(took / turn for turn, took in pairs)


def tested(at: Plan, seed: int) -> list[object]:
    """One whole test of a sound part."""
    with VirtualBoard(Specimen(title="a sound part"), seed) as board:
        return list(perform(at, board, nominal(0)))


def started() -> float:
    """Wall time of one start of the command, the least of five."""
    found = []
    for _ in range(5):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-m", "pulldrop", "--help"], check=True, capture_output=True)
        found.append(time.perf_counter() - start)
    return min(found)


def main() -> int:
    given = options("Speed of a virtual test and of the command's start.", 5)
    loop_s = statistics.median(seconds(loop) for _ in range(given.parts))
    goals = []
    for depth in ("full", "quick"):
        one_test = partial(tested, plan(f"relay-{depth}", "class-mini-12v-form-c"), given.seed)
        test_s, loops = compared(one_test, given.parts)
        print(f"one {depth} virtual test: {test_s:.3f} s, {loops:.2f} times the reference loop")
        goals.append(Goal(f"{depth} virtual test, s", test_s, high=TESTED_MOST_S))
        goals.append(Goal(f"{depth} virtual test, reference loops", loops, high=TESTED_MOST_LOOPS))
    start_s = started()
    print(f"reference loop: {loop_s:.3f} s for {TURNS} turns")
    print(f"start of the command: {start_s:.2f} s, {start_s / loop_s:.2f} times the reference loop")
    goals.append(Goal("start of the command, s", start_s, high=START_MOST_S))
    return close("speed", given, goals)


if __name__ == "__main__":
    sys.exit(main())
