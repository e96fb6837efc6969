"""kill -9 at random moments of a store's work: is anything lost that was acknowledged, or anything not whole?

Of ten kills, four strike a writer of runs into a store that has some history, one a new store in the making, one a
store that grows by an invented step, one a client of PostgreSQL, and one each an import, backups and photos; every
fiftieth strikes that server instead. Who is struck says what was acknowledged, line by line; then the store is opened
again and held against that, and against its chain. A crate has a campaign of its own: `killed`.
"""

import itertools
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
from sqlalchemy import select
from test_store import fill, header

from pulldrop.jobs.parts import keep as parts
from pulldrop.model.verdict import Judged
from pulldrop.store import Store, StoreError, StoreTrouble
from pulldrop.store.admin import version
from pulldrop.store.database import tables
from pulldrop.store.exchange import backups, files

VERIFY_EVERY, SOURCE_PARTS = 20, 30
WAIT_S = {
    "writer": 0.4, "new": 0.3, "grow": 0.3, "client": 0.5, "server": 0.6, "import": 0.6, "backup": 0.4, "photo": 0.3,
}  # fmt: skip
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


def import_on(where: str, kill: int, told: int) -> None:
    """The child: imports the source that lies beside, again and again; only the first brings anything."""
    with Store.open(where) as store:
        while True:
            files.import_from(store, str(source_of(where)))
            os.write(told, b"imported\n")


def backup_on(where: str, kill: int, told: int) -> None:
    """The child: one backup after the other of the source."""
    with Store.open(str(source_of(where))) as store:
        for number in itertools.count():
            head = backups.backup(store, Path(where).with_name(f"backup{number}.db")).head
            os.write(told, f"{number} {head}\n".encode())


def photo_on(where: str, kill: int, told: int) -> None:
    """The child: one photo after the other of a part."""
    with Store.open(where) as store:
        keep_part(store, part_for(kill))
        for number in itertools.count():
            photo = keep_a_photo(store, part_for(kill), Path(where).parent, b"invented picture %d" % number)
            os.write(told, f"{photo}\n".encode())


def keep_part(store: Store, part: str) -> None:
    """A run of a part, so that there is one to photograph."""
    with store.run(header(records.failed(part=part))):
        pass


def keep_a_photo(store: Store, part: str, folder: Path, content: bytes) -> str:
    """As a person would, from a file of her own."""
    picture = folder / "camera.png"
    picture.write_bytes(content)
    return parts.add_photo(store, part, picture, "case").photo


def source_of(where: str) -> Path:
    """The store with history and photos that lies beside the folders of the kills."""
    return Path(where).parent.parent / "source.db"


WORK = {"import": import_on, "backup": backup_on, "photo": photo_on}
"""What is struck, if it is not the writing of runs."""


def strike(
    where: str, kill: int, wait_s: float, blow: Callable[[int], None], work: Callable[[str, int, int], None]
) -> list[str]:
    """Let a child do some work, strike after `wait_s`; gives the lines that it told."""
    ear, told = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ear)
        try:
            work(where, kill, told)
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


def held_import(where: str, lines: list[str], seen: Seen) -> None:
    """What came in is as it was there; acknowledged is all, and the next import brings the rest."""
    seen.acknowledged += len(lines)
    with Store.open(str(source_of(where))) as source, Store.open(where) as store:
        there = {run: source.record(run).judged for run in runs_of(source)}
        here = runs_of(store)
        if lines and (set(here) != set(there) or photos_gone(store)):
            seen.lost.append(f"import: acknowledged, {len(here)} runs of {len(there)}, {photos_gone(store)}")
        seen.not_whole += [
            f"import: run {run} is not as it was" for run in here if store.record(run).judged != there[run]
        ]
        seen.not_whole += [f"import: {gone}" for gone in photos_gone(store)]
        files.import_from(store, str(source_of(where)))
        if set(runs_of(store)) != set(there) or photos_gone(store):
            seen.not_whole.append("import: the next import does not bring the rest")


def held_backup(where: str, lines: list[str], seen: Seen) -> None:
    """Every backup that is there is whole, and those that were acknowledged are there."""
    heads = dict(line.split() for line in lines)
    seen.acknowledged += len(heads)
    made = {one.stem.removeprefix("backup"): one for one in Path(where).parent.glob("backup*.db")}
    seen.lost += [f"backup {number}: acknowledged and not there" for number in heads.keys() - made.keys()]
    for number, file in made.items():
        with Store.open(str(file)) as copy:
            findings = [*copy.verify(heads.get(number, "")).findings, *photos_gone(copy)]
            seen.not_whole += [f"backup {number}: {one}" for one in findings]


def held_photo(where: str, lines: list[str], seen: Seen) -> None:
    """Every photo that an event names is there, and each that was acknowledged has its event."""
    seen.acknowledged += len(lines)
    with Store.open(where) as store:
        named = {event.photo for event in store.part_events()}
        seen.lost += [f"photo {name}: acknowledged and not named" for name in lines if name not in named]
        seen.not_whole += photos_gone(store)


HELD = {"import": held_import, "backup": held_backup, "photo": held_photo}


def runs_of(store: Store) -> list[str]:
    """The ids of all runs."""
    with store.engine.connect() as connection:
        return list(connection.execute(select(tables.run.c.id)).scalars())


def photos_gone(store: Store) -> list[str]:
    """Photos that events name and that are not there as they were."""
    gone = list[str]()
    for event in store.part_events():
        try:
            if event.photo:
                store.photo(event.photo)
        except StoreError as error:
            gone.append(str(error))
    return gone


def verified(where: str, seen: Seen) -> None:
    """Hold the store against its chain."""
    with Store.open(where) as store:
        seen.not_whole += [one for one in databases.altered(store) if "no event names it" not in one]


def campaign(seed: int, kills: Iterable[int], folder: Path) -> Seen:
    """Strike for each number in `kills`, which says what is struck; the moments come from the seed."""
    chance, seen = random.Random(seed), Seen()
    old, at_server = str(folder / "history.db"), databases.Server(folder / "server", durable=True)
    Store.open(old).close()
    server_store = at_server.database()
    with Store.open(str(source_of(str(folder / "kill" / "store.db")))) as source:
        fill(source)
        for number in range(SOURCE_PARTS):
            keep_part(source, f"S{number:05d}")
            keep_a_photo(source, f"S{number:05d}", folder, b"invented picture of source %d" % number)
    for kill in kills:
        kind = kind_of(kill)
        seen.kills[kind] = seen.kills.get(kind, 0) + 1
        wait_s = chance.uniform(0.0, WAIT_S[kind])
        where = {"client": server_store, "server": server_store, "writer": old}.get(kind) or new_file(
            kind, kill, folder
        )
        blow = (lambda child: at_server.crash()) if kind == "server" else kill_child
        with patch.object(version, "STEPS", (databases.add_shelves,) if kind == "grow" else ()):
            lines = strike(where, kill, wait_s, blow, WORK.get(kind, write_on))
            if kind == "server":
                at_server.start()
            HELD.get(kind, held)(where, lines, seen)
            if kind in ("new", "grow", "server", "import", "photo") or kill % VERIFY_EVERY == 0:
                verified(where, seen)
    for where in (old, server_store):
        verified(where, seen)
    at_server.stop()
    return seen


def kind_of(kill: int) -> str:
    """What the `kill`th strikes, counted from 1."""
    if kill % 50 == 0:
        return "server"
    return {1: "new", 2: "grow", 3: "client", 4: "import", 5: "backup", 6: "photo"}.get(kill % 10, "writer")


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
