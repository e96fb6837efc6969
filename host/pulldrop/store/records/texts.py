"""Texts that many runs share, kept once: plans, protocols, calibrations. Rule: a text that is kept is never altered.

A column holds a short text itself, and "@" with the SHA-256 of a long one that stands in `document`. No JSON and no
YAML begins with "@".
"""

import hashlib
from collections.abc import Callable
from typing import TypeVar

from sqlalchemy import Connection, select

from pulldrop.store.database import tables
from pulldrop.store.database.chain import Bundle

Noun = TypeVar("Noun")

SHORT = 200
MARK = "@"


class Texts:
    """The texts of one transaction, or of several in turn that do not fail."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._known: set[str] = set()
        self._last: dict[str, tuple[object, str]] = {}

    def shared(self, column: str, noun: Noun, written: Callable[[Noun], str], bundle: Bundle) -> str:
        """The same for what is still to be written out; once where a run has the same as the run before."""
        before = self._last.get(column)
        if before is not None and before[0] == noun:
            return before[1]
        held = self.refer(written(noun), bundle)
        self._last[column] = noun, held
        return held

    def refer(self, text: str, bundle: Bundle) -> str:
        """What goes into the column; `bundle` gets the document when it is new."""
        if len(text) < SHORT and not text.startswith(MARK):
            return text
        digest = hashlib.sha256(text.encode()).hexdigest()
        if digest not in self._known:
            own = tables.document.c
            if self._connection.execute(select(own.sha256).where(own.sha256 == digest)).first() is None:
                bundle.add(tables.document, dict(sha256=digest, body=text))
            self._known.add(digest)
        return MARK + digest


def resolve(connection: Connection, held: str) -> str:
    """The text that a column means. Raises ValueError when it is not there, or not what was written."""
    if not held.startswith(MARK):
        return held
    own = tables.document.c
    body = connection.execute(select(own.body).where(own.sha256 == held[1:])).scalar()
    if body is None or hashlib.sha256(body.encode()).hexdigest() != held[1:]:
        raise ValueError(f"the text {held[1:13]} is not what was written")
    return str(body)
