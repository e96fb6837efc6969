"""Statements about sorting a crate on the virtual bench: what is shown, what is kept, what a key does."""

import pytest
from crates import BURNT, BURNT_NC, GOOD, OPEN, Crate, parts

from pulldrop.model.crate import Bin, Stage
from pulldrop.store import Store


@pytest.fixture
def store() -> Store:
    return Store.open(":memory:")


def test_each_part_goes_into_its_bin_with_a_number_and_a_reason(store: Store) -> None:
    crate = Crate(store, parts(GOOD, BURNT, OPEN, BURNT_NC)).run()
    assert crate.bins == [(1, "keep"), (2, "scrap"), (3, "scrap"), (4, "light duty")]
    assert crate.tally == {"keep": 1, "light duty": 1, "scrap": 2, "look again": 0}
    assert [one.bin for one in crate.views[-1].last] == [Bin.LIGHT_DUTY, Bin.SCRAP, Bin.SCRAP, Bin.KEEP]
    assert all(one.reasons and one.run for one in crate.views[-1].last)
    assert crate.views[-1].stage is Stage.ENDED
