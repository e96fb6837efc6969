"""The log of a watch or a socket: one JSON object a line, on the disk before the next is begun."""

import json
import os
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from pulldrop.model.bench.identity import Identity
from pulldrop.store.database.place import usual_folder


class LogTrouble(Exception):
    """It cannot be written; the message is a sentence for a person."""


class Log:
    """Written as it goes: a crash, or a battery that ends, loses nothing that was shown. Raises LogTrouble."""

    def __init__(self, path: Path | None, what: str, board: Identity, car: str) -> None:
        self.path = path or _usual(what)
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            self._file = self.path.open("x", encoding="utf-8")
        except OSError as error:
            raise LogTrouble(
                f"The log {self.path} cannot be begun: {error.strerror or error}. Name another file."
            ) from error
        began = datetime.now(UTC).isoformat(timespec="seconds")
        self.write(
            log=what, began=began, simulated=board.simulated, board=board.kind, serial=board.serial,
            firmware=board.firmware, vehicle=car,
        )  # fmt: skip

    def write(self, **line: Any) -> None:
        """One line, kept when this returns."""
        try:
            self._file.write(json.dumps(line, ensure_ascii=True) + "\n")
            self._file.flush()
            os.fsync(self._file.fileno())
        except OSError as error:
            raise LogTrouble(f"The log {self.path} cannot be written: {error.strerror or error}.") from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._file.close()


def _usual(what: str) -> Path:
    return usual_folder() / "vehicles" / f"{what}-{datetime.now():%Y%m%d-%H%M%S-%f}.jsonl"
