"""Statements about the head that is noted in a second place: it is noted in time, and only a person lets go of it."""

from pathlib import Path

import databases
import pytest
import records
from test_store import keep

from pulldrop.store import NoStore, Store, StoreTrouble, locate
from pulldrop.store.admin import heads


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A store of one run."""
    where = tmp_path / "depot.db"
    with Store.open(str(where)) as store:
        keep(store, records.record())
    return where


def test_a_head_has_all_digits_that_are_printed(file: Path) -> None:
    with Store.look(str(file)) as store:
        head = store.head()
        assert store.verify(head).findings == ()
        (said,) = store.verify(head[:-1]).findings
    assert "cannot be read" in said and "16 digits" in said


def test_a_store_is_one_by_whatever_link_it_is_reached(file: Path) -> None:
    link = file.with_name("link.db")
    link.symlink_to(file)
    assert heads.noted(locate(str(link))) == heads.noted(locate(str(file))) != ""


def test_a_store_whose_mark_was_wiped_is_called_damaged_and_keeps_its_note(file: Path) -> None:
    noted = heads.noted(locate(str(file)))
    with databases.behind(str(file)) as plain:
        plain.exec_driver_sql("PRAGMA user_version = 0")
    for door in (Store.open, Store.look):
        with pytest.raises(StoreTrouble, match="mark of its version is damaged") as caught:
            door(str(file))
        assert not isinstance(caught.value, NoStore) and str(file) in str(caught.value)
    assert heads.noted(locate(str(file))) == noted
