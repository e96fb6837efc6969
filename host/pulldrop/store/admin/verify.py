"""Whether the store is what was written: every entry of the chain against the rows it names.

Found: a row or entry that was altered, removed, put in from outside, or moved in the order; each is named. Not found
without help: the newest entries removed together with their rows, or everything from some entry on rewritten with
all its hashes. For that, note the head (it is printed here) where the store's keeper cannot change it, and give it
back later.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Row, RowMapping, Table, func, select

from pulldrop.store.database import chain, tables
from pulldrop.store.database.chain import CHECK_DIGITS, SAME_RUN, Head
from pulldrop.store.sums import summary

LINKS_AT_ONCE = 500
NOTED_LEAST = 8
"""Digits of a hash that a noted head must have."""

NAMES: dict[str, Table] = {table.name: table for table in tables.RECORDS if table is not tables.link}

Progress = Callable[[int, int], None]
Key = tuple[str, ...]
"""Table and key of a row, all as text."""


@dataclass(frozen=True, slots=True)
class Verified:
    """What was looked at, the head to note, and what was found, a sentence each; empty when all is well."""

    head: str
    entries: int
    rows: int
    findings: tuple[str, ...]


@dataclass(slots=True)
class _State:
    before: Head = field(default_factory=lambda: Head(0, chain.START))
    known_before: bool = True
    named: dict[str, int] = field(default_factory=lambda: dict.fromkeys(NAMES, 0))


def verify(connection: Connection, noted: str = "", progress: Progress = lambda done, total: None) -> Verified:
    """Look at everything. `noted`: a head from before, such as "1042:7f3a91c2d4e5f607"."""
    state = _State()
    total = chain.head(connection).seq
    findings = list(_of_the_file(connection))
    for links in _links(connection):
        findings += _check_links(connection, links, state)
        progress(state.before.seq, total)
    findings += _strangers(connection, state)
    findings += _of_the_head(connection, noted)
    findings += [_sums_differ(part) for part in summary.differences(connection)]
    return Verified(str(state.before), state.before.seq, sum(state.named.values()), tuple(findings))


def _of_the_file(connection: Connection) -> Iterator[str]:
    if connection.dialect.name == "sqlite":
        for (said,) in connection.exec_driver_sql("PRAGMA quick_check"):
            if said != "ok":
                yield f"SQLite finds the file damaged: {said}."


def _links(connection: Connection) -> Iterator[Sequence[Row[Any]]]:
    own, after = tables.link.c, None
    while True:
        query = select(tables.link).order_by(own.seq).limit(LINKS_AT_ONCE)
        links = connection.execute(query if after is None else query.where(own.seq > after)).all()
        if not links:
            return
        yield links
        after = links[-1].seq


def _check_links(connection: Connection, links: Sequence[Row[Any]], state: _State) -> list[str]:
    named = {link.seq: _named(link) for link in links}
    rows = _fetch(connection, [key for keys in named.values() for key, _ in keys or ()])
    findings: list[str] = []
    for link in links:
        findings += _gap(link, state)
        keys = named[link.seq]
        if keys is None:
            findings.append(f"Entry {link.seq} was altered: its list of rows cannot be read.")
        else:
            findings += _check_link(link, keys, rows, state)
        state.before, state.known_before = Head(link.seq, link.hash), True
    return findings


def _named(link: Row[Any]) -> list[tuple[Key, str]] | None:
    """Keys of an entry's rows, each with the first digits of its digest."""
    try:
        listed = json.loads(link.rows)
        return [((name, *_key(name, key, link.run)), digits) for name, *key, digits in listed]
    except (ValueError, TypeError, KeyError):
        return None


def _key(name: str, key: Sequence[Any], run: str | None) -> Key:
    columns = chain.key_of(NAMES[name])
    return tuple(
        str(run) if column == "run" and value == SAME_RUN else str(value)
        for column, value in zip(columns, key, strict=True)
    )


def _fetch(connection: Connection, keys: Sequence[Key]) -> dict[Key, RowMapping]:
    """The rows of these keys, and those beside them that share the first column of the key."""
    rows: dict[Key, RowMapping] = {}
    for name, table in NAMES.items():
        first = next(iter(table.primary_key.columns))
        wanted = sorted({first.type.python_type(key[1]) for key in keys if key[0] == name})
        for start in range(0, len(wanted), LINKS_AT_ONCE):
            some = wanted[start : start + LINKS_AT_ONCE]
            for row in connection.execute(select(table).where(first.in_(some))).mappings():
                rows[name, *(str(row[c]) for c in chain.key_of(table))] = row
    return rows


def _gap(link: Row[Any], state: _State) -> Iterator[str]:
    expected = state.before.seq + 1
    if link.seq == expected:
        return
    state.known_before = False
    missing = f"Entry {expected} is" if link.seq == expected + 1 else f"Entries {expected} to {link.seq - 1} are"
    yield f"{missing} missing."


def _check_link(link: Row[Any], keys: list[tuple[Key, str]], rows: dict[Key, RowMapping], state: _State) -> list[str]:
    findings, digests = [], []
    for key, digits in keys:
        state.named[key[0]] += key in rows
        if key not in rows:
            findings.append(f"{_tell(key)} is missing; entry {link.seq} wrote it.")
            continue
        digest = chain.digest(NAMES[key[0]], rows[key])
        digests.append(digest)
        if digest[:CHECK_DIGITS] != digits:
            findings.append(f"{_tell(key)} was altered; entry {link.seq} wrote it otherwise.")
    if findings or not state.known_before:
        return findings
    if chain.link_hash(state.before, link.at, link.run, link.rows, digests) != link.hash:
        findings.append(f"Entry {link.seq} was altered or moved: it does not follow from entry {state.before.seq}.")
    return findings


def _strangers(connection: Connection, state: _State) -> Iterator[str]:
    """Rows that no entry names. Looked for one by one only where there are more rows than names."""
    for name, table in NAMES.items():
        if connection.execute(select(func.count()).select_from(table)).scalar_one() <= state.named[name]:
            continue
        named = {key for links in _links(connection) for link in links for key, _ in _named(link) or ()}
        for row in connection.execute(select(*table.primary_key.columns)):
            key = (name, *map(str, row))
            if key not in named:
                yield f"{_tell(key)} was put in from outside: no entry wrote it."


def _of_the_head(connection: Connection, noted: str) -> Iterator[str]:
    if not noted:
        return
    seq, _, digits = noted.strip().lower().partition(":")
    if not seq.isdecimal() or len(digits) < NOTED_LEAST:
        yield f"The noted head '{noted}' cannot be read; expected one such as 1042:7f3a91c2d4e5f607."
        return
    own = tables.link.c
    kept = connection.execute(select(own.hash).where(own.seq == int(seq))).scalar()
    if kept is None:
        yield f"The store ends before entry {seq}, which was its head once: the newest entries were removed."
    elif not kept.startswith(digits):
        yield f"Entry {seq} is not the one that was noted: the chain was rewritten since then."


def _tell(key: Key) -> str:
    name, *values = key
    if chain.key_of(NAMES[name])[0] == "run":
        rest = " ".join(values[1:])
        return f"{name} {rest} of run {values[0]}" if rest else f"{name} of run {values[0]}"
    return f"{name} {' '.join(values)}"


def _sums_differ(part: str) -> str:
    what = "hold rows of no part" if part == "?" else f"of part {part} are not what its runs give"
    return f"The working sums {what}; no record is touched. Rebuild them with: pulldrop store verify --remake."
