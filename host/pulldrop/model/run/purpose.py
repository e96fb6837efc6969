"""What the shipped protocols are for: one of each purpose for a kind of part, whatever its form and volts."""

from typing import Literal

from pulldrop.model.raw import Frozen

Purpose = Literal["quick", "full", "diagnose", "screen", "soak", "reversed", "bare"]


class Shipped(Frozen):
    """A shipped protocol by its name: the kind of part and the purpose that its file states, and its kinds of step."""

    name: str
    kind: str
    purpose: Purpose
    steps: tuple[str, ...]
