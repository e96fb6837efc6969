"""What happened to parts, in the store. Rule: an event is a row of its own and never changed, and it has a part.

Photos are not in the tables: they lie in a folder beside the store, each under the hash of its content.
"""

import hashlib
import json
import re
import secrets
from collections.abc import Iterable, Mapping, Set
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, select

from pulldrop.model.origin import origin_of
from pulldrop.model.part.event import PartEvent, PartEventKind, standing
from pulldrop.store.database import chain, tables
from pulldrop.store.database.connected import Connected
from pulldrop.store.database.place import photo_folder
from pulldrop.store.database.stamps import stamp
from pulldrop.store.errors import AT, NotKept, PartRefused, StoreTrouble
from pulldrop.store.records.arrived import arrived
from pulldrop.store.sums import joined, summary
from pulldrop.whole import whole


class PartEvents(Connected):
    """What happened to parts, and their photos."""

    def part_event(self, event: PartEvent) -> PartEvent:
        """Keep what happened to a part, and give it with its id. Raises NotKept."""
        with self.writing() as connection:
            return append(connection, self.name, event, datetime.now(UTC))

    def part_events(self, part_id: str | None = None) -> tuple[PartEvent, ...]:
        """What happened to one part, or to all, in the order in which it happened; without what was withdrawn."""
        with self.reading("what happened to parts") as connection:
            return of(connection, None if part_id is None else {part_id})

    def events_ever(self, part_id: str) -> tuple[PartEvent, ...]:
        """Every event of one part, withdrawn ones and the withdrawals too."""
        with self.reading("what happened to parts") as connection:
            return ever(connection, {part_id})

    def events_of(self, part_ids: Set[str]) -> tuple[PartEvent, ...]:
        """What happened to these parts, in the order in which it happened."""
        with self.reading("what happened to parts") as connection:
            return of(connection, part_ids)

    def names(self) -> tuple[PartEvent, ...]:
        """The events that name ids which parts have in other stores."""
        with self.reading("ids of other stores") as connection:
            own = tables.part_event.c
            query = select(own.id, own.body).where(own.kind == PartEventKind.NAMED).order_by(own.at, own.id)
            return _as_they_go(connection, query, joined.aliases(connection))

    @property
    def photos(self) -> Path:
        """The folder in which photos lie: beside the store's file, of a server's in this computer's data folder."""
        folder = photo_folder(self.place)
        if folder is None:
            raise StoreTrouble(f"The store{AT} has no folder for photos. Name a file with --store.", place=self.name)
        return folder

    def keep_photo(self, file: Path) -> str:
        """Copy a photo beside the store; gives its name there, which is the hash of its content."""
        return keep_photo(self.photos, file)

    def photo(self, name: str) -> Path:
        """A kept photo. Raises NotKept, and StoreTrouble when its content was changed."""
        return photo(self.photos, name)


def append(connection: Connection, store: str, event: PartEvent, now: datetime) -> PartEvent:
    """Write one event and give it with its id. Raises NotKept when there is no such part, and PartRefused.

    A withdrawal is kept under the id that its event was kept by, whatever that part goes by now.
    """
    own = tables.part_event.c
    if event.withdraws:
        under = connection.execute(select(own.part).where(own.id == event.withdraws)).scalar_one()
        event = event.model_copy(update={"part": under})
    simulated = _simulated(connection, store, event.part)
    if event.into and simulated != _simulated(connection, store, event.into):
        raise PartRefused(f"Of {event.part} and {event.into} one is a simulated part; they cannot be one.")
    values = row(event, simulated, now)
    chain.append(connection, [chain.Bundle(rows=[(tables.part_event, values)])])
    if event.kind in joined.SAYS:
        summary.join(connection)
    return PartEvent.model_validate_json(values["body"])


def _simulated(connection: Connection, store: str, part: str) -> bool:
    own = tables.part.c
    known = connection.execute(select(own.simulated).where(own.id == part)).first()
    if known is None:
        raise NotKept(f"The store{AT} holds no part '{part}'.", store)
    return bool(known.simulated)


def row(event: PartEvent, simulated: bool, now: datetime) -> dict[str, Any]:
    """The row of an event that has no id yet."""
    kept = event.model_copy(update={"id": f"{now.astimezone(UTC):%Y%m%dT%H%M%S}-{secrets.token_hex(4)}"})
    return dict(
        id=kept.id,
        part=kept.part,
        simulated=simulated,
        at=stamp(kept.at),
        written=stamp(now),
        kind=kept.kind.value,
        body=body_of(kept),
    )


def body_of(event: PartEvent) -> str:
    """An event as text; where it came from stands beside it."""
    return event.model_dump_json(exclude={"came"})


def of(connection: Connection, part_ids: Set[str] | None) -> tuple[PartEvent, ...]:
    """The events of these parts, or of every part, that were not withdrawn, in the order in which they happened."""
    return standing(ever(connection, part_ids))


def ever(connection: Connection, part_ids: Set[str] | None) -> tuple[PartEvent, ...]:
    """Those that were withdrawn too, and the withdrawals; of all ids of a part, but the cards of the one it goes by."""
    own = tables.part_event.c
    query = select(own.id, own.body).order_by(own.at, own.written, own.id)
    if part_ids is None:
        names = joined.aliases(connection)
    else:
        names = joined.goes_by(connection, part_ids)
        query = query.where(own.part.in_(names))
    return _as_they_go(connection, query, names)


def _as_they_go(connection: Connection, query: Select[Any], names: Mapping[str, str]) -> tuple[PartEvent, ...]:
    """Each event under the id that its part goes by; the card of another id describes it no more."""
    rows = connection.execute(query).all()
    came = arrived(connection, tables.part_event, [row.id for row in rows])
    events = [(PartEvent.model_validate_json(row.body), origin_of(False, came.get(row.id))) for row in rows]
    return tuple(
        event.model_copy(update={"part": names.get(event.part, event.part), "came": origin})
        for event, origin in events
        if event.card is None or names.get(event.part, event.part) == event.part
    )


PHOTO_NAME = re.compile(r"[0-9a-f]{64}(\.[a-z0-9]{1,10})?")
PHOTO_BYTES = 50 * 2**20
"""The largest photo that is kept; a camera's own file has 5 to 25 MB."""


def keep_photo(folder: Path, file: Path) -> str:
    """Copy a file into the folder; gives its name there. The same photo twice is one file. Raises StoreTrouble."""
    if not file.is_file() or file.stat().st_size > PHOTO_BYTES:
        raise StoreTrouble(f"The photo {file} is not a file of at most {PHOTO_BYTES // 2**20} MB. Check its name.")
    try:
        content = file.read_bytes()
        kept = folder / (hashlib.sha256(content).hexdigest() + file.suffix.lower())
        if not PHOTO_NAME.fullmatch(kept.name):
            raise StoreTrouble(
                f"The photo {file} ends in '{file.suffix}'; letters and digits, ten at most, were expected, such as"
                " '.jpg'. Rename it."
            )
        folder.mkdir(parents=True, exist_ok=True)
        if not kept.exists():
            with whole(kept) as half:
                half.write_bytes(content)
    except OSError as error:
        raise StoreTrouble(
            f"The photo {file} cannot be kept in {folder} ({error.strerror}). That folder must be writable."
        ) from error
    return kept.name


def sha256_of(file: Path) -> str:
    """Of its content, read by blocks."""
    with file.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def photos_in(bodies: Iterable[str]) -> frozenset[str]:
    """The names of photos that these events have, those of damaged ones left out."""
    found = set[str]()
    for body in bodies:
        with suppress(ValueError, TypeError, KeyError, RecursionError):
            found.add(str(json.loads(body)["photo"]))
    return frozenset(found - {""})


def carry_photos(source: Path, target: Path, names: Iterable[str]) -> tuple[str, ...]:
    """Copy into `target` the photos of these names that it lacks; says of each that cannot be copied, why.

    A name is the hash of what it holds, so nothing is overwritten. What is no photo of a store (a link, a folder, a
    pipe, another name, too large) stays where it is.
    """
    return tuple(filter(None, (_carry(source, target, name) for name in sorted(names))))


def _carry(source: Path, target: Path, name: str) -> str:
    one = source / name
    try:
        if not PHOTO_NAME.fullmatch(name):
            return f"The photo {name} has no name of a photo, and was left in {source}."
        if (target / name).exists():
            return ""
        if one.is_symlink() or not one.is_file():
            return f"The photo {name} is missing in {source}."
        if one.stat().st_size > PHOTO_BYTES or sha256_of(one) != one.stem:
            return f"The photo {name} in {source} was altered."
        keep_photo(target, one)
    except OSError as error:
        return f"The photo {name} in {source} cannot be read ({error.strerror})."
    except StoreTrouble as trouble:
        return str(trouble)
    return ""


def photo(folder: Path, name: str) -> Path:
    """The kept file. Raises NotKept when it is gone, StoreTrouble when its content is not what its name says."""
    kept = folder / name
    if not kept.is_file():
        raise NotKept(f"The photo {name} is not in {folder}. Bring that folder back from a backup.")
    if kept.stat().st_size > PHOTO_BYTES or sha256_of(kept) != Path(name).stem:
        raise StoreTrouble(f"The photo {kept} was changed since it was kept. Bring it back from a backup.")
    return kept
