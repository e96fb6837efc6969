"""Writing a file whole or not at all; on its own, so that the store, reports and commands use one mechanism."""

import glob
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

HALF, ORPHAN_S = ".part", 600.0
"""How the name of a file ends that is not whole yet, and after how long without a write nobody is writing it."""


def clear(folder: Path, names: str) -> None:
    """Remove what killed programs left of files of these names, in which a star stands for anything."""
    for orphan in folder.glob(f".{names}.*{HALF}*"):
        if time.time() - orphan.stat().st_mtime > ORPHAN_S:
            orphan.unlink(missing_ok=True)


@contextmanager
def whole(file: Path) -> Iterator[Path]:
    """A path beside `file` to write to. At the end it takes the place of `file`, on the disk; else it vanishes.

    What stood there stays until then; what a killed one left of the same file goes. Raises OSError.
    """
    half = file.with_name(f".{file.name}.{os.getpid()}{HALF}")
    clear(file.parent, glob.escape(file.name))
    try:
        yield half
        with half.open("r+b") as written:
            os.fsync(written.fileno())
        half.replace(file)
    finally:
        for ending in ("", "-wal", "-shm"):  # a SQLite file may have a log beside it
            half.with_name(half.name + ending).unlink(missing_ok=True)
