"""Cautions that a person confirms once a day before a lead goes on a vehicle; the confirmation is kept."""

import hashlib
import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from pulldrop.store.database.place import usual_folder


def _line(told: Sequence[str], today: date) -> dict[str, str]:
    """Other words are confirmed anew."""
    return {"day": today.isoformat(), "text": hashlib.sha256("\n".join(told).encode()).hexdigest()[:12]}


def _file(folder: Path | None) -> Path:
    return (folder or usual_folder()) / "vehicles" / "confirmed.jsonl"


def confirmed(told: Sequence[str], today: date, folder: Path | None = None) -> bool:
    """Whether these cautions were confirmed today; false where that cannot be read."""
    wanted = _line(told, today)
    try:
        return any(json.loads(line) == wanted for line in _file(folder).read_text(encoding="utf-8").splitlines())
    except (OSError, ValueError):
        return False


def confirm(told: Sequence[str], today: date, folder: Path | None = None) -> None:
    """Keep that they were. Raises OSError."""
    file = _file(folder)
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("a", encoding="utf-8") as kept:
        kept.write(json.dumps(_line(told, today)) + "\n")
