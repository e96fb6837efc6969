"""Cautions that a person confirms once a day before a lead goes on a vehicle; the confirmation is kept."""

import hashlib
import json
from datetime import date
from pathlib import Path

from pulldrop.model.wording.cautions import ON_A_VEHICLE
from pulldrop.store.database.place import usual_folder

TEXT = hashlib.sha256("\n".join(ON_A_VEHICLE).encode()).hexdigest()[:12]
"""Other words are confirmed anew."""


def _file(folder: Path | None) -> Path:
    return (folder or usual_folder()) / "vehicles" / "confirmed.jsonl"


def confirmed(today: date, folder: Path | None = None) -> bool:
    """Whether these cautions were confirmed today; false where that cannot be read."""
    wanted = {"day": today.isoformat(), "text": TEXT}
    try:
        return any(json.loads(line) == wanted for line in _file(folder).read_text(encoding="utf-8").splitlines())
    except (OSError, ValueError):
        return False


def confirm(today: date, folder: Path | None = None) -> None:
    """Keep that they were. Raises OSError."""
    file = _file(folder)
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("a", encoding="utf-8") as kept:
        kept.write(json.dumps({"day": today.isoformat(), "text": TEXT}) + "\n")
