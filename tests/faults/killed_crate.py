"""A crate sorted by a process that may be killed at any moment, and a world around it that outlives the process.

The world is what lies where: parts that wait, the part in the socket, parts in bins. A hand changes it as a person
would; the program that is killed knows nothing of it but what it sees in the socket.
"""

import json
import os
import shutil
import signal
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy.engine.default import DefaultDialect

from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import Opened, open_socket
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.sort import fit as sort_check
from pulldrop.jobs.sort.hand import Heap, SortingHand
from pulldrop.jobs.sort.setup import Setup
from pulldrop.jobs.sort.sorter import Sorter
from pulldrop.judge.crate.ledger import Ledger
from pulldrop.model.crate.crate import Bin, Control, CrateView, Stage
from pulldrop.protocol.crate import sorting
from pulldrop.store import Store

SEED = 5
LINK = -1
CRATE = "killed"
LOAD = partial(sorting, "crate-relay")
ENDED, KILLED = 0, -signal.SIGKILL
BEGUN = datetime(2026, 11, 25, tzinfo=UTC)
WANTED = {
    "good-12v-changeover": "keep", "good-12v-micro": "keep", "burnt-no": "scrap", "burnt-nc": "light duty",
    "open-coil": "scrap", "welded-no": "scrap", "weak-spring": "scrap", "exchanged-layout": "look again",
    "wrong-coil-voltage": "look again", "good-with-diode": "keep", "reversed-diode": "look again",
}  # fmt: skip
"""The bins that the full protocol gives; a test holds them to it."""


@dataclass
class World:
    """Parts by their place in the list: waiting, in the socket (None: empty), and in bins by their number."""

    file: Path
    waiting: list[int]
    socket: int | None
    bins: dict[int, tuple[int, str]]

    @classmethod
    def load(cls, file: Path, count: int) -> "World":
        if not file.exists():
            return cls(file, list(range(count)), None, {})
        given = json.loads(file.read_text())
        return cls(file, given["waiting"], given["socket"], {int(n): (i, b) for n, (i, b) in given["bins"].items()})

    def save(self) -> None:
        half = self.file.with_suffix(".half")
        half.write_text(json.dumps({"waiting": self.waiting, "socket": self.socket, "bins": self.bins}))
        half.replace(self.file)


class LastingHand(SortingHand):
    """The virtual hand, whose world is on disk after every move. `point` is called before and after each."""

    def __init__(self, opened: Opened, things: Sequence[VirtualPart], world: World, point: Callable[[], None]) -> None:
        assert opened.exchange is not None
        self._things, self._world, self._point = things, world, point
        sorted_ = [(things[i], number, Bin(bin)) for number, (i, bin) in world.bins.items()]
        heap = Heap([things[i] for i in world.waiting], sorted_)
        super().__init__(opened.board, heap, opened.exchange, SEED)
        if world.socket is not None:
            self.held = self._link if world.socket == LINK else things[world.socket]
            opened.exchange(self.held.specimen)

    def wait(self, view: CrateView, seconds: float) -> None:
        if view.stage is not Stage.STILL:  # nothing moves and nothing is written then, and its views are points
            self._point()
        super().wait(view, seconds)
        world, place = self._world, {id(thing): index for index, thing in enumerate(self._things)}
        now = World(
            world.file,
            [place[id(one)] for one in self.heap.waiting],
            None if self.held is None else place.get(id(self.held), LINK),
            {number: (place[id(one)], bin.value) for one, number, bin in self.heap.sorted},
        )
        if now != world:
            now.save()
            self._world = now
            self._point()


def watched(point: Callable[[], None]) -> None:
    """Make every transaction of the store a point: all of it written and nothing committed, and just after."""
    commit = DefaultDialect.do_commit

    def around(dialect: DefaultDialect, connection: Any) -> None:
        point()
        commit(dialect, connection)
        point()

    DefaultDialect.do_commit = around  # type: ignore[method-assign]  # in a process that ends with the crate


Point = Callable[[int], None]
"""What happens at each point, by its number from 1."""


def unharmed(_passed: int) -> None:
    """Nothing."""


def killed_at(number: int) -> Point:
    """At the point of that number the process kills itself."""
    return lambda passed: os.kill(os.getpid(), signal.SIGKILL) if passed == number else None


def kept_in(states: Path, folder: Path) -> Point:
    """Copies what is on disk into a folder of its own in `states`, when it is not what the point before left.

    A process that is killed leaves just that, so whoever goes on from the copy goes on after a kill at this point.
    """
    last: list[tuple[str, bytes]] = []

    def keep(passed: int) -> None:
        now = sorted((file.name, file.read_bytes()) for file in folder.iterdir() if not file.name.endswith("-shm"))
        if now != last:
            last[:] = now
            shutil.copytree(folder, states / f"killed at {passed}")

    return keep


def sort(folder: Path, things: Sequence[VirtualPart], at_point: Point = unharmed, board: str = "virtual") -> int:
    """Sort the crate in this process, which may kill itself at a point; the number of points when it came to the end.

    Its folder holds the store and the world, nothing else.
    """
    passed = 0

    def point() -> None:
        nonlocal passed
        passed += 1
        at_point(passed)

    watched(point)
    sort_check.empty = lambda _board: ""  # the self-test has tests of its own, and half of the time here

    def seen(view: CrateView) -> None:
        assert Control.GO not in view.controls or view.go
        assert view.stage is not Stage.STOPPED, view.sentence
        point()

    with Store.open(str(folder / "store.db")) as store, open_socket(board, None, SEED) as opened:
        hand = LastingHand(opened, things, World.load(folder / "world.json", len(things)), point)
        sorter = Sorter(opened.board, store, Setup(CRATE, LOAD("class-mini-12v-form-c"), LOAD), hand, seen)
        hand.press = sorter.press
        sorter.run()
    return passed


def after(seconds: float) -> Callable[[], bool]:
    """Due when so much time has passed."""
    end = time.monotonic() + seconds
    return lambda: time.monotonic() > end


def binned(folder: Path) -> int:
    """How many parts are in bins."""
    return len(World.load(folder / "world.json", 0).bins)


def binned_and(folder: Path, count: int, seconds: float) -> Callable[[], bool]:
    """Due so long after so many parts are in bins."""
    since: list[float] = []

    def due() -> bool:
        if not since and binned(folder) >= count:
            since.append(time.monotonic())
        return bool(since) and time.monotonic() > since[0] + seconds

    return due


def in_a_process(work: Callable[[], int], due: Callable[[], bool] = lambda: False) -> tuple[int, int]:
    """Run in a child; gives how it ended, and what it returned. It is killed once it is due, wherever it is."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.write(writer, str(work()).encode())
            code = 0
        except BaseException as error:
            print(f"the crate's process failed: {type(error).__name__}: {error}", file=sys.stderr)
        finally:
            os._exit(code)
    os.close(writer)
    status = _ended(child, due)
    with os.fdopen(reader) as told:
        said = told.read()
    return os.waitstatus_to_exitcode(status), int(said or 0)


def _ended(child: int, due: Callable[[], bool]) -> int:
    while True:
        gone, status = os.waitpid(child, os.WNOHANG)
        if gone:
            return status
        if due():
            os.kill(child, signal.SIGKILL)
            return os.waitpid(child, 0)[1]
        time.sleep(0.005)


def from_stock(names: Sequence[str]) -> list[VirtualPart]:
    """Parts of these names, each an object of its own."""
    return [specimens.find(name) for name in names]


def all_is_right(folder: Path, wanted: Sequence[str]) -> None:
    """Every part in its bin, once; the store's tally is that of the bins; nothing is open."""
    world = World.load(folder / "world.json", len(wanted))
    assert world.waiting == [] and world.socket is None
    assert sorted(index for index, _ in world.bins.values()) == list(range(len(wanted)))
    wrong = [(index, bin, wanted[index]) for index, bin in world.bins.values() if bin != wanted[index]]
    assert wrong == []
    with Store.open(str(folder / "store.db")) as store:
        ledger = ledger_of(store)
    assert {one.number: one.bin.value for one in ledger.parts} == {n: bin for n, (_, bin) in world.bins.items()}
    assert [one.number for one in ledger.parts] == list(range(1, len(wanted) + 1))
    assert ledger.unpulled is None and ledger.likeness is None


def ledger_of(store: Store) -> Ledger:
    """What happened to the crate."""
    return Ledger(store.crate(CRATE, True, BEGUN)[1])
