"""A person is not kept waiting: the quick test and the list of protocols, in starts of the bare interpreter."""

import starts

HELD = 1.4 * starts.QUICK_MOST
"""Where the goal is not met yet, and a busy machine counts, it may at least become no worse."""


def test_a_quick_test_and_the_list_of_protocols_start_quickly() -> None:
    assert starts.bare_starts(3, *starts.QUICK, "--store", ":memory:") <= HELD
    assert starts.bare_starts(3, *starts.LIST) <= starts.LIST_MOST
