"""Statements about the picture of a series in a terminal: it fits, and no moment of its readings stops it."""

from datetime import timedelta

import pytest
from test_wear import QUARTER, START, drop

from pulldrop.cli.show.drawn.course import LEGEND, lines
from pulldrop.judge.history.wear import finding
from pulldrop.model.history.history import SeriesHealth
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.wording.words import EVENT_LETTERS

NOTED = PartEvent(part="23Y", at=START, kind=PartEventKind.NOTE, text="hums")


def moved(found: SeriesHealth, after: timedelta, since: int = 0) -> SeriesHealth:
    """The readings from `since` on so soon after each other."""
    points = found.series.points
    at = points[since].at
    near = [one.model_copy(update={"at": at + after * n}) for n, one in enumerate(points[since:])]
    return finding(found.series.model_copy(update={"points": (*points[:since], *near)}))


@pytest.mark.parametrize("width", [40, 71, 200])
def test_it_is_never_wider_than_the_terminal(width: int) -> None:
    drawn = lines(drop([0.03 + 0.01 * n for n in range(9)]), (NOTED,), width)
    assert max(map(len, drawn)) <= min(width, 71)
    assert sum(line.count("o") for line in drawn) >= 6 and drawn[-1].split() == ["2023-04", "2025-04"]


def test_readings_of_one_second_are_drawn() -> None:
    assert any("o" in line for line in lines(moved(drop([0.03, 0.04, 0.05]), timedelta()), ()))


def test_wear_within_a_day_long_after_the_cleaning_before_is_drawn() -> None:
    values = [0.1, 0.1, *(0.03 + 0.01 * n for n in range(8))]
    found = moved(drop(values, fresh=2), timedelta(hours=1), since=2)
    assert found.trend.way == "rising" and found.series.points[2].at - START == 2 * QUARTER
    assert any("o" in line for line in lines(found, ()))


def test_every_letter_that_stands_below_it_is_explained() -> None:
    assert all(f"{letter} {kind}" in LEGEND for kind, letter in EVENT_LETTERS.items())
