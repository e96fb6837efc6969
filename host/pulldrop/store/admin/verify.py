"""Whether the store is what was written: every entry of the chain against the rows it names, cell by cell.

Found: a row or entry that was altered, removed, put in from outside, or moved in the order; each is named, whatever
the others hold. Found too: tables, triggers and indices that are not this version's, photos, working sums. Not found
without help: the newest entries removed together with their rows, or everything from some entry on rewritten with
all its hashes. For that there is the head, noted elsewhere: by the store itself (see heads.py), or by a person.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, RowMapping, Table
from sqlalchemy.exc import DBAPIError

from pulldrop.model.part.event import PartEvent
from pulldrop.store.admin import schema
from pulldrop.store.database import chain, tables
from pulldrop.store.database.chain import CHECK_DIGITS, MOST, SAME_RUN, Head
from pulldrop.store.database.heads import against
from pulldrop.store.records.part_events import PHOTO_BYTES, photos_in, sha256_of
from pulldrop.store.sums import summary
from pulldrop.whole import HALF

AT_ONCE = 500

NAMES: dict[str, Table] = {table.name: table for table in tables.RECORDS if table is not tables.link}

Progress = Callable[[int, int], None]
Key = tuple[str, ...]
"""Table and key of a row, all as text."""
Found = tuple[str, Key]
"""A finding: the sentence, and the row that it is about; no row for one about the store as a whole."""


@dataclass(frozen=True, slots=True)
class Verified:
    """What was looked at, the head to note, and what was found, a sentence each; empty when all is well.

    `where`: for each finding the table and the key of its row; empty for one about the store as a whole.
    `noted_in`: the file in which the store's head was noted by itself; empty where it was not.
    """

    head: str
    entries: int
    rows: int
    findings: tuple[str, ...]
    where: tuple[Key, ...] = ()
    noted_in: str = ""


@dataclass(slots=True)
class _State:
    before: Head = field(default_factory=lambda: Head(0, chain.START))
    known_before: bool = True
    named: dict[str, set[int]] = field(default_factory=lambda: {name: set() for name in NAMES})
    """Hashes of the keys of rows that are there: a row that two entries name is one row."""


def verify(
    connection: Connection,
    noted: Sequence[str] = (),
    progress: Progress = lambda done, total: None,
    photos: Path | None = None,
) -> Verified:
    """Look at everything. `noted`: heads from before, such as "1042:7f3a91c2d4e5f607"; `photos`: their folder."""
    state = _State()
    found: list[Found] = [(said, ()) for said in schema.differences(connection)]
    found += _of_the_chain(connection, state, progress)
    if not found:
        found += _unreadable_events(connection)
    if not found:  # they follow from the records, and can be compared with nothing else
        found += _of_sums(connection)
    found += [(said, ()) for said in _of_the_file(connection)]
    found += _of_photos(connection, photos)
    for head in noted:
        found += [(said, ()) for said in against(connection, head)]
    sentences, where = tuple(said for said, _ in found), tuple(key for _, key in found)
    return Verified(str(state.before), state.before.seq, sum(map(len, state.named.values())), sentences, where)


def _unreadable_events(connection: Connection) -> Iterator[Found]:
    """Events that no program of ours can have written, though an entry names them so: all else rests on them."""
    for row in _rows_there(connection, "part_event"):
        try:
            PartEvent.model_validate_json(row["body"])
        except ValueError as error:
            key = ("part_event", str(row["id"]))
            yield f"{_tell(key)} cannot be read back ({str(error).splitlines()[0]:.200}).", key


def _of_sums(connection: Connection) -> list[Found]:
    try:
        return [(_sums_differ(part), ("part_now", part)) for part in summary.differences(connection)]
    except (ValueError, KeyError, TypeError, ArithmeticError, RecursionError) as error:
        return [(f"What it keeps of parts and runs cannot be read back ({str(error).splitlines()[0]:.200}).", ())]


def _of_the_file(connection: Connection) -> Iterator[str]:
    if connection.dialect.name == "sqlite":
        for (said,) in connection.exec_driver_sql("PRAGMA integrity_check"):
            if said != "ok":
                yield f"SQLite finds the file damaged: {said}."


def _of_the_chain(connection: Connection, state: _State, progress: Progress) -> list[Found]:
    found: list[Found] = []
    last = _rows_there(connection, "link", '"seq" = (SELECT max("seq") FROM "link")')
    for links in _links(connection):
        found += _check_links(connection, links, state)
        progress(state.before.seq, last[0]["seq"])
    return [*found, *_strangers(connection, state)]


def _links(connection: Connection) -> Iterator[Sequence[RowMapping]]:
    """In the order of their numbers; one whose number is none ends it, and is in the last batch."""
    after = -MOST
    while True:
        links = _rows_there(connection, "link", f'"seq" > ? ORDER BY "seq" LIMIT {AT_ONCE}', (after,))
        if links:
            yield links
        if len(links) < AT_ONCE or not isinstance(links[-1]["seq"], int):
            return
        after = links[-1]["seq"]


def _check_links(connection: Connection, links: Sequence[RowMapping], state: _State) -> list[Found]:
    named = [_named(link) for link in links]
    rows = _fetch(connection, [key for keys in named for key, _ in keys or ()])
    found: list[Found] = []
    for link, keys in zip(links, named, strict=True):
        if not isinstance(link["seq"], int):
            found.append((f"The entry numbered {link['seq']!r:.40} was put in from outside.", ("link", "")))
            continue
        found += _gap(link, state)
        if keys is None:
            said = f"Entry {link['seq']} was altered: its list of rows cannot be read."
            found.append((said, ("link", str(link["seq"]))))
        else:
            found += _check_link(link, keys, rows, state)
        state.before, state.known_before = Head(link["seq"], str(link["hash"])), True
    return found


def _named(link: RowMapping) -> list[tuple[Key, str]] | None:
    """Keys of an entry's rows, each with the first digits of its digest."""
    try:
        listed = json.loads(link["rows"])
        return [((name, *_key(name, key, link["run"])), str(digits)) for name, *key, digits in listed]
    except (ValueError, TypeError, KeyError, RecursionError):
        return None


def _key(name: str, key: Sequence[Any], run: str | None) -> Key:
    columns = NAMES[name].primary_key.columns
    return tuple(
        str(run) if column.name == "run" and value == SAME_RUN else _plain(column.type.python_type, value)
        for column, value in zip(columns, key, strict=True)
    )


def _plain(kind: type, value: Any) -> str:
    """A part of a key as text. Raises ValueError for what no key of this kind is in either database."""
    if kind is str and isinstance(value, str) and 0 not in value.encode():
        return value
    if kind is int and type(value) is int and abs(value) <= MOST:
        return str(value)
    raise ValueError("not a key")


def _fetch(connection: Connection, keys: Sequence[Key]) -> dict[Key, RowMapping]:
    """The rows of these keys, and those beside them that share the first column of the key."""
    rows: dict[Key, RowMapping] = {}
    for name, table in NAMES.items():
        first = next(iter(table.primary_key.columns))
        wanted = sorted({first.type.python_type(key[1]) for key in keys if key[0] == name})
        for start in range(0, len(wanted), AT_ONCE):
            some = wanted[start : start + AT_ONCE]
            marks = ", ".join("?" for _ in some)
            for row in _rows_there(connection, name, f'"{first.name}" IN ({marks})', some):
                rows[name, *(str(row.get(c)) for c in chain.key_of(table))] = row
    return rows


def _rows_there(connection: Connection, name: str, where: str = "", values: Sequence[Any] = ()) -> Sequence[RowMapping]:
    """None of a table that is gone or of another make: each of its rows is then missing, and the table is named too."""
    try:
        with connection.begin_nested():
            return chain.raw_rows(connection, name, where, values)
    except DBAPIError:
        return []


def _gap(link: RowMapping, state: _State) -> Iterator[Found]:
    expected, seq = state.before.seq + 1, link["seq"]
    if seq == expected:
        return
    state.known_before = False
    if seq < expected:
        yield f"Entry {seq} was put in from outside: entries are numbered from 1.", ("link", str(seq))
        return
    missing = f"Entry {expected} is" if seq == expected + 1 else f"Entries {expected} to {seq - 1} are"
    yield f"{missing} missing.", ("link", str(seq))  # what stands behind a gap follows from nothing


def _check_link(
    link: RowMapping, keys: list[tuple[Key, str]], rows: dict[Key, RowMapping], state: _State
) -> list[Found]:
    found: list[Found] = []
    digests = []
    for key, digits in keys:
        if key in rows:
            state.named[key[0]].add(hash(key))
        else:
            found.append((f"{_tell(key)} is missing; entry {link['seq']} wrote it.", key))
            continue
        digest = chain.digest(rows[key])
        digests.append(digest)
        if digest[:CHECK_DIGITS] != digits:
            found.append((f"{_tell(key)} was altered; entry {link['seq']} wrote it otherwise.", key))
    if found or not state.known_before:
        return found
    if chain.link_hash(state.before, link["at"], link["run"], link["rows"], digests) != link["hash"]:
        said = f"Entry {link['seq']} was altered or moved: it does not follow from entry {state.before.seq}."
        found.append((said, ("link", str(link["seq"]))))
    return found


def _strangers(connection: Connection, state: _State) -> Iterator[Found]:
    """Rows that no entry names. Looked for one by one only where there are more rows than names."""
    for name in NAMES:
        rows = _rows_there(connection, name, f'(SELECT count(*) FROM "{name}") > ?', (len(state.named[name]),))
        if not rows:
            continue
        named = {key for links in _links(connection) for link in links for key, _ in _named(link) or ()}
        seen: set[Key] = set()
        for row in rows:
            key = (name, *(str(row.get(c)) for c in chain.key_of(NAMES[name])))
            if key not in named:
                yield f"{_tell(key)} was put in from outside: no entry wrote it.", key
            elif key in seen:
                yield f"{_tell(key)} is there twice; one was put in from outside.", key
            seen.add(key)


def rows_of_entries(connection: Connection, wanted: Callable[[int], bool]) -> set[Key]:
    """Keys of the rows that the entries with the wanted numbers name."""
    return {
        key
        for links in _links(connection)
        for link in links
        if isinstance(link["seq"], int) and wanted(link["seq"])
        for key, _ in _named(link) or ()
    }


def _of_photos(connection: Connection, folder: Path | None) -> Iterator[Found]:
    """Each photo that an event names, by its hash; none where no folder can be known."""
    if folder is None:
        return
    named = photos_in(row["body"] for row in _rows_there(connection, "part_event"))
    if not folder.is_dir():
        if named:
            yield f"The folder {folder} is gone, and with it the photos that events name: {len(named)}.", ("photo", "")
        return
    for name in sorted(named):
        file = folder / Path(name).name
        if file.is_symlink() or not file.is_file():
            yield f"The photo {name} is missing in {folder}.", ("photo", name)
        elif file.stat().st_size > PHOTO_BYTES or sha256_of(file) != file.stem:
            yield f"The photo {name} in {folder} was altered.", ("photo", name)
    for file in sorted(folder.iterdir()):
        if file.name not in named and file.suffix != HALF:
            says = "no event names it: a program that was killed left it, or it was put in. It may be deleted"
            yield f"{file.name} in {folder}: {says}.", ("photo", file.name)


def _tell(key: Key) -> str:
    name, *values = key
    if chain.key_of(NAMES[name])[0] == "run":
        rest = " ".join(values[1:])
        return f"{name} {rest} of run {values[0]}" if rest else f"{name} of run {values[0]}"
    return f"{name} {' '.join(values)}"


def _sums_differ(part: str) -> str:
    what = "hold rows of no part" if part == "?" else f"of part {part} are not what its runs give"
    return f"The working sums {what}; no record is touched. Rebuild them with: pulldrop store verify --remake."
