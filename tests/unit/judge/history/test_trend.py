"""Statements about trends: wear is told from noise, by our own lines and by scipy's."""

import math
import random

import pytest
import scipy  # its parts are loaded by the test that asks for one
from hypothesis import given, settings
from hypothesis import strategies as st

from pulldrop.judge.history.trend import (
    capability,
    changed,
    ewma,
    inflated,
    line,
    mann_kendall,
    slope_uncertainty,
    theil_sen,
)

rows = st.lists(st.floats(-100, 100).map(lambda x: round(x, 6)), min_size=4, max_size=25)


@settings(max_examples=60, deadline=None)
@given(rows)
def test_the_score_and_its_probability_are_scipys(values: list[float]) -> None:
    found = mann_kendall(values)
    untied = len(set(values)) == len(values)
    tau = scipy.stats.kendalltau(range(len(values)), values, method="exact" if untied else "asymptotic")
    if untied:
        assert found.p == pytest.approx(tau.pvalue, rel=1e-9)
        assert found.s == pytest.approx(tau.statistic * math.comb(len(values), 2), abs=1e-9)
    elif found.variance and abs(found.s) > 1:
        # scipy leaves the continuity correction out: the same score without it
        assert 2 * scipy.stats.norm.sf(abs(found.s) / math.sqrt(found.variance)) == pytest.approx(tau.pvalue, rel=1e-6)
        assert abs(found.z) < abs(found.s) / math.sqrt(found.variance)


@settings(max_examples=60, deadline=None)
@given(rows)
def test_the_slope_and_its_interval_are_scipys(values: list[float]) -> None:
    found = theil_sen(range(len(values)), values)
    slope, _, low, high = scipy.stats.theilslopes(values, range(len(values)), 0.95)
    assert (found.value, found.low, found.high) == pytest.approx((slope, low, high))


@settings(max_examples=40, deadline=None)
@given(rows)
def test_the_line_is_scipys(values: list[float]) -> None:
    fit = scipy.stats.linregress(range(len(values)), values)
    found = line(range(len(values)), values)
    assert (found.intercept, found.slope) == pytest.approx((fit.intercept, fit.slope), abs=1e-9)


def test_six_rising_readings_are_a_trend_and_five_are_none_at_one_percent() -> None:
    assert mann_kendall([1, 2, 3, 4, 5, 6]).p == pytest.approx(2 / 720)
    assert mann_kendall([1, 2, 3, 4, 5]).p == pytest.approx(2 / 120)
    assert mann_kendall([1, 1, 1, 1]).p == 1.0


def test_the_readings_uncertainty_widens_the_slope_as_a_monte_carlo_says() -> None:
    chance, x = random.Random(3), [0.0, 0.4, 1.1, 1.5, 2.2, 3.0]
    u = [0.5, 0.2, 0.2, 0.4, 0.3, 0.5]
    drawn = [line(x, [chance.gauss(0, one) for one in u]).slope for _ in range(20_000)]
    assert slope_uncertainty(x, u) == pytest.approx(math.sqrt(sum(s * s for s in drawn) / len(drawn)), rel=0.02)


def test_exact_readings_on_a_line_still_have_the_width_of_their_uncertainty() -> None:
    x = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]
    sen = theil_sen(x, [2 * a for a in x])
    assert sen.low == sen.high == 2.0
    wide = inflated(sen, slope_uncertainty(x, [1.0] * 6))
    assert wide.high - wide.value == pytest.approx(2 / math.sqrt(17.5))
    assert wide.low + wide.high == pytest.approx(4.0)


@pytest.mark.parametrize(("after", "is_one"), [(1.49, False), (1.51, True), (0.49, True), (0.51, False)])
def test_a_change_is_called_only_beyond_both_uncertainties_together(after: float, is_one: bool) -> None:
    assert changed(1.0, 0.3, after, 0.4) is is_one


def test_an_uncertain_centre_widens_the_chart() -> None:
    sharp, wide = ewma([1.0], 0.0, 1.0), ewma([1.0], 0.0, 1.0, centre_u=0.5)
    assert wide.upper == pytest.approx(math.hypot(sharp.upper, 1.5)) == -wide.lower


def test_one_limit_is_enough_for_a_capability_and_none_gives_none() -> None:
    assert capability(1.0, 0.5, None, 4.0) == pytest.approx(2.0)
    assert capability(1.0, 0.5, None, None) is None
    assert capability(1.0, 0.0, None, 4.0) is None
