"""A hunt's log: a line for each thing that happened, written before the next is asked, so that a crash loses none.

Rule: a log goes on where it ended. The half line that a power cut left behind is dropped, and nothing else.
"""

import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Self, TextIO

from pydantic import Field, TypeAdapter, ValidationError

from pulldrop.hunt.session import Hunt
from pulldrop.jobs.vehicle.log import LogTrouble
from pulldrop.model.hunt.cabin import Cabin
from pulldrop.model.hunt.diary import Diary, DiaryEntry
from pulldrop.model.raw import LATER, Frozen
from pulldrop.store.database.place import usual_folder

ENTRY: TypeAdapter[DiaryEntry] = TypeAdapter(DiaryEntry, config=LATER)


class LogHead(Frozen):
    """The first line: whose hunt it is. Its cautions were confirmed before it."""

    log: int = Field(default=1, ge=1, le=1)
    simulated: bool
    begun: str
    cabin: Cabin
    solenoid_off: bool
    seed: int
    most_steps: int

    def diary(self, entries: tuple[DiaryEntry, ...]) -> Diary:
        """With what happened after it."""
        return Diary(
            controls=self.cabin.listed(),
            precautions=self.cabin.precautions(self.solenoid_off),
            side=self.cabin.side,
            seed=self.seed,
            most_steps=self.most_steps,
            entries=entries,
        )


def new_log(cabin: Cabin, simulated: bool, solenoid_off: bool, seed: int, path: Path | None) -> tuple[LogHead, Path]:
    """The head of a log that is begun now, and its file: the one named, or a new one in the data folder."""
    now = datetime.now(UTC)
    head = LogHead(
        simulated=simulated,
        begun=now.isoformat(timespec="seconds"),
        cabin=cabin,
        solenoid_off=solenoid_off,
        seed=seed,
        most_steps=Hunt(cabin.listed()).most_steps,
    )
    return head, path or usual_folder() / "vehicles" / f"hunt-{cabin.cabin}-{now:%Y%m%d-%H%M%S-%f}.jsonl"


class BadLog(LogTrouble):
    """A log that cannot be gone on with; the message is a sentence."""


class HuntLog:
    """An open log. Use as a context manager."""

    def __init__(self, path: Path, head: LogHead, entries: tuple[DiaryEntry, ...], file: TextIO) -> None:
        self.path, self.head, self.entries, self._file = path, head, entries, file

    @classmethod
    def open(cls, path: Path, new: LogHead) -> Self:
        """Begin a log, or go on with one of the same cabin. Raises BadLog and OSError."""
        head, entries, whole = (new, (), "") if not path.exists() else _read(path)
        if head.cabin.cabin != new.cabin.cabin or head.simulated != new.simulated:
            kind = "a simulated" if head.simulated else "a real"
            raise BadLog(f"{path} is the log of {kind} hunt in {head.cabin.cabin}; name another file with --log.")
        if path.exists():
            _keep(path, whole)
        path.parent.mkdir(parents=True, exist_ok=True)
        file = path.open("a", encoding="utf-8", newline="\n")
        made = cls(path, head, entries, file)
        if not whole:
            made._write(head.model_dump_json())
        return made

    def hunt(self) -> Hunt:
        """The hunt, where the log ends."""
        return Hunt.replay(self.head.diary(self.entries))

    def add(self, entry: DiaryEntry) -> None:
        """One thing that happened; on the disk when this returns."""
        self.entries = (*self.entries, entry)
        self._write(ENTRY.dump_json(entry).decode())

    def _write(self, line: str) -> None:
        self._file.write(line + "\n")
        self._file.flush()
        os.fsync(self._file.fileno())

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()


def read_log(path: Path) -> tuple[LogHead, tuple[DiaryEntry, ...]]:
    """A log's head and entries, for a comparison. Raises BadLog and OSError."""
    head, entries, _ = _read(path)
    return head, entries


def _read(path: Path) -> tuple[LogHead, tuple[DiaryEntry, ...], str]:
    """With its text up to the last whole line."""
    text = path.read_text(encoding="utf-8", errors="replace")
    whole = text[: text.rfind("\n") + 1]
    lines = whole.splitlines()
    if not lines:
        raise BadLog(f"{path} is no log of a hunt: it holds no whole line. Name another file with --log.")
    try:
        head = LogHead.model_validate_json(lines[0])
        entries = tuple(ENTRY.validate_json(line) for line in lines[1:])
        Hunt.replay(head.diary(entries))
    except (ValidationError, ValueError, KeyError) as bad:
        raise BadLog(
            f"{path} is no log of a hunt, or was changed: {_first(bad)}. Name another file with --log."
        ) from bad
    return head, entries, whole


def _first(bad: Exception) -> str:
    if isinstance(bad, ValidationError):
        one = bad.errors(include_url=False)[0]
        return f"{'.'.join(map(str, one['loc'])) or 'line'}: {one['msg']}"
    return str(bad)


def _keep(path: Path, whole: str) -> None:
    """Cut off the half line behind the whole ones."""
    size = len(whole.encode("utf-8"))
    if path.stat().st_size > size:
        os.truncate(path, size)
