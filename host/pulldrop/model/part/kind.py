"""Kinds of part: what a rating, a specimen and a kept part say first of themselves.

Each kind has a file of its own beside this one, with what its ratings hold.
"""

from typing import Literal

Kind = Literal["relay", "switch", "two-terminal"]
"""switch: pairs by position, moved by hand; two-terminal: a fuse, lamp, diode or resistor."""
TESTED: tuple[Kind, ...] = ("relay",)


def not_tested(what: str, kind: Kind) -> str:
    """Why a part of another kind is not tested, as a sentence."""
    article = f"a {kind}" + (" part" if kind == "two-terminal" else "")
    return f"{what} is {article}; this bench tests {' and '.join(f'{one}s' for one in TESTED)} now, and no other kind"
