"""A virtual test stays fast on any machine: its time is held to a loop in the same run."""

from functools import partial

import speed

from pulldrop.protocol.load import plan


def test_a_full_virtual_test_costs_no_more_loops_than_it_did() -> None:
    _, loops = speed.compared(partial(speed.tested, plan("relay-full", "class-mini-12v-form-c"), 1), 3)
    assert loops < speed.TESTED_MOST_LOOPS
