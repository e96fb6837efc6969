"""Limits of processor time that hold on any machine: each is stretched by how much slower that machine is just now.

Rule: no test holds a clock to a constant by itself. What is too slow is so in every try and beside a loop that is
timed with it; what only the machine is too slow for is not.
"""

import time
from collections.abc import Callable
from typing import TypeVar

T = TypeVar("T")

TURNS = 1_000_000
LOOP_S = 0.066
"""Of the loop on the machine for which the limits are given, at rest (29 November 2026)."""
TRIES = 5


def loop() -> None:
    """A million turns of arithmetic in plain Python."""
    x = 1.0
    for _ in range(TURNS):
        x = x * 0.999999 + 1e-6 / (1.0 + x * x)


def seconds(work: Callable[[], object]) -> float:
    """Processor time: what others do on the machine is not counted."""
    start = time.process_time()
    work()
    return time.process_time() - start


def beside(work: Callable[[], T], clock: Callable[[], float] = time.process_time) -> tuple[T, float, float]:
    """What the work gives, its seconds by the clock, and how many times slower than LOOP_S the loop was around it."""
    before = seconds(loop)
    began = clock()
    given = work()
    took = clock() - began
    return given, took, (before + seconds(loop)) / (2 * LOOP_S)


def within(most_s: float, work: Callable[[], T], clock: Callable[[], float] = time.process_time) -> T:
    """What the work gives, which is done once if that keeps the limit as it stands, else again beside the loop."""
    began = clock()
    given = work()
    if clock() - began < most_s:
        return given
    least = float("inf")
    for _ in range(TRIES):
        given, took, slower = beside(work, clock)
        least = min(least, took / slower)
        if least < most_s:
            return given
    raise AssertionError(f"took {least:.3f} s, were this machine as fast as ours; {most_s} s are the limit")
