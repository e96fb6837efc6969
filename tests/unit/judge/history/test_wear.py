"""Statements about a part's series: what is called wear, what is not, and when a limit is met."""

import math
import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from pulldrop.judge.history.comparable import series_of
from pulldrop.judge.history.wear import LEAST, finding, moved_says, moved_towards_limit, share_a_year, span
from pulldrop.model.history.history import Forecast, Measured, Point, Series, SeriesHealth
from pulldrop.model.reading import Condition, ConditionName
from pulldrop.model.verdict import Outcome

START = datetime(2023, 4, 3, 9, 0, tzinfo=UTC)
QUARTER = timedelta(days=91.3125)


def point(number: int, value: float, expanded: float) -> Point:
    return Point(
        run=f"r{number}", at=START + number * QUARTER, value=value, expanded=expanded, measured=value,
        outcome=Outcome.PASS,
    )  # fmt: skip


def drop(values: list[float], expanded: float = 0.002, fresh: int = 0) -> SeriesHealth:
    """Contact drop of NO, a reading a quarter, limit 200 mV."""
    points = tuple(point(number, value, expanded) for number, value in enumerate(values))
    return finding(
        Series(id="contact_drop_no", title="contact drop of 87 (NO)", unit="V", same="load 10 A", points=points,
               limit="<= 200 mV", high=0.2, fresh=fresh)
    )  # fmt: skip


def test_steady_wear_is_called_with_its_rise_and_the_time_to_its_limit() -> None:
    noise = (0.4, -0.7, 0.2, 0.8, -0.5, 0.1, -0.3, 0.6, -0.2)
    found = drop([0.030 + 0.010 * n + 1e-3 * noise[n] for n in range(9)])
    assert found.worse and found.trend.way == "rising"
    assert found.trend.low < 0.040 < found.trend.high, "40 mV a year went in"
    assert found.says.startswith("contact drop of 87 (NO) has risen 8") and " +-" in found.says
    assert "since April 2023; at this rate it will exceed its limit (<= 200 mV) in " in found.says
    assert found.forecast is not None and found.forecast.latest is not None
    assert found.forecast.earliest < (0.2 - 0.110) / 0.040 < found.forecast.latest


def test_a_rise_that_comes_at_the_end_is_told_by_both_ends_and_never_as_perhaps_a_fall() -> None:
    found = drop([0.025, 0.026, 0.028, 0.031, 0.036, 0.060, 0.120, 0.400, 0.750])
    assert found.trend.way == "rising" and found.trend.high - found.trend.per_year > found.trend.per_year
    says = found.says.split(" since ")[0]
    assert "+-" not in says, says
    told = [float(one.split()[0]) / 1000 for one in says.split("risen ")[1].split(" to ")]
    assert told == pytest.approx([2 * found.trend.low, 2 * found.trend.high], rel=0.01), "two years"


def test_a_forecast_is_told_in_words_that_fit_what_is_left_of_it() -> None:
    told = {(0.5, 2.5): "in 6 to 30 months", (0.0, 0.2): "within 3 months", (0.01, 0.05): "within 1 month",
            (0.0, 0.0): "by today", (0.0, None): "at any time"}  # fmt: skip
    for (earliest, latest), says in told.items():
        assert span(Forecast(earliest=earliest, latest=latest)) == says


def test_no_trend_is_said_to_have_no_chance_at_all() -> None:
    assert drop([0.03 + 0.001 * n for n in range(100)]).trend.chance == "p < 0.0001"
    assert drop([0.03 + 0.005 * n for n in range(6)]).trend.chance == "p = 0.0028"


def test_a_move_within_a_month_names_the_month_once() -> None:
    series = drop([0.03, 0.05, 0.07]).series
    near = [one.model_copy(update={"at": START + timedelta(days=n)}) for n, one in enumerate(series.points)]
    found = finding(series.model_copy(update={"points": tuple(near)}))
    assert "rose 40.0 mV +-2.8 within April 2023, towards its limit" in moved_says(found)


def test_the_same_rise_within_the_uncertainty_is_no_trend() -> None:
    values = [0.030 + 0.001 * n for n in range(9)]
    assert drop(values, expanded=0.0002).trend.way == "rising"
    unsure = drop(values, expanded=0.02)
    assert unsure.trend.way == "none" and unsure.forecast is None
    assert unsure.says.startswith("contact drop of 87 (NO): no trend in 9 readings since April 2023")


def test_five_readings_are_too_few_however_they_rise() -> None:
    found = drop([0.03, 0.05, 0.07, 0.09, 0.11])
    assert found.trend.way == "few" and f"({LEAST} are needed)" in found.says
    assert "it rose 20.0 mV +-2.8 from the run before to the last one" in found.says


def test_one_reading_has_nothing_to_be_compared_with() -> None:
    assert drop([0.03]).says == "contact drop of 87 (NO): one reading since April 2023, so nothing to compare."


def test_getting_better_is_told_and_is_no_wear() -> None:
    found = drop([0.10 - 0.01 * n for n in range(8)])
    assert found.trend.way == "falling" and not found.worse and found.forecast is None
    assert "has fallen" in found.says and "no limit lies that way" in found.says
    assert share_a_year(found) == 0.0


def test_a_part_beyond_its_limit_is_said_to_be_beyond_it() -> None:
    found = drop([0.05 + 0.03 * n for n in range(8)])
    assert found.forecast is not None and found.forecast.beyond
    assert "it is beyond its limit (<= 200 mV)" in found.says


def test_wear_is_shared_out_over_the_way_to_the_limit() -> None:
    found = drop([0.040 + 0.010 * n for n in range(8)])
    assert share_a_year(found) == pytest.approx(0.040 / (0.2 - 0.05), rel=0.01)


def test_the_chart_speaks_when_a_part_leaves_its_own_usual_range() -> None:
    found = drop([0.030, 0.031, 0.029, 0.030, 0.031, 0.040, 0.042])
    assert found.chart is not None and found.chart.base == 3
    assert found.chart.outside and min(found.chart.outside) >= 5
    assert drop([0.030, 0.031, 0.029, 0.030, 0.031, 0.030, 0.029]).chart.outside == ()  # type: ignore[union-attr]


def test_noise_alone_is_hardly_ever_called_wear() -> None:
    chance = random.Random(8)
    called = outside = 0
    for _ in range(600):
        found = drop([chance.gauss(0.05, 0.001) for _ in range(8)])
        called += found.trend.way != "none"
        outside += bool(found.chart and found.chart.outside)
    assert called <= 6, "1 % at most"
    assert outside <= 24


def test_where_the_uncertainty_is_stated_too_small_the_test_alone_holds_its_one_percent() -> None:
    chance = random.Random(4)
    called = sum(drop([chance.gauss(0.05, 0.001) for _ in range(8)], 0.0001).trend.way != "none" for _ in range(800))
    assert called <= 16, "2 % of the rows; the slope's interval alone would call 5 %"


def test_the_forecast_holds_the_true_moment_nearly_always() -> None:
    chance = random.Random(9)
    held = told = 0
    for _ in range(300):
        rate = chance.uniform(0.01, 0.05)
        found = drop([chance.gauss(0.03 + rate * n / 4, 0.001) for n in range(10)])
        if found.forecast is None or found.forecast.beyond:
            continue
        true = (0.2 - 0.03) / rate - 9 / 4
        told += 1
        held += found.forecast.earliest <= true <= (found.forecast.latest or 1e9)
    assert told > 250 and held / told > 0.9


def test_a_cleaned_contact_begins_anew() -> None:
    saw = [0.03, 0.06, 0.09, 0.12] + [0.03 + 0.01 * n for n in range(7)]
    assert drop(saw).trend.way == "none", "as one row it goes up and down"
    found = drop(saw, fresh=4)
    assert found.worse and "since it was cleaned in April 2024" in found.says
    assert found.chart is not None and found.chart.start == 4 and min(found.chart.outside) >= 7
    assert len(found.series.points) == 11, "the time before is still shown"
    assert "since it was cleaned" in drop([*saw[:4], 0.03, 0.04], fresh=4).says


@pytest.mark.parametrize(
    ("at_20", "told"), [(False, "in a room 13 K colder"), (True, "from the run before to the last one;")]
)
def test_a_change_that_the_room_may_have_made_says_so(at_20: bool, told: str) -> None:
    rooms = [(0.005320, 24.0), (0.005200, 11.0)]
    points = tuple(point(n, value, 3e-5).model_copy(update={"celsius": room}) for n, (value, room) in enumerate(rooms))
    series = Series(id="operate_time", title="operate time", unit="s", same="", points=points, at_20=at_20)
    assert told in finding(series).says
    far = series.model_copy(update={"points": (points[0], points[1].model_copy(update={"value": 0.009})), "high": 0.01})
    assert moved_towards_limit(finding(far)) is at_20, "what the warmth may have made is no wear"


def test_two_runs_are_enough_to_say_worse_than_last_spring() -> None:
    found = drop([0.03, 0.07])
    assert moved_towards_limit(found)
    assert moved_says(found) == (
        "contact drop of 87 (NO) rose 40.0 mV +-2.8 from April 2023 to July 2023, towards its limit (<= 200 mV); 2"
        " readings are too few for a trend."
    )
    assert not moved_towards_limit(drop([0.030, 0.0325])), "within both uncertainties"
    assert not moved_towards_limit(drop([0.030, 0.036])), "beyond them, and a twentieth of the way is nothing"
    assert not moved_towards_limit(drop([0.07, 0.03])), "away from the limit"


# --- what may be compared ---


def told(name: str, text: str) -> Condition:
    number, _, unit = text.partition(" ")
    return (
        Condition(name=name, text=text, value=float(number), unit=unit)
        if unit == "V"
        else Condition(name=name, text=text)
    )


def read(run: int, id: str, value: float, unit: str, *conditions: tuple[str, str]) -> Measured:
    return Measured(
        run=f"r{run}", at=START + run * QUARTER, id=id, value=value, expanded=0.01 * value, unit=unit,
        outcome=Outcome.PASS, conditions=tuple(told(name, text) for name, text in conditions),
    )  # fmt: skip


def test_times_at_other_volts_or_another_clamp_are_left_out_and_told() -> None:
    tvs = ("clamp", "68 V TVS of the bench")
    (found,) = series_of([
        read(0, "release_time", 0.002, "s", ("coil voltage", "13.48 V"), tvs),
        read(1, "release_time", 0.009, "s", ("coil voltage", "13.50 V"), ("clamp", "diode 1N4007")),
        read(2, "release_time", 0.002, "s", ("coil voltage", "16.00 V"), tvs),
        read(3, "release_time", 0.002, "s", ("coil voltage", "13.52 V"), tvs),
    ])  # fmt: skip
    assert [one.run for one in found.points] == ["r0", "r3"]
    assert len(found.left_out) == 2 and "diode 1N4007" in found.left_out[0] and "16.00 V" in found.left_out[1]


def test_a_reworded_condition_is_still_the_same_one_and_another_code_is_not() -> None:
    def released(run: int, code: str, text: str) -> Measured:
        clamp = Condition(name=ConditionName.CLAMP, text=text, code=code)
        return replace(read(run, "release_time", 0.002, "s"), conditions=(clamp,))

    (found,) = series_of([
        released(0, "tvs", "68 V TVS of the bench"), released(1, "diode", "TVS"), released(2, "tvs", "TVS"),
    ])  # fmt: skip
    assert [one.run for one in found.points] == ["r0", "r2"]


def test_a_drop_at_another_load_is_another_measurement() -> None:
    """It was brought to the newest one's load in proportion, by a factor of two and without a term for it."""
    (found,) = series_of([
        read(0, "contact_drop_no", 0.039, "V", ("load", "10 A")),
        read(1, "contact_drop_no", 0.020, "V", ("load", "5 A")),
        read(2, "contact_drop_no", 0.031, "V", ("load", "10 A asked, at most 8.11 A carried")),
        read(3, "contact_drop_no", 0.020, "V"),
        read(4, "contact_drop_no", 0.041, "V", ("load", "10 A")),
    ])  # fmt: skip
    assert [one.value for one in found.points] == [0.039, 0.041]
    assert [text.partition(": ")[2] for text in found.left_out] == [
        "load 5 A", "load 10 A asked, at most 8.11 A carried", "load not recorded",
    ]  # fmt: skip


def test_drop_out_is_brought_to_20_degc_by_the_ohms_of_its_own_run() -> None:
    found = series_of([
        read(0, "coil_resistance", 94.0, "ohm", ("coil voltage", "1.02 V")),
        read(0, "coil_resistance_20c", 90.0, "ohm", ("coil voltage", "1.02 V")),
        read(0, "drop_out_voltage", 2.82, "V", ("ends at", "30-87a closing")),
        read(1, "coil_resistance", 88.0, "ohm", ("coil voltage", "12.1 V")),
        read(1, "coil_resistance_20c", 90.0, "ohm", ("coil voltage", "12.1 V")),
        read(1, "drop_out_voltage", 2.64, "V", ("ends at", "30-87a closing")),
    ])  # fmt: skip
    assert [one.id for one in found] == ["coil_resistance_20c", "drop_out_voltage"], "ohms of the day say no more"
    assert [one.value for one in found[1].points] == pytest.approx([2.7, 2.7])
    assert found[1].title == "drop-out voltage at 20 degC"
    assert found[1].points[0].expanded > 0.027, "the thermometer's half kelvin is in it"
    assert len(found[0].points) == 2, "coil ohms may be measured at any volts"


def timed(run: int, ohm: float, pull_in_v: float, seconds: float) -> list[Measured]:
    return [
        read(run, "coil_resistance", ohm, "ohm"),
        read(run, "coil_resistance_20c", 85.0, "ohm"),
        read(run, "pull_in_voltage", pull_in_v, "V"),
        read(run, "operate_time", seconds, "s", ("coil voltage", "13.50 V"), ("ends at", "30-87 closing")),
    ]


def test_operate_time_is_brought_to_20_degc_by_the_law_of_a_coil() -> None:
    """RL: t = L/R ln(1 / (1 - x)); the same inductance and pull-in current, ohms of 11 and of 24 degC."""
    henry, amps, volts = 0.3, 0.0715, 13.5

    def law(ohm: float) -> float:
        return henry / ohm * math.log(1 / (1 - amps * ohm / volts))

    cold, warm = 85 * (254.5 - 9) / 254.5, 85 * (254.5 + 4) / 254.5
    found = series_of([*timed(0, warm, amps * warm, law(warm)), *timed(1, cold, amps * cold, law(cold))])
    (times,) = [one for one in found if one.id == "operate_time"]
    assert times.at_20 and times.title == "operate time at 20 degC"
    assert law(warm) / law(cold) > 1.015, "by the day's temperature it would look worn"
    assert [one.value for one in times.points] == pytest.approx([law(85.0)] * 2, rel=0.001)
    assert times.points[1].expanded > times.points[1].measured * 0.01, "half of the correction is left open"


def test_a_run_without_pull_in_leaves_the_time_as_it_was() -> None:
    only = [one for one in timed(0, 88.0, 6.2, 0.005) if one.id != "pull_in_voltage"]
    (times,) = [one for one in series_of(only) if one.id == "operate_time"]
    assert not times.at_20 and times.title == "operate time" and times.points[0].value == 0.005


def test_only_contacts_begin_anew_when_they_are_cleaned() -> None:
    readings = [read(n, "contact_drop_no", 0.03, "V", ("load", "10 A")) for n in range(3)]
    readings += [read(n, "pull_in_current", 0.07, "A", ("ends at", "30-87 closing")) for n in range(3)]
    current, drops = series_of(readings, START + 1.5 * QUARTER)
    assert (current.id, current.fresh) == ("pull_in_current", 0)
    assert (drops.id, drops.fresh) == ("contact_drop_no", 2)
    assert series_of(readings, START + 9 * QUARTER)[1].fresh == 0, "cleaned, and not tested since"
