"""Guard bands and their risks against published examples."""

import pytest
from risk import global_risk

from pulldrop.judge.decide import RISK, conformance
from pulldrop.model.coverage import Spread

# JCGM 106:2012, resistor example: 1500 ohm +-0.20, accepted within +-0.18; process and measurement normal.
# Second hand: the inputs come from a page that quotes JCGM 106, not from the guide itself; the results (0.904, 0.0099,
# 0.069) were computed from them and were not seen in the guide. So they hold our arithmetic to the inputs, no more.
RESISTOR = {"low": 1499.8, "high": 1500.2}
ACCEPTED = {"accept_low": 1499.82, "accept_high": 1500.18}


def test_resistors_of_jcgm_106_conform_with_90_percent() -> None:
    assert conformance(1500.0, Spread(0.12), 1499.8, 1500.2) == pytest.approx(0.904, abs=5e-4)


def test_resistors_of_jcgm_106_have_the_published_risks() -> None:
    risk = global_risk(1500.0, 0.12, 0.04, **RESISTOR, **ACCEPTED)
    assert risk.consumer == pytest.approx(0.0099, abs=5e-5)
    assert risk.producer == pytest.approx(0.069, abs=5e-4)


@pytest.mark.parametrize(
    ("ratio", "guard", "accepted", "rejected"), [(4.0, 1.0, 0.008, 0.015), (2.0, 0.91, 0.008, 0.066)]
)
def test_deavers_false_accepts_and_rejects(ratio: float, guard: float, accepted: float, rejected: float) -> None:
    # Deaver's papers on guard bands (NCSL, 1990s; from memory) were not seen: second hand, by the tests of suncal, a
    # general-purpose uncertainty calculator, and computed again. Limits at two standard deviations of the process; the
    # test uncertainty ratio is limit over 2 u.
    risk = global_risk(0.0, 0.5, 0.5 / ratio, low=-1.0, high=1.0, accept_low=-guard, accept_high=guard)
    assert risk.consumer == pytest.approx(accepted, abs=5e-4)
    assert risk.producer == pytest.approx(rejected, abs=5e-4)


def test_our_guard_band_keeps_the_stated_risk_for_a_part_at_its_edge() -> None:
    # Tables of the normal distribution: 2 % lie beyond 2.0537 standard deviations.
    assert 1 - conformance(8.4 - 2.0537 * 0.1, Spread(0.1), None, 8.4) == pytest.approx(RISK, abs=1e-5)
