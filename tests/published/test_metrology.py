"""Our budgets, factors and scatter against published values: GUM example H.1, GUM table G.2, NIST reference data."""

import math

import pytest

from pulldrop.measure.budget import enclosed_median, median_of, median_share, rectangular, terms, uncertain
from pulldrop.model.reading import coverage_factor, effective_freedom

# JCGM 100:2008, H.1: an end gauge against a standard of the same nominal length. READ-2.
# l = l_S + d - l_S (delta_alpha theta + alpha_S delta_theta); lengths in nm, temperatures in degC.
STANDARD_NM, DIFFERENCE_NM = 50_000_623.0, 215.0


def end_gauge() -> object:
    standard = uncertain(STANDARD_NM, 25.0, "standard", "its certificate", 18)
    difference = DIFFERENCE_NM + sum(
        uncertain(0.0, u, name, "comparison", freedom)
        for name, u, freedom in (("five readings", 5.8, 24), ("comparator, random", 3.9, 5), ("systematic", 6.7, 8))
    )
    alpha = uncertain(11.5e-6, 2e-6 / math.sqrt(3), "alpha", "a coefficient known to 2e-6/K")
    delta_alpha = uncertain(0.0, 1e-6 / math.sqrt(3), "difference of alpha", "known to 10 %", 50)
    theta = uncertain(-0.1, 0.41, "temperature", "bed of the comparator")
    delta_theta = uncertain(0.0, 0.05 / math.sqrt(3), "difference of temperature", "known to 50 %", 2)
    return standard + difference - standard * (delta_alpha * theta + alpha * delta_theta)


def test_gum_h1_length_and_combined_uncertainty() -> None:
    length = end_gauge()
    assert length.nominal_value == pytest.approx(50_000_838)  # type: ignore[attr-defined]  # an uncertain number
    assert length.std_dev == pytest.approx(31.66, abs=0.05)  # type: ignore[attr-defined]


def test_gum_h1_effective_freedom_and_the_interval_of_99_percent() -> None:
    budget = terms(end_gauge())
    freedom = effective_freedom(budget)
    assert freedom == pytest.approx(16.7, abs=0.3)
    u = math.sqrt(sum(t.u**2 for t in budget))
    assert coverage_factor(math.floor(freedom), z=2.5758) * u == pytest.approx(93, abs=1)


@pytest.mark.parametrize(
    ("freedom", "t"),
    [(1, 13.97), (2, 4.53), (3, 3.31), (4, 2.87), (5, 2.65), (6, 2.52), (8, 2.37), (10, 2.28), (20, 2.13), (50, 2.05)],
)
def test_gum_table_g2_for_9545_percent(freedom: float, t: float) -> None:
    # JCGM 100:2008, table G.2, column 95.45 %. From memory; they are quantiles of Student's law, and agree.
    assert coverage_factor(freedom) == pytest.approx(t, rel=0.011)


def test_many_makes_need_a_factor_of_two() -> None:
    assert coverage_factor(math.inf) == 2.0


def test_a_rectangle_has_the_standard_uncertainty_of_gum_4_3_7() -> None:
    assert rectangular(1.0, "limit", "a maker's").std_dev == pytest.approx(1 / math.sqrt(3))


# NIST StRD, univariate: certified standard deviations. Data of Lew and Mavro are public (US government); READ-2, in two
# independent copies each, and the certified values follow from them to the last digit. NumAcc are defined by formula.
LEW = """
    -213 -564 -35 -15 141 115 -420 -360 203 -338 -431 194 -220 -513 154 -125 -559 92 -21 -579 -52 99 -543 -175
    162 -457 -346 204 -300 -474 164 -107 -572 -8 83 -541 -224 180 -420 -374 201 -236 -531 83 27 -564 -112 131
    -507 -254 199 -311 -495 143 -46 -579 -90 136 -472 -338 202 -287 -477 169 -124 -568 17 48 -568 -135 162 -430
    -422 172 -74 -577 -13 92 -534 -243 194 -355 -465 156 -81 -578 -64 139 -449 -384 193 -198 -538 110 -44 -577
    -6 66 -552 -164 161 -460 -344 205 -281 -504 134 -28 -576 -118 156 -437 -381 200 -220 -540 83 11 -568 -160
    172 -414 -408 188 -125 -572 -32 139 -492 -321 205 -262 -504 142 -83 -574 0 48 -571 -106 137 -501 -266 190
    -391 -406 194 -186 -553 83 -13 -577 -49 103 -515 -280 201 300 -506 131 -45 -578 -80 138 -462 -361 201 -211
    -554 32 74 -533 -235 187 -372 -442 182 -147 -566 25 68 -535 -244 194 -351 -463 174 -125 -570 15 72 -550
    -190 172 -424 -385 198 -218 -536 96
"""
MAVRO = """
    2.0018 2.0017 2.0018 2.0019 2.0018 2.0017 2.0015 2.0014 2.0015 2.0015 2.0017 2.0018 2.0018 2.0019 2.0019
    2.0021 2.0020 2.0016 2.0014 2.0013 2.0013 2.0015 2.0015 2.0016 2.0015 2.0014 2.0013 2.0014 2.0015 2.0014
    2.0015 2.0016 2.0015 2.0016 2.0019 2.0020 2.0020 2.0021 2.0022 2.0023 2.0024 2.0025 2.0027 2.0026 2.0026
    2.0026 2.0027 2.0026 2.0025 2.0024
"""
NUM_ACC_1 = "10000001 10000003 10000002"
NUM_ACC_4 = " ".join(["10000000.2", *["10000000.1", "10000000.3"] * 500])


@pytest.mark.parametrize(
    ("data", "deviation", "rel"),
    [
        (LEW, 277.332168044316, 1e-13),
        (MAVRO, 0.000429123454003053, 1e-11),
        (NUM_ACC_1, 1.0, 1e-15),
        (NUM_ACC_4, 0.1, 1e-7),
    ],
    ids=["Lew", "Mavro", "NumAcc1", "NumAcc4"],
)
def test_scatter_of_makes_is_the_certified_one(data: str, deviation: float, rel: float) -> None:
    values = [float(word) for word in data.split()]
    scatter = median_of(values, "values")
    assert scatter.std_dev / median_share(len(values)) == pytest.approx(deviation, rel=rel)
    (term,) = terms(scatter)
    assert term.freedom == len(values) - 1


@pytest.mark.parametrize(("n", "share"), [(1, 1.0), (3, 0.6698), (5, 0.5356), (7, 0.4587), (9, 0.4075)])
def test_the_median_of_few_normal_values_scatters_as_tabulated(n: int, share: float) -> None:
    # Standard deviation of the median of n standard normal values: tables of order statistics (Sarhan and Greenberg).
    # From memory, and from a simulation of a million samples each.
    assert median_share(n) == pytest.approx(share, rel=0.015)


def test_ranks_enclose_the_median_of_ten_with_the_sign_tests_two_and_nine() -> None:
    # Tables of the sign test: for n = 10 the interval from the 2nd to the 9th value holds the median with 97.9 %.
    bounces = [0.0, 0.0, 0.0, 0.0, 0.0, 100.0, 100.0, 100.0, 100.0, 100.0]
    assert 2 * enclosed_median(bounces, "makes", 0.1).std_dev >= 50.0
    one_off = [0.0] + [10.0 + i for i in range(8)] + [1000.0]
    assert enclosed_median(one_off, "makes", 0.1).std_dev < 200.0
