"""Statements about a fleet of more parts than whole histories are read of: told from straight lines, cut, and said so.

They hold on both kinds of store. Every run is invented.
"""

import json
import random
import re
import statistics
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import databases
import pytest
import records

from pulldrop.cli.main import main
from pulldrop.jobs.parts import fleet, fleet_lines
from pulldrop.model.history.fleet import FROM_LINES
from pulldrop.model.part.relay import Relay
from pulldrop.model.reading import Reading, Term
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Outcome, Overall
from pulldrop.report.fleet import page
from pulldrop.store import Store
from pulldrop.store.exchange import merge, origins
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.origins import ImportResult

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
SOON, LATER, STRANGE, OLD, FAILED, DOUBTFUL = "R0", "R1", "R2", "R3", "R4", "R5"
"""Wears to its limit within months, within years; reads far from its siblings; was not tested for years; failed;
creeps to its limit by less than its readings are uncertain."""
RUNS = 8
LIMIT_V = 0.2


def run(number: int, turn: int, kind: str, chance: random.Random) -> RunRecord:
    """Contact drop of NO, limit 200 mV, every three months, the last a month ago."""
    part = f"R{number}"
    slope = {SOON: 0.020, LATER: 0.012, DOUBTFUL: 0.0005}.get(part, 0.0)
    value = 0.030 + slope * turn + chance.gauss(0, 0.0002) + {STRANGE: 0.05, DOUBTFUL: 0.15}.get(part, 0.0)
    u = 0.002 if part == DOUBTFUL else 0.0002
    ago = 30 + 91 * (RUNS - 1 - turn) + (1000 if part == OLD else 0)
    at = NOW - timedelta(days=ago, minutes=number)
    reading = Reading(id="contact_drop_no", unit="V", value=value, budget=(Term(name="all", u=u, why="invented"),))
    judged = Judged(id="contact_drop_no", outcome=Outcome.PASS, reason="", finding=reading, limit=records.DROP_LIMIT)
    place = "saloon lights" if number < 5 else ("horn", "wiper")[number % 2]
    bad = part == FAILED and turn == RUNS - 1
    return records.record(judged=(judged,), kind=kind).model_copy(
        update=dict(
            run=f"{at:%Y%m%dT%H%M%S}-{number:06x}{turn:02x}",
            part=Relay(id=part, form="C", label=f"mini, {place}", donor=f"bus {number % 70}"),
            started=at,
            ended=at + timedelta(seconds=13),
            verdict=records.verdict(Overall.FAIL if bad else Overall.PASS),
        )
    )


ORIGINS = origins.Origins("invented", lambda _: origins.Checked())


def fill(store: Store, parts: range, kind: str = "real") -> None:
    chance = random.Random(7)
    many = [run(number, turn, kind, chance) for number in parts for turn in range(RUNS)]
    merge.import_runs(store.engine, store.name, many, Arrivals("invented"), ImportResult(), ORIGINS)


@pytest.fixture(scope="module", params=databases.BACKENDS)
def store(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """160 real parts and one simulated."""
    with Store.open(databases.new(request.param, tmp_path_factory.mktemp("many"))) as opened:
        fill(opened, range(160))
        fill(opened, range(1000, 1001), kind="virtual")
        yield opened


@dataclass(frozen=True)
class Expected:
    """What a part's whole history gives for its contact drop, worked out here: the straight line by least squares, the
    share of the way from the first reading to the limit that it eats a year, the years until it is there."""

    last: float
    share: float = 0.0
    soon: float = 99.0


def expected(store: Store, part: str) -> Expected:
    """Of one part; a line counts from six readings on, and beyond what two readings' uncertainty could make."""
    points = [one for one in store.history(part).points if one.value is not None]
    values = [one.value for one in points if one.value is not None]
    years = [(one.at - NOW).total_seconds() / (365.25 * 86400) for one in points]
    slope = statistics.linear_regression(years, values).slope
    moved = slope * (years[-1] - years[0])
    if len(points) < 6 or abs(moved) <= 2**0.5 * points[-1].expanded or slope <= 0:
        return Expected(values[-1])
    soon = years[-1] + (LIMIT_V - values[-1]) / slope
    return Expected(values[-1], slope / (LIMIT_V - values[0]), soon)


@pytest.fixture(scope="module")
def right(store: Store) -> dict[str, Expected]:
    """By part, from all histories, one by one."""
    return {f"R{number}": expected(store, f"R{number}") for number in range(160)}


@pytest.mark.slow
def test_many_parts_are_told_from_lines_as_their_histories_give_them(store: Store, right: dict[str, Expected]) -> None:
    told = fleet.fleet(store, 12, NOW)
    assert told.rests_on == "straight lines"
    assert told.parts == 160 and not told.simulated, "real and simulated parts are never told together"
    assert {part for part, one in right.items() if one.soon <= 0.5} == {SOON}
    assert [one.part for one in told.due] == [OLD, SOON, FAILED]
    overdue, fails = 1 - (1000 + 30) / 365.25, 1 - 30 / 365.25
    assert [one.soonest for one in told.due] == pytest.approx([overdue, right[SOON].soon, fails], abs=1e-3)
    assert told.due[0].reasons == ("last tested 34 months ago",)
    assert told.due[1].reasons == (
        f"contact drop of 87 (NO): its straight line crosses the limit in about {12 * right[SOON].soon:.0f} months",
    )
    assert told.due[2].reasons == ("the last run was no pass: fail",)
    mean, sd = (of([one.last for one in right.values()]) for of in (statistics.fmean, statistics.stdev))
    scores = {part: (one.last - mean) / sd for part, one in right.items() if abs(one.last - mean) > 3.5 * sd}
    assert {one.part: one.score for one in told.outliers} == pytest.approx(scores) and SOON in scores


def test_groups_wear_as_their_histories_say(store: Store, right: dict[str, Expected]) -> None:
    told = fleet.fleet(store, 12, NOW)
    donors: dict[str, list[float]] = {}
    for part, one in right.items():
        donors.setdefault(f"bus {int(part[1:]) % 70}", []).append(one.share if one.soon <= 20 else 0.0)
    wearing = {name: statistics.fmean(shares) for name, shares in donors.items() if max(shares) > 0}
    listed = [one for one in told.groups if one.grouping == "donor" and one.wearing]
    assert {one.name: one.share_a_year for one in listed} == pytest.approx(wearing) and len(wearing) >= 2
    assert {one.name: one.parts for one in listed} == {name: len(donors[name]) for name in wearing}
    (kind,) = (one for one in told.groups if one.grouping == "type")
    assert kind.share_a_year == pytest.approx(sum(map(sum, donors.values())) / 160)
    assert next(one.name for one in told.groups if one.grouping == "kind, position") == "mini, saloon lights"


def test_every_list_is_cut_and_says_how_many_more_there_are(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    uninterrupted = fleet.fleet(store, 12, NOW)
    assert uninterrupted.left_out == {"donor": 20, "simulated": 1}, "70 donors, and 50 are listed"
    monkeypatch.setattr(fleet_lines, "MOST", 2)
    told = fleet.fleet(store, 12, NOW)
    assert told.due == uninterrupted.due[:2] and told.outliers == uninterrupted.outliers[:2]
    assert told.left_out["due"] == len(uninterrupted.due) - 2 == 1 and told.left_out["donor"] == 68
    words = " ".join(re.sub(r"<[^>]+>", " ", page(told)).split())
    assert FROM_LINES in words and "And 1 more parts" not in words and "And 1 more." in words
    assert "And 68 more, none of which wears faster." in words
    file = tmp_path / "fleet.html"
    capsys.readouterr()
    assert main(["fleet", "--store", store.name, "--report", str(file)]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert FROM_LINES in shown and "160 tested parts" in shown and FROM_LINES in file.read_text(encoding="utf-8")
    assert "and 68 more by donor; --json has the first 2" in shown
    assert main(["fleet", "--store", store.name, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["rests_on"] == "straight lines" and answer["left_out"]["donor"] == 68


def test_few_parts_that_all_need_their_history_are_told_from_lines(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fleet, "MANY", 1000)
    monkeypatch.setattr(fleet, "MANY_WHOLE", 1)
    assert fleet.fleet(store, 12, NOW).rests_on == "straight lines"
