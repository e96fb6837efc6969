"""A dialogue with a person as values: statements and questions go out, numbers come in; no terminal, no waiting.

Rule: whoever drives it (a command, a page, a test, simulated instruments) answers every turn once, in order.
"""

from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Section:
    """A section of the work begins: `index` from 1 to `count`."""

    title: str
    index: int
    count: int


@dataclass(frozen=True, slots=True)
class Tell:
    """Something to know. No answer."""

    text: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """The last answer, or what the board saw, cannot be right: what was read, what was expected, what to do."""

    text: str


@dataclass(frozen=True, slots=True)
class Do:
    """Something to be done by hand. The answer None says that it is done."""

    id: str
    text: str


@dataclass(frozen=True, slots=True)
class Question:
    """A number in `unit`. The answer None takes the default; without a default it leaves the reading out.

    `keep` must be called at least every 300 ms while the person is waited for: it keeps the bench energised.
    """

    id: str
    text: str
    unit: str
    default: float | None = None
    keep: Callable[[], None] | None = None


Turn = Section | Tell | Refusal | Do | Question
Talk = Generator[Turn, float | None, T]


def converse(talk: Talk[T], answer: Callable[[Turn], float | None]) -> T:
    """Drive a dialogue to its end and return its result."""
    try:
        turn = next(talk)
        while True:
            turn = talk.send(answer(turn))
    except StopIteration as end:
        result: T = end.value
        return result
    finally:
        talk.close()  # whoever leaves it leaves no bench energised
