"""Wall time of one full virtual test and of the command's start, beside a fixed loop run on the same machine now.

A time in seconds belongs to one machine on one day; its ratio to the loop is comparable from day to day.
"""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial

from report import Goal, close, options

from pulldrop.board.virtual import VirtualBoard
from pulldrop.measure import perform
from pulldrop.model.calibration import nominal
from pulldrop.model.plan import Plan
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

LOOP = 1_000_000
TESTED_MOST_S, START_MOST_S = 0.5, 1.0


def reference() -> None:
    """A million turns of arithmetic in plain Python."""
    x = 1.0
    for _ in range(LOOP):
        x = x * 0.999999 + 1e-6 / (1.0 + x * x)


def seconds(work: Callable[[], object], times: int) -> float:
    """Median CPU time of so many runs: what others do on the machine is not counted."""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return statistics.median(found)


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
    loop_s = seconds(reference, given.parts)
    goals = []
    for depth in ("full", "quick"):
        one_test = partial(tested, plan(f"relay-5t-12v-{depth}"), given.seed)
        one_test()
        test_s = seconds(one_test, given.parts)
        print(f"one {depth} virtual test: {test_s:.3f} s, {test_s / loop_s:.2f} times the reference loop")
        goals.append(Goal(f"{depth} virtual test, s", test_s, high=TESTED_MOST_S))
    start_s = started()
    print(f"reference loop: {loop_s:.3f} s for {LOOP} turns")
    print(f"start of the command: {start_s:.2f} s, {start_s / loop_s:.2f} times the reference loop")
    goals.append(Goal("start of the command, s", start_s, high=START_MOST_S))
    return close("speed", given, goals)


if __name__ == "__main__":
    sys.exit(main())
