"""A person is not kept waiting: help, quick test and list in starts of the bare interpreter, the page's first view."""

import starts

HELD = 1.2
"""Beside other tests a command takes more of the processor's time; the goal itself is the campaign's."""


def test_a_quick_test_and_the_list_of_protocols_start_quickly() -> None:
    assert starts.bare_starts(3, *starts.QUICK, "--store", ":memory:") <= HELD * starts.QUICK_MOST
    assert starts.bare_starts(3, *starts.LIST) <= HELD * starts.LIST_MOST
    assert starts.bare_starts(3, "--help") <= HELD * starts.HELP_MOST


def test_the_first_view_of_a_page_comes_at_once() -> None:
    assert starts.view_s(1) <= HELD * starts.VIEW_MOST_S
