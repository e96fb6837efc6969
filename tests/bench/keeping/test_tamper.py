"""A small campaign of tampers in the normal suite: all are found, and each finding names its row."""

import shutil
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


def test_an_index_that_was_emptied_is_found(tmp_path: Path) -> None:
    where, head = databases.filled("sqlite", tmp_path, tamper.filled(tmp_path))
    with databases.behind(where) as plain:
        emptied = [one for one in tamper.of_schema(plain) if one.told.endswith(" emptied")]
    seen = tamper.Seen()
    for number, one in enumerate(emptied):
        copy = str(tmp_path / f"{number}.db")
        shutil.copyfile(where, copy)
        tamper.try_one(copy, one, "schema", head, seen)
    assert (seen.unseen, seen.broke, seen.kinds["schema"]) == ([], [], len(emptied)) and emptied
