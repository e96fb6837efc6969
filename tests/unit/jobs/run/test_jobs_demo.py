"""The crate of the demonstration: each invented part gets the verdict that its fault deserves, whatever the bench."""

import pytest

from pulldrop.jobs.demo.crate import CRATE, as_it_comes, run_demo
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.events import Event
from pulldrop.model.part.part_id import well_formed
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.store import Store

SOUND = {"good-12v-changeover", "good-with-diode", "long-unused", "good-12v-normally-open"}
NO_FAIL = {"reversed-diode": Overall.DO_NOT_ENERGISE, "wrong-coil-voltage": Overall.ANOTHER_KIND}
"""Nothing may be wrong with them: to be tested with the coil leads exchanged, and with the parts of 24 V."""


@pytest.mark.parametrize("name", CRATE)
@pytest.mark.parametrize("seed", [11, 12, 13])
def test_a_part_of_the_crate_is_judged_alike_on_every_bench(name: str, seed: int) -> None:
    with Store.open(":memory:") as store:
        record = as_it_comes(specimens.find(name), seed, store, lambda _: None)
    assert record.verdict.overall is (Overall.PASS if name in SOUND else NO_FAIL.get(name, Overall.FAIL))


def test_the_crate_comes_out_in_order_and_numbered() -> None:
    seen: list[Event] = []
    records = run_demo(seen.append)
    ids = [record.part.id for record in records]
    assert len(set(ids)) == len(CRATE) and all(map(well_formed, ids)) and {len(id) for id in ids} == {5}
    assert [event for event in seen if isinstance(event, RunRecord)] == list(records)
    assert all(record.simulated for record in records)
    assert len({record.seed for record in records}) == len(CRATE)
    reversed_diode = records[CRATE.index("reversed-diode")].verdict
    assert reversed_diode.overall is Overall.DO_NOT_ENERGISE
    assert "exchange the leads to 85 and 86, test again" in reversed_diode.next


def test_ctrl_c_in_the_crate_ends_it_after_the_part_on_the_bench() -> None:
    def press(event: Event) -> None:
        if not isinstance(event, RunRecord):
            raise KeyboardInterrupt

    records = run_demo(press)
    assert [record.verdict.overall for record in records] == [Overall.INTERRUPTED]
