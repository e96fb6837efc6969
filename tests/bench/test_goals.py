"""Statements about goals: what a share of few parts can say, and what fails a campaign."""

import argparse
import json
import re
import subprocess
from pathlib import Path

import pytest
import scipy  # its parts are loaded by the test that asks for one
from report import Goal, Share, State, close
from shares import can_be_shown, interval

GIVEN = argparse.Namespace(seed=3, parts=20)
NEWCOMBE = [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (1, 29, 0.0009, 0.1776)]
"""R. G. Newcombe, Statistics in Medicine 17 (1998), 857 to 872, table I, Clopper and Pearson; from memory."""
CONOVER = (5, 25, 0.068, 0.407)
"""W. J. Conover, Practical Nonparametric Statistics (1999), table of exact limits, as quoted by InfluentialPoints.com,
"Confidence intervals of proportions", worked example of 5 seedlings of 25."""


@pytest.mark.parametrize(("k", "n", "low", "high"), [*NEWCOMBE, CONOVER])
def test_the_interval_is_the_published_one(k: int, n: int, low: float, high: float) -> None:
    digits = 3 if (k, n) == CONOVER[:2] else 4
    assert tuple(round(end, digits) for end in interval(k, n)) == (low, high)


@pytest.mark.parametrize("n", [1, 2, 17, 500, 20_000])
def test_the_interval_is_that_of_scipy(n: int) -> None:
    for k in {0, 1, n // 3, n // 2, n - 1, n}:
        assert interval(k, n) == pytest.approx(scipy.stats.binomtest(k, n).proportion_ci(method="exact"), abs=1e-9)


@pytest.mark.parametrize(
    ("goal", "state"),
    [
        (Share("18 of 20 are no evidence against 95 %", 18, 20, low=0.95), "cannot be shown"),
        (Share("no outcome of 20 shows 95 %", 20, 20, low=0.95), "cannot be shown"),
        (Share("but 10 of 20 are evidence against it", 10, 20, low=0.95), "missed"),
        (Share("72 of 72 show 95 %", 72, 72, low=0.95), "met"),
        (Share("94 % of 1000 may be 95 %", 940, 1000, low=0.95), "open"),
        (Share("93 % of 1000 are not 95 %", 930, 1000, low=0.95), "missed"),
        (Share("a share between two ends", 955, 1000, low=0.93, high=0.97), "met"),
        (Share("all of 1000 are too many", 1000, 1000, low=0.93, high=0.97), "missed"),
        (Share("200 cannot show two ends so near", 190, 200, low=0.93, high=0.97), "cannot be shown"),
        (Share("no false alarm of 20 shows nothing of 1 %", 0, 20, high=0.01), "cannot be shown"),
        (Share("a goal of none is absolute", 1, 100_000, high=0.0), "missed"),
        (Share("and met by none", 0, 20, high=0.0), "met"),
        (Share("a goal of all is absolute", 99_999, 100_000, low=1.0), "missed"),
        (Share("none of none say nothing", 0, 0, high=0.0), "cannot be shown"),
        (Share("without a goal", 3, 9), "met"),
        (Goal("a figure is held as it is", 1.51, high=1.5), "missed"),
        (Goal("and met as it is", 1.5, high=1.5), "met"),
    ],
    ids=lambda value: value.name if isinstance(value, Goal | Share) else value,
)
def test_a_goal_is_missed_only_on_evidence(goal: Goal | Share, state: State) -> None:
    assert goal.state == state


def test_what_can_be_shown_is_what_some_outcome_shows() -> None:
    for n in (1, 20, 71, 72, 400):
        for low, high in ((0.95, None), (None, 0.01), (0.93, 0.97), (0.4, 0.6)):
            some = any(
                (low is None or interval(k, n)[0] >= low) and (high is None or interval(k, n)[1] <= high)
                for k in range(n + 1)
            )
            assert can_be_shown(n, low, high) is some


def test_what_cannot_be_shown_fails_no_campaign_and_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert close("trial", GIVEN, [Share("good", 20, 20, low=0.95), Goal("harmed", 0, high=0)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("CANNOT BE SHOWN at n = 20  good: 20 of 20")
    assert lines[1] == "1 of 2 goals met, 1 cannot be shown."
    good = json.loads(lines[-1])["goals"][0]
    assert (good["k"], good["n"], good["state"]) == (20, 20, "cannot be shown")
    assert good["interval"] == pytest.approx([0.8316, 1.0], abs=1e-4)


def test_a_missed_goal_fails_the_campaign_and_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert close("trial", GIVEN, [Share("good", 10, 20, low=0.95), Share("pace", 93, 100, low=0.95)]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "MISSED  good: 10 of 20 = 0.5 (95 %: 0.272 .. 0.728), goal 0.95 .. "
    assert lines[1].startswith("OPEN  pace: 93 of 100")
    assert json.loads(lines[-1])["missed"] == 1


def test_each_campaign_that_has_figures_is_one_that_can_be_run() -> None:
    here = Path(__file__).parent
    listed = subprocess.run(["sh", here / "run"], capture_output=True, text=True, check=False).stderr.split()
    named = set(re.findall(r"^`([a-z]+) --", (here / "FIGURES.md").read_text("utf-8"), re.MULTILINE))
    assert len(named) > 8 and named <= set(listed)
