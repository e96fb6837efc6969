"""A disk that takes long to write what was measured, while the coil is on: the board's lease is kept all the same."""

import pytest

from pulldrop.board.serial import SerialBoard
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.relay import Relay
from pulldrop.model.verdict import Judged, Overall
from pulldrop.protocol.load import plan
from pulldrop.store import OpenRun, Store

WRITES_S = 0.2
"""Three readings in a row are written with the coil on; together they take longer than the lease of 0.5 s."""


def test_a_disk_that_takes_a_fifth_of_a_second_for_each_reading_costs_no_run(monkeypatch: pytest.MonkeyPatch) -> None:
    part, at, add = find("good-12v-changeover"), plan("relay-quick", "class-mini-12v-form-c"), OpenRun.add
    with (
        SteppedPort(part.text, 5) as port,
        SerialBoard(port, "the emulator", port.clock, port.sleep) as board,
        Store.open(":memory:") as store,
    ):

        def slowly(run: OpenRun, judged: Judged) -> None:
            port.sleep(WRITES_S)
            add(run, judged)

        monkeypatch.setattr(OpenRun, "add", slowly)
        done = run_one(Task(at, Relay(id="", form=at.form)), board, store, lambda _event: None)
        assert done.verdict.overall is Overall.PASS, done.verdict.found
