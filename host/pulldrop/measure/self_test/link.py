"""What a shorting link in the socket, and a pressed emergency stop, show of the bench's own safety.

A load transistor that failed short, a dead pulse limit, a welded main relay or a stop that stops nothing change no
reading; each takes away what stands between a second fault and a burn.

Rule: the smallest load of the build is driven here, 1 A or its only one; what flows beside it is the finding.
"""

from collections.abc import Iterator
from dataclasses import replace
from statistics import fmean

from pulldrop.board.request_types import Branch, Pulse, Watch
from pulldrop.measure.rig import load_supply
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.self_test.check import Check, checked
from pulldrop.model.quantity import show
from pulldrop.model.raw import Contact, ShuntWatch

STRAY_A = 0.2
"""More is no offset of the shunt's converter: one transistor that failed short carries 1 A or more."""
WATCHED_A = {Branch.A1: (0.7, 1.4), Branch.A10: (7.5, 13.0)}
"""Through a link, of 12 ohm, 5 %, at 11 to 14.5 V; of 1.2 ohm, 5 %, with fuse, K1 and 2 m of 2.5 mm2."""
CUT_MS = (530, 890)
"""A good pulse limit cuts after 0.54 to 0.88 s by its parts' tolerances, by a clock that may be 0.6 % off."""
LOOK_MS, LIMIT_MS = 40, 950
REST_S = 10.3
"""After which a watched second of load is allowed again."""
RELAY_S = 0.05
"""More than a main relay is waited for."""
DEAD_V = 2.0
"""Behind a main relay that is open."""
SOCKET = {Contact.NO: ("30-87", "Q16"), Contact.NC: ("30-87a", "Q17")}


def linked(rig: Rig, throw: Contact) -> Iterator[Check]:
    """The link lies between 30 and `throw`: what must not flow. Raises WrongSupply before anything does."""
    rig.has_load()
    try:
        seat = _seated(rig, throw)
        yield seat
        if seat.state == "ok" and _smallest(rig) is Branch.A1:
            yield _branches_off(rig, throw)
            yield _throw_off(rig, throw)
        elif seat.state == "ok":
            yield _relay_alone(rig, throw)
    finally:
        rig.off()


def carried(rig: Rig) -> tuple[float, float]:
    """Amps and drop of a link between 30 and 87 under 10 A. Everything is off afterwards. Raises WireTrouble."""
    load_supply.returns(rig.board, Contact.NO)
    counts = rig.board.load_pulse(Pulse(Contact.NO, Branch.A10, settle_ms=4, samples=4, limit_ms=100))
    rig.off()
    return rig.calibration.load.value(fmean(counts.shunt)), rig.calibration.drop.value(fmean(counts.drop))


def pulse_limit(rig: Rig, throw: Contact) -> tuple[Check, ShuntWatch]:
    """The same link at the smallest load for longer than the hardware lets it; 22 s, most of them rest."""
    branch = _smallest(rig)
    least_a, most_a = WATCHED_A[branch]
    title = f"pulse limit of {SOCKET[throw][0]}"
    low, high = CUT_MS
    expected = f"{least_a:g} to {most_a:g} A, cut after {low} to {high} ms"
    rig.wait(REST_S)
    watched = rig.board.watch_load(Watch(throw, branch, LIMIT_MS))
    rig.wait(REST_S)
    seat = _seated(rig, throw)
    if seat.state != "ok":
        return seat, watched
    amps = rig.calibration.load.value(watched.first)
    if amps > most_a:
        lost = load_supply.RETURN_LOST if branch is Branch.A1 else "R56 has too few ohms, or the supply too many volts"
        found, right = f"{show(amps, 'A')}: {lost}", False
    elif amps < least_a:
        found, right = f"{show(max(amps, 0.0), 'A')}: look at the load supply and its fuse", False
    elif not watched.cut_ms:
        found = f"NOT cut within {LIMIT_MS} ms: U8 or what belongs to it is dead (R76, C40, D42 to D46)"
        right = False
    else:
        found, right = f"{amps:.2f} A, cut after {watched.cut_ms} ms", low <= watched.cut_ms <= high
    return checked(title, expected, found, right), watched


def pressed(rig: Rig) -> Iterator[Check]:
    """The emergency stop is pressed: the board knows it, and the load supply is gone, where it is read behind K1."""
    told = rig.board.status().emergency_stop
    found = "pressed" if told else "NOT pressed: pole c of S1 is stuck closed, or stop_n touches ground"
    yield checked("emergency stop, as the board sees it", "pressed", found, told)
    if rig.able.coil != "set":
        return
    volts = load_supply.volts(rig.board)
    found = f"{volts:.1f} V"
    if volts >= DEAD_V:
        found += ": K1 is welded, or pole b of S1 is stuck closed. Pull F2, then look at both"
    yield checked("load supply with the stop pressed", f"below {DEAD_V:g} V", found, volts < DEAD_V)


RAIL = {
    "set": ("the tab of Q1", "pole a of S1 is stuck closed. Unplug the coil supply"),
    "by hand": ("terminal 86", "K1 is welded, or pole b of S1 is stuck closed. Pull F2, then look at both"),
}
"""Where the coil supply is read, and what a live one says."""


def coil_rail(rig: Rig, volts: float | None) -> Check:
    """The board cannot see this rail while it is stopped, so a person reads it."""
    where, why = RAIL[rig.able.coil]
    title, expected = "coil supply with the stop pressed", f"below {DEAD_V:g} V at {where}"
    if volts is None:
        return Check(title=title, expected=expected, found="not read", state="noted")
    found = f"{volts:.1f} V" + ("" if volts < DEAD_V else f": {why}")
    return checked(title, expected, found, volts < DEAD_V)


def released(rig: Rig) -> Check:
    open_ = rig.board.status().emergency_stop
    if not open_:
        rig.acknowledge()
    return checked("emergency stop", "released", "still pressed" if open_ else "released", not open_)


def _seated(rig: Rig, throw: Contact) -> Check:
    seen = rig.seen_at_rest(0.05) == throw
    where = SOCKET[throw][0]
    found = f"{where} closed" if seen else f"{where} not seen closed, or not alone: seat the link again"
    return checked(f"link in {where}", f"{where} closed, the other throw open", found, seen)


def _branches_off(rig: Rig, throw: Contact) -> Check:
    """The throw is on and no branch: what flows comes through a branch transistor that failed short."""
    amps = rig.calibration.load.value(rig.board.watch_load(Watch(throw, Branch.NONE, LOOK_MS)).first)
    found = show(max(amps, 0.0), "A")
    if amps > STRAY_A:
        found += ": a branch transistor (Q12 to Q15: 1, 5, 10, 20 A) has failed short. Pull F2, then change it"
    return checked(f"load through {SOCKET[throw][0]}, branches off", f"at most {STRAY_A:g} A", found, amps <= STRAY_A)


def _smallest(rig: Rig) -> Branch:
    return Branch.A1 if 1.0 in rig.able.loads_a else Branch.A10


def _relay_alone(rig: Rig, throw: Contact) -> Check:
    """K1 is closed and no throw on: what flows comes through the throw's transistor, and K1 made it."""
    where, transistor = SOCKET[throw]
    rig.hold(replace(rig.drive(rig.able.supply_v, on=False), dry=Contact.NONE), RELAY_S)
    counts = rig.board.load_pulse(Pulse(throw, Branch.NONE, settle_ms=1, samples=1, limit_ms=LOOK_MS))
    rig.off()
    amps = rig.calibration.load.value(fmean(counts.shunt))
    found = show(max(amps, 0.0), "A")
    if amps > STRAY_A:
        found += f": the throw's transistor {transistor} has failed short. Pull F2, then change it"
    return checked(f"load through {where}, throws off", f"at most {STRAY_A:g} A", found, amps <= STRAY_A)


def _throw_off(rig: Rig, throw: Contact) -> Check:
    """A branch is on and no throw: what flows comes through the transistor of the throw that the link closes."""
    where, transistor = SOCKET[throw]
    amps = rig.calibration.load.value(rig.board.watch_load(Watch(Contact.NONE, Branch.A1, LOOK_MS)).first)
    found = show(max(amps, 0.0), "A")
    if amps > STRAY_A:
        found += f": the throw's transistor {transistor} has failed short. Pull F2, then change it"
    return checked(f"load through {where}, throws off", f"at most {STRAY_A:g} A", found, amps <= STRAY_A)
