"""A dialogue at the terminal: turns are shown, answers typed; a bench that is held energised is kept so meanwhile."""

import sys
import threading
from collections.abc import Callable
from queue import Empty, SimpleQueue

from rich.console import Console

from pulldrop.cli.input_error import InputError
from pulldrop.jobs.self_test.talk import Do, Question, Refusal, Section, Tell, Turn
from pulldrop.model.quantity import parse

KEEP_S = 0.25
"""The board's lease is 500 ms."""


class Terminal:
    """Answers turns by a person. Raises InputError when there is nobody, that is, when the input ends."""

    def __init__(self, out: Console) -> None:
        self._out = out

    def __call__(self, turn: Turn) -> float | None:
        """Show one turn, and give what was typed."""
        show_turn(self._out, turn)
        match turn:
            case Do():
                self._line("  Enter when it is done: ", None)
            case Question():
                return self._number(turn)
        return None

    def _number(self, ask: Question) -> float | None:
        default = f" [{ask.default:g}]" if ask.default is not None else ""
        while True:
            typed = self._line(f"  {ask.unit or 'number'}{default}: ", ask.keep).strip()
            if not typed:
                return None
            try:
                return number(typed, ask.unit)
            except ValueError as error:
                self._out.print(f"  {error}", style="bold")

    def _line(self, prompt: str, keep: Callable[[], None] | None) -> str:
        self._out.print(prompt, end="")
        line = _kept(keep) if keep else sys.stdin.readline()
        if not line:
            raise InputError("the input ended before everything was answered; nothing was kept. Begin again.")
        return line


def number(typed: str, unit: str) -> float:
    """`5.12`, or a quantity such as `44.8 mV`. Raises ValueError with a sentence."""
    try:
        value = float(typed)
    except ValueError:
        quantity = parse(typed)
        if quantity.unit != unit:
            raise ValueError(f"'{typed}' is in {quantity.unit}; {unit or 'a plain number'} was expected") from None
        return quantity.value
    if not -1e9 < value < 1e9:  # also refuses what is not a number
        raise ValueError(f"'{typed}' is no reading; write a number such as 5.12")
    return value


def show_turn(out: Console, turn: Turn, answer: float | None = None) -> None:
    """One turn; with an answer, when somebody else than a person gives it."""
    match turn:
        case Section():
            out.print(f"\n[{turn.index} of {turn.count}] {turn.title}", style="bold")
        case Tell():
            out.print(f"  {turn.text}", style="dim")
        case Refusal():
            out.print(f"  Not taken. {turn.text}", style="bold")
        case Do():
            out.print(f"  {turn.text}")
        case Question():
            out.print(f"  {turn.text}" + (f": {answer:g} {turn.unit}".rstrip() if answer is not None else ""))


def _kept(keep: Callable[[], None]) -> str:
    """A line of input, read beside, while `keep` is called again and again."""
    lines: SimpleQueue[str] = SimpleQueue()
    threading.Thread(target=lambda: lines.put(sys.stdin.readline()), daemon=True).start()
    while True:
        try:
            return lines.get(timeout=KEEP_S)
        except Empty:
            keep()
