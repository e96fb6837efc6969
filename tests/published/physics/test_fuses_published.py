"""Blade fuses of the plant against published drops, gates and a training page."""

import math

import pytest

from pulldrop.plant.pair.fuse import Fuse, Size, cold_mohm


@pytest.mark.parametrize(
    ("size", "amps", "millivolts", "milliamps"),
    [("regular", 10, 1.0, 130), ("mini", 15, 0.1, 22), ("mini", 15, 1, 218)],
)
def test_cold_ohms_are_those_of_pages_that_do_not_quote_the_sheet(
    size: Size, amps: float, millivolts: float, milliamps: float
) -> None:
    """READ: training page (10 A regular), MACS service report 2017 (15 A mini): current for a drop that is read."""
    assert millivolts / cold_mohm(size, amps) * 1e3 == pytest.approx(milliamps, rel=0.02)


@pytest.mark.parametrize(("size", "amps", "hot", "millivolts"), [("regular", 40, 1.67, 96), ("maxi", 40, 1.34, 75)])
def test_hot_drop_at_rated_current(size: Size, amps: float, hot: float, millivolts: float) -> None:
    """READ-2: makers' sheets; the factor is theirs too, so this holds that the element's heat balance gives it back."""
    fuse = Fuse(size, amps, hot)
    celsius = fuse.warmed(23.0, amps, 3600.0)
    assert fuse.ohm(celsius) * amps * 1e3 == pytest.approx(millivolts, rel=0.01)


@pytest.mark.parametrize(
    ("size", "amps", "times", "least", "most"),
    [
        ("mini", 15, 1.10, 360_000, math.inf), ("mini", 15, 1.35, 0.75, 600), ("mini", 15, 2.0, 0.15, 5),
        ("mini", 15, 3.5, 0.08, 0.5), ("mini", 15, 6.0, 0.03, 0.1),
        ("mini", 25, 1.10, 360_000, math.inf), ("mini", 25, 2.0, 0.15, 5), ("mini", 25, 3.5, 0.08, 0.5),
        ("regular", 10, 1.6, 0.25, 50), ("regular", 10, 2.0, 0.15, 5),
        ("regular", 40, 1.0, 360_000, math.inf), ("regular", 40, 1.35, 0.75, 600), ("regular", 40, 2.0, 0.15, 5),
        ("regular", 40, 3.5, 0.08, 0.5), ("regular", 40, 6.0, 0, 0.15),
        ("maxi", 40, 1.0, 360_000, math.inf), ("maxi", 40, 3.5, 0.2, 7), ("maxi", 40, 6.0, 0.04, 1),
    ],
)  # fmt: skip
def test_it_melts_within_the_gates_of_its_class(
    size: Size, amps: float, times: float, least: float, most: float
) -> None:
    """READ-2: MINI 297, ATOF 287, MAXI 299. Built from cold ohms, I2t and the hot factor; the gates went into nothing.

    Left out: a maxi at 135 and 200 % (60 to 1800 s, 2 to 50 s), where its heavy blades warm first; the plant has one
    lump of metal and melts sooner, or never; a mini 25 A at 600 %, whose own I2t of 625 A2s is 0.028 s.
    """
    hot = {("regular", 40): 1.67, ("maxi", 40): 1.34}.get((size, amps), 1.55)
    assert least <= Fuse(size, amps, hot).melts_after_s(times * amps) <= most


def test_watts_of_a_cold_fuse_at_its_rating() -> None:
    """CALC: 10 A 77.0 mV, 0.77 W; 30 A 1.77 W."""
    assert cold_mohm("regular", 10) * 10 == pytest.approx(77.0, abs=0.1)
    assert cold_mohm("regular", 30) * 30**2 / 1e3 == pytest.approx(1.77, abs=0.01)
