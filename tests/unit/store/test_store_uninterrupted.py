"""A transaction that Ctrl-C does not cut in two: kept whole, the lock let go, and the Ctrl-C passed on behind it."""

import os
import signal
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from pulldrop.store import Store, StoreTrouble
from pulldrop.store.database.uninterrupted import uninterrupted


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    with Store.open(str(tmp_path / "uninterrupted.sqlite")) as store, store.engine.begin() as connection:
        connection.execute(text("CREATE TABLE words (word TEXT)"))
    with Store.open(str(tmp_path / "uninterrupted.sqlite")) as store:
        yield store.engine


def write(engine: Engine, word: str, presses: int) -> None:
    with uninterrupted("words", engine) as connection:
        for _ in range(presses):
            os.kill(os.getpid(), signal.SIGINT)
        connection.execute(text("INSERT INTO words VALUES (:word)"), {"word": word})


def words(engine: Engine) -> list[str]:
    with engine.connect() as connection:
        return list(connection.execute(text("SELECT word FROM words ORDER BY rowid")).scalars())


@pytest.mark.parametrize("presses", [1, 3])
def test_ctrl_c_within_comes_behind_and_what_was_written_is_kept(engine: Engine, presses: int) -> None:
    with pytest.raises(KeyboardInterrupt) as cut:
        write(engine, "first", presses)
    write(engine, "second", 0)  # while the interrupt and all that its traceback holds are still alive
    assert words(engine) == ["first", "second"]
    assert cut.value.__context__ is None


def test_without_ctrl_c_nothing_is_raised_and_the_handler_is_as_before(engine: Engine) -> None:
    before = signal.getsignal(signal.SIGINT)
    write(engine, "first", 0)
    assert signal.getsignal(signal.SIGINT) is before


def test_an_error_of_the_store_is_told_before_a_ctrl_c(engine: Engine) -> None:
    before = signal.getsignal(signal.SIGINT)
    with pytest.raises(StoreTrouble), uninterrupted("words", engine) as connection:
        os.kill(os.getpid(), signal.SIGINT)
        connection.execute(text("INSERT INTO no_table VALUES (1)"))
    assert signal.getsignal(signal.SIGINT) is before
    assert words(engine) == []


def test_in_another_thread_it_writes_as_well(engine: Engine) -> None:
    thread = threading.Thread(target=write, args=(engine, "elsewhere", 0))
    thread.start()
    thread.join()
    assert words(engine) == ["elsewhere"]
