"""The gauge study against published ones."""

import math

import pytest

from pulldrop.judge.study import Components, analyse, by_ranges

SMALL = (((1.0, 1.2), (1.3, 1.5)), ((2.0, 2.2), (2.3, 2.5)))
"""2 parts x 2 operators x 2 runs, average and range with the older constants, 5.15 sigma. Second hand: worked by hand
in the public tests of an open-source gauge study whose name was not noted. The method is that of AIAG, Measurement
Systems Analysis; `test_the_2_x_2_x_2_study_from_its_constants` works it out again."""

AIAG_TRIALS = (
    ((0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36),
     (0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25),
     (0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31)),
    ((0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68),
     (0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62),
     (0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50)),
    ((0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49),
     (-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77),
     (-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16)),
)  # fmt: skip
"""Operator, trial, part: the example of AIAG, Measurement Systems Analysis, 4th edition. Second hand: as public tests
of open-source gauge studies quote it; not compared with the manual."""
AIAG = [[[trial[part] for trial in trials] for trials in AIAG_TRIALS] for part in range(10)]


def test_the_2_x_2_x_2_study_by_average_and_range() -> None:
    found = by_ranges(SMALL)
    assert found is not None
    assert found.ev == pytest.approx(0.912)
    assert found.av == pytest.approx(math.sqrt(0.991089))
    assert found.grr == pytest.approx(math.sqrt(1.822833))
    assert found.pv == pytest.approx(3.65)
    assert found.percent_grr == pytest.approx(34.692, abs=5e-4)
    assert found.categories == 3


def test_the_2_x_2_x_2_study_from_its_constants() -> None:
    """5.15 / d2*: 4.56 for 2 trials (d2 1.128), 3.65 for 2 operators or 2 parts (d2* 1.41); from memory."""
    ev = 0.2 * 4.56  # every cell has the range 0.2
    av = math.sqrt((0.3 * 3.65) ** 2 - ev**2 / (2 * 2))  # operators' means are 1.6 and 1.9
    pv = 1.0 * 3.65  # parts' means are 1.25 and 2.25
    found = by_ranges(SMALL)
    assert found is not None
    assert (found.ev, found.av, found.pv) == pytest.approx((ev, av, pv), rel=1e-9)


def test_the_2_x_2_x_2_study_by_anova() -> None:
    """By hand: MS within 0.02, no interaction, so both pooled (0.08 / 5 = 0.016); operators 0.18, parts 2.0."""
    found = analyse(SMALL)
    assert found.ev == pytest.approx(math.sqrt(0.016))
    assert found.av == pytest.approx(math.sqrt((0.18 - 0.016) / 4))
    assert found.pv == pytest.approx(math.sqrt((2.0 - 0.016) / 4))


def test_the_manuals_study_by_average_and_range() -> None:
    """Read (second hand): %EV 17.62, %AV 20.04, %GRR 26.68, ndc 5; its constants have more digits than ours."""
    found = by_ranges(AIAG)
    assert found is not None
    assert 100 * found.ev / found.total == pytest.approx(17.62, abs=0.1)
    assert 100 * found.av / found.total == pytest.approx(20.04, abs=0.1)
    assert found.percent_grr == pytest.approx(26.68, abs=0.1)
    assert found.categories == 5


def test_the_manuals_study_by_anova() -> None:
    """The manual's ANOVA report: sigma EV .199933, AV .226838, GRR .302373, PV 1.042327; 27.9 %; 4. Second hand: as
    public tests of gauge studies quote it."""
    found = analyse(AIAG)
    assert found.ev == pytest.approx(0.199933, abs=2e-6)
    assert found.av == pytest.approx(0.226838, abs=2e-6)
    assert found.grr == pytest.approx(0.302373, abs=2e-6)
    assert found.pv == pytest.approx(1.042327, abs=2e-6)
    assert found.percent_grr == pytest.approx(27.86, abs=0.005), "calculated from these; the report rounds it"
    assert found.categories == 4


def test_both_ways_agree_about_the_manuals_study() -> None:
    ranges, anova = by_ranges(AIAG), analyse(AIAG)
    assert isinstance(ranges, Components)
    assert ranges.ev / ranges.multiple == pytest.approx(anova.ev, rel=0.05)
    assert ranges.pv / ranges.multiple == pytest.approx(anova.pv, rel=0.1)


@pytest.mark.parametrize("offset", [0.0, 1e7])
def test_a_large_mean_costs_no_digits(offset: float) -> None:
    """After NIST StRD NumAcc: values that differ in their last digits only."""
    shifted = [[[x + offset for x in cell] for cell in part] for part in SMALL]
    assert analyse(shifted).ev == pytest.approx(math.sqrt(0.016), rel=1e-7)
