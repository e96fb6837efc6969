"""The contact's side of a calibration: a shorting link, and a low resistor in place of the contact.

Rule: a reading that is left out leaves its channel as the data sheets say.
"""

from collections.abc import Iterable

from pulldrop.board.errors import BoardError
from pulldrop.jobs.calibrate.ask import ROOM, CalibrationSetup, leave, number, reference, refuse, unlike
from pulldrop.jobs.self_test.talk import Do, Question, Talk, Tell
from pulldrop.measure.calibrate import read
from pulldrop.measure.calibrate.gains import BLADES_OHM, LINK_OHM
from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.counts.ranges import of_range
from pulldrop.measure.self_test.check import Check
from pulldrop.measure.self_test.link import linked, pulse_limit
from pulldrop.model.bench.kit import ContactPoint, Reference
from pulldrop.model.quantity import show
from pulldrop.model.raw import Contact

HANDS_OFF = "take your hands off: it carries pulses of 10 A."
LINK = f"Put the link into the socket between 30 and 87, nothing else, and {HANDS_OFF}"
RESISTOR = "Put the low resistor into the socket between 30 and 87. It is loaded by pulses, and is hot afterwards."
CONTACT_OHM, CONTACT_MOST_OHM = (0.05, 1.0), 0.3
"""Where 10 A is the smallest load, more ohms would drop more volts than the converter reads."""
SEATINGS = 4.0
LINK_MOST_OHM, LINK_LEAST_A = 1e-3, 5.0
"""More than that between the sense points at 10 A is a dirty clip, or a sense wire on the wrong side of it."""


def zero(setup: CalibrationSetup) -> Talk[None]:
    words = "A shorting link, copper strip 6.3 x 0.8 mm bent to a U, 35 mm from clip to clip: 1, or 0 to leave this out"
    ask = Question("link", words, "", 1.0)
    link = yield from number(setup, ask, 0.0, 1.0, "Answer 1 or 0.")
    if not link:
        yield from leave(setup, "contact zero: no link was used.")
        return
    while True:
        yield Do("link", LINK)
        if read.closed(setup.rig):
            break
        yield from refuse(setup, "30 and 87 are seen open. The link should close them: seat it again.")
    setup.seen["contact_zero"] = read.contact_zero(setup.rig)
    if setup.rig.has_load():
        yield from _links(setup)
    else:
        yield from leave(setup, "clips, load transistors, pulse limit: the load supply is not connected.")


def _links(setup: CalibrationSetup) -> Talk[None]:
    """The link at 10 A in either throw: what its strip does not explain belongs to blades and clips."""
    points, cuts = [], []
    for throw, where in ((Contact.NO, "87"), (Contact.NC, "87a")):
        while True:
            if throw is Contact.NC:
                yield Do("link_nc", f"Now put the link between 30 and 87a, and {HANDS_OFF}")
            point = read.link(setup.rig, throw) if read.closed(setup.rig, throw) else None
            refusal = _link_refused(setup, point, where)
            if point and not refusal:
                points.append(point)
                amps = min(setup.rig.able.loads_a)
                yield Tell(f"Now the bench looks for stray current, and at the pulse limit: 22 s, at {amps:g} A.")
                cuts.append(_safe(setup, throw))
                if throw is Contact.NO:
                    yield from _seatings(setup)
                break
            yield from refuse(setup, refusal)
            if throw is Contact.NO:
                yield Do("link", LINK)
    setup.seen["links"], setup.seen["cut_ms"] = tuple(points), tuple(cuts)


def _seatings(setup: CalibrationSetup) -> Talk[None]:
    """How much the clips differ from seating to seating: the link is pulled out and put back between 30 and 87."""
    words = "Seat the link again so many times, so that the bench learns how much its clips differ: 3 to 10, or 0"
    times = yield from number(setup, Question("seatings", words, "", SEATINGS), 0.0, 10.0, "Answer 3 to 10, or 0.")
    points: list[ContactPoint] = []
    while len(points) < round(times or 0.0):
        yield Do("link", f"Pull the link out and put it back between 30 and 87, number {len(points) + 1}; {HANDS_OFF}")
        point = read.link(setup.rig, Contact.NO) if read.closed(setup.rig) else None
        refusal = _link_refused(setup, point, "87")
        if point and not refusal:
            points.append(point)
        else:
            yield from refuse(setup, refusal)
    setup.seen["seatings"] = tuple(points)


def _safe(setup: CalibrationSetup, throw: Contact) -> int:
    """When the pulse limit cut, in ms. Raises BoardError when the bench is not fit to load anything."""
    checks = list(linked(setup.rig, throw))
    refuse_unsafe(checks)
    check, watched = pulse_limit(setup.rig, throw)
    refuse_unsafe([check])
    return watched.cut_ms


def refuse_unsafe(checks: Iterable[Check]) -> None:
    """A bench with a latent fault is not calibrated: the sentence says what failed. Raises BoardError."""
    for check in checks:
        if check.state == "wrong":
            raise BoardError(
                f"The bench is not safe to use, so it is not calibrated. {check.title}: {check.found}; {check.expected}"
                " was expected. hardware/faults.md has more."
            )


def _link_refused(setup: CalibrationSetup, point: ContactPoint | None, where: str) -> str:
    if point is None:
        return f"30 and {where} are seen open. The link should close them: seat it again."
    base = setup.rig.calibration
    amps = base.load.value(point.shunt)
    ohm = point.drop * base.drop.gain / amps if amps > LINK_LEAST_A else 0.0
    if LINK_OHM < ohm < LINK_MOST_OHM:
        return ""
    if not ohm:
        return f"Only {show(max(amps, 0.0), 'A')} flow through the link, about 10 A were expected: seat it again."
    least, most = show(LINK_OHM, "ohm"), show(LINK_MOST_OHM, "ohm")
    return f"Read {show(ohm, 'ohm')}, expected {least} to {most}. Clean blades and clips, look at the sense wires."


def contact(setup: CalibrationSetup) -> Talk[None]:
    """The low resistor in place of the contact; without the load supply there is nothing to compare."""
    if not setup.rig.has_load():
        yield from leave(setup, "contact drop: the load supply is not connected.")
        return
    words = "A resistor of about 0.22 ohm, 5 W, soldered to two blades"
    between = CONTACT_OHM if 1.0 in setup.rig.able.loads_a else (CONTACT_OHM[0], CONTACT_MOST_OHM)
    resistor = yield from reference(setup, "contact_resistor", words, between, may_be_measured=False)
    if resistor is None:
        yield from leave(setup, "contact drop: no low resistor was used; the load shunt stays at its 1 %.")
        return
    while True:
        yield Do("contact_resistor", RESISTOR)
        point = read.contact(setup.rig, resistor.ohm)
        refusal = _low_resistor_refused(setup, point, resistor)
        if not refusal:
            break
        yield from refuse(setup, refusal)
    setup.seen.update(contact_resistor=resistor, contact=point)


def _low_resistor_refused(setup: CalibrationSetup, point: ContactPoint, resistor: Reference) -> str:
    base = setup.rig.calibration
    amps = base.load.value(point.shunt)
    if amps < 0.1:
        return f"Only {show(max(amps, 0.0), 'A')} flow. The resistor does not close 30 and 87: seat it again."
    ohm = base.drop.value(point.drop) * nominal_value(of_range(point.gain)) / amps
    room = ROOM * (resistor.u_ohm * 3**0.5 + 0.02 * ohm + 2 * BLADES_OHM)
    if abs(ohm - resistor.ohm) <= room:
        return ""
    return unlike(resistor.ohm, ohm, room, "ohm", "Check its value, and solder or clean its blades.")
