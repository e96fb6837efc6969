"""The hand of whoever stands by at a simulated bench: it does what it is asked for, at once.

Rule: a real bench has no such hand; there a person is asked, or nobody, and then the step is left out.
"""

from collections.abc import Callable

from pulldrop.model.run.hand import Hand, Request


def virtual_hand(leads: Callable[[bool], None]) -> Hand:
    """A hand that moves the coil leads of a simulated bench (see `jobs.boards.Opened`)."""

    def do(request: Request) -> bool:
        leads(request.exchanged)
        return True

    return do
