"""What is written in ASCII elsewhere, and has a sign of its own on a page."""

import re

SIGNS = (
    (re.compile(r"\+-"), "±"),
    (re.compile("<="), "≤"),
    (re.compile(">="), "≥"),
    (re.compile(r"\bdegC\b"), "°C"),
    (re.compile(r"(?<=\d )([Mkmu]?)ohm\b"), r"\1Ω"),
    (re.compile(r"(?<=\d )u(?=[AVs]\b|Ω)"), "µ"),
)


def signs(text: str) -> str:
    """`<= 8.40 V +-0.05` as `≤ 8.40 V ±0.05`."""
    for written, sign in SIGNS:
        text = written.sub(sign, text)
    return text
