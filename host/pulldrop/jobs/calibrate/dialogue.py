"""A calibration, step by step: what a person does and reads, what the board reads, and what is kept.

Rule: the order of the steps is here, and what needs neither coil nor contact; every step ends with everything off.
"""

from collections.abc import Callable
from datetime import UTC, datetime

from pulldrop import __version__
from pulldrop.board.contract import Board
from pulldrop.jobs.calibrate import coil_side as coil
from pulldrop.jobs.calibrate import contact_side as contact
from pulldrop.jobs.calibrate.ask import ROOM, CalibrationSetup, leave, number
from pulldrop.jobs.self_test.bench import stopped
from pulldrop.jobs.self_test.talk import Do, Question, Section, Talk, Tell
from pulldrop.measure.calibrate import read
from pulldrop.measure.calibrate.gains import solve
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.bench.kit import CalibrationRecord, Meter, Observed

PARTS = (
    "your multimeter",
    "temperature",
    "coil volts",
    "coil amps",
    "contact zero",
    "contact drop",
    "emergency stop",
    "clock",
)
CLOCK_S = 60.0


class NothingRead(Exception):
    """Everything was left out; the message is a sentence for a person."""


def walk(
    board: Board, clock: Callable[[], float], *, meter: Meter | None = None, operator: str = "",
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> Talk[CalibrationRecord]:  # fmt: skip
    """The whole dialogue. `meter` gives defaults, such as those of the last calibration. Everything is off at the end.

    Raises NothingRead when everything was left out or the board feeds no coil, and BoardError for bench trouble.
    """
    if board.identity.able.coil == "none":
        raise NothingRead(
            f"A board of the {board.identity.build} build has no coil supply and no load, so there is nothing to"
            " calibrate. Its readings hold within the wide limits of its parts. Nothing was changed."
        )
    setup = CalibrationSetup(Rig.uncalibrated(board), clock, meter or Meter())
    started = read.clock_s(setup.rig), clock()
    steps = (_meter, _temperature, coil.volts, coil.amps, contact.zero, contact.contact, _stop)
    try:
        for index, (title, step) in enumerate(zip(PARTS, steps, strict=False), 1):
            yield Section(title, index, len(PARTS))
            yield from step(setup)
            setup.rig.off()
        yield Section(PARTS[-1], len(PARTS), len(PARTS))
        yield from _clock(setup, started)
    finally:
        setup.rig.off()
    observed = Observed.model_validate(setup.seen)
    if not (observed.volts or observed.amps or observed.contact):
        raise NothingRead("Nothing was read that calibrates volts, amps or contact drop, so nothing was kept.")
    taken_at, who = now(), board.identity
    name = f"{who.kind} board {who.serial}, {taken_at:%Y-%m-%d}"
    return CalibrationRecord(
        calibration=solve(observed, setup.meter, who, name, taken_at),
        board=who,
        meter=setup.meter,
        observed=observed,
        left_out=tuple(setup.left_out),
        refused=tuple(setup.refused),
        software=f"pulldrop {__version__}",
        operator=operator,
    )


def _meter(setup: CalibrationSetup) -> Talk[None]:
    """The multimeter's accuracy, from its sheet; the last one, or a usual cheap one, where nothing is said."""
    yield Tell("Its accuracy is in its leaflet, such as +-(0.5 % + 3 digits). Enter takes the value in brackets.")
    meter = setup.meter
    given: dict[str, float] = {}
    for key, words, unit, low, high in (
        ("counts", "Counts of its display (2000 shows up to 1999)", "", 1000.0, 1e6),
        ("volts_percent", "DC volts, percent of reading", "%", 0.001, 5.0),
        ("ohms_percent", "Resistance, percent of reading", "%", 0.001, 5.0),
        ("digits", "Digits to be added", "digits", 0.5, 50.0),
    ):
        ask = Question(f"meter_{key}", words, unit, default=float(getattr(meter, key)))
        given[key] = (yield from number(setup, ask, low, high, "See the leaflet of the multimeter.")) or 0.0
    setup.meter = Meter(**{**given, "counts": round(given["counts"])})


def _temperature(setup: CalibrationSetup) -> Talk[None]:
    bench_c = setup.rig.read_temperature()
    if bench_c is None:
        yield from leave(setup, "temperature: the bench's sensor does not read. Look for a broken or shorted wire.")
        return
    accuracy = yield from number(
        setup,
        Question("thermometer_accuracy", "Accuracy of your thermometer, +-", "K", 1.0),
        0.05,
        5.0,
        "See its leaflet.",
    )
    room = ROOM * (1.5 + (accuracy or 1.0))
    advice = "Let thermometer and bench stand side by side for ten minutes, in degC, then read again."
    celsius = yield from number(
        setup,
        Question("thermometer", "Thermometer beside the bench's sensor", "degC"),
        bench_c - room,
        bench_c + room,
        advice,
    )
    if celsius is None:
        yield from leave(setup, "temperature: no thermometer was read.")
    else:
        setup.seen["temperature"] = (bench_c, celsius, accuracy or 1.0)


def _stop(setup: CalibrationSetup) -> Talk[None]:
    """Both supplies die with the emergency stop; nobody notices otherwise until it is needed."""
    ask = Question(
        "stop_test",
        "Press the emergency stop once, so that the bench reads what it ends: 1, or 0 to leave this out",
        "",
        1.0,
    )
    if not (yield from number(setup, ask, 0.0, 1.0, "Answer 1 or 0.")):
        yield from leave(setup, "emergency stop: it was not pressed.")
        return
    yield Do("empty", "Take everything out of the socket.")
    checks = yield from stopped(setup.rig)
    contact.refuse_unsafe(checks)
    if any(check.state == "noted" for check in checks):
        yield from leave(setup, "emergency stop: the coil supply was not read while it was pressed.")
    else:
        setup.seen["stopped"] = True


def _clock(setup: CalibrationSetup, started: tuple[float, float]) -> Talk[None]:
    """The board's clock against the computer's since the dialogue began, a minute at least."""
    left_s = CLOCK_S - (setup.clock() - started[1])
    if left_s > 0:
        yield Tell(f"The clocks are compared over a minute; {left_s:.0f} s are left. Nothing is energised.")
        setup.rig.wait(left_s)
    board_s = read.clock_s(setup.rig) - started[0]
    computer_s = setup.clock() - started[1]
    if abs(board_s / computer_s - 1) > 0.01:
        text = f"clock: the board counted {board_s:.2f} s in {computer_s:.2f} s; within 1 % was expected. Run it again."
        setup.refused.append(text)
        yield from leave(setup, text)
    else:
        setup.seen["clock"] = (board_s, computer_s)
