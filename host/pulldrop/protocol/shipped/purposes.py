"""The shipped protocols by what they are for, as each file states it; nothing is read out of their names."""

from functools import cache
from typing import Any

from pulldrop.model.run.purpose import Purpose, Shipped
from pulldrop.protocol.errors import UnknownName
from pulldrop.protocol.shipped import library
from pulldrop.text.document import read


@cache
def shipped() -> tuple[Shipped, ...]:
    """All of them, in the order of their names."""
    return tuple(_stated(name) for name in library.names())


def _stated(name: str) -> Shipped:
    written: Any = read(library.find(name)).value
    steps = tuple(step["measure"] for step in written["steps"])
    return Shipped(name=name, kind=written["kind"], purpose=written["purpose"], steps=steps)


def protocol_for(kind: str, purpose: Purpose) -> str:
    """Name of the shipped protocol for a purpose. Raises UnknownName where there is none for this kind of part."""
    for one in shipped():
        if (one.kind, one.purpose) == (kind, purpose):
            return one.name
    raise UnknownName(f"no protocol of the purpose '{purpose}' for a {kind} is shipped; name one with --protocol")
