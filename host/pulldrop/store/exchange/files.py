"""Import of records and of whole stores. Rule: a source is never changed."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import select

from pulldrop.model.part.part import Part
from pulldrop.model.run.record import RunRecord
from pulldrop.store.admin.verify import verify
from pulldrop.store.database import heads, tables
from pulldrop.store.database.place import locate, writing
from pulldrop.store.errors import Damaged, explained
from pulldrop.store.exchange import merge, others
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.copies import bring_photos, drop_photos, is_sqlite, opened_source, photos_beside, photos_of
from pulldrop.store.exchange.doubts import of_source
from pulldrop.store.exchange.origins import Check, Checked, CheckJudgement, ImportResult, Origins
from pulldrop.store.exchange.records_file import FileRefused, records
from pulldrop.store.store import Store


@dataclass(frozen=True, slots=True)
class Asked:
    """How to import. `same`: ids that mean one part here and there by a person's word, see `Arrivals`.

    check: judges each record that is new here again, check_judgement each later judgement of a run; head: of the
    source's chain, noted by a person; all_or_nothing: refuse the source as a whole when anything in it does not hold.
    """

    same: Sequence[str] = ()
    check: Check = lambda record: Checked()
    check_judgement: CheckJudgement = lambda record, judgement: Checked()
    head: str = ""
    all_or_nothing: bool = False


def import_from(store: Store, source: str, asked: Asked = Asked()) -> ImportResult:
    """Import a rescue file, records as `--json` gives them, or another store (a file or a URL).

    A store is held against its own chain first. Whatever is taken in is kept as from outside. Raises FileRefused.
    """
    taken = ImportResult()
    if "://" not in source and not is_sqlite(Path(source)):
        if asked.head:
            raise FileRefused(f"The file {source} is no store, so it has no head that could vouch for it.")
        arrivals, of_runs, refused = Arrivals(Path(source).name, asked.same), list[tuple[str, Part]](), list[str]()
        for one in records(Path(source)):  # to the end, before any is taken
            of_runs.append((one.run, one.part))
            if asked.all_or_nothing and (why := asked.check(one).refused):
                refused.append(why)
        if refused:
            raise _not_whole(source, refused)
        origins = Origins(f"{Path(source).name}, a record in a file", asked.check)
        with explained(store.name):
            with store.engine.connect() as ours:
                arrivals.meet(ours, of_runs, ())
            merge.import_runs(store.engine, store.name, records(Path(source)), arrivals, taken, origins)
    else:
        with opened_source(source) as other:
            place = locate(source)
            name = place.file.name if place.file else place.name
            arrivals = Arrivals(name, asked.same)
            with explained(other.name), other.engine.connect() as theirs:
                found = verify(theirs, [asked.head] if asked.head else [])
                doubts = of_source(theirs, found, asked.head)
            if doubts.whole or (asked.all_or_nothing and doubts.sentences):
                raise _not_whole(place.name, doubts.sentences)
            origins = Origins(f"{name}, a store", asked.check, asked.check_judgement, asked.head, doubts)
            photos, had = photos_of(other), photos_beside(store.place)
            bring_photos(place, store.place, photos)  # first, so that no event that is here lacks its photo
            try:
                _take_store(store, other, arrivals, taken, origins)
            finally:
                drop_photos(store.place, photos & photos_beside(store.place) - had - photos_of(store))
            lost = bring_photos(place, store.place, photos & photos_of(store))
            taken.refused += [f"{said} Its event is here without it." for said in lost]
    heads.follow(store.engine, store.place)
    taken.renamed += arrivals.told
    return taken


def _not_whole(source: str, said: Sequence[str]) -> FileRefused:
    more = f" There are {len(said) - 1} more findings." if len(said) > 1 else ""
    return FileRefused(
        f"{source} is not what was written: {said[0]}{more} Nothing was taken in. Look at it with: pulldrop store "
        "verify --store FILE"
    )


def _take_store(store: Store, other: Store, arrivals: Arrivals, taken: ImportResult, origins: Origins) -> None:
    run, part, event = tables.run.c, tables.part.c, tables.part_event.c
    query = select(run.id, part.id).join(tables.part, run.part == part.key).order_by(run.started, run.id)
    with explained(other.name), other.engine.connect() as theirs:
        try:
            there = others.parts_there(theirs)
        except (ValueError, KeyError, TypeError) as error:
            raise _not_whole(other.name, [f"a part in it cannot be read ({str(error).splitlines()[0]})."]) from None
        runs = [(id, there[of]) for id, of in theirs.execute(query)]
        events = [(id, there[of]) for id, of in theirs.execute(select(event.id, event.part)) if of in there]
        births = theirs.execute(select(tables.birth.c.birth)).scalars()
        arrivals.distrusted = frozenset(one for one in births if origins.distrusts(tables.birth, one))
    seen = ((tables.run, runs), (tables.part_event, events))
    with explained(store.name):
        with store.engine.connect() as ours:
            known_by = ([one for one in some if not origins.distrusts(of, one[0])] for of, some in seen)
            arrivals.meet(ours, *known_by)
        bad = origins.doubts.runs
        taken.refused += [f"Run {id} was not taken in. {said}" for id, said in bad.items()]
        sound = _readable(other, [id for id, _ in runs if id not in bad], taken)
        merge.import_runs(store.engine, store.name, sound, arrivals, taken, origins)
        with other.engine.connect() as theirs, writing(store.engine).begin() as ours:
            others.import_other_rows(ours, theirs, arrivals, taken, origins)


def _readable(other: Store, runs: Iterable[str], taken: ImportResult) -> Iterator[RunRecord]:
    """One that cannot be read back is refused alone, although its chain holds."""
    for id in runs:
        try:
            yield other.record(id)
        except Damaged as damaged:
            taken.refused.append(f"Run {id} was not taken in. It cannot be read back ({damaged.reason}).")
