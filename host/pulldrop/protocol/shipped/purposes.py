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


def protocol_for(kind: str, *purposes: Purpose) -> str:
    """Name of the shipped protocol for the first of these purposes that there is one for. Raises UnknownName where no
    protocol is for this kind of part."""
    by = {one.purpose: one.name for one in shipped() if one.kind == kind}
    for purpose in purposes:
        if purpose in by:
            return by[purpose]
    raise UnknownName(f"no protocol of the purpose '{purposes[-1]}' for a {kind} is shipped; name one with --protocol")
