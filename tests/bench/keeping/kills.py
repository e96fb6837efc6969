"""kill -9 at random moments while runs are written: is anything lost that was acknowledged, or anything not whole?

Of ten kills, seven strike a writer of a store that has some history, one a new store in the making, one a store that
grows by an invented step, one a client of PostgreSQL; every fiftieth strikes that server instead. The writer says what
was acknowledged, line by line; then the store is opened again and held against that, and against its chain.
"""

import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from unittest.mock import patch

import databases
import records
from report import Goal, close, options
from test_store import fill, header

from pulldrop.model.verdict import Judged
from pulldrop.store import Store, StoreTrouble
from pulldrop.store.admin import version

VERIFY_EVERY = 20
WAIT_S = {"writer": 0.4, "new": 0.3, "grow": 0.3, "client": 0.5, "server": 0.6}
"""Longest time until the kill, by what it strikes: beyond the making or growing, into the first runs."""


@dataclass
class Seen:
    """What the kills found."""

    kills: dict[str, int] = field(default_factory=dict)
    acknowledged: int = 0
    lost: list[str] = field(default_factory=list)
    not_whole: list[str] = field(default_factory=list)


def part_for(kill: int) -> str:
    """Each kill has a part of its own."""
    return f"K{kill:05d}"


def write_on(where: str, kill: int, told: int) -> None:
    """The child: runs of one part without end; a line in the pipe `told` for whatever was acknowledged."""
    record = records.failed(part=part_for(kill))
    with Store.open(where) as store:
        while True:
            with store.run(header(record)) as run:
                os.write(told, f"begun {run.id}\n".encode())
                for count, judged in enumerate(record.judged, 1):
                    run.add(judged)
                    os.write(told, f"added {run.id} {count}\n".encode())
                assert record.ended is not None
                run.finish(record.verdict, record.ended, 1.0)
                os.write(told, f"ended {run.id} {len(record.judged)}\n".encode())


def strike(where: str, kill: int, wait_s: float, blow: Callable[[int], None]) -> list[str]:
    """Let a child write, strike after `wait_s`; gives the lines that it told."""
    ear, told = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ear)
        try:
            write_on(where, kill, told)
        except StoreTrouble:  # a server that was struck
            pass
        finally:
            os._exit(0)
    os.close(told)
    time.sleep(wait_s)
    blow(child)
    os.waitpid(child, 0)
    with os.fdopen(ear, "rb") as lines:
        return lines.read().decode().splitlines()


def kill_child(child: int) -> None:
    """The blow to a program."""
    os.kill(child, signal.SIGKILL)


def held(where: str, lines: list[str], seen: Seen) -> None:
    """Hold the store against what was acknowledged."""
    acknowledged: dict[str, tuple[int, bool]] = {}
    for what, run, *count in (line.split() for line in lines):
        acknowledged[run] = (int(count[0]) if count else 0, what == "ended")
    seen.acknowledged += len(lines)
    whole: tuple[Judged, ...] = records.failed().judged
    with Store.open(where) as store:
        for run, (count, ended) in acknowledged.items():
            kept = store.record(run)
            if len(kept.judged) < count or kept.judged != whole[: len(kept.judged)] or (ended and kept.ended is None):
                seen.lost.append(f"{run}: {count} acknowledged, {len(kept.judged)} kept, ended {ended}")
            if len(kept.judged) > count + 1:
                seen.not_whole.append(f"{run}: {len(kept.judged)} kept, {count} acknowledged")


def verified(where: str, seen: Seen) -> None:
    """Hold the store against its chain."""
    with Store.open(where) as store:
        seen.not_whole += databases.altered(store)


def campaign(seed: int, kills: Iterable[int], folder: Path) -> Seen:
    """Strike for each number in `kills`, which says what is struck; the moments come from the seed."""
    chance, seen = random.Random(seed), Seen()
    old, at_server = str(folder / "history.db"), databases.Server(folder / "server", durable=True)
    Store.open(old).close()
    server_store = at_server.database()
    for kill in kills:
        kind = kind_of(kill)
        seen.kills[kind] = seen.kills.get(kind, 0) + 1
        wait_s = chance.uniform(0.0, WAIT_S[kind])
        where = {"client": server_store, "server": server_store, "writer": old}.get(kind) or new_file(
            kind, kill, folder
        )
        blow = (lambda child: at_server.crash()) if kind == "server" else kill_child
        with patch.object(version, "STEPS", (databases.add_shelves,) if kind == "grow" else ()):
            lines = strike(where, kill, wait_s, blow)
            if kind == "server":
                at_server.start()
            held(where, lines, seen)
            if kind in ("new", "grow", "server") or kill % VERIFY_EVERY == 0:
                verified(where, seen)
    for where in (old, server_store):
        verified(where, seen)
    at_server.stop()
    return seen


def kind_of(kill: int) -> str:
    """What the `kill`th strikes, counted from 1."""
    if kill % 50 == 0:
        return "server"
    return {1: "new", 2: "grow", 3: "client"}.get(kill % 10, "writer")


def new_file(kind: str, kill: int, folder: Path) -> str:
    """A store for one kill: none yet, or one of version 1 with some history."""
    own = folder / f"kill{kill}"
    own.mkdir()
    made = str(own / f"{kind}.db")
    if kind == "grow":
        with Store.open(made) as store:
            fill(store)
    return made


def main() -> int:
    """The campaign as a command."""
    given = options(__doc__ or "", parts=500)
    with tempfile.TemporaryDirectory(prefix="pulldrop-kills-") as made:
        folder = Path(made)
        folder.chmod(0o755)
        seen = campaign(given.seed, range(1, given.parts + 1), folder)
    struck = ", ".join(f"{count} {kind}" for kind, count in sorted(seen.kills.items()))
    print(f"{given.parts} kills ({struck}); {seen.acknowledged} acknowledgements.")
    for line in (*seen.lost, *seen.not_whole):
        print(f"- {line}")
    goals = [
        Goal("acknowledged and lost", len(seen.lost), high=0),
        Goal("not whole", len(seen.not_whole), high=0),
        Goal("acknowledgements a kill", seen.acknowledged / given.parts, low=1),
    ]
    return close("kills", given, goals)


if __name__ == "__main__":
    sys.exit(main())
