"""A small coverage campaign in the normal suite, with bounds wide enough for its few parts, and the pace."""

from itertools import chain

import coverage
import pace
import pytest
from report import share
from truth import truths

from pulldrop.judge.decide import RISK
from pulldrop.model.verdict import Outcome
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

PARTS, SEED = 20, 11


@pytest.fixture(scope="module")
def lines() -> list[coverage.Line]:
    return list(chain.from_iterable(part.lines for part in coverage.campaign(SEED, PARTS)))


@pytest.mark.slow
def test_nineteen_of_twenty_truths_lie_inside_the_stated_interval(lines: list[coverage.Line]) -> None:
    # 14 measurements of 20 parts, some of them correlated: 88 % is more than three standard deviations below 95.
    assert share("inside", (line.inside for line in lines)).value > 0.88


def test_no_measurement_is_far_off_on_any_part(lines: list[coverage.Line]) -> None:
    assert [line for line in lines if abs(line.error) > 3 * line.expanded] == []


def test_a_bad_part_near_its_limit_rarely_passes(lines: list[coverage.Line]) -> None:
    judged = [outcome for line in lines for outcome, good in line.judged if not good]
    assert share("passes", (outcome is Outcome.PASS for outcome in judged)).value < RISK


def test_a_good_part_near_its_limit_rarely_fails(lines: list[coverage.Line]) -> None:
    judged = [outcome for line in lines for outcome, good in line.judged if good]
    assert share("fails", (outcome is Outcome.FAIL for outcome in judged)).value < 0.05


@pytest.mark.parametrize(("depth", "most_s"), [("full", 25.0), ("quick", 6.0)])
def test_a_protocol_takes_at_most_half_as_long_again_as_its_floor(depth: str, most_s: float) -> None:
    taken_s, floor = pace._run(plan(f"relay-{depth}", "class-mini-12v-form-c"), SEED, 0)
    assert taken_s < most_s
    assert taken_s < 1.5 * sum(share.seconds for share in floor)


def test_the_truth_of_a_coil_is_its_winding_by_the_copper_law() -> None:
    hot = Specimen(title="a part", temperature_c=45.0)
    true = truths(hot, 12.0, 13.5, 10.0)
    assert true["coil_resistance_20c"] == pytest.approx(hot.coil.resistance_ohm, rel=1e-4)
    assert true["coil_resistance"] == pytest.approx(hot.coil.resistance_ohm * 279.5 / 254.5, rel=1e-4)
