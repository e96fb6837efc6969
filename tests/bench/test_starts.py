"""A person is not kept waiting: the quick test and the list of protocols, in starts of the bare interpreter."""

import starts


def test_a_quick_test_and_the_list_of_protocols_start_quickly() -> None:
    assert starts.bare_starts(3, *starts.QUICK, "--store", ":memory:") <= starts.QUICK_MOST
    assert starts.bare_starts(3, *starts.LIST) <= starts.LIST_MOST
