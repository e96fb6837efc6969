"""A small campaign of the store's growth in the normal suite: what it fills is whole, and looking is not slow."""

import random
from pathlib import Path

import store as campaign

from pulldrop.store import Store


def test_a_filled_store_is_whole_and_its_sums_follow_from_its_runs(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "depot.db")) as depot:
        campaign.Filler(depot, seed=3).fill(600)
        assert depot.info().runs == 600
        assert depot.verify().findings == ()
        assert len(depot.history("R7").runs) == campaign.RUNS_A_PART
        assert [line.part.id for line in depot.search("wiper bus 3")] == ["R3"]
        fleet = depot.fleet(True)
        assert sum(line.parts for line in fleet.ratings) == 30
        assert fleet.due, "contacts that wear meet their limit one day"
        costs = campaign.reading(depot, random.Random(3), 30)
        assert all(costs[what].cpu_ms < most_ms for what, most_ms in campaign.GOALS_MS.items())
