"""A dialogue at the terminal: turns are shown, answers typed; a bench that is held energised is kept so meanwhile."""

from rich.console import Console

from pulldrop.cli.ask import answered
from pulldrop.jobs.self_test.talk import Do, Question, Refusal, Section, Tell, Turn
from pulldrop.model.quantity import parse


class Terminal:
    """Answers turns by a person. Raises Unanswered where nobody answers."""

    def __init__(self, out: Console) -> None:
        self._out = out

    def __call__(self, turn: Turn) -> float | None:
        """Show one turn, and give what was typed."""
        show_turn(self._out, turn)
        match turn:
            case Do():
                answered.key(self._out, {" ": "it is done"})
            case Question():
                return self._number(turn)
        return None

    def _number(self, ask: Question) -> float | None:
        default = f" [{ask.default:g}]" if ask.default is not None else ""
        while True:
            typed = answered.line(self._out, f"  {ask.unit or 'number'}{default}:", ask.keep).strip()
            if not typed:
                return None
            try:
                return number(typed, ask.unit)
            except ValueError as error:
                self._out.print(f"  {error}", style="bold")


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
