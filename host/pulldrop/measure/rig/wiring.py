"""Do the bench's own wires hold: pin, converter and shunt must agree about a throw, and no reading is impossible.

Rule: what no part can make is trouble of the bench and ends the run; it is never a reading.
"""

import math
from collections.abc import Sequence
from statistics import fmean

from pulldrop.board.errors import WireTrouble
from pulldrop.board.request_types import Analog, Branch, Pulse, Scan
from pulldrop.measure.rig.counts import ranges
from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.counts.channels import CLAMP_MOST_V, SUM, peak_v, sunk_a
from pulldrop.measure.rig.counts.ranges import FULL, GAINS, MOST_PAIRS
from pulldrop.measure.rig.rig import CoilPoint, Rig
from pulldrop.model.bench.calibration import ROOT3
from pulldrop.model.raw import Capture, Contact, Line, PulseCounts

THROWS = {Contact.NO: "87", Contact.NC: "87a"}
LOOK_GAIN = 4
"""+-512 mV: an open throw, fed with 5 V, lies far beyond it; an open sense wire stands at 0.33 V by R44 to R46."""
OPEN_V = 3.5
"""From here on no pin can read its throw as closed: 5 V behind 27 kohm against 220 kohm, whatever the chip."""
SETTLE_MS, SPARE_MS = 4, 60
DRY_A, DRY_SEEN = 0.0049, 0.5
"""What a closed throw takes from its dry source, and the share of it that the load shunt must see: 3 counts of it, each
with about one of noise, so that a doubtful mean is taken again, `TRIES` times in all."""
TRIES = 3
ZERO_PAIRS = 10
"""Conversions through open throws that tell the shunt's zero well enough."""
DRY_CLOSED_V = 0.1
"""Below this a throw carries what its dry source gives."""
LEAST_A = -0.1
"""The load shunt's zero may be off by 40 mA."""
STARVED_SHARE, STARVED_V = 0.5, 1.0
"""A contact that holds back half of its load drops volts: 12 V less what the branch takes, 3.5 V at the switch."""
MOST_SHARE = 1.5
"""More than this of the asked load no battery drives through the branches: 16 V, where K1 opens, and resistors of
5 %."""
FAST_SHARE, FAST_A = 0.2, 0.006
"""How far the fast converter's amps may lie from the shunt's: both uncalibrated, and three counts."""
DIODE_MOST_V, CLAMP_V = 5.0, 1.0
"""A diode across the coil lets 85 rise by a volt, whatever else by more than 15 V; where the clamp is tried."""
LEAD_A = 0.25e-3
"""What the scan drives through a coil, about 1 mA, and nothing else between 86 and 85 lets through with a coil that is
open at nominal volts."""


def check(rig: Rig, coil_v: float) -> None:
    """Both throws at rest and operated, a few conversions each; the coil is off before and after."""
    rig.release(REST_S)
    for throw in THROWS:
        _look(rig, throw, 2)
    rig.energise(coil_v, MAKE_S)
    for throw in THROWS:
        _look(rig, throw, 2)
    rig.release(0.0)


REST_S, MAKE_S = 0.03, 0.04
"""Until the throws are at rest, their bounce over."""


class DryLooks:
    """Both throws, looked at at rest and operated: pin and converter agree, and a closed one takes its dry current.

    What the shunt reads while a throw is open is its zero, and counts for the next look too.
    """

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self._zero: list[int] = []

    def look(self) -> Contact:
        """The throws that are closed now. Raises WireTrouble."""
        pins = self._rig.contacts()
        few = max(2, ZERO_PAIRS - len(self._zero))
        looks = {throw: _look(self._rig, throw, MOST_PAIRS if pins & throw else few) for throw in THROWS}
        closed = [throw for throw, look in looks.items() if look.closed and look.drop_v < DRY_CLOSED_V]
        open_ = [throw for throw, look in looks.items() if not look.closed]
        self._zero += (count for throw in open_ for count in looks[throw].shunt)
        if len(closed) == len(open_) == 1:
            self._current(closed[0], open_[0], looks[closed[0]].shunt)
        return pins

    def _current(self, closed: Contact, open_: Contact, shunt: Sequence[int]) -> None:
        """The dry current of a closed throw; looked at again where noise may hide it."""
        seen = list(shunt)
        for tried in range(TRIES):
            if tried:
                seen += _look(self._rig, closed, MOST_PAIRS).shunt
                self._zero += _look(self._rig, open_, MOST_PAIRS).shunt
            amps = _shunt_a(self._rig, seen) - _shunt_a(self._rig, self._zero)
            if amps >= DRY_SEEN * DRY_A:
                return
        raise WireTrouble(
            f"The dry source of {THROWS[closed]} gave {1000 * amps:.1f} mA through a closed contact; expected"
            f" {1000 * DRY_A:.0f} mA. Look at its wire and at those of the load shunt, R30."
        )


def _shunt_a(rig: Rig, shunt: Sequence[int]) -> float:
    return nominal_value(rig.scales.load(fmean(shunt)))


class _Look:
    """One throw as pin and converter see it: closed by its pin; drop in volts, infinite beyond 512 mV; shunt counts."""

    def __init__(self, closed: bool, drop_v: float, shunt: Sequence[int]) -> None:
        self.closed, self.drop_v, self.shunt = closed, drop_v, shunt


def _look(rig: Rig, throw: Contact, samples: int) -> _Look:
    while True:
        counts = rig.board.load_pulse(_dry(throw, samples, LOOK_GAIN))
        closed = bool(rig.contacts(throw) & throw)
        full = max(counts.drop) >= FULL
        if closed != full or rig.disagreed:
            break
        rig.disagreed = True  # again, once in a run: an armature may have moved between converter and pin
    volts = drop_v(rig, counts)
    name = THROWS[throw]
    if not closed and not full:
        raise WireTrouble(
            f"Terminal {name} reads open at its pin, and {volts:.3f} V at the converter, where it should show 5 V:"
            f" a wire to {name}, {name}s, 30 or 30s is broken. Mend it, then run the self-test."
        )
    if closed and full and max(rig.board.load_pulse(_dry(throw, samples, GAINS[-1])).drop) >= FULL * OPEN_V / 4.096:
        raise WireTrouble(
            f"Terminal {name} reads closed at its pin, and 5 V at the converter: the wire of that pin touches another."
            " Mend it, then run the self-test."
        )
    if closed and volts < -_zero_v(rig, LOOK_GAIN):
        raise WireTrouble(_below(name, volts, 0.0))
    return _Look(closed, math.inf if full else volts, counts.shunt)


def _dry(throw: Contact, samples: int, gain: int) -> Pulse:
    return Pulse(throw, Branch.NONE, SETTLE_MS, samples, SPARE_MS + 3 * samples, gain=gain)


def drop_v(rig: Rig, counts: PulseCounts) -> float:
    """Volts between the sense wires of a throw, mean of a pulse."""
    return nominal_value(ranges.drop_v(rig.scales.drop, fmean(counts.drop), counts.gain))


def plausible(rig: Rig, throw: Contact, asked_a: float, counts: PulseCounts) -> PulseCounts:
    """The counts of a load pulse as they came. Raises WireTrouble for amps or a drop that no part can make."""
    amps, volts, name = rig.load_a(counts), drop_v(rig, counts), THROWS[throw]
    if not LEAST_A < amps < MOST_SHARE * asked_a + 1:
        raise WireTrouble(
            f"The load shunt reads {amps:.2f} A where {asked_a:g} A were asked for: no battery drives that through the"
            " branches. Look at the wires of R30."
        )
    full = max(map(abs, counts.drop)) >= FULL
    if amps < STARVED_SHARE * asked_a and volts < STARVED_V and not full:
        raise WireTrouble(
            f"{amps:.2f} of {asked_a:g} A flowed through {name}, though its contact drops {1000 * volts:.0f} mV and"
            " holds nothing back: a wire of a load branch, of a throw or of the load shunt is broken."
        )
    if amps >= STARVED_SHARE * asked_a and counts.gain == GAINS[-1] and full:
        raise WireTrouble(
            f"{amps:.2f} A flow through {name} at more than 4 V, where its switch would hold them back: a sense wire is"
            f" broken, {name}s or 30s."
        )
    least_v = _least_v(rig, throw, amps, counts.gain)
    if volts < least_v:
        raise WireTrouble(_below(name, volts, least_v))
    return counts


def _below(name: str, volts: float, least_v: float) -> str:
    return (
        f"The drop of {name} reads {1000 * volts:.2f} mV, less than any contact and its clips can have"
        f" ({1000 * least_v:.2f} mV): a sense wire is broken, {name}s or 30s. Mend it, then run the self-test."
    )


def _least_v(rig: Rig, throw: Contact, amps: float, gain: int) -> float:
    """What blade and clip alone drop at least, less what the converter's zero may be off."""
    clips = rig.calibration.clips
    ohm = (clips.no_ohm if throw is Contact.NO else clips.nc_ohm) - ROOT3 * (clips.u_ohm + clips.u_seat_ohm)
    return amps * max(ohm, 0.0) - _zero_v(rig, gain)


def _zero_v(rig: Rig, gain: int) -> float:
    """How far the converter's zero may be off: three standard uncertainties, and two counts of noise."""
    zero = ranges.drop_v(rig.scales.drop, 0.0, gain)
    return 3 * float(zero.std_dev) + 2 * rig.calibration.drop.gain * nominal_value(ranges.of_range(gain))


# --- the coil's ---


def coil_current(rig: Rig, point: CoilPoint, at: float) -> None:
    """The coil held at so many volts: they are read, and the converter that watches for too much current sees what the
    shunt sees. Raises WireTrouble.
    """
    rig.must_read_volts(point, at)
    fast = rig.calibration.coil_fast.value(rig.board.sense_analog(Analog.COIL_CURRENT) / SUM)
    amps = point.a
    if abs(fast - amps) > FAST_SHARE * amps + FAST_A:
        raise WireTrouble(
            f"The fast converter reads {1000 * fast:.1f} mA where the coil takes {1000 * amps:.1f} mA: its wire,"
            " coil_current, is broken, and the board could not see too much current. Mend it, then run the self-test."
        )


def clamp(rig: Rig, breaks: Sequence[Capture], asked: bool, coil_v: float) -> None:
    """The bench's diode across the coil is there when it was asked for, and only then. Raises WireTrouble, TooLate.

    `breaks`: the coil's low end at each switch-off. Where it rises little unasked the part may have a diode itself, so
    the clamp is switched on with the coil off: that must not switch the coil on.
    """
    rise_v = fmean(peak_v(one) for one in breaks) - coil_v
    if asked and rise_v > DIODE_MOST_V:
        raise WireTrouble(
            f"85 rose {rise_v:.0f} V above the coil's supply, though the bench's diode was across the coil: the wire"
            " clamp_diode is broken, or K2 does not close. Mend it, then run the self-test."
        )
    if rig.able.clamp_diode and (asked or rise_v < DIODE_MOST_V):
        rig.hold(rig.drive(CLAMP_V, on=False, diode=True), REST_S)
        seen = rig.board.sense_coil()
        amps = nominal_value(rig.coil_amps(seen.shunt, seen.bus))
        rig.must_be_supplied()
        rig.release(0.0)
        if amps > LEAD_A:
            raise WireTrouble(
                f"The bench's diode was switched on, and {1000 * amps:.1f} mA flowed through the coil: the wires"
                " coil_switch and clamp_diode touch. Mend them, then run the self-test."
            )


def must_be_clamped(rig: Rig, release: Capture) -> None:
    """The bench's own clamp held the coil's low end at a switch-off. Raises WireTrouble, with everything off."""
    if (peak := peak_v(release)) > CLAMP_MOST_V:
        rig.off()
        raise WireTrouble(
            f"The coil's low end flew to {peak:.0f} V, and D12 holds it at 68 V: it is missing, broken, or its wire to"
            " ground is off, and Q3 takes every spike. Mend it before the next part, then test this one again: the"
            " self-test cannot see it."
        )


def coil_leads(rig: Rig, volts: float, at: float) -> None:
    """A coil that takes no current: is it the coil. Raises WireTrouble when it is the supply or a lead."""
    if volts < STARVED_SHARE * at:
        raise WireTrouble(
            f"The coil supply gave {volts:.2f} of {at:g} V, and no current flowed: it is not fed. Look at the supply of"
            " the bench, its fuse and the emergency stop."
        )
    rig.off()
    looked = rig.board.scan(Scan(Line.T86, Line.T85))
    amps = nominal_value(rig.coil_amps(looked.driven, looked.source)) if rig.able.looks == "coil" else sunk_a(looked)
    if amps > LEAD_A:
        raise WireTrouble(
            f"At {at:g} V no coil current flows, but the scan drives {1000 * amps:.1f} mA through the coil: a lead"
            " to 85 or 86, or the wire of the coil switch is broken. Mend it, then run the self-test."
        )
