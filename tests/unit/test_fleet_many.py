"""Statements about a fleet of more parts than whole histories are read of: told from straight lines, cut, and said so.

They hold on both kinds of store. Every run is invented.
"""

import json
import random
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import databases
import pytest
import records

from pulldrop.cli.main import main
from pulldrop.jobs import fleet, fleet_lines
from pulldrop.model.fleet import FROM_LINES, Fleet
from pulldrop.model.reading import Reading, Term
from pulldrop.model.record import Part, RunRecord
from pulldrop.model.verdict import Judged, Outcome, Overall
from pulldrop.report.fleet import page
from pulldrop.store import Store
from pulldrop.store.exchange import merge
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.merge import Taken

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
SOON, LATER, STRANGE, OLD, FAILED = "R0", "R1", "R2", "R3", "R4"
"""Wears to its limit within months, within years; reads far from its siblings; was not tested for years; failed."""
RUNS = 8


def run(number: int, turn: int, kind: str, chance: random.Random) -> RunRecord:
    """Contact drop of NO, limit 200 mV, every three months, the last a month ago."""
    part = f"R{number}"
    slope = {SOON: 0.020, LATER: 0.012}.get(part, 0.0)
    value = 0.030 + slope * turn + chance.gauss(0, 0.0002) + (0.05 if part == STRANGE else 0)
    ago = 30 + 91 * (RUNS - 1 - turn) + (1000 if part == OLD else 0)
    at = NOW - timedelta(days=ago, minutes=number)
    reading = Reading(id="contact_drop_no", unit="V", value=value, budget=(Term(name="all", u=0.0002, why="invented"),))
    judged = Judged(id="contact_drop_no", outcome=Outcome.PASS, reason="", finding=reading, limit=records.DROP_LIMIT)
    place = "saloon lights" if number < 5 else ("horn", "wiper")[number % 2]
    bad = part == FAILED and turn == RUNS - 1
    return records.record(judged=(judged,), kind=kind).model_copy(
        update=dict(
            run=f"{at:%Y%m%dT%H%M%S}-{number:06x}{turn:02x}",
            part=Part(id=part, form="C", label=f"mini, {place}", donor=f"bus {number % 70}"),
            started=at,
            ended=at + timedelta(seconds=13),
            verdict=records.verdict(Overall.FAIL if bad else Overall.PASS),
        )
    )


def fill(store: Store, parts: range, kind: str = "real") -> None:
    chance = random.Random(7)
    many = [run(number, turn, kind, chance) for number in parts for turn in range(RUNS)]
    merge.take_runs(store.engine, store.name, many, Arrivals("invented"), Taken())


@pytest.fixture(scope="module", params=databases.BACKENDS)
def store(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """160 real parts and one simulated."""
    with Store.open(databases.new(request.param, tmp_path_factory.mktemp("many"))) as opened:
        fill(opened, range(160))
        fill(opened, range(1000, 1001), kind="virtual")
        yield opened


def whole(store: Store, monkeypatch: pytest.MonkeyPatch) -> Fleet:
    """As all histories tell it."""
    monkeypatch.setattr(fleet, "MANY", 1000)
    return fleet.fleet(store, 12, NOW)


def test_many_parts_are_told_from_lines_as_their_histories_tell_them(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = fleet.fleet(store, 12, NOW)
    right = whole(store, monkeypatch)
    assert (told.rests_on, right.rests_on) == ("straight lines", "histories")
    assert told.parts == right.parts == 160 and not told.simulated, "real and simulated parts are never told together"
    assert [one.part for one in told.due] == [one.part for one in right.due] == [OLD, SOON, FAILED]
    assert [one.soonest for one in told.due] == pytest.approx([one.soonest for one in right.due], abs=0.1)
    assert told.due[0].reasons == right.due[0].reasons and told.due[2].reasons == right.due[2].reasons
    assert re.fullmatch(
        r"contact drop of NO: its straight line reaches the limit in about \d months", told.due[1].reasons[0]
    )
    assert [one.part for one in told.strangers][:1] == ["R0"]
    assert {one.part for one in told.strangers} <= {one.part for one in right.strangers}


def groups(told: Fleet, by: str) -> list[tuple[str, int, int, int, str]]:
    return [
        (one.name, one.parts, one.wearing, round(1000 * one.share_a_year), one.by)
        for one in told.groups
        if one.grouping == by and one.share_a_year > 0.002
    ]


def test_groups_wear_as_their_histories_say(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    told = fleet.fleet(store, 12, NOW)
    right = whole(store, monkeypatch)
    for by in ("donor", "type"):
        assert [one[:3] for one in groups(told, by)] == [one[:3] for one in groups(right, by)] != []
        # a line begins at one reading, a history at the mean of three
        assert [one[3] for one in groups(told, by)] == pytest.approx([one[3] for one in groups(right, by)], rel=0.15)
    assert groups(told, "kind, position")[0][0] == "mini, saloon lights"


def test_every_list_is_cut_and_says_how_many_more_there_are(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    uncut = fleet.fleet(store, 12, NOW)
    assert uncut.left_out == {"donor": 20, "simulated": 1}, "70 donors, and 50 are listed"
    monkeypatch.setattr(fleet_lines, "MOST", 2)
    told = fleet.fleet(store, 12, NOW)
    assert told.due == uncut.due[:2] and told.strangers == uncut.strangers[:2]
    assert told.left_out["due"] == len(uncut.due) - 2 == 1 and told.left_out["donor"] == 68
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
