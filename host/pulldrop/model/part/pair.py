"""Pairs of terminals, which of them are closed, and the words for that: contacts of a relay, a switch or anything else.

Rule: what was seen and what should be are compared pair by pair; the words are made here, and nobody reads them back.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Self

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from pulldrop.model.raw import Frozen

PATTERN = r"^[0-9A-Za-z]{1,8}-[0-9A-Za-z]{1,8}$"


@dataclass(frozen=True, slots=True, order=True)
class Pair:
    """Two terminals by what is printed beside them; written `30-87`."""

    a: str
    b: str

    def __str__(self) -> str:
        return f"{self.a}-{self.b}"

    @classmethod
    def parse(cls, written: str) -> Self:
        """`30-87` -> Pair. Raises ValueError with a sentence for a person."""
        if not re.fullmatch(PATTERN, written):
            raise ValueError(f"'{written[:40]}' is no pair of terminals; expected two joined by a hyphen, like '30-87'")
        a, b = written.split("-")
        if a == b:
            raise ValueError(f"'{written}' names one terminal twice; expected two, like '30-87'")
        return cls(a, b)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        def checked(given: object) -> Pair:
            if isinstance(given, Pair):
                return given
            if not isinstance(given, str):
                raise ValueError("expected a pair of terminals in quotes, like '30-87'")
            return cls.parse(given)

        return core_schema.no_info_plain_validator_function(
            checked, serialization=core_schema.plain_serializer_function_ser_schema(str)
        )

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"type": "string", "pattern": PATTERN}


class ContactState(Frozen):
    """The pairs that were looked at: those closed and those open, each in the order of their names."""

    closed: tuple[Pair, ...] = ()
    open: tuple[Pair, ...] = ()

    @model_validator(mode="after")
    def _one_state_a_pair(self) -> Self:
        if set(self.closed) & set(self.open):
            raise ValueError("a pair is both open and closed")
        return self

    @classmethod
    def of(cls, pairs: Iterable[Pair], closed: Iterable[Pair]) -> Self:
        """Of all `pairs` looked at, those in `closed` are closed, and the others open."""
        looked, shut = set(pairs), set(closed)
        return cls(closed=tuple(sorted(looked & shut)), open=tuple(sorted(looked - shut)))

    @classmethod
    def parse(cls, code: str) -> Self:
        """The state of a `code`. Raises ValueError."""
        found = dict(one.split("=") for one in code.split())
        if not set(found.values()) <= {"0", "1"}:
            raise ValueError(f"'{code[:60]}' is no code of a contact state")
        pairs = {Pair.parse(name): value for name, value in found.items()}
        return cls.of(pairs, (pair for pair, value in pairs.items() if value == "1"))

    @property
    def code(self) -> str:
        """For machines, as stores and tables keep it: `30-87=0 30-87a=1`, 1 closed."""
        return " ".join(f"{pair}={int(pair in self.closed)}" for pair in sorted((*self.closed, *self.open)))

    def __str__(self) -> str:
        """For people: `30-87 open, 30-87a closed`."""
        pairs = sorted((*self.closed, *self.open))
        return ", ".join(f"{pair} {'closed' if pair in self.closed else 'open'}" for pair in pairs)

    def meets(self, wanted: "ContactState") -> bool:
        """Whether the closed pairs are those `wanted`, and every pair that should be open was looked at."""
        return set(self.closed) == set(wanted.closed) and set(wanted.open) <= set(self.open)


@dataclass(frozen=True, slots=True)
class PairTable:
    """Which of a part's pairs are closed, by state of a relay or position of a switch."""

    closed: Mapping[str, tuple[Pair, ...]]

    @property
    def pairs(self) -> tuple[Pair, ...]:
        """All that are closed in some state, in the order of their names."""
        return tuple(sorted({pair for closed in self.closed.values() for pair in closed}))

    @property
    def terminals(self) -> tuple[str, ...]:
        """The terminals of the pairs, in the order of their names."""
        return tuple(sorted({name for pair in self.pairs for name in (pair.a, pair.b)}))

    def at(self, state: str) -> ContactState:
        """The contacts of a sound part in one state or position. Raises KeyError for another name."""
        return ContactState.of(self.pairs, self.closed[state])
