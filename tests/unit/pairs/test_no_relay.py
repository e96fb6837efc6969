"""A fuse or a lamp where a relay was said: it is named as one, nothing is fed, and no good part is called scrap."""

import pytest
from on_bench import FUSE, LAMP, part

from pulldrop.jobs.run import choose
from pulldrop.jobs.run.boards import open_socket
from pulldrop.jobs.run.by_look import examine, look
from pulldrop.jobs.run.test_one import Task
from pulldrop.model.verdict import Overall
from pulldrop.store import Store


@pytest.mark.parametrize("board", ["virtual", "virtual-bare", "virtual-evening"])
@pytest.mark.parametrize("given", [FUSE, LAMP], ids=["fuse", "lamp"])
def test_it_is_another_kind_of_part_and_the_command_for_it_is_named(given: dict[str, object], board: str) -> None:
    plan = choose.plan_rated(None, "class-mini-12v-form-c", board.endswith("bare"))
    with Store.open(":memory:") as store, open_socket(board, part(given), 3) as opened:
        looked = look(opened.board, store, plan)
        record = examine(Task(plan, plan.rating.part()), looked, opened.board, store, lambda _: None)
    assert record.verdict.overall is Overall.ANOTHER_KIND
    assert "a fuse, a lamp or a link" in record.verdict.found and "pulldrop pair" in record.verdict.next
