"""Text of somebody else, as it is shown: a character that a screen would obey instead of showing becomes a mark.

Rule: every rim of the program (terminal, page, paper, CSV) passes its text through `harmless`; where a person types or
writes a file, `obeyed` finds what to refuse.
"""

import unicodedata

OBEYED = ("Cc", "Cf", "Cs", "Zl", "Zp")
"""Categories of Unicode: controls, which begin escape sequences (ISO 6429); formats, which turn the direction of
writing, and tags; halves of a pair, which are bytes that are no character; ends of line.
"""
BLANK = (
    range(0x34F, 0x350), range(0x115F, 0x1161), range(0x17B4, 0x17B6), range(0x180B, 0x1810), range(0x2065, 0x2066),
    range(0x2800, 0x2801), range(0x3164, 0x3165), range(0xFE00, 0xFE10), range(0xFFA0, 0xFFA1), range(0xFFF0, 0xFFF9),
    range(0xE0000, 0xE1000),
)  # fmt: skip
"""Others that show nothing, so that two ids look alike: the rest of Default_Ignorable_Code_Point (Unicode 15,
DerivedCoreProperties), and Braille without a dot.
"""
MARK = "\N{REPLACEMENT CHARACTER}"


class _Shown(dict[int, str]):
    """What is shown of a character, by its number; made when one is met first, for all would take too long."""

    def __missing__(self, code: int) -> str:
        one = chr(code)
        bad = (unicodedata.category(one) in OBEYED and one not in "\t\n") or any(code in some for some in BLANK)
        shown = MARK if bad else one
        if code < 0x10000:  # so that no text makes it large
            self[code] = shown
        return shown


_SHOWN = _Shown()


def harmless(text: str) -> str:
    """The text with a mark for each such character; all others stay, in order."""
    return text.translate(_SHOWN)


def one_line(text: str) -> str:
    """The text with a mark for each line feed: what follows one would stand at the rim of a screen as its own words.
    One at the end, as a folded text of YAML has, is left out.
    """
    return text.rstrip("\n").replace("\n", MARK)


def obeyed(text: str) -> int:
    """The place of the first such character, -1 for none."""
    shown = harmless(text)
    return -1 if shown == text else next(at for at, one in enumerate(text) if one != shown[at])


def unfit(text: str) -> int:
    """The place of the first character for which a person may not type it in a line, -1 for none."""
    return obeyed(text.replace("\n", "\0"))


def typed(text: str) -> str:
    """What a person typed, as it is; raises ValueError where a screen would obey it."""
    if (at := unfit(text)) >= 0:
        raise ValueError(f"the character U+{ord(text[at]):04X} cannot be shown")
    return text
