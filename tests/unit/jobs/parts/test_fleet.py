"""Statements about a fleet: what is due and why, what wears fastest, and that outliers need siblings."""

from datetime import UTC, datetime, timedelta

import pytest

from pulldrop.judge.history.fleet import fleet
from pulldrop.judge.history.wear import finding
from pulldrop.model.history.fleet import Fleet
from pulldrop.model.history.history import Health, Point, RunMark, Series
from pulldrop.model.part.event import Card
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.report.fleet import page

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def part(
    id: str, drops: list[float], *, position: str = "horn", months_ago: float = 1.0, overall: Overall = Overall.PASS
) -> Health:
    """A part with a contact drop every three months, the last one so many months ago; limit 200 mV."""
    last = NOW - timedelta(days=30.4375 * months_ago)
    days = [last - timedelta(days=91.3 * n) for n in range(len(drops) - 1, -1, -1)]
    points = tuple(
        Point(run=f"{id}{n}", at=at, value=value, expanded=0.001, measured=value, outcome=Outcome.PASS)
        for n, (at, value) in enumerate(zip(days, drops, strict=True))
    )
    series = Series(id="contact_drop_no", title="contact drop of 87 (NO)", unit="V", same="", points=points, high=0.2,
                    limit="<= 200 mV")  # fmt: skip
    marks = tuple(RunMark(run=p.run, at=p.at, overall=overall, protocol="quick") for p in points)
    return Health(
        part=id, kind="relay, changeover (Form C)", type="mini", simulated=True, now=NOW,
        card=Card(description="mini", position=position), place="", runs=marks, events=(),
        findings=(finding(series, NOW),), says=(),
    )  # fmt: skip


def told(*parts: Health) -> Fleet:
    return fleet(parts, 12, NOW)


STEADY = [0.030, 0.0302, 0.0298, 0.0301, 0.0299, 0.030, 0.0301]
WORN = [0.030 + 0.01 * n for n in range(7)]


def test_a_steady_part_tested_last_month_is_not_due() -> None:
    assert told(part("A", STEADY)).due == ()


@pytest.mark.parametrize(("months", "is_due"), [(11.9, False), (12.1, True)])
def test_a_part_is_due_by_the_age_of_its_last_test(months: float, is_due: bool) -> None:
    due = told(part("A", STEADY, months_ago=months)).due
    assert [one.reasons for one in due] == ([("last tested 12 months ago",)] if is_due else [])


def test_a_part_is_due_before_its_forecast_whenever_it_was_tested() -> None:
    near = [0.05 + 0.02 * n for n in range(7)]
    (due,) = told(part("A", near), part("B", STEADY)).due
    assert due.part == "A" and "will exceed its limit in" in due.reasons[0] and due.soonest < 0.5


def test_a_forecast_grows_old_with_its_last_reading() -> None:
    wearing = [0.05 + 0.015 * n for n in range(7)]
    assert told(part("A", wearing)).due == ()
    (due,) = told(part("A", wearing, months_ago=10)).due
    assert due.reasons == ("contact drop of 87 (NO): will exceed its limit in 1 to 3 months",), (
        "ten of its months are gone"
    )


def test_a_part_whose_last_run_was_no_pass_is_due() -> None:
    (due,) = told(part("A", STEADY, overall=Overall.INTERRUPTED)).due
    assert due.reasons == ("the last run was no pass: interrupted",)


def test_the_soonest_comes_first() -> None:
    due = told(part("A", STEADY, months_ago=14), part("B", STEADY, months_ago=20), part("C", [*WORN, 0.21])).due
    assert [one.part for one in due] == ["B", "A", "C"]


def test_the_fastest_wearing_position_is_told_first_with_what_wears() -> None:
    found = told(
        part("A", WORN, position="saloon lights"), part("B", STEADY, position="saloon lights"), part("C", STEADY)
    )
    first, second = (one for one in found.groups if one.grouping == "position")
    assert (first.name, first.parts, first.wearing, first.by) == ("saloon lights", 2, 1, "contact drop of 87 (NO)")
    assert first.share_a_year == pytest.approx(0.04 / 0.16 / 2, rel=0.05), "the mean of both parts"
    assert (second.name, second.share_a_year, second.by) == ("horn", 0.0, "")


def test_simulated_parts_beside_real_ones_are_said_to_be_left_out() -> None:
    real = told(part("A", STEADY))
    says = [real.model_copy(update={"left_out": {"simulated": count}}).without for count in (1, 3)]
    assert real.without == "" and says == ["1 simulated part is left out.", "3 simulated parts are left out."]
    assert "3 simulated parts are left out." in page(real.model_copy(update={"left_out": {"simulated": 3}}))


def test_what_is_not_recorded_is_a_group_of_its_own() -> None:
    assert [one.name for one in told(part("A", STEADY)).groups if one.grouping == "donor"] == ["not recorded"]


def test_a_stranger_needs_four_siblings() -> None:
    lot = [part(f"P{n}", [*STEADY[:-1], 0.030 + 0.001 * n]) for n in range(4)]
    odd = part("odd", [*STEADY[:-1], 0.15])
    (outlier,) = told(*lot, odd).outliers
    assert outlier.part == "odd" and "where its 4 siblings have 32.0 mV" in outlier.says
    assert told(*lot[:3], odd).outliers == ()


def test_room_to_a_limit_is_told_for_a_lot_tightest_first() -> None:
    (room,) = told(*(part(f"P{n}", [*STEADY[:-1], 0.150 + 0.01 * n]) for n in range(5))).capabilities
    assert room.cpk == pytest.approx(0.03 / (3 * 0.01581), rel=0.01)
