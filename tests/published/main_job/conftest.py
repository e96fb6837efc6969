"""What the tests of the main job stand on: the sheets, the plant's own truth beside them, one store for all runs."""

from collections.abc import Iterator

import pytest

from pulldrop.store import Store


@pytest.fixture(scope="session")
def store() -> Iterator[Store]:
    """Kept in memory."""
    with Store.open(":memory:") as opened:
        yield opened
