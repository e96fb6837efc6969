"""The check character of part ids, against the rule of the pure systems of ISO/IEC 7064 worked out by hand.

The rule: every character counts its place in the alphabet times a power of 2, 1 for the last; the sum is 1 modulo the
number of characters. The standard has MOD 11-2 and MOD 37-2, whose alphabets are used here; part ids follow the method
with 23 characters, which is not one of its systems. All strings are invented. Source: the rule is from memory.
"""

import string

import pytest

from pulldrop.model.part.part_id import ALPHABET, check_character, well_formed

DIGITS, ALL = string.digits + "X", string.digits + string.ascii_uppercase + "*"


@pytest.mark.parametrize(
    ("alphabet", "body", "weighed", "check"),
    [
        # 4*8 + 7*4 + 2*2 = 64 = 5*11 + 9, and 9 + 3 is 1 modulo 11
        (DIGITS, "472", (32, 28, 4), "3"),
        # 1*8 + 8*4 + 3*2 = 46 = 4*11 + 2, and 2 + 10 is 1 modulo 11; X stands for 10
        (DIGITS, "183", (8, 32, 6), "X"),
        # B 11, U 30, S 28: 11*16 + 30*8 + 28*4 + 7*2 = 542 = 14*37 + 24, and 24 + 14 is 1 modulo 37; E is 14
        (ALL, "BUS7", (176, 240, 112, 14), "E"),
        # D 13, O 24, R 27: 13*32 + 24*16 + 24*8 + 27*4 + 6*2 = 1112 = 30*37 + 2, and 2 + 36 is 1 modulo 37; * is 36
        (ALL, "DOOR6", (416, 384, 192, 108, 12), "*"),
        # 4 is 2, K 13, 7 is 5, R 17: 2*16 + 13*8 + 5*4 + 17*2 = 190 = 8*23 + 6, and 6 + 18 is 1 modulo 23; T is 18
        (ALPHABET, "4K7R", (32, 104, 20, 34), "T"),
    ],
    ids=["mod 11", "mod 11, X", "mod 37", "mod 37, *", "our 23"],
)
def test_the_weighed_sum_with_its_check_is_one(alphabet: str, body: str, weighed: tuple[int, ...], check: str) -> None:
    assert (sum(weighed) + alphabet.index(check)) % len(alphabet) == 1
    assert check_character(body, alphabet) == check
    assert well_formed(body + check, alphabet)
