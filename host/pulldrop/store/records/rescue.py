"""The rescue file: a run's record, written beside the store or elsewhere when the store cannot take it.

Rule: `pulldrop store import` takes it when the trouble is over.
"""

import tempfile
from pathlib import Path

from pulldrop.model.run.record import RunRecord
from pulldrop.store.database.place import StorePlace, usual_folder
from pulldrop.store.errors import StoreTrouble
from pulldrop.whole import whole


def rescued(trouble: StoreTrouble, place: StorePlace, record: RunRecord) -> StoreTrouble:
    """The same trouble, its record kept in the first folder that takes it."""
    folders = list(dict.fromkeys((_beside(place), Path(tempfile.gettempdir()))))
    for folder in folders:
        try:
            kept = folder / f"pulldrop-rescue-{record.run}.json"
            with whole(kept) as half:
                half.write_text(record.model_dump_json(indent=1), encoding="utf-8")
        except OSError:
            continue
        later = f"'pulldrop store import {kept}' brings it into the store later."
        return StoreTrouble(f"{trouble} The record so far is kept in a file; {later}", kept)
    looked = " and ".join(str(folder) for folder in folders)
    return StoreTrouble(f"{trouble} The record so far could not be kept anywhere else either (tried {looked}).")


def _beside(place: StorePlace) -> Path:
    if place.file is not None:
        return place.file.parent
    if place.on_server:
        try:
            return usual_folder()
        except StoreTrouble:
            pass
    return Path(tempfile.gettempdir())
