"""The check character of part ids against published ones of the pure systems of ISO/IEC 7064 with radix 2."""

import string

import pytest

from pulldrop.model.part_id import check_character, well_formed

ALL = string.digits + string.ascii_uppercase + "*"
TENS = string.digits + "X"


# MOD 37-2: the donation number G1234 89 654321 and two more, as the documentation and tests of general-purpose
# libraries of check digits print them. READ-2.
@pytest.mark.parametrize(("body", "check"), [("G123489654321", "Y"), ("A999915000001", "M")])
def test_mod_37_2(body: str, check: str) -> None:
    assert check_character(body, ALL) == check
    assert well_formed(body + check, ALL)


# MOD 11-2: the sample identifiers of ORCID (whose last character is this check), and 079X as in the same libraries.
# READ-2.
@pytest.mark.parametrize("id", ["0000000218250097", "000000021694233X", "0000000151093700", "0009000150559262", "079X"])
def test_mod_11_2(id: str) -> None:
    assert check_character(id[:-1], TENS) == id[-1]
    assert well_formed(id, TENS)
