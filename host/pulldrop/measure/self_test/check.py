"""One line of the self-test."""

from typing import Literal

from pulldrop.model.raw import Frozen


class Check(Frozen):
    """`noted`: as it is, without being a fault; `not done`: something before it stood in the way."""

    title: str
    expected: str
    found: str
    state: Literal["ok", "wrong", "noted", "not done"]


def checked(title: str, expected: str, found: str, right: bool) -> Check:
    """A line that is ok or wrong."""
    return Check(title=title, expected=expected, found=found, state="ok" if right else "wrong")
