"""The coil's side of a calibration: volts by the multimeter, amps by a resistor, and the drop below the coil.

Rule: a reading that is left out leaves its channel as the data sheets say.
"""

from pulldrop.jobs.calibrate.ask import ROOM, CalibrationSetup, leave, reference, refuse, unlike
from pulldrop.jobs.self_test.talk import Do, Question, Talk
from pulldrop.measure.calibrate import read
from pulldrop.model.bench.kit import AmpsPoint, LowPoint, Reference, VoltsPoint
from pulldrop.model.quantity import show

SET_POINTS_V = (0.15, 5.0, 12.0)
"""The low one gives the zero, in the multimeter's most sensitive range; the others give the gain."""
AMPS_POINTS_V = (2.0, 5.0)
"""50 mA and a quarter of a watt in 100 ohm, for less than two seconds before it is read. A supply that nobody can
set gives it 1.5 W for a third of a second: 3 K. A look at 13 mA would be read by a bus whose zero, 7.5 mV, is 0.6 % of
it, and that shows nothing below 0."""
RESISTOR_OHM = (60.0, 220.0)
EMPTY_COUNTS = 80
"""2 mA on the shunt: more than any meter draws, less than any coil."""


def volts(setup: CalibrationSetup) -> Talk[None]:
    """Supply on, nothing in the socket, multimeter at the coil terminals."""
    yield Do("empty", "Take everything out of the socket. Multimeter to DC volts: red to 86 (coil +), black to 85.")
    points: list[VoltsPoint] = []
    able = setup.rig.able
    for volts in SET_POINTS_V if able.coil == "set" else (able.supply_v,):
        point = yield from _volts_point(setup, volts)
        if point is None:
            yield from leave(setup, "coil volts: the multimeter was not read.")
            return
        points.append(point)
    setup.seen["volts"] = tuple(points)


def _held(setup: CalibrationSetup, dac: int, id: str, words: str) -> Talk[tuple[float, float, float] | None]:
    """What the multimeter shows at a held setting, and the board's bus and shunt right after; None when left out."""
    read.settled(setup.rig, dac)
    shown = yield Question(id, words, "V", keep=lambda: read.hold(setup.rig, dac))
    if shown is None:
        return None
    read.settled(setup.rig, dac)
    return shown, *read.coil(setup.rig)


def _volts_point(setup: CalibrationSetup, volts: float) -> Talk[VoltsPoint | None]:
    base, dac = setup.rig.calibration, read.aimed(setup.rig, volts)
    words = f"The supply stands at about {volts:g} V. The multimeter shows"
    if setup.rig.able.coil != "set":
        words = "The supply is on, S4 at supply. The multimeter shows"
    while held := (yield from _held(setup, dac, "volts", words)):
        shown, bus, shunt = held
        expected = base.coil_bus.value(bus)
        room = ROOM * (setup.meter.limit_v(expected) + 0.0085 + 0.001 * expected)
        if abs(shunt) > EMPTY_COUNTS:
            amps = show(base.coil_shunt.value(shunt), "A")
            yield from refuse(setup, f"{amps} flow although the socket should be empty. Take the part out.")
        elif abs(shown - expected) > room:
            yield from refuse(setup, unlike(shown, expected, room, "V", "Check range, polarity, and both probes."))
        else:
            return VoltsPoint(dac=dac, bus=bus, meter_v=shown)
    return None


def amps(setup: CalibrationSetup) -> Talk[None]:
    """A resistor between the coil terminals, and the drop below the coil at the same current."""
    words = "A resistor of about 100 ohm, 0.5 W or more; 0.1 % is worth its euro"
    resistor = yield from reference(setup, "resistor", words, RESISTOR_OHM)
    if resistor is None:
        yield from leave(setup, "coil amps: no resistor was used.")
        return
    zero = setup.seen["shunt_zero"] = read.shunt_zero(setup.rig)
    while True:
        yield Do("coil_resistor", "Put the resistor into the socket between 86 and 85. Touch nothing else.")
        points = _amps_points(setup)
        refusal = _resistor_refused(setup, points[-1], zero, resistor)
        if not refusal:
            break
        yield from refuse(setup, refusal)
    setup.seen.update(resistor=resistor, amps=points)
    if setup.rig.able.coil != "set":
        kept = "low side, fast converter, zero of the coil's volts"
        yield from leave(setup, f"{kept}: this build has its supply's volts alone.")
        return
    low = yield from _low_side(setup, resistor)
    if low is None:
        yield from leave(setup, "low side: the multimeter was not read.")
    else:
        setup.seen["low_side"] = low


def _amps_points(setup: CalibrationSetup) -> tuple[AmpsPoint, ...]:
    if setup.rig.able.coil != "set":
        return (read.briefly(setup.rig, setup.rig.able.supply_v),)
    points = []
    for volts in AMPS_POINTS_V:
        read.settled(setup.rig, setup.rig.dac_for(volts))
        points.append(read.coil_with_fast(setup.rig))
    setup.rig.off()
    return tuple(points)


def _resistor_refused(setup: CalibrationSetup, point: AmpsPoint, zero: float, resistor: Reference) -> str:
    """Why the resistor that the board sees cannot be the one named; empty when it can."""
    base = setup.rig.calibration
    amps = base.coil_shunt.value(point.shunt - zero)
    if amps < 0.005:
        return f"Only {show(max(amps, 0.0), 'A')} flow. The resistor does not reach both terminals: seat it again."
    ohm = base.coil_bus.value(point.bus) / amps - base.low_side_ohm
    room = ROOM * (resistor.u_ohm * 3**0.5 + 0.015 * ohm)
    if abs(ohm - resistor.ohm) <= room:
        return ""
    return unlike(resistor.ohm, ohm, room, "ohm", "Check the value that you gave, and the resistor's ends.")


def _low_side(setup: CalibrationSetup, resistor: Reference) -> Talk[LowPoint | None]:
    base, dac = setup.rig.calibration, setup.rig.dac_for(AMPS_POINTS_V[-1])
    words = "Red probe to 85 (coil -), black to the bench's ground. The multimeter shows"
    while held := (yield from _held(setup, dac, "low_side", words)):
        shown, bus, shunt = held
        expected = base.coil_bus.value(bus) / (resistor.ohm + base.low_side_ohm) * base.low_side_ohm
        room = ROOM * (setup.meter.limit_v(expected) + 0.06 * expected)
        if abs(shown - expected) <= room:
            return LowPoint(bus=bus, shunt=shunt, meter_v=shown)
        yield from refuse(setup, unlike(shown, expected, room, "V", "In volts, not millivolts; check both probes."))
    return None
