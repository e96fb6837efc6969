"""The bench tests itself with an empty socket: what can be checked without a part, each against what is expected.

Rule: nothing is energised once a part is seen in the socket.
"""

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import replace
from functools import partial

from pulldrop.board.contract import Trip
from pulldrop.board.errors import Refused, Tripped
from pulldrop.board.request_types import Analog, Branch, Pulse
from pulldrop.measure.rig import load_supply
from pulldrop.measure.rig.counts import temperature
from pulldrop.measure.rig.counts.channels import LOW_SIDE_GAIN, SUM
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.self_test import stages
from pulldrop.measure.self_test.check import Check, checked
from pulldrop.measure.self_test.terminals import terminals
from pulldrop.model.raw import Contact

PROBE_V, SETTLE_S, EMPTY_LIMIT = 5.0, 0.05, 40
"""First volts; how long they stand before a look; counts of current, 12 mA, at which an empty socket has one."""
SET_POINTS_V = (3.0, 12.0)
SET_TOLERANCE = 0.06
SET_ZERO_V = 0.27
"""The DAC rides on the 5 V supply of the board, 4 %, and has a gain of 2 % and a zero of 0.75 % of full scale (37
counts with its amplifier) of its own."""
HELD_V, HELD_MS, HELD_WITHIN_MS = 0.3, 10, 400
"""What the coil supply is held below once its time is over, the DAC still at the code of the highest set point: a Q6 of
25 ohm and more is found (tests/hardware/test_decks_coil.py); that time; and within how many ms of the board's clock it
must be seen. A board that hears nothing for 500 ms takes its DAC to 0 itself, and 0 V then say nothing."""
HELD = f"below {HELD_V:g} V, the DAC at {SET_POINTS_V[-1]:g} V and the lamp dark"
ONE_SUPPLY_V = (10.5, 14.5)
"""Of 11 to 15 V, less a diode."""
RELAY_MS = 60
"""More than a main relay is waited for."""
EMPTY_COIL_V = 0.5
"""With nothing between the coil terminals the low side stays at zero; a coil lifts it to the coil supply."""
ZERO_COIL_A = 0.001
ZERO_FAST_COUNTS = 8
ZERO_LOAD_A = 0.05
LOAD_SUPPLY_V = (11.0, 14.5)
NO_LOAD_SUPPLY_V = 2.0
OPEN_CONTACT_COUNTS, OPEN_GAIN = 30_000, 4
"""An open throw leaves the dry source's 5 V at the converter, far beyond 512 mV; an open sense wire 0.33 V, by R44 to
R46."""
AN_ANSWER = "an answer"
NO_PART = (
    "no part answers: not built yet, or the bus has no supply or a wire off. Only the temperature can be looked at"
)
MODULE_MISSING = (
    "the INA226 module does not answer at 0x40: look at its supply, SDA, SCL and the pads of its address; or a part of"
    " the full bench answers beside the ADS1115 at 0x4B: take it off"
)
NO_DAC = (
    "a part answers, but no DAC (0x60 to 0x63): its stage is not built yet; on an evening build, the ADS1115 module"
    " does not answer at 0x4B: look at its supply, SDA, SCL, and that ADDR is at SCL"
)
PART_SEEN = "nothing more is energised while a part seems to be in the socket"


def self_test(rig: Rig, stage: int = stages.LAST) -> Iterator[Check]:
    """Yield each check as soon as it is made; everything is off at the end.

    `stage`: up to which of `stages` a full bench is built; lines of later ones are left out.
    """
    made = []
    for check in _checks(rig, stage):
        made.append(check)
        yield check
    if rig.able.coil == "set":
        yield stages.standing(made, stage)
    elif rig.able.coil == "by hand":
        yield stages.evening(made)


def _checks(rig: Rig, stage: int) -> Iterator[Check]:
    yield _greets(rig)
    if rig.bare:
        yield from terminals(rig)
        yield _temperature(rig)
        return
    stop, bus = _stop_input(rig), _bus(rig)
    yield stop
    if stage > 1 and (bus.state != "ok" or _no_dac(rig)):
        yield bus
    if stage == 1 or bus.state != "ok":
        yield _temperature(rig)
        return
    try:
        if stop.state == "ok":
            yield from _energised(rig, stage)
        yield from _passive(rig, stage)
    finally:
        with suppress(Refused):  # a coil supply that does not obey was reported
            rig.off()


def _energised(rig: Rig, stage: int) -> Iterator[Check]:
    """What does not answer is reported, and the rest is looked at all the same."""
    if stage < stages.at("coil socket"):
        yield _asked(rig, contacts_open, "contact socket")
        yield _asked(rig, _contact_converter, "contact converter")
        return
    coil = _asked(rig, coil_empty, "coil socket")
    contacts = _asked(rig, contacts_open, "contact socket")
    yield coil
    yield contacts
    wrong = [one for one in (coil, contacts) if one.state == "wrong"]
    if wrong:
        dumb = all(one.expected == AN_ANSWER for one in wrong)
        found = "the coil is not energised before both sockets are known to be empty" if dumb else PART_SEEN
        yield Check(title="coil supply", expected="an empty socket", found=found, state="not done")
        if not dumb:
            return
    else:
        if rig.able.coil == "set":
            supply = [_asked(rig, partial(_coil_supply, set_v=v), f"coil supply at {v:g} V") for v in SET_POINTS_V]
        else:
            supply = [_asked(rig, _one_supply, "coil supply")]
        yield from supply
        if all(one.state == "ok" for one in supply):
            held = _supply_held if rig.able.coil == "set" else _relay_opens
            yield _asked(rig, held, "coil supply held at 0")
        else:
            found = "not looked at before the supply gives its volts"
            yield Check(title="coil supply held at 0", expected=HELD, found=found, state="not done")
    yield _asked(rig, _contact_converter, "contact converter")


def _passive(rig: Rig, stage: int) -> Iterator[Check]:
    off = _asked(rig, _all_off, "everything off")
    if off.state == "wrong":
        yield off
    for title, check in LOOKS.items():
        if stages.at(title) <= stage:
            yield _asked(rig, check, title)
    if stages.at("scan lines") <= stage:
        yield from _scan(rig)


def _all_off(rig: Rig) -> Check:
    rig.off()
    return checked("everything off", AN_ANSWER, "off", True)


def _scan(rig: Rig) -> Iterator[Check]:
    try:
        yield from terminals(rig)
    except Refused as refused:
        yield checked("scan lines", AN_ANSWER, str(refused), False)


def _asked(rig: Rig, check: Callable[[Rig], Check], title: str) -> Check:
    """A part on the board's bus that does not answer is a finding of the self-test, not its end; so is a trip."""
    try:
        return check(rig)
    except Tripped as tripped:
        rig.acknowledge()
        return checked(title, "no trip", str(tripped), False)
    except Refused as refused:
        return checked(title, AN_ANSWER, str(refused), False)


def _greets(rig: Rig) -> Check:
    who = rig.board.identity
    name = f"{who.kind} board {who.serial}, {who.build} build"
    found = f"{name}, firmware {who.firmware}, last reset: {who.reset_cause}"
    return checked("greeting", "a pulldrop board", found, True)


def _stop_input(rig: Rig) -> Check:
    status = rig.board.status()
    if status.emergency_stop:
        found = "pressed, or its wire is open: release it, then run this again"
    elif status.trip is not Trip.NONE:
        rig.acknowledge()
        found = f"released; an old trip ({status.trip.name.lower().replace('_', ' ')}) was cleared"
    else:
        found = "released, no trip latched"
    return checked("emergency stop", "released, no trip latched", found, not status.emergency_stop)


def _no_dac(rig: Rig) -> bool:
    return rig.able.coil == "set" and not rig.board.identity.dac_address


def _bus(rig: Rig) -> Check:
    """A board none of whose parts answers turns nothing on, so nothing more can be looked at."""
    silent = rig.board.status().bus_silent
    if silent and rig.able.coil == "by hand":
        found = MODULE_MISSING
    elif silent:
        found = NO_PART
    elif _no_dac(rig):
        found = NO_DAC
    else:
        found = "a part answers"
    return checked("I2C bus", "parts that answer", found, not silent)


def coil_empty(rig: Rig) -> Check:
    """Coil supply up, switch open: a coil in the socket would carry the supply to the low side."""
    rig.hold(replace(rig.drive(PROBE_V, on=False), dry=Contact.NONE), SETTLE_S)
    low_side_v = rig.board.sense_analog(Analog.COIL_LOW_SIDE) / SUM * LOW_SIDE_GAIN
    rig.must_be_supplied()
    empty = low_side_v < EMPTY_COIL_V
    found = f"{low_side_v:.2f} V at the low side, " + ("so it is empty" if empty else "so a coil is in it: take it out")
    return checked("coil socket", f"empty: below {EMPTY_COIL_V:g} V at the low side", found, empty)


def contacts_open(rig: Rig) -> Check:
    closed = rig.seen_at_rest(SETTLE_S)
    names = " and ".join(name for bit, name in ((Contact.NO, "30-87"), (Contact.NC, "30-87a")) if closed & bit)
    found = f"{names} closed: a part is in it, or the leads touch" if closed else "both open"
    return checked("contact socket", "empty: both throws open", found, not closed)


def _coil_supply(rig: Rig, set_v: float) -> Check:
    """The DAC sets, the INA226 measures: both parts answer and agree."""
    rig.hold(replace(rig.drive(set_v, limit=EMPTY_LIMIT), dry=Contact.NONE), SETTLE_S)
    counts = rig.board.sense_coil()
    rig.board.hold_coil(rig.drive(0.0, on=False))
    volts, amps = rig.calibration.coil_bus.value(counts.bus), rig.calibration.coil_shunt.value(counts.shunt)
    room_v = SET_TOLERANCE * set_v + SET_ZERO_V
    right = abs(volts - set_v) <= room_v and abs(amps) <= ZERO_COIL_A
    expected = f"{set_v:g} V +-{room_v:.2f}, 0 mA +-{1000 * ZERO_COIL_A:g}"
    return checked(f"coil supply at {set_v:g} V", expected, f"{volts:.3f} V, {1000 * amps:.2f} mA", right)


def _one_supply(rig: Rig) -> Check:
    """That of a build that cannot set it: S4 at "supply", or the knob turned up."""
    rig.hold(replace(rig.drive(SET_POINTS_V[-1], limit=EMPTY_LIMIT), dry=Contact.NONE), SETTLE_S)
    counts = rig.board.sense_coil()
    rig.board.hold_coil(rig.drive(0.0, on=False))
    volts, amps = rig.calibration.coil_bus.value(counts.bus), rig.calibration.coil_shunt.value(counts.shunt)
    low, high = ONE_SUPPLY_V
    right = low <= volts <= high and abs(amps) <= ZERO_COIL_A
    expected = f"{low:g} to {high:g} V with S4 at 'supply', 0 mA +-{1000 * ZERO_COIL_A:g}"
    return checked("coil supply", expected, f"{volts:.3f} V, {1000 * amps:.2f} mA", right)


def _relay_opens(rig: Rig) -> Check:
    """The main relay lets go when its time is over, though nothing else turned it off."""
    rig.hold(replace(rig.drive(SET_POINTS_V[-1], RELAY_MS, on=False), dry=Contact.NONE), RELAY_MS / 1000 + SETTLE_S)
    volts = rig.calibration.coil_bus.value(rig.board.sense_coil().bus)
    rig.off()
    found = f"{volts:.3f} V" + ("" if volts < HELD_V else ": K1 does not open")
    return checked("coil supply held at 0", f"below {HELD_V:g} V once its time is over", found, volts < HELD_V)


def _supply_held(rig: Rig) -> Check:
    """Without the bus: the DAC keeps its code, and only the lamp's pin takes the supply off."""
    set_v = SET_POINTS_V[-1]
    began = rig.board.status()
    rig.hold(replace(rig.drive(set_v, HELD_MS, on=False), dry=Contact.NONE), SETTLE_S)
    volts = rig.calibration.coil_bus.value(rig.board.sense_coil().bus)
    ended = rig.board.status()
    rig.off()
    took_ms, held = ended.uptime_ms - began.uptime_ms, volts < HELD_V
    told = took_ms < HELD_WITHIN_MS and ended.trip is Trip.NONE
    found = f"{volts:.3f} V"
    if not held:
        found += ": Q6 does not close. On a dead bus terminal 86 stays live"
    elif not told:
        found = (
            f"not told: the computer took {took_ms} ms, and the board may have set the DAC to 0 itself. Run this again"
        )
    return checked("coil supply held at 0", HELD, found, held and told)


def _contact_converter(rig: Rig) -> Check:
    """ADS1115 with the dry sources alone: no load current, and each open throw drives it to its end."""
    amps, short = 0.0, []
    for throw, name in ((Contact.NO, "87"), (Contact.NC, "87a")):
        counts = rig.board.load_pulse(Pulse(throw, Branch.NONE, settle_ms=5, samples=4, limit_ms=100, gain=OPEN_GAIN))
        amps = max((amps, *(rig.calibration.load.value(one) for one in counts.shunt)), key=abs)
        short += [name] if min(counts.drop) < OPEN_CONTACT_COUNTS else []
    found = f"{' and '.join(short)} NOT over range: look at its sense wire and at 30s" if short else "both over range"
    expected = f"open throws over range, load current 0 A +-{ZERO_LOAD_A:g}"
    right = not short and abs(amps) <= ZERO_LOAD_A
    return checked("contact converter", expected, f"{found}, load current {amps:.3f} A", right)


def _fast_zero(rig: Rig) -> Check:
    counts = rig.board.sense_analog(Analog.COIL_CURRENT) / SUM
    expected = f"at most {ZERO_FAST_COUNTS} counts with everything off"
    return checked("coil current zero", expected, f"{counts:.1f} counts", counts <= ZERO_FAST_COUNTS)


def _temperature(rig: Rig) -> Check:
    celsius = rig.read_temperature()
    low, high = temperature.PLAUSIBLE_C
    found = f"{celsius:.1f} degC" if celsius is not None else "no plausible reading: sensor missing or shorted"
    expected = f"{low:g} to {high:g} degC"
    return checked("bench temperature", expected, found, celsius is not None)


def _load_supply_v(rig: Rig) -> tuple[float, float]:
    """What a battery reads; where the 5 V are those of a USB port, by these and two resistors of 1 %, and on charge."""
    if rig.able.coil == "set":
        return LOAD_SUPPLY_V
    share = rig.able.reference_share + 0.01
    return round(LOAD_SUPPLY_V[0] * (1 - share), 1), round(load_supply.CHARGED_V / (1 - share), 1)


def _load_supply(rig: Rig) -> Check:
    volts = load_supply.volts(rig.board)
    low, high = _load_supply_v(rig)
    expected = f"{low:g} to {high:g} V"
    if volts < NO_LOAD_SUPPLY_V:
        found = f"{volts:.1f} V: not connected; parts are checked without load, which is never a pass"
        return Check(title="load supply", expected=expected, found=found, state="noted")
    return checked("load supply", expected, f"{volts:.2f} V", low <= volts <= high)


LOOKS = {"coil current zero": _fast_zero, "bench temperature": _temperature, "load supply": _load_supply}
"""What is looked at with everything off, by its title."""
