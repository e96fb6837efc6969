"""A transaction that Ctrl-C cannot cut in two. Rule: a Ctrl-C meanwhile is passed on behind it, never lost.

Cut off between its beginning and its end, a connection would keep the lock, and what ends the run could not be kept.
"""

import signal
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine

from pulldrop.ctrl_c import answered
from pulldrop.store.database.place import writing
from pulldrop.store.errors import explained


@contextmanager
def uninterrupted(store: str, engine: Engine) -> Iterator[Connection]:
    """A short writing transaction on `engine`. Raises StoreTrouble that names `store`; waits for a lock at most 5 s."""
    with ctrl_c_behind(), explained(store), writing(engine).begin() as connection:
        yield connection


@contextmanager
def ctrl_c_behind() -> Iterator[None]:
    """Within, a Ctrl-C waits, and is passed on behind."""
    pressed: list[bool] = []
    with answered(lambda: pressed.append(True)):
        yield
    if pressed:  # an error of the transaction itself goes first: it ends the work too, and says more
        signal.raise_signal(signal.SIGINT)
