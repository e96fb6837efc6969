"""Taking in what another store holds besides runs: parts never tested, calibrations, golden parts, crates, events,
later judgements. Rule: a row is taken whole, under the ids that its parts have here, or refused with its reason.
"""

from collections.abc import Mapping
from contextlib import suppress

from sqlalchemy import Connection, Table, select

from pulldrop.model.crate.crate import CrateEvent
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.part.part import Part
from pulldrop.store.database import chain, tables
from pulldrop.store.errors import PartRefused
from pulldrop.store.exchange import changes
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.origins import Checked, ImportResult, Origins
from pulldrop.store.records import bounds, judgements, part_events, read
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
        doubt = origins.doubts.about("part", row) or bounds.cells_refusal(row)
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
        if doubt := self._doubt(table, row, there):
            self.taken.refused.append(f"A row of {table.name} was not taken in. {doubt}")
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

    def _doubt(self, table: Table, row: chain.Values, there: chain.Values) -> str:
        unknown = [f"No part there is called '{id[:40]}'." for id in _parts_of(there) if id and id not in self.here]
        doubt = self._origins.doubts.about(table.name, there) or "".join(unknown[:1])
        doubt = doubt or bounds.row_refusal(self._theirs, table, row)
        record = (tables.crate, row["crate"]) if table is tables.crate_event else (table, _key(table, there))
        if not doubt and not self._origins.vouched(*record):
            doubt = changes.refusal(self.ours, table, row, self._before)
        return doubt or self._rests_on(table, row)

    def _rests_on(self, table: Table, row: chain.Values) -> str:
        """What it rests on and is not here, or is simulated where it is not."""
        ours, run, part = self.ours, tables.run.c, tables.part.c
        of_run = select(run.simulated).where(run.id == row.get("run"))
        measured = ours.execute(of_run).scalar()
        if row.get("run") is not None and measured is None:
            return f"Its run {row['run']} was not taken in."
        says = row.get("simulated")
        if table is tables.crate_event:
            says = self._crate_of_theirs(row["crate"])
            if says is None:
                return f"Its crate {row['crate']} was not taken in."
        elif table is tables.part_event:
            new = [one["simulated"] for of, one in self._bundle.rows if of is tables.part and one["id"] == row["part"]]
            known = ours.execute(select(part.simulated).where(part.id == row["part"])).scalars()
            measured = next(iter((*new, *known)), says)
        if measured is not None and says is not None and bool(measured) != bool(says):
            return "It mixes what was measured with what is simulated."
        return ""

    def _crate_of_theirs(self, name: str) -> bool | None:
        """Whether the crate of this name is simulated, here as there; None where it is another one, or not here."""
        own = tables.crate.c
        here = [row for table, row in self._bundle.rows if table is tables.crate and row["name"] == name]
        here = here or list(self.ours.execute(select(tables.crate).where(own.name == name)).mappings())
        there = list(self._theirs.execute(select(tables.crate).where(own.name == name)).mappings())
        return bool(here[0]["simulated"]) if here and there and dict(here[0]) == dict(there[0]) else None

    def _judged(self, row: chain.Values) -> Checked:
        record = read.record(self.ours, "", row["run"])
        return self._origins.check_judgement(record, judgements.one(self._theirs, row["id"]))

    def _note(self, table: Table, here: str, there: str, rules: str = "") -> None:
        self._arriving.note(self._bundle, table, here, rules, self._origins.vouched(table, there))


def _key(table: Table, row: chain.Values) -> str:
    """Of a record, as `arrival` has it."""
    return " ".join(str(row[name]) for name in chain.key_of(table))


def _event(row: chain.Values) -> PartEvent | CrateEvent | None:
    """What the text of an event says; None for a row of another kind, or of no sense."""
    with suppress(ValueError):
        if "body" in row:
            return (CrateEvent if "crate" in row else PartEvent).model_validate_json(row["body"])
    return None


def _parts_of(row: chain.Values) -> list[str]:
    """The ids of parts that a row names, in its text too."""
    event, named = _event(row), [row["part"]] if "part" in row else []
    if isinstance(event, PartEvent):
        named += [event.part, event.into]
    elif event is not None and event.placed is not None:
        named.append(event.placed.part)
    return named


def _as_here(table: Table, row: chain.Values, here: Mapping[str, str]) -> chain.Values:
    """A row with the ids that its parts have here, in its text too."""
    event, now = _event(row), dict[str, object]()
    if "part" in row:
        now["part"] = here.get(row["part"], row["part"])
    if isinstance(event, PartEvent):
        ids = dict(part=here.get(event.part, event.part), into=here.get(event.into, event.into))
        now["body"] = part_events.body_of(event.model_copy(update=ids))
    elif event is not None and event.placed is not None:
        placed = event.placed.model_copy(update={"part": here.get(event.placed.part, event.placed.part)})
        now["body"] = event.model_copy(update={"placed": placed}).model_dump_json()
    elif event is not None:
        now["body"] = event.model_dump_json()
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


def _take_documents(ours: Connection, theirs: Connection, bundle: chain.Bundle) -> None:
    """The texts that the rows point to."""
    wanted = {row["plan"][1:] for table, row in bundle.rows if table is tables.rejudged and row["plan"][:1] == MARK}
    own = tables.document.c
    wanted -= set(ours.execute(select(own.sha256).where(own.sha256.in_(wanted))).scalars())
    for row in theirs.execute(select(tables.document).where(own.sha256.in_(wanted))).mappings():
        bundle.add(tables.document, row)
