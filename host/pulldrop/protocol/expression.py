"""The grammar of a limit as a person writes it, and nothing of what it means for a part.

limit   = "<=" amount | ">=" amount | amount ".." amount | centre "+-" spread | states
amount  = quantity | percent "of" ("nominal" | "rated") | "rated" | "good" | "worn"
centre  = quantity | "rated"
spread  = quantity | percent | "tolerance"
states  = "at" "rest" | "operated" | "as" "rated"
"""

import re
from dataclasses import dataclass
from typing import Literal, TypeAlias

from pulldrop.model.quantity import parse as parse_quantity

Of = Literal["", "nominal", "rated", "good", "worn"]
GRADED: tuple[Of, ...] = ("good", "worn")
"""Edges of the scale of contact drop."""
LONGEST = 120


class BadLimit(ValueError):
    """What is wrong with a limit, and how many characters into it."""

    def __init__(self, says: str, offset: int = 0) -> None:
        super().__init__(says)
        self.offset = offset


@dataclass(frozen=True, slots=True)
class Amount:
    """A number in SI, or, with `of`, in percent of that. `rated` alone is 100 % of rated, `worn` of that edge."""

    value: float
    unit: str
    of: Of
    offset: int


@dataclass(frozen=True, slots=True)
class Bounds:
    """A lowest, a highest, or both; `otherwise` holds when the rating lacks a figure for them."""

    low: Amount | None
    high: Amount | None
    otherwise: "Bounds | None" = None


@dataclass(frozen=True, slots=True)
class Around:
    """A centre and how far either way; `spread` None is the tolerance that the rating gives."""

    centre: Amount
    spread: Amount | None


@dataclass(frozen=True, slots=True)
class SoundStates:
    """The contacts of a sound part, whatever its form: at rest, or with its coil on."""

    operated: bool
    offset: int


@dataclass(frozen=True, slots=True)
class AsRated:
    """What the rating says of every position."""

    offset: int


Expression: TypeAlias = Bounds | Around | SoundStates | AsRated

_TOKEN = re.compile(
    r"\s*(?:(?P<mark><=|>=|≤|≥|\+-|±|\.\.|,|[<>=])"
    r"|(?P<number>[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)"
    r"|(?P<word>[A-Za-zµμΩ°%\u2126][A-Za-z0-9µμΩ°%\u2126]*))"
)
_SAME_MARK = {"≤": "<=", "≥": ">=", "±": "+-"}
_FORMS = "'<= 300 mV', '>= 10 % of nominal', '60 ohm .. 120 ohm', 'rated +- 10 %' or 'at rest'"


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    offset: int


def parse(text: str) -> Expression:
    """The expression in `text`. Raises BadLimit."""
    return _Parser(_tokens(text)).limit()


def _tokens(text: str) -> list[_Token]:
    if len(text) > LONGEST:
        raise BadLimit(f"a limit of {len(text)} characters; expected one such as {_FORMS}")
    tokens, at = [], 0
    while at < len(text.rstrip()):
        found = _TOKEN.match(text, at)
        if not found or not found.lastgroup:
            bad = len(text[:at]) + len(text[at:]) - len(text[at:].lstrip())
            raise BadLimit(f"'{text[bad]}' has no meaning in a limit; expected one such as {_FORMS}", bad)
        kind, word = found.lastgroup, found[found.lastgroup]
        tokens.append(_Token(kind, _SAME_MARK.get(word, word), found.start(kind)))
        at = found.end()
    return [*tokens, _Token("end", "the end", len(text.rstrip()))]


class _Parser:
    """One look ahead; a method for each line of the grammar."""

    def __init__(self, tokens: list[_Token]) -> None:
        self.tokens = tokens
        self.at = 0

    @property
    def next(self) -> _Token:
        return self.tokens[self.at]

    def take(self) -> _Token:
        token = self.next
        self.at = min(self.at + 1, len(self.tokens) - 1)
        return token

    def takes(self, text: str) -> bool:
        if self.next.text == text and self.next.kind != "end":
            self.take()
            return True
        return False

    def refuse(self, expected: str) -> BadLimit:
        found = "the end" if self.next.kind == "end" else f"'{self.next.text}'"
        return BadLimit(f"found {found}; expected {expected}", self.next.offset)

    def limit(self) -> Expression:
        found = self.any_limit()
        if self.next.kind != "end":
            raise self.refuse("the end of the limit")
        return found

    def any_limit(self) -> Expression:
        if self.next.text in ("<=", ">="):
            return self.bound(self.take().text == "<=")
        if self.next.text in ("<", ">", "="):
            raise self.refuse(f"'<=' or '>=': a limit is one of {_FORMS}")
        if self.next.text in ("at", "operated"):
            return self.states()
        if self.next.text == "as":
            start = self.take().offset
            if not self.takes("rated"):
                raise self.refuse("'rated' after 'as'")
            return AsRated(start)
        if self.next.kind == "number" or self.next.text == "rated":
            return self.around_or_between()
        raise self.refuse(_FORMS)

    def bound(self, upper: bool) -> Bounds:
        first = self.amount()
        otherwise = None
        if self.takes("else"):
            if first.of != "rated":
                raise BadLimit("only a rated figure can be lacking; expected 'rated' before 'else'", first.offset)
            otherwise = self.bound(upper)
        return Bounds(None, first, otherwise) if upper else Bounds(first, None, otherwise)

    def around_or_between(self) -> Expression:
        first = self.amount()
        if self.takes(".."):
            second = self.amount()
            if first.of == second.of and first.unit == second.unit and first.value >= second.value:
                raise BadLimit("the lower end stands above the upper one; expected the lower one first", first.offset)
            return Bounds(first, second)
        if self.takes("+-"):
            if first.of == "nominal" or (first.of and first.value != 100.0):
                raise BadLimit("expected 'rated' or a quantity before '+-'", first.offset)
            return Around(first, None if self.takes("tolerance") else self.spread())
        raise self.refuse("'..' or '+-' here, or '<=' or '>=' in front")

    def amount(self) -> Amount:
        start = self.next.offset
        if self.takes("rated"):
            return Amount(100.0, "%", "rated", start)
        for edge in GRADED:
            if self.takes(edge):
                return Amount(100.0, "%", edge, start)
        amount = self.quantity()
        if amount.unit != "%":
            return amount
        if not self.takes("of"):
            raise self.refuse("'of nominal' or 'of rated' after a percentage")
        whole = self.next.text
        if whole not in ("nominal", "rated"):
            raise self.refuse("'nominal' or 'rated'")
        self.take()
        return Amount(amount.value, "%", "nominal" if whole == "nominal" else "rated", start)

    def spread(self) -> Amount:
        return self.quantity("a quantity, a percentage or 'tolerance'")

    def quantity(self, expected: str = "a number with its unit, a percentage or 'rated'") -> Amount:
        if self.next.kind != "number":
            raise self.refuse(expected)
        number = self.take()
        if self.next.kind != "word" or self.next.text in ("of", "rated", "nominal"):
            raise BadLimit(f"the number {number.text} has no unit; expected such as '{number.text} V'", number.offset)
        try:
            found = parse_quantity(f"{number.text} {self.take().text}")
        except ValueError as error:
            raise BadLimit(str(error), number.offset) from error
        if number.text.startswith("-"):
            raise BadLimit(f"'{number.text}' is negative; no limit of a relay is below zero", number.offset)
        return Amount(found.value, found.unit, "", number.offset)

    def states(self) -> SoundStates:
        word = self.take()
        if word.text == "at" and not self.takes("rest"):
            raise self.refuse("'rest' after 'at'")
        return SoundStates(word.text == "operated", word.offset)
