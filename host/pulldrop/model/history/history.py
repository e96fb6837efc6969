"""A part's measurements over time, as they are compared: readings, series of one measurement, and what they show.

Rule: a series holds only readings that may be compared; what was left out is listed with its reason.
"""

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from pulldrop.model.origin import OfMany, Origin
from pulldrop.model.part.event import Card, PartEvent
from pulldrop.model.quantity import show
from pulldrop.model.raw import Frozen
from pulldrop.model.reading import Condition
from pulldrop.model.scale import Mark
from pulldrop.model.verdict import Outcome, Overall

YEAR_S = 365.25 * 86400


@dataclass(frozen=True, slots=True)
class Measured:
    """One measurement of one run, as the store has it; `expanded` is its expanded uncertainty (95 %), in `unit`.

    No `value`: it is a state or a bound, or was not tested.
    """

    run: str
    at: datetime
    id: str
    outcome: Outcome
    unit: str = ""
    value: float | None = None
    expanded: float = 0.0
    conditions: tuple[Condition, ...] = ()
    limit: str = ""
    limit_source: str = ""
    low: float | None = None
    high: float | None = None

    @property
    def number(self) -> float:
        """The value of one that has a number."""
        assert self.value is not None
        return self.value


class Point(Frozen):
    """One reading of a series: `value` under the series' conditions, `measured` as it was read, `celsius` the room."""

    run: str
    at: datetime
    value: float
    expanded: float
    measured: float
    outcome: Outcome
    celsius: float | None = None


def years(points: Sequence[Point]) -> list[float]:
    """Moments of the readings in years since the last, so none is above zero."""
    return [(one.at - points[-1].at).total_seconds() / YEAR_S for one in points]


class Series(Frozen):
    """One measurement of one part over time. `same`: the conditions that all its points share, in words.

    `at_20`: all are brought to 20 degC. `fresh`: place of the first point since the part was cleaned, from which on it
    is compared with itself; those before are shown only.
    """

    id: str
    title: str
    unit: str
    same: str
    points: tuple[Point, ...]
    limit: str = ""
    limit_source: str = ""
    low: float | None = None
    high: float | None = None
    left_out: tuple[str, ...] = ()
    at_20: bool = False
    fresh: int = 0


class Trend(Frozen):
    """Mann-Kendall's test and Theil and Sen's slope. `way`: few when there are too few readings to call one.

    Slopes are in the series' unit a year; `low` and `high` enclose the slope with 95 %, the readings' uncertainty
    in it. `p` is two-sided.
    """

    way: Literal["rising", "falling", "none", "few"]
    readings: int
    per_year: float = 0.0
    low: float = 0.0
    high: float = 0.0
    p: float = 1.0

    @property
    def chance(self) -> str:
        """How often chance alone makes such a trend: `p = 0.0028`."""
        return f"p = {self.p:.2g}" if self.p >= 1e-4 else "p < 0.0001"

    def slope(self, unit: str) -> str:
        """The slope in words, called or not: `-292 mV +-61 a year`."""
        return f"{'+' if self.per_year > 0 else '-'}{self.moved(unit)} a year"

    def moved(self, unit: str, years: float = 1.0) -> str:
        """How far it rises or falls in so many years, without a sign: `880 mV +-180`.

        A trend that is sure has both ends on one side of zero. Where they lie so unevenly that a +- would reach over
        it, both are given: `140 mV to 850 mV`.
        """
        give = max(self.high - self.per_year, self.per_year - self.low)
        if give < abs(self.per_year) or self.low * self.high <= 0:
            return show(abs(self.per_year) * years, unit, give * years)
        least, most = sorted((abs(self.low), abs(self.high)))
        return f"{show(least * years, unit)} to {show(most * years, unit)}"


class Change(Frozen):
    """The change from one run to a later one; `called` when it exceeds both uncertainties together.

    `warmer_k`: how much warmer the room was, where the measurement is not corrected for it; 0 where it is.
    """

    since: datetime
    warmer_k: float
    by: float
    expanded: float
    called: bool


class Forecast(Frozen):
    """When the limit is met at the present rate, in years from the moment of the view. `latest` None: perhaps never."""

    earliest: float
    latest: float | None
    beyond: bool = False


class Chart(Frozen):
    """An EWMA control chart against the part's own first readings.

    The first `base` points from `start` on are what the others are held against; `outside`: places of those beyond.
    """

    start: int
    base: int
    centre: float
    lower: float
    upper: float
    smoothed: tuple[float, ...]
    outside: tuple[int, ...]


class SeriesHealth(Frozen):
    """One series and what it shows, with one sentence in plain words. `worse`: it moves towards its limit."""

    series: Series
    trend: Trend
    last_change: Change | None
    whole_change: Change | None
    chart: Chart | None
    forecast: Forecast | None
    worse: bool
    says: str

    @property
    def line(self) -> tuple[float, float]:
        """The median line at the first reading since the part was cleaned, and at the last."""
        points, rate = self.series.points[self.series.fresh :], self.trend.per_year
        at = years(points)
        rest = statistics.median(point.value - rate * year for point, year in zip(points, at, strict=True))
        return rest + rate * at[0], rest

    @property
    def moved(self) -> str:
        """How far it moved since the part was cleaned, signed, by its trend where it has one: the same as `says`.

        Empty with one reading; `within U` where first and last do not differ beyond both uncertainties.
        """
        whole = self.whole_change
        if whole is None:
            return ""
        if self.trend.way in ("rising", "falling"):
            years_long = -years(self.series.points[self.series.fresh :])[0]
            return f"{'+' if self.trend.way == 'rising' else '-'}{self.trend.moved(self.series.unit, years_long)}"
        if not whole.called:
            return "within U"
        return f"{'+' if whole.by > 0 else '-'}{show(abs(whole.by), self.series.unit, whole.expanded)}"

    def standing(self, place: int) -> str:
        """How the reading at a place of the series stands to the part's own first ones, in a word or two."""
        if place < self.series.fresh:
            return "before cleaning"
        if self.chart is None:
            return ""
        if place < self.chart.start + self.chart.base:
            return "first"
        return "outside" if place in self.chart.outside else "usual"


class RunMark(Frozen):
    """A run on the time line."""

    run: str
    at: datetime
    overall: Overall
    protocol: str
    mark: Mark | None = None
    origin: Origin = Origin.HERE


class Health(OfMany):
    """A part's history: the worst first. `now` is the moment of the view.

    `kind`: the kind of part, in words. `type` is what makes parts siblings: the card's sheet, else the rating of
    the last run. `card_came`, `place_came`: from outside or not.
    """

    part: str
    kind: str
    type: str
    now: datetime
    card: Card
    place: str
    runs: tuple[RunMark, ...]
    events: tuple[PartEvent, ...]
    findings: tuple[SeriesHealth, ...]
    says: tuple[str, ...]
    card_came: Origin = Origin.HERE
    place_came: Origin = Origin.HERE

    @property
    def span(self) -> str:
        """How many runs, and from when to when: `7 runs from 2023-11-27 to 2026-11-27`. There must be one."""
        first, last = (f"{at:%Y-%m-%d}" for at in (self.runs[0].at, self.runs[-1].at))
        many = "1 run" if len(self.runs) == 1 else f"{len(self.runs)} runs"
        return f"{many} on {last}" if first == last else f"{many} from {first} to {last}"
