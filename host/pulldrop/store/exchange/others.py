"""Taking in what another store holds besides runs: parts never tested, calibrations, golden parts, crates, events,
later judgements. Rule: a row is taken whole, under the ids that its parts have here, or refused with its reason.
"""

import re
from collections.abc import Mapping

from sqlalchemy import Connection, Table, select

from pulldrop.model.part.event import PartEventKind
from pulldrop.model.part.part import Part
from pulldrop.store.database import chain, tables
from pulldrop.store.errors import PartRefused
from pulldrop.store.exchange import changes
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.origins import Checked, ImportResult, Origins
from pulldrop.store.records import bounds, judgements, read
from pulldrop.store.records.arrived import Arriving
from pulldrop.store.records.parts import PartsInTransaction, births_of, part_of
from pulldrop.store.records.texts import MARK
from pulldrop.store.sums import summary


def parts_there(theirs: Connection) -> dict[str, Part]:
    """The parts of another store by their ids there, each as it was described first. ValueError: one is none."""
    births, found = births_of(theirs), dict[str, Part]()
    for row in theirs.execute(select(tables.part).order_by("key")).mappings():
        found.setdefault(row["id"], part_of(row, births))
    return found


def import_other_rows(
    ours: Connection, theirs: Connection, arrivals: Arrivals, taken: ImportResult, origins: Origins
) -> None:
    """What a store holds besides runs: parts never tested, calibrations, golden parts, crates, events, judgements."""
    bundle = chain.Bundle()
    arriving = Arriving(ours, origins.source, origins.head)
    sums, here = _take_parts(ours, theirs, arrivals, arriving, bundle, taken, origins)
    into = _Others(ours, theirs, here, arriving, bundle, taken, origins, arrivals.before)
    for table in (tables.calibration, tables.golden):
        _take_counted(theirs, table, into)
    for table in (tables.crate, tables.crate_event, tables.part_event, tables.rejudged):
        _take_named(theirs, table, into)
    taken.other += sum(table is not tables.arrival for table, _ in bundle.rows)
    _take_documents(ours, theirs, bundle)
    if bundle.rows:
        chain.append(ours, [bundle])
        sums.put(ours)
        summary.join(ours)


def _take_parts(
    ours: Connection,
    theirs: Connection,
    arrivals: Arrivals,
    arriving: Arriving,
    bundle: chain.Bundle,
    taken: ImportResult,
    origins: Origins,
) -> tuple[summary.Sums, dict[str, str]]:
    """The sums of parts that are new, and by its id there the id here of every part."""
    known = set(ours.execute(select(tables.part.c.id)).scalars())
    parts, births, there = PartsInTransaction(ours), births_of(theirs), parts_there(theirs)
    parts.look_up(there)
    parts.born([birth for one in there.values() for birth in one.births])
    here = {id: arrivals.find(parts, one) for id, one in there.items()}
    sums = summary.load(ours, [id for id in here.values() if id not in known])
    for row in theirs.execute(select(tables.part).order_by("key")).mappings():
        one = part_of(row, births).model_copy(update={"id": here[row["id"]]})
        doubt = origins.doubts.about("part", row)
        vouched = origins.vouched(tables.part, _key(tables.part, row))
        try:
            if one.id not in known:
                if doubt:
                    raise PartRefused(doubt)
                described = parts.row(one, row["simulated"], bundle)
                sums.describe(described)
                arriving.note(bundle, tables.part, described["key"], vouched=vouched)
        except PartRefused as refusal:
            taken.refused.append(f"Part {row['id']} was not taken in. {refusal}")
            continue
        arrivals.note(parts, there[row["id"]], row["simulated"], bundle, vouched)
    return sums, here


class _Others:
    """Where rows besides runs go: `here` are the ids that parts there have here, `before` those that were here."""

    def __init__(
        self,
        ours: Connection,
        theirs: Connection,
        here: Mapping[str, str],
        arriving: Arriving,
        bundle: chain.Bundle,
        taken: ImportResult,
        origins: Origins,
        before: frozenset[str],
    ) -> None:
        self.ours, self.here, self._bundle, self.taken, self._origins = ours, here, bundle, taken, origins
        self._theirs, self._before = theirs, before
        self._arriving = arriving
        self._crates: set[str] = set()

    def add(self, table: Table, row: chain.Values, there: chain.Values) -> bool:
        """Add a row, with a note that it came from outside, unless it does not hold or its run is not here."""
        named = [there["part"]] if "part" in there else []
        named += [id for _, id in ID_IN_BODY.findall(there.get("body", ""))]
        unknown = [f"No part there is called '{id[:40]}'." for id in named if id and id not in self.here]
        doubt = self._origins.doubts.about(table.name, there) or "".join(unknown[:1])
        doubt = doubt or bounds.row_refusal(self._theirs, table, row)
        if not doubt and table is tables.part_event and not self._origins.vouched(table, _key(table, there)):
            doubt = changes.refusal(self.ours, row, self._before)
        if doubt:
            self.taken.refused.append(f"A row of {table.name} was not taken in. {doubt}")
            return False
        if not _run_is_here(self.ours, table, row, self.taken):
            return False
        if table is tables.crate_event and not self._crate_is_here(row["crate"]):
            self.taken.refused.append(
                f"A row of crate_event was not taken in, because its crate {row['crate']} was not."
            )
            return False
        checked = self._judged(row) if table is tables.rejudged else Checked()
        if checked.refused:
            self.taken.refused.append(f"The judgement {row['id']} was not taken in. {checked.refused}")
            return False
        self._bundle.add(table, row)
        if table in (tables.crate, tables.crate_event):
            crate = row["name" if table is tables.crate else "crate"]
            if crate not in self._crates:
                self._note(tables.crate, crate, crate)
            self._crates.add(crate)
        else:
            self._note(table, _key(table, row), _key(table, there), checked.rules)
        return True

    def _crate_is_here(self, name: str) -> bool:
        own = tables.crate.c.name
        return name in self._crates or self.ours.execute(select(own).where(own == name)).first() is not None

    def _judged(self, row: chain.Values) -> Checked:
        record = read.record(self.ours, "", row["run"])
        return self._origins.check_judgement(record, judgements.one(self._theirs, row["id"]))

    def _note(self, table: Table, here: str, there: str, rules: str = "") -> None:
        self._arriving.note(self._bundle, table, here, rules, self._origins.vouched(table, there))


def _key(table: Table, row: chain.Values) -> str:
    """Of a record, as `arrival` has it."""
    return " ".join(str(row[name]) for name in chain.key_of(table))


ID_IN_BODY = re.compile(r'"(part|into)":"([^"]*)"')
"""Where a text in JSON names a part."""


def _as_here(table: Table, row: chain.Values, here: Mapping[str, str]) -> chain.Values:
    """A row with the ids that its parts have here, in its text too, where no quoted text can look like that."""
    now: dict[str, object] = {}
    if "part" in row:
        now["part"] = here.get(row["part"], row["part"])
    if "body" in row:
        now["body"] = ID_IN_BODY.sub(lambda found: f'"{found[1]}":"{here.get(found[2], found[2])}"', row["body"])
    return {**row, **now}


def _take_counted(theirs: Connection, table: Table, into: _Others) -> None:
    """Rows whose key is only a count: the same content is the same row."""
    kept = {_content(row) for row in into.ours.execute(select(table)).mappings()}
    key = chain.next_key(into.ours, table)
    for other in theirs.execute(select(table).order_by("key")).mappings():
        row = _as_here(table, other, into.here)
        if _content(row) not in kept:
            key += into.add(table, {**row, "key": key}, other)


def _content(row: chain.Values) -> tuple[object, ...]:
    return tuple(value for name, value in row.items() if name != "key")


def _take_named(theirs: Connection, table: Table, into: _Others) -> None:
    """Rows with a name of their own: what has this name here must be the same."""
    names = chain.key_of(table)
    known = {tuple(row[n] for n in names): row for row in into.ours.execute(select(table)).mappings()}
    for other in theirs.execute(select(table).order_by(*names)).mappings():
        row = _as_here(table, other, into.here)
        kept = known.get(tuple(row[n] for n in names))
        if kept is not None and dict(kept) != dict(row):
            told = " ".join(str(row[n]) for n in names)
            into.taken.refused.append(f"{table.name} {told} is here already and not the same; it stays as it is.")
        elif kept is None and not _says_nothing(table, row):
            into.add(table, row, other)


def _says_nothing(table: Table, row: chain.Values) -> bool:
    """Whether an event names another id of a part that is its id here."""
    named = table is tables.part_event and row["kind"] == PartEventKind.NAMED
    return bool(named) and f'"name":"{row["part"]}"' in row["body"]


def _run_is_here(ours: Connection, table: Table, row: chain.Values, taken: ImportResult) -> bool:
    """Whether the run that a row points to was taken in; a row may point to none."""
    run = row.get("run")
    if run is None or ours.execute(select(tables.run.c.id).where(tables.run.c.id == run)).first():
        return True
    taken.refused.append(f"A row of {table.name} was not taken in, because its run {run} was not.")
    return False


def _take_documents(ours: Connection, theirs: Connection, bundle: chain.Bundle) -> None:
    """The texts that the rows point to."""
    wanted = {row["plan"][1:] for table, row in bundle.rows if table is tables.rejudged and row["plan"][:1] == MARK}
    own = tables.document.c
    wanted -= set(ours.execute(select(own.sha256).where(own.sha256.in_(wanted))).scalars())
    for row in theirs.execute(select(tables.document).where(own.sha256.in_(wanted))).mappings():
        bundle.add(tables.document, row)
