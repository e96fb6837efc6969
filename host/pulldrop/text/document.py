"""YAML text to plain values, each with its place in the file.

Rule 1: only `true` and `false` are booleans. NO, on, off and yes are words: NO is a contact, not a refusal.
Rule 2: no alias, merge key, tag or second document: what a person reads is what is loaded.
Rule 3: a problem does not end the reading; only broken syntax and hostile size do.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeAlias

import yaml

from pulldrop.model.wording.harmless import obeyed
from pulldrop.text.file import refuse_obeyed, text_in
from pulldrop.text.problem import MOST_SHOWN, BadText, Problem
from pulldrop.text.syntax import explain

MOST_BYTES = 64 * 1024
MOST_NODES = 5_000
MOST_DEEP = 20
"""Bounds far above any file of ours, so that a hostile one is refused in well under a second."""

Value: TypeAlias = "bool | int | float | str | list[Value] | dict[str, Value] | None"
Steps: TypeAlias = tuple[str | int, ...]
"""The way to a value from the top of a document: keys, and indices from 0."""

_WHOLE = re.compile(r"[+-]?(?:0|[1-9][0-9]{0,17})")
_DECIMAL = re.compile(r"[+-]?(?:[0-9]{1,18}\.?[0-9]{0,18}|\.[0-9]{1,18})(?:[eE][+-]?[0-9]{1,3})?")
_NOT_FINITE = re.compile(r"[+-]?\.?(?:nan|inf|infinity)", re.IGNORECASE)
_FAST, _SAYING = getattr(yaml, "CSafeLoader", yaml.SafeLoader), yaml.SafeLoader
"""PyYAML's parser in C, where it was built, and the one in Python, whose words for broken syntax syntax.py knows."""
_WORDS: dict[str, Value] = {"": None, "~": None, "null": None, "true": True, "false": False}


@dataclass(slots=True)
class Place:
    """Where one value stands. `key` is the place of its key; `inner` the columns from its start to its first
    character, None when the value as written differs from the value as read (escapes, several lines)."""

    line: int
    column: int
    inner: int | None = None
    key: tuple[int, int] | None = None
    inside: "dict[str | int, Place]" = field(default_factory=dict)


@dataclass(slots=True)
class Document:
    """One file as read: its value, the places of all its parts, and the problems found so far."""

    name: str
    text: str
    value: Value
    place: Place
    problems: list[Problem]

    def problem(self, path: Steps, says: str, offset: int = 0, at_key: bool = False) -> Problem:
        """A problem with the value at `path`, `offset` characters into it, or with its key.

        Steps of the path that the file does not have are passed over, so that a missing value is
        complained about at the mapping that lacks it.
        """
        place = self.place
        for step in path:
            place = place.inside.get(step, place)
        if at_key and place.key:
            return Problem(self.name, *place.key, says)
        shift = place.inner + offset if place.inner is not None and offset else 0
        return Problem(self.name, place.line, place.column + shift, says)


def read(path: Path) -> Document:
    """The document in a file. Raises BadText when it cannot be read or is no text."""
    return parse(text_in(path, MOST_BYTES, "a protocol, rating or specimen of a few kB"), str(path))


def parse(text: str, name: str) -> Document:
    """The document in `text`; `name` stands in its problems. Raises BadText for broken syntax and hostile size."""
    if len(text) > MOST_BYTES:
        raise BadText([Problem(name, 0, 0, f"is larger than {MOST_BYTES // 1024} kB")])
    refuse_obeyed(text.replace("\r\n", "\n"), name)
    try:
        return _Reading(name, text, _FAST).document()
    except yaml.MarkedYAMLError:
        reading = _Reading(name, text, _SAYING)
        try:
            return reading.document()
        except yaml.MarkedYAMLError as error:
            line, column, says = explain(error)
            raise BadText([*reading.problems, Problem(name, line, column, says)]) from error


class _Reading:
    """One pass over the events of PyYAML's parser."""

    def __init__(self, name: str, text: str, loader: type) -> None:
        self.name = name
        self.text = text
        self.problems: list[Problem] = []
        self.nodes = 0
        self.events: Iterator[yaml.Event] = yaml.parse(text, Loader=loader)

    def document(self) -> Document:
        value, place = self._only_document()
        return Document(self.name, self.text, value, place, self.problems)

    def _only_document(self) -> tuple[Value, Place]:
        next(self.events)  # start of the stream
        if isinstance(next(self.events), yaml.StreamEndEvent):
            return None, Place(1, 1)
        value, place = self._node(next(self.events), 0)
        next(self.events)  # end of the document
        after = next(self.events)
        if not isinstance(after, yaml.StreamEndEvent):
            self._complain(after, "a second document begins here; expected one document a file")
        return value, place

    def _complain(self, event: yaml.Event, says: str) -> None:
        self.problems.append(Problem(self.name, *_spot(event.start_mark), says))
        if len(self.problems) > MOST_SHOWN:
            raise BadText(self.problems)

    def _stop(self, event: yaml.Event, says: str) -> BadText:
        return BadText([*self.problems, Problem(self.name, *_spot(event.start_mark), says)])

    def _node(self, event: yaml.Event, depth: int) -> tuple[Value, Place]:
        self.nodes += 1
        if self.nodes > MOST_NODES:
            raise self._stop(event, f"the file holds more than {MOST_NODES} values; expected a few hundred")
        if depth > MOST_DEEP:
            raise self._stop(event, f"lists and mappings are nested more than {MOST_DEEP} deep; expected a few")
        place = Place(*_spot(event.start_mark))
        if isinstance(event, yaml.AliasEvent):
            self._complain(event, f"the alias '*{event.anchor}' is not taken here; write the value out")
            return None, place
        if isinstance(event, yaml.ScalarEvent | yaml.CollectionStartEvent):
            self._refuse_marks(event)
        if isinstance(event, yaml.SequenceStartEvent):
            return self._sequence(place, depth), place
        if isinstance(event, yaml.MappingStartEvent):
            return self._mapping(place, depth), place
        assert isinstance(event, yaml.ScalarEvent)
        return self._scalar(event, place), place

    def _refuse_marks(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent) -> None:
        if event.tag is not None:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")[:60]
            self._complain(event, f"the tag '{tag}' is not taken here; write the plain value")
        elif event.anchor is not None:
            self._complain(event, f"the anchor '&{event.anchor}' is not taken here; write values out where they belong")

    def _sequence(self, place: Place, depth: int) -> Value:
        values: list[Value] = []
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            value, inner = self._node(event, depth + 1)
            place.inside[len(values)] = inner
            values.append(value)
        return values

    def _mapping(self, place: Place, depth: int) -> Value:
        values: dict[str, Value] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            self._node(event, depth + 1)
            if not isinstance(event, yaml.ScalarEvent):
                self._complain(event, "a list, mapping or alias stands where a key is expected; expected a word")
                self._node(next(self.events), depth + 1)
                continue
            value, inner = self._node(next(self.events), depth + 1)
            inner.key = _spot(event.start_mark)
            if event.value == "<<" and event.implicit[0]:
                self._complain(event, "the merge key '<<' is not taken here; write the keys out")
            elif event.value in values:
                first = place.inside[event.value].key or (0, 0)
                self._complain(event, f"'{event.value[:60]}' stands here again; it is already in line {first[0]}")
            else:
                values[event.value] = value
                place.inside[event.value] = inner
        return values

    def _scalar(self, event: yaml.ScalarEvent, place: Place) -> Value:
        end_line, end_column = _spot(event.end_mark)
        quote = 1 if event.style in ("'", '"') else 0
        if place.line == end_line and end_column - place.column == len(event.value) + 2 * quote:
            place.inner = quote
        if (at := obeyed(event.value)) >= 0:
            self._complain(event, f"the character U+{ord(event.value[at]):04X} cannot stand in a value")
            return ""
        return event.value if event.style else self._plain(event)

    def _plain(self, event: yaml.ScalarEvent) -> Value:
        """An unquoted word: nothing, true, false, a number, or itself."""
        word = event.value
        if word in _WORDS:
            return _WORDS[word]
        if _WHOLE.fullmatch(word):
            return int(word)
        number = float(word) if _DECIMAL.fullmatch(word) and not _leading_zero(word) else None
        if _NOT_FINITE.fullmatch(word) or (number is not None and not math.isfinite(number)):
            self._complain(event, f"'{word}' is not a finite number; expected a number, with its unit where it has one")
            return None
        return word if number is None else number


def _spot(mark: Any) -> tuple[int, int]:
    """Line and column of a PyYAML mark, from 1."""
    return mark.line + 1, mark.column + 1


def _leading_zero(word: str) -> bool:
    """007 is a name, not a number: some readers take it as octal."""
    digits = word.lstrip("+-")
    return len(digits) > 1 and digits[0] == "0" and digits[1].isdigit()
