"""Requests of the contract as the field values of their messages, each found by its name (firmware/wire.yaml).

Rule: only an order; ranges are the codec's.
"""

from dataclasses import fields

from pulldrop.board.request_types import Drive, Follow, Load, Pulse, Scan, Stairs, Watch
from pulldrop.wire.messages import Message

Part = Drive | Follow | Load | Pulse | Scan | Stairs | Watch


def of(message: Message, *parts: Part, **more: int) -> tuple[int, ...]:
    """The fields of a request, in the order of its message, from what it is made of."""
    found = {one.name: getattr(part, one.name) for part in parts for one in fields(part)} | more
    return tuple(found[field.name] for field in message.request)
