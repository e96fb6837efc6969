"""What the tests of the main job stand on: the sheets, the plant's own truth beside them, one store for all runs."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parents[1] / "bench")]

from pulldrop.store import Store  # noqa: E402  # after the path, as its users


@pytest.fixture(scope="session")
def store() -> Iterator[Store]:
    """Kept in memory."""
    with Store.open(":memory:") as opened:
        yield opened
