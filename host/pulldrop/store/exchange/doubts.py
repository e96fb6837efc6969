"""What of another store is not taken in, because it does not hold against that store's own chain; and what of it a
head vouches for. Rule: one row that does not hold takes its whole run with it; a finding about the store as a whole,
such as a missing end or a trigger of somebody else's, takes everything.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, select

from pulldrop.store.admin.verify import NAMES, Key, Verified, rows_of_entries
from pulldrop.store.database import chain, tables
from pulldrop.store.database.chain import Values
from pulldrop.store.records.read import SHARED_TEXTS
from pulldrop.store.records.texts import MARK

NO_RECORDS = ("part_now", "photo")
"""Findings about these touch no record."""


@dataclass(frozen=True, slots=True)
class Doubts:
    """`whole`: sentences that condemn the source; `runs`: by id the sentence that condemns a run; `rows` by their key.

    `unvouched`: records, by table and key as in `arrival`, that a noted head does not vouch for: an entry after it
    names one of their rows, or they came there from outside without a head of their own.
    """

    whole: tuple[str, ...]
    runs: dict[str, str]
    rows: dict[Key, str]
    unvouched: frozenset[tuple[str, str]] = frozenset()

    def about(self, table: str, row: Values) -> str:
        """What condemns this row, empty for nothing."""
        return self.rows.get((table, *(str(row[name]) for name in chain.key_of(NAMES[table]))), "")

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of it, each once."""
        return tuple(dict.fromkeys((*self.whole, *self.runs.values(), *self.rows.values())))


NOTHING = Doubts((), {}, {})


def of_source(theirs: Connection, found: Verified, noted: str) -> Doubts:
    """From what verifying a source found; `noted`: the head that it was held to, empty without one."""
    told = [(said, key) for said, key in zip(found.findings, found.where, strict=True) if key[:1] not in _NONE]
    rows: dict[Key, str] = {}
    for said, key in told:
        numbered = key[0] == "link" and key[1].isdecimal() if key else False
        for one in rows_of_entries(theirs, int(key[1]).__eq__) if numbered else ():
            rows.setdefault(one, said)
        if key:
            rows[key] = said
    whole = tuple(said for said, key in told if not key or key[0] == "birth")
    return Doubts(whole, _runs(theirs, rows), rows, _unvouched(theirs, noted))


_NONE = tuple((name,) for name in NO_RECORDS)


def _unvouched(theirs: Connection, noted: str) -> frozenset[tuple[str, str]]:
    """An arrival that was written after the head counts for nothing: it would vouch for what came before."""
    seq = noted.strip().partition(":")[0]
    if not seq.isdecimal():
        return frozenset()
    later = rows_of_entries(theirs, lambda entry: entry > int(seq))
    came = {
        (row["kind"], row["of"]): row["head"]
        for row in theirs.execute(select(tables.arrival).order_by("key")).mappings()
        if ("arrival", str(row["key"])) not in later
    }
    return frozenset({*map(_record, later), *(of for of, head in came.items() if not head)})


def _record(key: Key) -> tuple[str, str]:
    """Table and key of the record that a row is of."""
    first = chain.key_of(NAMES[key[0]])[0]
    return (first, key[1]) if first in ("run", "crate") else (key[0], " ".join(key[1:]))


def _runs(theirs: Connection, rows: dict[Key, str]) -> dict[str, str]:
    """Runs that rows belong to, or that rest on them: on the description of a part, or on a text that runs share."""
    found: dict[str, str] = {}
    for key, said in rows.items():
        if key[0] == "run" or (key[0] in NAMES and chain.key_of(NAMES[key[0]])[0] == "run"):
            found.setdefault(key[1], said)
    if any(key[0] in ("part", "document") for key in rows):
        for run in chain.raw_rows(theirs, "run"):
            rests_on = (("part", str(run["part"])), *(("document", text) for text in _texts(run)))
            for said in filter(None, map(rows.get, rests_on)):
                found.setdefault(str(run["id"]), said)
    return found


def _texts(run: Values) -> Iterable[str]:
    return (str(run[name])[1:] for name in SHARED_TEXTS if str(run[name]).startswith(MARK))
