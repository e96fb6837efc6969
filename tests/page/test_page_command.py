"""`pulldrop page` as a command: what it says, what it shows of the store, and how it ends."""

import http.client
import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

import crate_views
import pytest
import uvicorn

from pulldrop.cli.main import main
from pulldrop.model.crate.crate import Bin, CrateEvent, Happened
from pulldrop.page import served
from pulldrop.store import Entry, Store

AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def fill(where: Path, crate: str, bins: list[Bin]) -> None:
    """A crate in a store, its parts placed without any test; every word of it is invented."""
    with Store.open(str(where)) as store:
        store.crate(crate, True, AT)
        for number, bin in enumerate(bins, start=1):
            placed = crate_views.placed(number, bin).model_copy(update={"run": "", "at": datetime.now(UTC)})
            event = CrateEvent(kind=Happened.PLACED, at=placed.at, number=number, placed=placed)
            store.crate_event(Entry(crate, number, event))


@contextmanager
def running(*arguments: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The command, and the host and port that it tells."""
    command = [sys.executable, "-m", "pulldrop", *arguments, "--port", "0"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=os.environ)
    try:
        assert process.stdout is not None
        told = process.stdout.readline()
        found = re.search(r"http://([^/\s]+)", told)
        assert found, told or process.communicate()[1]
        yield process, found[1]
    finally:
        process.kill()
        process.communicate()


def first_view(host: str) -> dict[str, str]:
    line = http.client.HTTPConnection(host, timeout=60)
    line.request("GET", "/events", headers={"Host": host})
    for row in line.getresponse():
        if row.startswith(b"data: "):
            return dict(json.loads(row[6:]))
    raise AssertionError("the stream ended without a view")


def test_the_last_crate_of_the_store_is_shown_and_ctrl_c_ends_it(tmp_path: Path) -> None:
    store = tmp_path / "bench.sqlite"
    fill(store, "shed 2", [Bin.SCRAP])
    fill(store, "shed 4", [Bin.KEEP, Bin.KEEP, Bin.LOOK_AGAIN])
    with running("page", "--store", str(store)) as (process, host):
        view = first_view(host)
        assert "3 sorted" in view["html"] and "shed 4" in view["html"] and "SIMULATED" in view["title"]
        assert "data-control" not in view["html"]
        process.send_signal(signal.SIGINT)
        assert process.wait(10) == 0
        assert process.stderr is not None and process.stderr.read() == ""


def test_a_crate_is_shown_by_its_name(tmp_path: Path) -> None:
    store = tmp_path / "bench.sqlite"
    fill(store, "shed 2", [Bin.SCRAP])
    fill(store, "shed 4", [Bin.KEEP])
    with running("page", "shed 2", "--store", str(store)) as (_, host):
        assert "shed 2" in first_view(host)["html"]


def test_a_wrong_name_is_told_with_the_names_that_there_are(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store = tmp_path / "bench.sqlite"
    Store.open(str(store)).close()
    assert main(["page", "shed 5", "--store", str(store)]) == 2
    assert "pulldrop sort" in capsys.readouterr().err
    fill(store, "shed 4", [Bin.KEEP])
    assert main(["page", "shed 5", "--store", str(store)]) == 2
    assert "shed 4" in capsys.readouterr().err


def test_without_any_crate_the_parts_are_shown(tmp_path: Path) -> None:
    Store.open(str(tmp_path / "bench.sqlite")).close()
    with running("page", "--store", str(tmp_path / "bench.sqlite")) as (_, host):
        line = http.client.HTTPConnection(host, timeout=60)
        line.request("GET", "/")
        assert line.getresponse().getheader("location") == "/parts"


def test_a_later_store_is_refused_with_a_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "bench.sqlite"
    Store.open(str(file)).close()
    with closing(sqlite3.connect(file)) as later:
        later.execute("PRAGMA user_version = 999")
    assert main(["page", "--store", str(file)]) not in (0, None)
    assert "was written by a later pulldrop" in capsys.readouterr().err


def test_ctrl_c_ends_a_sorted_crate_and_its_page_together(tmp_path: Path) -> None:
    store = tmp_path / "bench.sqlite"
    with running("sort", "shed 2", "--board", "virtual", "--page", "--plain", "--store", str(store)) as (process, host):
        assert "shed 2" in first_view(host)["html"]
        process.send_signal(signal.SIGINT)
        assert process.wait(15) == 3
    with pytest.raises(ConnectionRefusedError):
        first_view(host)


def test_a_page_that_breaks_tells_it_and_leaves_the_bench_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    async def broken(_server: uvicorn.Server, sockets: object = None) -> None:
        raise RuntimeError("no more handles")

    monkeypatch.setattr(uvicorn.Server, "serve", broken)
    told: list[str] = []
    with served(None, told.append, port=0) as page:
        for _ in range(100):
            page.show(crate_views.INSERT)
    assert len(told) == 1 and "no more handles" in told[0] and "The bench goes on" in told[0]
