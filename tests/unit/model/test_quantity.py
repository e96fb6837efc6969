"""Quantities: what a person writes becomes the nearest number in SI, and every digit shown can be trusted."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pulldrop.model.quantity import PREFIXES, UNITS, WITHOUT_PREFIX, Quantity, parse, show

UNIT_NAMES = sorted(set(UNITS.values()))


@pytest.mark.parametrize(
    ("written", "value", "unit"),
    [
        ("10 A", 10.0, "A"),
        ("100 mV", 0.1, "V"),
        ("35 mV", 0.035, "V"),
        ("12V", 12.0, "V"),
        ("5 mohm", 0.005, "ohm"),
        ("1 Mohm", 1e6, "ohm"),
        ("4.7 kΩ", 4700.0, "ohm"),
        ("4.7 k\u2126", 4700.0, "ohm"),
        ("0.5 µs", 5e-7, "s"),
        ("0.5 μs", 5e-7, "s"),
        (".5 s", 0.5, "s"),
        ("-40 degC", -40.0, "degC"),
        ("70 %", 70.0, "%"),
        ("300 K", 300.0, "K"),
        ("  20  ms ", 0.02, "s"),
        ("1e3 V", 1000.0, "V"),
    ],
)
def test_a_written_quantity_becomes_si(written: str, value: float, unit: str) -> None:
    assert parse(written) == Quantity(value, unit)


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("", "is not a quantity"),
        ("V", "is not a quantity"),
        ("5", "has no unit"),
        ("0,5 V", "has a comma"),
        ("5 m", "not a known unit"),
        ("5 volts", "not a known unit"),
        ("5 mK", "not a known unit"),
        ("5 m%", "not a known unit"),
        ("5 v", "not a known unit"),
        ("5 V 3", "not a known unit"),
        ("1 2 V", "not a known unit"),
        ("nan V", "is not a quantity"),
        ("inf V", "is not a quantity"),
        ("1e999 V", "not a finite number"),
        ("٣ V", "is not a quantity"),
        ("--3 V", "is not a quantity"),
        ("9" * 500 + " V", "is not a quantity"),
    ],
)
def test_what_is_no_quantity_is_refused_with_a_sentence(written: str, says: str) -> None:
    with pytest.raises(ValueError, match=says) as refused:
        parse(written)
    assert len(str(refused.value)) < 200


def test_milli_is_never_taken_for_mega() -> None:
    assert parse("1 Mohm").value == 1e9 * parse("1 mohm").value


@given(
    number=st.decimals(min_value=-100000, max_value=100000, allow_nan=False, places=6),
    prefix=st.sampled_from(sorted(PREFIXES)),
    spelling=st.sampled_from(sorted(UNITS)),
)
def test_any_number_and_prefix_gives_the_nearest_float(number: Decimal, prefix: str, spelling: str) -> None:
    if prefix and UNITS[spelling] in WITHOUT_PREFIX:
        with pytest.raises(ValueError, match="unit"):
            parse(f"{number:f} {prefix}{spelling}")
    else:
        found = parse(f"{number:f} {prefix}{spelling}")
        assert found == Quantity(float(number.scaleb(PREFIXES[prefix])), UNITS[spelling])


@given(text=st.text(max_size=80))
def test_any_text_is_a_finite_quantity_or_refused(text: str) -> None:
    try:
        found = parse(text)
    except ValueError:
        return
    assert math.isfinite(found.value)
    assert found.unit in UNIT_NAMES


@given(
    value=st.floats(min_value=1e-6, max_value=1e8), sign=st.sampled_from([1.0, -1.0]), unit=st.sampled_from(UNIT_NAMES)
)
def test_what_is_shown_reads_back_within_its_three_digits(value: float, sign: float, unit: str) -> None:
    back = parse(show(sign * value, unit))
    assert back.unit == unit
    assert back.value == pytest.approx(sign * value, rel=0.00501)


@given(value=st.floats(min_value=-1e4, max_value=1e4), u=st.floats(min_value=1e-8, max_value=1e4))
def test_value_and_uncertainty_read_back_within_a_digit_of_the_uncertainty(value: float, u: float) -> None:
    number, unit, spread = show(value, "V", u).split()
    back = parse(f"{number} {unit}").value
    half_width = parse(f"{spread.removeprefix('+-')} {unit}").value
    assert half_width == pytest.approx(u, rel=0.051)
    assert abs(back - value) <= 0.0501 * max(u, half_width) + abs(value) * 1e-12


@pytest.mark.parametrize(
    ("value", "unit", "u", "shown"),
    [
        (7.3219, "V", 0.053, "7.322 V +-0.053"),
        (7.3219, "V", 0.0996, "7.32 V +-0.10"),
        (0.456, "V", 0.123, "460 mV +-120"),
        (0.0004, "V", 3.0, "0.0 V +-3.0"),
        (-0.0001, "V", 0.01, "0 mV +-10"),
        (9.996, "V", None, "10.0 V"),
        (0.9996, "V", None, "1.00 V"),
        (0.0312, "V", None, "31.2 mV"),
        (0.0, "V", None, "0 V"),
        (1500.0, "s", None, "1500 s"),
        (320000.0, "ohm", None, "320 kohm"),
        (70.0, "%", None, "70.0 %"),
        (7.3, "V", 0.0, "7.30 V"),
        (7.3, "V", math.inf, "7.30 V"),
        (3.3, "", 0.1, "3.30 +-0.10"),
        (math.inf, "V", None, "inf V"),
    ],
)
def test_digits_follow_the_uncertainty(value: float, unit: str, u: float | None, shown: str) -> None:
    assert show(value, unit, u) == shown


def test_a_quantity_shows_itself() -> None:
    assert str(parse("100 mV")) == "100 mV"
