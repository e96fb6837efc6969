"""A fuse or a lamp where a relay was said: it is named as one, nothing is fed, and no good part is called scrap."""

from pathlib import Path

import pytest
from on_bench import FUSE, LAMP, part

from pulldrop.cli.main import main
from pulldrop.jobs.run import boards, choose
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


@pytest.mark.parametrize("board", ["virtual", "virtual-evening"])
def test_the_command_looks_before_it_feeds_on_every_build_that_can(
    board: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """And so it calls a lamp by its kind, instead of a broken coil."""
    monkeypatch.setattr(boards, "open_socket", lambda board, _, seed: open_socket(board, part(LAMP), seed))
    asked = ["test", "--board", board, "--rating", "class-mini-12v-form-c", "--store", str(tmp_path / "store")]
    assert main(asked) == 3
    out = " ".join(capsys.readouterr().out.split())
    assert "SIMULATED" in out and "a fuse, a lamp or a link" in out and "pulldrop pair" in out
