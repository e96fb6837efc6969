"""A small campaign of tampers in the normal suite: all are found, and each finding names its row."""

from pathlib import Path

import databases
import pytest
import tamper


@pytest.mark.slow
@pytest.mark.parametrize(("backend", "most"), [("sqlite", 60), ("postgresql", 12)])
def test_whatever_is_changed_is_found_and_named(backend: str, most: int, tmp_path: Path) -> None:
    assert backend in databases.BACKENDS
    seen = tamper.campaign(backend, 7, most, tmp_path)
    assert (seen.unseen, seen.unnamed, seen.broke) == ([], [], [])
    assert sum(seen.kinds[kind] for kind in tamper.KINDS) > 2 * most
