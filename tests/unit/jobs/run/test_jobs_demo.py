"""The crate of the demonstration: each invented part gets the verdict that its fault deserves, whatever the bench."""

import pytest

from pulldrop.jobs.demo.crate import CRATE, run_demo
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.events import Event
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.part_id import well_formed
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.store import Store

SOUND = {"good-12v-changeover", "good-with-diode", "long-unused", "good-12v-normally-open"}
NO_FAIL = {"reversed-diode": Overall.INCOMPLETE}
"""Fed the wrong way round: to be tested again with its coil leads exchanged."""


@pytest.mark.parametrize("name", CRATE)
@pytest.mark.parametrize("seed", [11, 12, 13])
def test_a_part_of_the_crate_is_judged_alike_on_every_bench(name: str, seed: int) -> None:
    part = specimens.find(name)
    plan = plan_for_specimen(part.specimen)
    with Store.open(":memory:") as store, open_board("virtual", part, seed) as board:
        record = run_one(Task(plan=plan, part=Relay(id="", form=plan.form)), board, store, lambda _: None)
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
    assert reversed_diode.overall is Overall.INCOMPLETE
    assert "exchange the leads to 85 and 86, test again" in reversed_diode.next


def test_ctrl_c_in_the_crate_ends_it_after_the_part_on_the_bench() -> None:
    def press(event: Event) -> None:
        if not isinstance(event, RunRecord):
            raise KeyboardInterrupt

    records = run_demo(press)
    assert [record.verdict.overall for record in records] == [Overall.INTERRUPTED]
