"""The head of a store, noted in a second place: in this computer's data folder, not beside the store. Rule: a noted
head never goes back, so that a missing end shows; only a person lets go of it, or restores an older store.
"""

import hashlib
import os
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from pulldrop.model.wording.harmless import harmless
from pulldrop.store.database import chain
from pulldrop.store.database.place import StorePlace, usual_folder
from pulldrop.store.database.uninterrupted import ctrl_c_behind
from pulldrop.store.errors import StoreError
from pulldrop.whole import HALF, whole

NOTED_LEAST = 16
"""Digits of a hash that a noted head must have: as many as are printed."""
LET_GO = "If you put another store in this place yourself, say so: pulldrop store verify --forget"


def file_of(place: StorePlace, make: bool = False) -> Path | None:
    """Where the head of this store is noted; None for a store in memory, or half written."""
    if (place.file is None and not place.on_server) or (place.file is not None and place.file.suffix == HALF):
        return None
    name = os.path.realpath(place.file) if place.file is not None else place.name
    return usual_folder(make) / "heads" / f"{hashlib.sha256(name.encode(errors='replace')).hexdigest()[:24]}.txt"


def noted(place: StorePlace) -> str:
    """The head that was noted last; empty when none was."""
    file = file_of(place)
    with suppress(OSError, ValueError):
        return file.read_text(encoding="utf-8").split("\n")[0] if file else ""
    return ""


def note(place: StorePlace, head: str) -> None:
    """Note a head, if that folder takes it: no work stops for want of a second place."""
    file = file_of(place, make=True)
    with suppress(OSError):
        if file is not None:
            file.parent.mkdir(exist_ok=True)
            with whole(file) as half:
                half.write_text(f"{head}\n{place.name}\n", encoding="utf-8")


def warn_of_former(place: StorePlace) -> None:
    """Say that a store is begun where another one was: what was noted of that stays until a person lets go of it."""
    head = noted(place)
    if head and not head.startswith("0:"):
        print(
            harmless(
                f"pulldrop: A new store is begun at {place.name}, where one was whose head was noted as {head:.80}. If"
                f" it should still be there, look for it, or bring back a backup. {LET_GO}"
            ),
            file=sys.stderr,
        )


def unreadable(head: str) -> str:
    """Says that a noted head is none; empty for one."""
    seq, _, digits = head.strip().lower().partition(":")
    if seq.isascii() and seq.isdecimal() and len(seq) < len(str(chain.MOST)) and len(digits) >= NOTED_LEAST:
        return ""
    expected = f"expected a number and {NOTED_LEAST} digits, such as 1042:7f3a91c2d4e5f607"
    return f"The noted head '{head:.80}' cannot be read; {expected}."


def against(connection: Connection, head: str) -> Iterator[str]:
    """What a noted head shows of the chain, in sentences; nothing where it holds."""
    if said := unreadable(head):
        yield said
        return
    seq, _, digits = head.strip().lower().partition(":")
    if not seq.strip("0") and chain.START.startswith(digits):  # of an empty store, which every other one continues
        return
    try:
        with connection.begin_nested():
            kept = chain.raw_rows(connection, "link", '"seq" = ?', (int(seq),))
    except DBAPIError:
        kept = []
    if not kept:
        yield f"The store ends before entry {seq}, which was its head once: the newest entries were removed."
    elif not str(kept[0]["hash"]).startswith(digits):
        yield f"Entry {seq} is not the one that was noted: the chain was rewritten since then."


def follow(engine: Engine, place: StorePlace) -> None:
    """Note the head as it is now, unless what was noted shows that something is wrong. Trouble of the store is none."""
    with ctrl_c_behind(), suppress(StoreError, SQLAlchemyError), engine.connect() as connection:
        before = noted(place)
        if not before or not any(against(connection, before)):
            note(place, str(chain.head(connection)))


def missing(connection: Connection, place: StorePlace) -> tuple[str, tuple[str, ...]]:
    """In which file the head was noted, and what that shows; an empty name where it was not."""
    before, file = noted(place), file_of(place)
    if not before or file is None:
        return "", ()
    where = f" It was noted in {file}. {LET_GO}"
    return str(file), tuple(f"{said}{where}" for said in against(connection, before))
