"""Trend, slope, line, chart and spread against published values."""

import statistics

import pytest

from pulldrop.judge.history.trend import capability, ewma, level, line, mann_kendall, theil_sen

# Mann-Kendall worked by hand: a mathematics page of the College of the Holy Cross. READ; the slope was computed.
HAND = [12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7]


def test_mann_kendall_by_hand() -> None:
    found = mann_kendall(HAND)
    assert found.s == 54
    assert found.variance == pytest.approx(332.667, abs=5e-4)
    assert found.z == pytest.approx(2.9058, abs=5e-5)
    assert 1 - statistics.NormalDist().cdf(found.z) == pytest.approx(0.0018, abs=5e-5)
    assert found.p / 2 == pytest.approx(0.0018, abs=5e-5), "two values are alike, so the normal law is used"


def test_theil_sen_by_hand() -> None:
    assert theil_sen(range(len(HAND)), HAND).value == pytest.approx(0.566667, abs=5e-7)


# NIST StRD, linear regression, Norris (calibration of ozone monitors), y and x; data and certified values. READ.
NORRIS = [
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
]  # fmt: skip


def test_the_line_of_nist_norris() -> None:
    found = line([x for _, x in NORRIS], [y for y, _ in NORRIS])
    assert found.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert found.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert found.residual == pytest.approx(0.884796396144373, rel=1e-12)


# NIST/SEMATECH e-Handbook, 6.3.2.4: twenty points, target 50, s 2.0539, lambda 0.3. READ-2, points and chart alike, in
# public tests that quote the page.
EWMA_POINTS = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
               49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]  # fmt: skip
EWMA_SMOOTHED = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
                 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip


def test_the_ewma_chart_of_the_handbook() -> None:
    found = ewma(EWMA_POINTS, 50.0, 2.0539)
    assert found.upper == pytest.approx(52.5884, abs=5e-5)
    assert found.lower == pytest.approx(47.4115, abs=1.5e-4)
    assert found.smoothed == pytest.approx(EWMA_SMOOTHED, abs=0.006)


# NIST StRD, univariate: the mean and the standard deviation that every baseline of a part rests on. READ-2.
LEW = [
    -213, -564, -35, -15, 141, 115, -420, -360, 203, -338, -431, 194, -220, -513, 154, -125, -559, 92, -21, -579, -52,
    99, -543, -175, 162, -457, -346, 204, -300, -474, 164, -107, -572, -8, 83, -541, -224, 180, -420, -374, 201, -236,
    -531, 83, 27, -564, -112, 131, -507, -254, 199, -311, -495, 143, -46, -579, -90, 136, -472, -338, 202, -287, -477,
    169, -124, -568, 17, 48, -568, -135, 162, -430, -422, 172, -74, -577, -13, 92, -534, -243, 194, -355, -465, 156,
    -81, -578, -64, 139, -449, -384, 193, -198, -538, 110, -44, -577, -6, 66, -552, -164, 161, -460, -344, 205, -281,
    -504, 134, -28, -576, -118, 156, -437, -381, 200, -220, -540, 83, 11, -568, -160, 172, -414, -408, 188, -125, -572,
    -32, 139, -492, -321, 205, -262, -504, 142, -83, -574, 0, 48, -571, -106, 137, -501, -266, 190, -391, -406, 194,
    -186, -553, 83, -13, -577, -49, 103, -515, -280, 201, 300, -506, 131, -45, -578, -80, 138, -462, -361, 201, -211,
    -554, 32, 74, -533, -235, 187, -372, -442, 182, -147, -566, 25, 68, -535, -244, 194, -351, -463, 174, -125, -570,
    15, 72, -550, -190, 172, -424, -385, 198, -218, -536, 96,
]  # fmt: skip
MAVRO_1E5 = [
    180, 170, 180, 190, 180, 170, 150, 140, 150, 150, 170, 180, 180, 190, 190, 210, 200, 160, 140, 130, 130, 150,
    150, 160, 150, 140, 130, 140, 150, 140, 150, 160, 150, 160, 190, 200, 200, 210, 220, 230, 240, 250, 270, 260,
    260, 260, 270, 260, 250, 240,
]  # fmt: skip
MAVRO = [float(f"2.00{one}") for one in MAVRO_1E5]
NUMACC4 = [10000000.2] + [10000000.1, 10000000.3] * 500


@pytest.mark.parametrize(
    ("values", "mean", "sd", "within"),
    [
        (LEW, -177.435, 277.332168044316, 1e-13),
        (MAVRO, 2.001856, 0.000429123454003053, 1e-10),
        ([10000001, 10000003, 10000002], 10000002, 1, 1e-15),
        (NUMACC4, 10000000.2, 0.1, 1e-8),
    ],
    ids=["Lew", "Mavro", "NumAcc1", "NumAcc4"],
)
def test_nist_univariate(values: list[float], mean: float, sd: float, within: float) -> None:
    found = level(values)
    assert found.mean == pytest.approx(mean, rel=1e-14)
    assert found.sd == pytest.approx(sd, rel=within)


# Lower limit 9, upper 11, standard deviation 0.4: tests of suncal. READ-2; computed again.
@pytest.mark.parametrize(("mean", "cpk"), [(10.0, 0.8333), (10.5, 0.4167)])
def test_capability(mean: float, cpk: float) -> None:
    assert capability(mean, 0.4, 9, 11) == pytest.approx(cpk, abs=5e-5)
