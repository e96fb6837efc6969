"""The capability of a crate against published values: LSL 9, USL 11, sd 0.4, as the tests of suncal have them."""

import pytest

from pulldrop.judge.crate.lot import spread
from pulldrop.model.crate.lot import Value
from pulldrop.model.limit import Limit, Source

LIMIT = Limit(text="9 to 11 V", source=Source(text="suncal", known="second hand"), unit="V", low=9.0, high=11.0)
NORMAL = (-1.5932188, -0.9674216, -0.5659488, -0.2404260, 0.0, 0.2404260, 0.5659488, 0.9674216, 1.5932188)
"""Quantiles of the normal law at 1/18, 3/18 ... 17/18."""


def crate(mean: float, sd: float) -> list[Value]:
    """Ten usable parts with exactly this mean and standard deviation."""
    shape = [*NORMAL, 0.0]
    own = sum(one * one for one in shape) / (len(shape) - 1)
    return [Value(number=n, value=mean + sd * one / own**0.5, usable=True) for n, one in enumerate(shape, start=1)]


@pytest.mark.parametrize(("mean", "cpk"), [(10.0, 0.8333), (10.5, 0.4167)])
def test_cpk_of_a_crate(mean: float, cpk: float) -> None:
    found = spread("pull_in_voltage", crate(mean, 0.4), [LIMIT] * 10)
    assert found.mean == pytest.approx(mean) and found.sd == pytest.approx(0.4)
    assert found.cpk == pytest.approx(cpk, abs=5e-5)
