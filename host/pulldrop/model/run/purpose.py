"""What the shipped protocols are for: one of each purpose for a kind of part, whatever its form and volts."""

from typing import Literal, get_args

Purpose = Literal["quick", "full", "diagnose", "screen", "soak", "reversed", "bare"]
PURPOSES: tuple[Purpose, ...] = get_args(Purpose)


def protocol_name(kind: str, purpose: Purpose) -> str:
    """Name of the shipped protocol for a purpose."""
    return f"{kind}-{purpose}"
