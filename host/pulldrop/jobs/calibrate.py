"""A calibration, step by step: what a person does and reads, what the board reads, and what is refused.

Rule: nothing is kept that cannot be right; a reading that is left out leaves its channel as the data sheets say.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime

from pulldrop import __version__
from pulldrop.board.contract import Board
from pulldrop.jobs.talk import Ask, Do, Part, Refusal, Talk, Tell
from pulldrop.measure import calibrate_read as read
from pulldrop.measure.budget import nominal_value
from pulldrop.measure.calibrate import BLADES_OHM, LINK_OHM, solve
from pulldrop.measure.ranges import of_range
from pulldrop.model.calibration import Calibration, nominal
from pulldrop.model.kit import (
    AmpsPoint,
    CalibrationRecord,
    ContactPoint,
    LowPoint,
    Meter,
    Observed,
    Reference,
    VoltsPoint,
)
from pulldrop.model.quantity import show
from pulldrop.model.raw import Contact

PARTS = ("your multimeter", "temperature", "coil volts", "coil amps", "contact zero", "contact drop", "clock")
SET_POINTS_V = (0.15, 5.0, 12.0)
"""The low one tells the zero, in the multimeter's most sensitive range; the others tell the gain."""
AMPS_POINTS_V = (2.0, 5.0)
"""50 mA and a quarter of a watt in 100 ohm, for less than two seconds before it is read."""
RESISTOR_OHM = (60.0, 220.0)
CONTACT_OHM = (0.05, 1.0)
EMPTY_COUNTS = 80
"""2 mA on the shunt: more than any meter draws, less than any coil."""
ROOM = 1.5
"""How far beyond all stated limits together a reading may lie before it is refused."""
CLOCK_S = 60.0
LINK_MOST_OHM, LINK_LEAST_A = 1e-3, 5.0
"""More than that between the sense points at 10 A is a dirty clip, or a sense wire on the wrong side of it."""


class NothingRead(Exception):
    """Everything was left out; the message is a sentence for a person."""


@dataclass(slots=True)
class Setup:
    """One calibration while it goes on. `clock`: seconds by the computer; `seen`: what was read so far."""

    board: Board
    clock: Callable[[], float]
    meter: Meter
    base: Calibration
    seen: dict[str, object] = field(default_factory=dict)
    left_out: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


def walk(
    board: Board, clock: Callable[[], float], *, meter: Meter | None = None, operator: str = "",
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> Talk[CalibrationRecord]:  # fmt: skip
    """The whole dialogue. `meter` gives defaults, such as those of the last calibration. Everything is off at the end.

    Raises NothingRead when everything was left out, and BoardError for bench trouble.
    """
    setup = Setup(board, clock, meter or Meter(), nominal(board.identity.serial))
    started = board.status().uptime_ms / 1000, clock()
    steps = (_meter, _temperature, _volts, _amps, _contact_zero, _contact)
    try:
        for index, (title, step) in enumerate(zip(PARTS, steps, strict=False), 1):
            yield Part(title, index, len(PARTS))
            yield from step(setup)
            board.off()
        yield Part(PARTS[-1], len(PARTS), len(PARTS))
        yield from _clock(setup, started)
    finally:
        board.off()
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
        simulated=who.simulated,
    )


def _meter(setup: Setup) -> Talk[None]:
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
        ask = Ask(f"meter_{key}", words, unit, default=float(getattr(meter, key)))
        given[key] = (yield from _number(setup, ask, low, high, "Look into the leaflet of the multimeter.")) or 0.0
    setup.meter = Meter(**{**given, "counts": round(given["counts"])})


def _temperature(setup: Setup) -> Talk[None]:
    bench_c = read.bench_c(setup.board)
    if bench_c is None:
        yield from _leave(setup, "temperature: the bench's sensor does not read. Look for a broken or shorted wire.")
        return
    accuracy = yield from _number(
        setup, Ask("thermometer_accuracy", "Accuracy of your thermometer, +-", "K", 1.0), 0.05, 5.0, "See its leaflet."
    )
    room = ROOM * (1.5 + (accuracy or 1.0))
    advice = "Let thermometer and bench stand side by side for ten minutes, in degC, then read again."
    celsius = yield from _number(
        setup,
        Ask("thermometer", "Thermometer beside the bench's sensor", "degC"),
        bench_c - room,
        bench_c + room,
        advice,
    )
    if celsius is None:
        yield from _leave(setup, "temperature: no thermometer was read.")
    else:
        setup.seen["temperature"] = (bench_c, celsius, accuracy or 1.0)


def _volts(setup: Setup) -> Talk[None]:
    """Supply on, nothing in the socket, multimeter at the coil terminals."""
    yield Do("empty", "Take everything out of the socket. Multimeter to DC volts: red to 86 (coil +), black to 85.")
    points: list[VoltsPoint] = []
    for volts in SET_POINTS_V:
        point = yield from _volts_point(setup, volts)
        if point is None:
            yield from _leave(setup, "coil volts: the multimeter was not read.")
            return
        points.append(point)
    setup.seen["volts"] = tuple(points)


def _volts_point(setup: Setup, volts: float) -> Talk[VoltsPoint | None]:
    board, base = setup.board, setup.base
    dac = read.aimed(board, read.dac_for(volts, base.coil_set), volts, base.coil_set, base.coil_bus)
    ask = Ask(
        "volts",
        f"The supply stands at about {volts:g} V. The multimeter shows",
        "V",
        keep=lambda: read.hold(board, dac),
    )
    while True:
        read.settled(board, dac)
        shown = yield ask
        if shown is None:
            return None
        read.settled(board, dac)
        bus, shunt = read.coil(board)
        expected = base.coil_bus.value(bus)
        room = ROOM * (setup.meter.limit_v(expected) + 0.0085 + 0.001 * expected)
        if abs(shunt) > EMPTY_COUNTS:
            amps = show(base.coil_shunt.value(shunt), "A")
            yield from _refuse(setup, f"{amps} flow although the socket should be empty. Take the part out.")
        elif abs(shown - expected) > room:
            yield from _refuse(setup, _unlike(shown, expected, room, "V", "Check range, polarity, and both probes."))
        else:
            return VoltsPoint(dac=dac, bus=bus, meter_v=shown)


def _amps(setup: Setup) -> Talk[None]:
    """A resistor between the coil terminals, and the drop below the coil at the same current."""
    words = "A resistor of about 100 ohm, 0.5 W or more; 0.1 % is worth its euro"
    resistor = yield from _reference(setup, "resistor", words, RESISTOR_OHM)
    if resistor is None:
        yield from _leave(setup, "coil amps: no resistor was used.")
        return
    setup.seen["shunt_zero"] = read.shunt_zero(setup.board)
    while True:
        yield Do("coil_resistor", "Put the resistor into the socket between 86 and 85. Touch nothing else.")
        points = _amps_points(setup)
        refusal = _resistor_refused(setup, points[-1], resistor)
        if not refusal:
            break
        yield from _refuse(setup, refusal)
    setup.seen.update(resistor=resistor, amps=points)
    low = yield from _low_side(setup, resistor)
    if low is None:
        yield from _leave(setup, "low side: the multimeter was not read.")
    else:
        setup.seen["low_side"] = low


def _amps_points(setup: Setup) -> tuple[AmpsPoint, ...]:
    points = []
    for volts in AMPS_POINTS_V:
        read.settled(setup.board, read.dac_for(volts, setup.base.coil_set))
        points.append(read.coil_with_fast(setup.board))
    setup.board.off()
    return tuple(points)


def _resistor_refused(setup: Setup, point: AmpsPoint, resistor: Reference) -> str:
    """Why the resistor that the board sees cannot be the one named; empty when it can."""
    base = setup.base
    amps = base.coil_shunt.value(point.shunt - _as_float(setup.seen["shunt_zero"]))
    if amps < 0.005:
        return f"Only {show(max(amps, 0.0), 'A')} flow. The resistor does not reach both terminals: seat it again."
    ohm = base.coil_bus.value(point.bus) / amps - base.low_side_ohm
    room = ROOM * (resistor.u_ohm * 3**0.5 + 0.015 * ohm)
    if abs(ohm - resistor.ohm) <= room:
        return ""
    return _unlike(resistor.ohm, ohm, room, "ohm", "Check the value that you gave, and the resistor's ends.")


def _low_side(setup: Setup, resistor: Reference) -> Talk[LowPoint | None]:
    board, base = setup.board, setup.base
    dac = read.dac_for(AMPS_POINTS_V[-1], base.coil_set)
    words = "Red probe to 85 (coil -), black to the bench's ground. The multimeter shows"
    ask = Ask("low_side", words, "V", keep=lambda: read.hold(board, dac))
    while True:
        read.settled(board, dac)
        shown = yield ask
        if shown is None:
            return None
        read.settled(board, dac)
        bus, shunt = read.coil(board)
        expected = base.coil_bus.value(bus) / (resistor.ohm + base.low_side_ohm) * base.low_side_ohm
        room = ROOM * (setup.meter.limit_v(expected) + 0.06 * expected)
        if abs(shown - expected) <= room:
            return LowPoint(bus=bus, shunt=shunt, meter_v=shown)
        yield from _refuse(setup, _unlike(shown, expected, room, "V", "In volts, not millivolts; check both probes."))


def _contact_zero(setup: Setup) -> Talk[None]:
    words = "A shorting link, copper strip 6.3 x 0.8 mm bent to a U, 35 mm from clip to clip: 1, or 0 to leave this out"
    ask = Ask("link", words, "", 1.0)
    link = yield from _number(setup, ask, 0.0, 1.0, "Answer 1 or 0.")
    if not link:
        yield from _leave(setup, "contact zero: no link was used.")
        return
    while True:
        yield Do("link", "Put the link into the socket between 30 and 87. Nothing else.")
        if read.closed(setup.board):
            break
        yield from _refuse(setup, "30 and 87 are seen open. The link should close them: seat it again.")
    setup.seen["contact_zero"] = read.contact_zero(setup.board)
    if read.has_load(setup.board):
        yield from _links(setup)
    else:
        yield from _leave(setup, "clips: the load supply is not connected.")


def _links(setup: Setup) -> Talk[None]:
    """The link at 10 A in either throw: what its strip does not explain belongs to blades and clips."""
    points = []
    for throw, where in ((Contact.NO, "87"), (Contact.NC, "87a")):
        while True:
            if throw is Contact.NC:
                yield Do("link_nc", "Now put the link between 30 and 87a. It is loaded by pulses.")
            point = read.link(setup.board, throw) if read.closed(setup.board, throw) else None
            refusal = _link_refused(setup, point, where)
            if point and not refusal:
                points.append(point)
                break
            yield from _refuse(setup, refusal)
            if throw is Contact.NO:
                yield Do("link", "Put the link into the socket between 30 and 87. Nothing else.")
    setup.seen["links"] = tuple(points)


def _link_refused(setup: Setup, point: ContactPoint | None, where: str) -> str:
    if point is None:
        return f"30 and {where} are seen open. The link should close them: seat it again."
    base = setup.base
    amps = base.load.value(point.shunt)
    ohm = point.drop * base.drop.gain / amps if amps > LINK_LEAST_A else 0.0
    if LINK_OHM < ohm < LINK_MOST_OHM:
        return ""
    if not ohm:
        return f"Only {show(max(amps, 0.0), 'A')} flow through the link, about 10 A were expected: seat it again."
    least, most = show(LINK_OHM, "ohm"), show(LINK_MOST_OHM, "ohm")
    return f"Read {show(ohm, 'ohm')}, expected {least} to {most}. Clean blades and clips, look at the sense wires."


def _contact(setup: Setup) -> Talk[None]:
    """The low resistor in place of the contact; without the load supply there is nothing to compare."""
    if not read.has_load(setup.board):
        yield from _leave(setup, "contact drop: the load supply is not connected.")
        return
    words = "A resistor of about 0.22 ohm, 5 W, soldered to two blades"
    resistor = yield from _reference(setup, "contact_resistor", words, CONTACT_OHM, may_be_measured=False)
    if resistor is None:
        yield from _leave(setup, "contact drop: no low resistor was used; the load shunt stays at its 1 %.")
        return
    while True:
        yield Do("contact_resistor", "Put the low resistor into the socket between 30 and 87. It is loaded by pulses.")
        point = read.contact(setup.board, resistor.ohm)
        refusal = _low_resistor_refused(setup, point, resistor)
        if not refusal:
            break
        yield from _refuse(setup, refusal)
    setup.seen.update(contact_resistor=resistor, contact=point)


def _low_resistor_refused(setup: Setup, point: ContactPoint, resistor: Reference) -> str:
    base = setup.base
    amps = base.load.value(point.shunt)
    if amps < 0.1:
        return f"Only {show(max(amps, 0.0), 'A')} flow. The resistor does not close 30 and 87: seat it again."
    ohm = base.drop.value(point.drop) * nominal_value(of_range(point.gain)) / amps
    room = ROOM * (resistor.u_ohm * 3**0.5 + 0.02 * ohm + 2 * BLADES_OHM)
    if abs(ohm - resistor.ohm) <= room:
        return ""
    return _unlike(resistor.ohm, ohm, room, "ohm", "Check its value, and solder or clean its blades.")


def _clock(setup: Setup, started: tuple[float, float]) -> Talk[None]:
    """The board's clock against the computer's since the dialogue began, a minute at least."""
    left_s = CLOCK_S - (setup.clock() - started[1])
    if left_s > 0:
        yield Tell(f"The clocks are compared over a minute; {left_s:.0f} s are left. Nothing is energised.")
        setup.board.wait(left_s)
    board_s = setup.board.status().uptime_ms / 1000 - started[0]
    computer_s = setup.clock() - started[1]
    if abs(board_s / computer_s - 1) > 0.01:
        text = f"clock: the board counted {board_s:.2f} s in {computer_s:.2f} s; within 1 % was expected. Run it again."
        setup.refused.append(text)
        yield from _leave(setup, text)
    else:
        setup.seen["clock"] = (board_s, computer_s)


def _reference(
    setup: Setup, id: str, words: str, between: tuple[float, float], *, may_be_measured: bool = True
) -> Talk[Reference | None]:
    """A resistor's value and how well it is known: as printed, or by the multimeter with its leads taken off."""
    advice = f"Use one between {between[0]:g} and {between[1]:g} ohm."
    ohm = yield from _number(
        setup, Ask(f"{id}_ohm", f"{words}. Its value (nothing: I have none)", "ohm"), *between, advice
    )
    if ohm is None:
        return None
    how = " (0: measure it with the multimeter)" if may_be_measured else ""
    least = 0.0 if may_be_measured else 0.001
    ask = Ask(f"{id}_percent", f"Its tolerance{how}", "%", None if may_be_measured else 1.0)
    percent = yield from _number(setup, ask, least, 10.0, "A tolerance in percent, as printed or by its last ring.")
    if percent:
        return Reference.printed(ohm, percent)
    leads = yield from _number(
        setup,
        Ask(f"{id}_leads", "Hold the probes together. The multimeter shows", "ohm", 0.2),
        0.0,
        2.0,
        "Clean the tips.",
    )
    room = ROOM * (0.1 * ohm)
    advice = "Measure it out of the socket, on the lowest range that shows it."
    shown = yield from _number(
        setup, Ask(f"{id}_measured", "Now the resistor. The multimeter shows", "ohm"), ohm - room, ohm + room, advice
    )
    return None if shown is None else Reference.measured(shown - (leads or 0.0), setup.meter)


def _number(setup: Setup, ask: Ask, low: float, high: float, advice: str) -> Talk[float | None]:
    """An answer between `low` and `high`, asked again until it is; None when it is left out."""
    while True:
        given = yield ask
        if given is None:
            return ask.default
        if low <= given <= high:
            return given
        between = f"{_plain(low, ask.unit)} to {_plain(high, ask.unit)}"
        yield from _refuse(setup, f"Read {_plain(given, ask.unit)}, expected {between}. {advice}")


def _refuse(setup: Setup, sentence: str) -> Talk[None]:
    setup.refused.append(sentence)
    yield Refusal(sentence)


def _leave(setup: Setup, sentence: str) -> Talk[None]:
    setup.left_out.append(sentence)
    yield Tell(f"Left out, {sentence}")


def _unlike(given: float, expected: float, room: float, unit: str, advice: str) -> str:
    return f"Read {_plain(given, unit)}, expected {_plain(expected, unit)} +-{room:.2g}. {advice} Then answer again."


def _plain(value: float, unit: str) -> str:
    return f"{value:.4g} {unit}".rstrip()


def _as_float(value: object) -> float:
    assert isinstance(value, float)
    return value
