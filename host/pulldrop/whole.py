"""Writing a file whole or not at all; on its own, so that the store, reports and commands use one mechanism."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

HALF = ".part"
"""How the name of a file ends that is not whole yet."""


@contextmanager
def whole(file: Path) -> Iterator[Path]:
    """A path beside `file` to write to. At the end it takes the place of `file`, on the disk; else it vanishes.

    What stood there stays until then. Raises OSError.
    """
    half = file.with_name(f".{file.name}.{os.getpid()}{HALF}")
    try:
        yield half
        with half.open("r+b") as written:
            os.fsync(written.fileno())
        half.replace(file)
    finally:
        for ending in ("", "-wal", "-shm"):  # a SQLite file may have a log beside it
            half.with_name(half.name + ending).unlink(missing_ok=True)
