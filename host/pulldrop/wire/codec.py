"""Contents of frames: requests encoded, answers decoded, for every message of the schema.

Rule 1: table-driven; this file knows field types, and no message by name.
Rule 2: a value out of its range is refused on the way out and on the way in.
Rule 3: an answer with any other result than `done` carries nothing more.
"""

import struct
from collections.abc import Sequence
from dataclasses import dataclass

from pulldrop.wire.messages import MESSAGES, Field, Message, Result

Value = int | tuple[int, ...]
"""What a field holds: a number, or numbers for an array."""

ANSWER_BIT = 0x80
_CODES = {"u8": "B", "u16": "H", "u32": "I", "i16": "h"}


class Malformed(ValueError):
    """A value that its field cannot hold, or bytes that are no message of the schema."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One decoded answer; without fields unless `result` is done."""

    sequence: int
    message: Message
    result: Result
    values: tuple[Value, ...]

    def number(self, name: str) -> int:
        """The value of a plain field."""
        value = self._value(name)
        if isinstance(value, tuple):
            raise TypeError(f"{self.message.name}.{name} is an array")
        return value

    def numbers(self, name: str) -> tuple[int, ...]:
        """The values of an array field."""
        value = self._value(name)
        if not isinstance(value, tuple):
            raise TypeError(f"{self.message.name}.{name} is a single number")
        return value

    def _value(self, name: str) -> Value:
        names = [field.name for field in self.message.answer]
        return self.values[names.index(name)]


def request(sequence: int, message: Message, values: Sequence[int | Sequence[int]] = ()) -> bytes:
    """The content of a request frame; `values` in the order of the schema."""
    return bytes([sequence, message.id]) + pack(message, message.request, values)


def answer(content: bytes) -> Answer:
    """What a frame from the board says. Raises Malformed."""
    if len(content) < 3 or not content[1] & ANSWER_BIT:
        raise Malformed(f"not an answer: {content.hex(' ')}")
    message = MESSAGES.get(content[1] & ~ANSWER_BIT)
    if message is None:
        raise Malformed(f"answer to a message that the schema does not have: 0x{content[1]:02x}")
    try:
        result = Result(content[2])
    except ValueError:
        raise Malformed(f"{message.name} answered with an unknown result {content[2]}") from None
    fields = message.answer if result is Result.DONE else ()
    return Answer(content[0], message, result, unpack(message, fields, content[3:]))


def pack(message: Message, fields: Sequence[Field], values: Sequence[int | Sequence[int]]) -> bytes:
    """Values to bytes, little-endian, an array behind its count."""
    if len(values) != len(fields):
        raise Malformed(f"{message.name} has {len(fields)} fields, not {len(values)}")
    packed = b""
    for field, value in zip(fields, values, strict=True):
        single = isinstance(value, int)
        if single == bool(field.array):
            raise Malformed(f"{message.name}.{field.name} is {'an array' if field.array else 'a single number'}")
        numbers = (value,) if isinstance(value, int) else tuple(value)
        _check(message, field, numbers)
        head = b"" if single else bytes([len(numbers)])
        packed += head + struct.pack(f"<{len(numbers)}{_CODES[field.type]}", *numbers)
    return packed


def unpack(message: Message, fields: Sequence[Field], data: bytes) -> tuple[Value, ...]:
    """Bytes to values; every byte must be used."""
    values: list[Value] = []
    at = 0
    for field in fields:
        count = 1
        if field.array:
            count = _struct(message, field, "<B", data, at)[0]
            at += 1
        layout = f"<{count}{_CODES[field.type]}"
        numbers = _struct(message, field, layout, data, at)
        at += struct.calcsize(layout)
        _check(message, field, numbers)
        values.append(numbers if field.array else numbers[0])
    if at != len(data):
        raise Malformed(f"{message.name} ends after {at} bytes, but {len(data)} came")
    return tuple(values)


def _struct(message: Message, field: Field, layout: str, data: bytes, at: int) -> tuple[int, ...]:
    try:
        return struct.unpack_from(layout, data, at)
    except struct.error:
        raise Malformed(f"{message.name} is cut short in {field.name}: {len(data)} bytes came") from None


def _check(message: Message, field: Field, numbers: tuple[int, ...]) -> None:
    if field.array and len(numbers) > field.array:
        raise Malformed(f"{message.name}.{field.name} holds {field.array} values at most, not {len(numbers)}")
    for number in numbers:
        if not field.least <= number <= field.most:
            raise Malformed(f"{message.name}.{field.name} must be {field.least} to {field.most}, not {number}")
