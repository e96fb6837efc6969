"""The grammar of limits: each form is read as written, each mistake is explained with its column."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.protocol.expression import Amount, Around, BadLimit, Bounds, Expression, SoundStates, parse


def share(percent: float, of: str, offset: int) -> Amount:
    return Amount(percent, "%", "nominal" if of == "nominal" else "rated", offset)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("<= 300 mV", Bounds(None, Amount(0.3, "V", "", 3))),
        ("<=300mV", Bounds(None, Amount(0.3, "V", "", 2))),
        ("≤ 300 mV", Bounds(None, Amount(0.3, "V", "", 2))),
        (">= 10 % of nominal", Bounds(share(10, "nominal", 3), None)),
        ("<= rated", Bounds(None, share(100, "rated", 3))),
        (">= 85 % of rated", Bounds(share(85, "rated", 3), None)),
        ("60 ohm .. 120 ohm", Bounds(Amount(60, "ohm", "", 0), Amount(120, "ohm", "", 10))),
        ("60 ohm..120 ohm", Bounds(Amount(60, "ohm", "", 0), Amount(120, "ohm", "", 8))),
        ("50 % of nominal .. rated", Bounds(share(50, "nominal", 0), share(100, "rated", 19))),
        ("rated +-10 %", Around(share(100, "rated", 0), Amount(10, "%", "", 8))),
        ("rated ± 10 %", Around(share(100, "rated", 0), Amount(10, "%", "", 8))),
        ("rated +- tolerance", Around(share(100, "rated", 0), None)),
        ("85 ohm +- 5 ohm", Around(Amount(85, "ohm", "", 0), Amount(5, "ohm", "", 10))),
        ("at rest", SoundStates(operated=False, offset=0)),
        (" operated", SoundStates(operated=True, offset=1)),
        ("<= rated else 10 ms", Bounds(None, share(100, "rated", 3), Bounds(None, Amount(0.01, "s", "", 14)))),
        (">= rated else 10 % of nominal", Bounds(share(100, "rated", 3), None, Bounds(share(10, "nominal", 14), None))),
    ],
)
def test_a_limit_is_read_as_written(written: str, meant: Expression) -> None:
    assert parse(written) == meant


@pytest.mark.parametrize(
    ("written", "offset", "says"),
    [
        ("", 0, "found the end; expected"),
        ("300 mV", 6, "'<=' or '>=' in front"),
        ("< 300 mV", 0, "'<=' or '>='"),
        ("= 300 mV", 0, "'<=' or '>='"),
        ("<= 300", 3, "the number 300 has no unit"),
        ("<= mV", 3, "expected a number with its unit"),
        ("<= 300 mV V", 10, "expected the end of the limit"),
        ("<= 300 mx", 3, "not a known unit"),
        ("<= -3 V", 3, "negative"),
        ("<= 1e999 V", 3, "not a finite number"),
        ("<= nan V", 3, "found 'nan'"),
        ("<= 70 %", 7, "'of nominal' or 'of rated'"),
        ("<= 70 % nominal", 8, "'of nominal' or 'of rated'"),
        ("<= 70 % of nomnal", 11, "'nominal' or 'rated'"),
        ("60 .. 120 ohm", 0, "the number 60 has no unit"),
        ("120 ohm .. 60 ohm", 0, "the lower one first"),
        ("60 ohm ..", 9, "found the end"),
        ("rated", 5, "'..' or '+-'"),
        ("rated +-", 8, "a quantity, a percentage or 'tolerance'"),
        ("rated +- -5 %", 9, "negative"),
        ("nominal +- 5 %", 0, "found 'nominal'"),
        ("70 % of nominal +- 5 %", 0, "expected 'rated' or a quantity"),
        ("at", 2, "'rest' after 'at'"),
        ("at work", 3, "found 'work'"),
        ("operated, at rest", 8, "expected the end"),
        ("NO open", 0, "found 'NO'"),
        ("<= 10 ms else rated", 3, "expected 'rated' before 'else'"),
        ("<= rated else", 13, "found the end"),
        ("<= 5 V; 3", 6, "';' has no meaning"),
        ("<= 0,3 V", 3, "the number 0 has no unit"),
        ("x" * 121, 0, "a limit of 121 characters"),
    ],
)
def test_a_wrong_limit_is_explained_with_its_column(written: str, offset: int, says: str) -> None:
    with pytest.raises(BadLimit) as bad:
        parse(written)
    assert says in str(bad.value)
    assert bad.value.offset == offset


@given(text=st.text(alphabet="<>=+-±.,% 0123456789eVAmohsNOCratednmilopcf", max_size=40))
def test_any_text_is_a_limit_or_a_complaint_within_it(text: str) -> None:
    try:
        parse(text)
    except BadLimit as bad:
        assert 0 <= bad.offset <= len(text)
        assert str(bad)
