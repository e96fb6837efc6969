"""Text of somebody else, as it is shown: a character that a screen would obey instead of showing becomes a mark.

Rule: every rim of the program (terminal, page, paper, CSV) passes its text through `harmless`; where a person types or
writes a file, `obeyed` finds what to refuse.
"""

import re

_OBEYED = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f"  # C0 and C1 (ISO 6429), but tab and line feed: escape sequences begin with these
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # the direction of writing (Unicode standard annex 9)
    "\u2028\u2029\ufff9-\ufffb\ufeff\U000e0000-\U000e007f"  # line ends, annotations, byte order, tags
    "\u00ad\u180e\u200b\u2060-\u2064\u206a-\u206f"  # nothing to see, so that two ids look alike
    "\ud800-\udfff]"  # half of a pair: bytes that are no character came in
)
MARK = "\N{REPLACEMENT CHARACTER}"


def harmless(text: str) -> str:
    """The text with a mark for each such character; all others stay, in order."""
    return _OBEYED.sub(MARK, text)


def one_line(text: str) -> str:
    """The text with a mark for each line feed: what follows one would stand at the rim of a screen as its own words."""
    return text.replace("\n", MARK)


def obeyed(text: str) -> re.Match[str] | None:
    """The first such character, if any."""
    return _OBEYED.search(text)


def unfit(text: str) -> re.Match[str] | None:
    """The first character, if any, for which a person may not type it in a line."""
    return obeyed(text) or re.search("\n", text)


def typed(text: str) -> str:
    """What a person typed, as it is; raises ValueError where a screen would obey it."""
    if odd := unfit(text):
        raise ValueError(f"the character U+{ord(odd[0]):04X} cannot be shown")
    return text
