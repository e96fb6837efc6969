"""A person is not kept waiting: the quick test and the list of protocols, in starts of the bare interpreter."""

import starts

HELD = 1.2
"""Beside other tests a command takes more of the processor's time; the goal itself is the campaign's."""


def test_a_quick_test_and_the_list_of_protocols_start_quickly() -> None:
    assert starts.bare_starts(3, *starts.QUICK, "--store", ":memory:") <= HELD * starts.QUICK_MOST
    assert starts.bare_starts(3, *starts.LIST) <= HELD * starts.LIST_MOST
