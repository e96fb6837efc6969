"""How a calibration asks: until an answer can be right, with what was read, expected and to do in each refusal.

Rule: nothing is kept that cannot be right; what is left out is reported, now and with every later run.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from pulldrop.jobs.self_test.talk import Question, Refusal, Talk, Tell
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.bench.kit import Meter, Reference

ROOM = 1.5
"""How far beyond all stated limits together a reading may lie before it is refused."""


@dataclass(slots=True)
class CalibrationSetup:
    """One calibration while it goes on. `clock`: seconds by the computer; `seen`: what was read so far."""

    rig: Rig
    clock: Callable[[], float]
    meter: Meter
    seen: dict[str, object] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


def number(setup: CalibrationSetup, ask: Question, low: float, high: float, advice: str) -> Talk[float | None]:
    """An answer between `low` and `high`, asked again until it is; None when it is left out."""
    while True:
        given = yield ask
        if given is None:
            return ask.default
        if low <= given <= high:
            return given
        between = f"{_plain(low, ask.unit)} to {_plain(high, ask.unit)}"
        yield from refuse(setup, f"Read {_plain(given, ask.unit)}, expected {between}. {advice}")


def reference(
    setup: CalibrationSetup, id: str, words: str, between: tuple[float, float], *, may_be_measured: bool = True
) -> Talk[Reference | None]:
    """A resistor's value and how well it is known: as printed, or by the multimeter with its leads taken off."""
    advice = f"Use one between {between[0]:g} and {between[1]:g} ohm."
    ohm = yield from number(
        setup, Question(f"{id}_ohm", f"{words}. Its value (nothing: I have none)", "ohm"), *between, advice
    )
    if ohm is None:
        return None
    how = " (0: measure it with the multimeter)" if may_be_measured else ""
    least = 0.0 if may_be_measured else 0.001
    ask = Question(f"{id}_percent", f"Its tolerance{how}", "%", None if may_be_measured else 1.0)
    percent = yield from number(setup, ask, least, 10.0, "A tolerance in percent, as printed or by its last ring.")
    if percent:
        return Reference.printed(ohm, percent)
    leads = yield from number(
        setup,
        Question(f"{id}_leads", "Hold the probes together. The multimeter shows", "ohm", 0.2),
        0.0,
        2.0,
        "Clean the tips.",
    )
    room = ROOM * (0.1 * ohm)
    advice = "Measure it out of the socket, on the lowest range that shows it."
    shown = yield from number(
        setup,
        Question(f"{id}_measured", "Now the resistor. The multimeter shows", "ohm"),
        ohm - room,
        ohm + room,
        advice,
    )
    return None if shown is None else Reference.measured(shown - (leads or 0.0), setup.meter)


def refuse(setup: CalibrationSetup, sentence: str) -> Talk[None]:
    setup.refused.append(sentence)
    yield Refusal(sentence)


def leave(setup: CalibrationSetup, sentence: str) -> Talk[None]:
    setup.left_out.append(sentence)
    yield Tell(f"Left out, {sentence}")


def unlike(given: float, expected: float, room: float, unit: str, advice: str) -> str:
    return f"Read {_plain(given, unit)}, expected {_plain(expected, unit)} +-{room:.2g}. {advice} Then answer again."


def _plain(value: float, unit: str) -> str:
    return f"{value:.4g} {unit}".rstrip()
