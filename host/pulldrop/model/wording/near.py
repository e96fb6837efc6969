"""What a person who wrote an unknown word probably meant: one hint, worded once."""

from collections.abc import Iterable
from difflib import get_close_matches


def hint(word: str, known: Iterable[str], otherwise: str = "known are") -> str:
    """`did you mean 'coil'?`; where nothing is near, `otherwise` and every known word."""
    words = list(known)
    near = get_close_matches(word, words, 1)
    return f"did you mean '{near[0]}'?" if near else f"{otherwise} {', '.join(words)}"
