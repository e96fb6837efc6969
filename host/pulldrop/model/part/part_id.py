"""Ids of parts: short, written with a pen, and with a check character at the end, so that a slip is noticed.

Rule: no two characters of the alphabet look alike, and a letter outside it that looks like one inside is read as that.
The check is after the method of ISO/IEC 7064, radix 2, here modulo 23, the number of characters; the standard itself
has no system of 23. As 23 is a prime, every single wrong character and every two exchanged ones are noticed, wherever
they stand (ids below 11 characters).
"""

import random
import re
from collections.abc import Collection, Iterable

ALPHABET = "23456789ACEFHKMNPRTVWXY"
"""Without 0 O D Q, without 1 I L J, and one of each other pair that a pen confuses."""
READ_AS = str.maketrans("ZSGBU", "2568V")
"""Letters outside the alphabet, and what was meant by them."""
CONFUSED = ("49AH", "7TY", "EF", "KXHRA", "MNWH", "PRF", "VYWU", "38", "56", "C6", "69", "MW")
"""What a hurried pen, or a part held upside down, makes alike."""
SHORTEST = 3
LENGTH = 5
"""Characters of a new id, the check among them, until ROOM asks for more."""
ROOM = 1000
"""So many ids of a length for each part of a store: so at most one new part in a thousand gets another bench's id."""
MOST_MEANT = 3


def check_character(body: str, alphabet: str = ALPHABET) -> str:
    """The character that follows `body`. Raises ValueError for a character outside the alphabet."""
    sum = 0
    for character in body:
        sum = (sum + alphabet.index(character)) * 2 % len(alphabet)
    return alphabet[(1 - sum) % len(alphabet)]


def well_formed(id: str, alphabet: str = ALPHABET) -> bool:
    """Whether the last character is the check of those before it."""
    return len(id) >= SHORTEST and set(id) <= set(alphabet) and check_character(id[:-1], alphabet) == id[-1]


def drawn(chance: random.Random, given: int) -> str:
    """An id at random, for a store that has given out so many; never digits alone, like a place in a crate.

    Benches that know nothing of each other draw from the same ids, so the more are given out, the longer new ones are.
    """
    length = LENGTH - 1
    while len(ALPHABET) ** length < ROOM * given:
        length += 1
    while True:
        body = "".join(chance.choices(ALPHABET, k=length))
        id = body + check_character(body)
        if not id.isdecimal():
            return id


def typed(text: str) -> str:
    """What a person or a scanner typed, as it would stand in a list: capitals, without what a label puts before it."""
    return re.split(r"[/:=#]", text.strip())[-1].strip().upper()


def as_known(text: str, known: Collection[str]) -> str | None:
    """The known id that was written, also in small letters or with look-alikes; None when there is none."""
    if text.strip() in known:
        return text.strip()
    upper = {id.upper(): id for id in known}
    return next((upper[one] for one in spellings(text) if one in upper), None)


def spellings(text: str) -> tuple[str, ...]:
    """What was written as an id would stand in a list, in capitals: as it is, and with look-alikes read as meant."""
    plain = typed(text).replace(" ", "")
    return plain, plain.translate(READ_AS)


def meant(text: str, known: Iterable[str]) -> tuple[str, ...]:
    """Known ids one slip away (a wrong, missing or added character, two exchanged), the likeliest first."""
    plain = typed(text).translate(READ_AS)
    about = (id for id in known if abs(len(id) - len(plain)) <= 1)
    near = [(_unlikely(plain, id), id) for id in about if _one_slip(plain, id.upper().translate(READ_AS))]
    return tuple(id for _, id in sorted(near)[:MOST_MEANT])


def _one_slip(a: str, b: str) -> bool:
    if abs(len(a) - len(b)) == 1:
        short, long = sorted((a, b), key=len)
        return any(long[:i] + long[i + 1 :] == short for i in range(len(long)))
    if len(a) != len(b):
        return False
    apart = [i for i in range(len(a)) if a[i] != b[i]]
    if len(apart) == 2 and apart[1] == apart[0] + 1:
        return a[apart[0]] == b[apart[1]] and a[apart[1]] == b[apart[0]]
    return len(apart) <= 1


def _unlikely(a: str, b: str) -> int:
    """0 for characters that a pen confuses, 1 for two exchanged, 2 for any other wrong one, 3 for one too many."""
    if len(a) != len(b):
        return 3
    apart = [(x, y) for x, y in zip(a, b, strict=True) if x != y]
    if len(apart) == 2:
        return 1
    return 0 if all(any(x in group and y in group for group in CONFUSED) for x, y in apart) else 2
