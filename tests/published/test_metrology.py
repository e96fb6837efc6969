"""Our budgets, factors and scatter against published values: GUM example H.1, GUM table G.2, NIST reference data."""

import math
import random
from collections.abc import Callable
from statistics import NormalDist
from typing import Any

import pytest

from pulldrop.measure.rig.counts.budget import (
    enclosed_median,
    held_within,
    median_of,
    median_share,
    rectangular,
    terms,
    uncertain,
)
from pulldrop.model.coverage import Shape, Spread, spread, student_factor
from pulldrop.model.reading import effective_freedom

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
    assert student_factor(math.floor(freedom), z=2.5758) * u == pytest.approx(93, abs=1)


@pytest.mark.parametrize(
    ("freedom", "t"),
    [(1, 13.97), (2, 4.53), (3, 3.31), (4, 2.87), (5, 2.65), (6, 2.52), (8, 2.37), (10, 2.28), (20, 2.13), (50, 2.05)],
)
def test_gum_table_g2_for_9545_percent(freedom: float, t: float) -> None:
    # JCGM 100:2008, table G.2, column 95.45 %. From memory; they are quantiles of Student's law, and agree.
    assert student_factor(freedom, 2.0) == pytest.approx(t, rel=0.011)


@pytest.mark.parametrize(
    ("freedom", "t"), [(2, 4.30), (3, 3.18), (5, 2.57), (10, 2.23), (20, 2.09), (50, 2.01), (math.inf, 1.96)]
)
def test_gum_table_g2_for_95_percent(freedom: float, t: float) -> None:
    # The same table, column 95 %. From memory; quantiles of Student's law.
    assert Spread(1.0, freedom=freedom).factor == pytest.approx(t, rel=0.012)


def test_a_limit_that_outweighs_the_rest_needs_the_factor_of_ea_4_02_s9() -> None:
    # EA-4/02 M, S9.14, from memory: a rectangular distribution alone, k = 0.95 sqrt(3) = 1.65.
    assert spread([(1.0, "rectangular")]).factor == pytest.approx(1.65, abs=0.005)


def test_two_limits_need_the_factor_of_ea_4_02_s10() -> None:
    # EA-4/02 M, S10.13, from memory: a trapezoid whose edges are as 1 to 3, k = 1.83 for 95 %; its own formula
    # (1 - sqrt((1 - 0.95) (1 - beta^2))) / sqrt((1 + beta^2) / 6) with beta = (a1 - a2) / (a1 + a2).
    for beta in (0.1, 1 / 3, 0.5):
        wide, narrow = (1 + beta) / 2, (1 - beta) / 2
        of_formula = (1 - math.sqrt(0.05 * (1 - beta**2))) / math.sqrt((1 + beta**2) / 6)
        ours = spread([(wide, "rectangular"), (narrow, "rectangular")]).factor
        assert ours == pytest.approx(of_formula, abs=0.004)
    assert spread([(2.0, "rectangular"), (1.0, "rectangular")]).factor == pytest.approx(1.83, abs=0.01)


MIXES: list[list[tuple[float, Shape]]] = [
    [(1.0, "rectangular"), (0.3, "normal")],
    [(1.0, "normal"), (1.0, "rectangular"), (0.5, "rectangular")],
    [(1.0, "triangular"), (0.5, "rectangular"), (0.2, "normal")],
    [(1.0, "two values"), (0.4, "normal")],
    [(1.0, "rectangular")] * 4,
]


@pytest.mark.parametrize("causes", MIXES)
def test_factor_and_tail_are_those_of_a_monte_carlo(causes: list[tuple[float, Shape]]) -> None:
    # Propagation of distributions as JCGM 101:2008 does it, 60000 draws: the share inside has a scatter of 0.09 %.
    chance, whole = random.Random(4), spread(causes)
    draws = [sum(u * drawn(chance, shape) for u, shape in causes) for _ in range(60_000)]
    inside = sum(abs(one) <= whole.factor * whole.u for one in draws) / len(draws)
    assert inside == pytest.approx(0.95, abs=0.003)
    edge = 1.5 * whole.u
    assert sum(one > edge for one in draws) / len(draws) == pytest.approx(whole.above(edge), abs=0.004)


def drawn(chance: random.Random, shape: Shape) -> float:
    """One draw of standard deviation 1."""
    match shape:
        case "normal":
            return chance.gauss(0, 1)
        case "rectangular":
            return math.sqrt(3) * chance.uniform(-1, 1)
        case "triangular":
            return math.sqrt(6) * chance.triangular(-1, 1)
        case "two values":
            return chance.choice((-1.0, 1.0))


def test_many_causes_of_a_size_make_a_normal_quantity() -> None:
    assert spread([(1.0, "rectangular")] * 60).factor == pytest.approx(1.96, abs=0.005)


def test_few_makes_widen_a_normal_quantity_and_not_a_limit() -> None:
    makes = [uncertain(0.0, 1.0, "scatter", "makes", 3)]
    assert factor(makes) == pytest.approx(3.18, rel=0.012)
    assert factor([*makes, rectangular(20.0, "limit", "a maker's")]) == pytest.approx(1.65, abs=0.02)


def factor(values: list[Any]) -> float:
    budget = terms(sum(values))
    return spread(((t.u, t.shape) for t in budget), effective_freedom(budget)).factor


def test_two_alike_limits_of_a_size_become_one_triangle() -> None:
    both = rectangular(1.0, "limit", "a maker's") + rectangular(1.0, "limit", "a maker's")
    (term,) = terms(both)
    assert term.shape == "triangular"
    assert terms(rectangular(1.0, "limit", "a maker's"))[0].shape == "rectangular"


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


def test_an_assumed_scatter_counts_while_makes_are_few_and_not_when_they_speak_for_themselves() -> None:
    few, many = [10.0, 10.1, 9.9, 10.0, 10.0], [10.0, 10.1, 9.9, 10.0, 10.0, 10.1]
    assert median_of(few, "makes", 1.0).std_dev > 3 * median_of(few, "makes").std_dev
    assert median_of(many, "makes", 1.0).std_dev == median_of(many, "makes").std_dev
    assert terms(median_of(many, "makes", 1.0))[0].freedom == 5


def test_ranks_hold_the_median_of_ten_as_tables_of_the_sign_test_have_it() -> None:
    # For n = 10 the 2nd to the 9th value hold the median with 97.9 %, the 3rd to the 8th with 89.1 %.
    ten = [float(i) for i in range(1, 11)]
    assert held_within(ten, 2, 9) == pytest.approx(0.9785, abs=1e-4)
    assert held_within(ten, 3, 8) == pytest.approx(0.8906, abs=1e-4)
    assert 2.5 < 1.96 * enclosed_median(ten, "makes", 0.1).std_dev < 3.5
    halves = [0.0, 0.0, 0.0, 0.0, 0.0, 100.0, 100.0, 100.0, 100.0, 100.0]
    assert 1.96 * enclosed_median(halves, "makes", 0.1).std_dev == pytest.approx(50.0, rel=1e-3)
    one_off = [0.0] + [10.0 + i for i in range(8)] + [1000.0]
    assert enclosed_median(one_off, "makes", 0.1).std_dev < 10.0


def in_two_groups(chance: random.Random) -> float:
    """Bounces of an armature that comes once more in some makes; the lower group has just more than half of them."""
    return chance.gauss(0, 1) + (20 if chance.random() > 0.55 else 0)


OF_TWO = NormalDist().inv_cdf(0.5 / 0.55)


@pytest.mark.parametrize(
    ("draw", "true", "least"),
    [
        (lambda chance: chance.gauss(0, 1), 0.0, 0.95),
        (lambda chance: chance.expovariate(1.0), math.log(2), 0.95),
        (in_two_groups, OF_TWO, 0.92),
    ],
    ids=["normal", "skew", "two groups"],
)
@pytest.mark.parametrize("n", [7, 10, 20])
def test_u_of_a_median_holds_it_whichever_the_distribution(
    draw: Callable[[random.Random], float], true: float, least: float, n: int
) -> None:
    chance, held = random.Random(n), 0
    for _ in range(2000):
        median = enclosed_median([draw(chance) for _ in range(n)], "makes", 0.1)
        held += abs(median.nominal_value - true) <= 1.96 * median.std_dev
    assert least < held / 2000 < 0.99
