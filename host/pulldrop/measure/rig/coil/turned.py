"""Pull-in and drop-out where a hand turns the coil's volts: the board reads bus and shunt again and again until the
contacts move.

A ramp lands late: by its rate times what the armature takes, and by how it creeps near the threshold. The threshold is
the current of a straight line through the readings before the first edge, that much earlier; the rest is in the budget.
A hand that turns too fast is asked again at once. A knob that stands before its end is asked on, so that nobody who
walked away makes a reading.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from statistics import fmean
from typing import Any

from pulldrop.board.request_types import Follow
from pulldrop.measure.rig.coil.walks import CREEP_RATE, WALKS_DIFFER
from pulldrop.measure.rig.counts.budget import median_of, nominal_value, rectangular, uncertain, whole_or_none
from pulldrop.measure.rig.knob import MOVED_V, Knob
from pulldrop.measure.rig.pairs import happened, watched
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.readings import ATTITUDE, bounded, ends_at, reading
from pulldrop.measure.rig.rig import CannotTest
from pulldrop.model.part.relay import PairChange
from pulldrop.model.raw import TICKS_PER_S, Followed
from pulldrop.model.reading import Condition, Reading
from pulldrop.model.run.hand import KNOB_AGAIN, KNOB_DOWN, KNOB_ON, KNOB_SLOWER, KNOB_UP, Request

TURNS, TRIES = 2, 5
"""Turns up and down that count, and how often a hand that is too fast is asked in all."""
WINDOW_MS, ON_MS = 150, 3000
"""Of one look; another follows while the knob turns."""
FASTEST = 0.25
"""Share of nominal volts a second beyond which a turn does not count: 3 V/s at 12 V."""
WAITS_S, LASTS_S, STILL_S, STILL_V = 30.0, 120.0, 1.5, 0.05
"""How long a knob may stand before its end, and a turn may last; still for so long within so many volts at its end is
the end of it."""
ASKS_S, MOVED_S = 4.0, 8.0
"""After so long a hand that does nothing is asked on; and, once the contacts have moved, taken as done."""
READ_S = 3.0
"""For what was too fast to be read on the screen."""
CONVERTED_S, CONVERTED_ROOM_S = 1.9e-3, 1.2e-3
"""From the middle of a shunt conversion of 1.1 ms, with the bus converted after it, to the moment that the board notes,
and how far from that it may be, with the millisecond by which it notes it."""
CREEPS_MS = 60.0
"""For so long before the edge the armature may creep, and change the current by its own motion."""
LEAST_PAIRS = 3
TRAVEL_S, TRAVEL_ROOM_S = {True: 4e-3, False: 0.0}, {True: 4e-3, False: 2e-3}
"""From where the armature leaves to the first edge, up and down, and how far from that it may be; what it
creeps is apart."""
FLUX_S = 0.1
"""Time constant of a seated core's flux, at most: by so long the current lags behind volts that fall."""
CREEP_UP_V, CREEP_DOWN_V, CREEP_ROOM_V = 0.0078, 0.004, 0.003
"""Share of nominal by which a part lands late at CREEP_RATE because it creeps before it leaves: up, where some parts do
and some do not; down, and how far from that it may be. With the power 2/3 of the rate, as in walks.py. From eighteen
turns each way of three classes of virtual part at 0.3 to 2 V/s: up 0 or 0.007, down 0.0034 to 0.0045 (room assumed)."""


@dataclass(slots=True)
class Turns:
    """What the turns one way gave: counts of the coil's shunt at the edge, volts a second there and by how much they
    differed in the look before, and the raw data; of the last turn, how far it went in volts if nothing moved, and
    whether it was too fast."""

    amps: list[float] = field(default_factory=list)
    rates: list[float] = field(default_factory=list)
    uneven: list[float] = field(default_factory=list)
    raw: list[Followed] = field(default_factory=list)
    ended_v: float | None = None
    fast: bool = False


def by_hand(rig: PartOnRig) -> tuple[Turns, Turns]:
    """Turned up and down; everything is off afterwards, and the coil back on its supply.

    CannotTest where nobody does it, WrongSupply where the coil is left at the knob.
    """
    rig.off()
    knob = Knob(rig)
    try:
        try:
            knob.switch_in()
            turns = _turns(rig, knob)
        except CannotTest:
            knob.switch_back()
            raise
        knob.switch_back()
        return turns
    finally:
        knob.done()


def _turns(rig: PartOnRig, knob: Knob) -> tuple[Turns, Turns]:
    up, down = Turns(), Turns()
    operates, releases = rig.form.operates, rig.form.releases
    if not happened(releases, rig.rest):
        releases = operates.undone
    rig.energise(rig.nominal_v, 0.05)
    for _ in range(TRIES):
        for turns, change, request in ((up, operates, KNOB_UP), (down, releases, KNOB_DOWN)):
            counted = len(turns.amps)
            told = f"{request.text} (Turn {min(counted + 1, TURNS)} of {TURNS}.)"
            if not _turn(rig, knob, turns, change, replace(request, text=told)):
                return up, down
            if len(turns.amps) == counted:
                knob.ask(KNOB_SLOWER if turns.fast else KNOB_AGAIN)
                rig.energise(rig.nominal_v, READ_S)
        if min(len(up.amps), len(down.amps)) >= TURNS:
            break
    return up, down


def _turn(rig: PartOnRig, knob: Knob, turns: Turns, change: PairChange, request: Request) -> bool:
    """One turn, to its end; whether the contacts moved. What moved between two looks does not count."""
    throw, wanted = watched(change)
    knob.ask(request)
    begun_s = still_s = rig.board.elapsed()
    start_v, still_v, moved = None, 0.0, False
    before: list[Followed] = []
    while True:
        seen = rig.board.follow_coil(Follow(throw, wanted, WINDOW_MS, ON_MS, rig.trip_limit(rig.nominal_v)))
        volts, now_s = rig.supply_v(seen.bus[-1]), rig.board.elapsed()
        start_v = volts if start_v is None else start_v
        if abs(volts - still_v) > STILL_V:
            still_v, still_s = volts, now_s
        stood_s = now_s - still_s
        ended = volts > knob.right_v if request.turn == "up" else volts < END_V
        knob.at(volts, "" if ended or stood_s < ASKS_S else _ask_on(volts, request, abs(volts - start_v) > MOVED_V))
        if not moved and happened(change, seen.contacts):
            moved = True
            turns.fast = _too_fast(rig, *before[-1:], seen)
            if seen.edges and not turns.fast:
                _note(rig, turns, before, seen)
            knob.ask(KNOB_ON)
        before.append(seen)
        if stood_s > (STILL_S if ended else MOVED_S if moved else WAITS_S):
            break
        if now_s - begun_s > LASTS_S:
            raise CannotTest("the knob of the coil's volts was turned to and fro without end", because="left out")
        if moved:
            rig.wait(SETTLES_S)
    if not ended and not moved:
        raise CannotTest(
            f"the knob of the coil's volts stood at {volts:.1f} V for {WAITS_S:g} s. For pull-in and drop-out test"
            " again, and turn it to its end when the screen asks",
            because="left out",
        )
    turns.ended_v = None if moved else still_v
    return moved


def _ask_on(volts: float, request: Request, turned: bool) -> str:
    """What to do about a knob that stands still before its end."""
    right = "right" if request.turn == "up" else "left"
    return f"It stands at {volts:.1f} V. Turn it {'on ' if turned else ''}to the {right}."


SETTLES_S = 0.2
"""Between two looks at a knob that is on its way to its end."""


def _too_fast(rig: PartOnRig, *seen: Followed) -> bool:
    """Whether the volts changed too fast in any of these looks."""
    return any(len(one.bus) >= LEAST_PAIRS and abs(_line(rig, one).slope) > FASTEST * rig.nominal_v for one in seen)


def _note(rig: PartOnRig, turns: Turns, before: Sequence[Followed], seen: Followed) -> None:
    """What the coil would take at the first edge, if nothing had moved: as in a look before that, and more by what the
    volts have changed since.
    """
    edge_ms = min(edge.tick for edge in seen.edges) * 1000 / TICKS_PER_S
    rested = before[-1:] if edge_ms >= CREEPS_MS else before[-2:-1]
    if not rested or len(seen.bus) < LEAST_PAIRS or len(rested[0].bus) < LEAST_PAIRS:
        return
    then, now = _line(rig, rested[0]), _line(rig, seen)
    edge_v = now.at(edge_ms / 1000 + CONVERTED_S)
    ohm = (rig.coil_ohm or 1.0) + rig.calibration.low_side_ohm
    more_a = (edge_v - then.middle) / ohm
    turns.amps.append(fmean(rested[0].shunt) + more_a / rig.calibration.coil_shunt.gain)
    turns.rates.append(now.slope)
    turns.uneven.append(abs(now.slope - then.slope))
    turns.raw += [rested[0], seen]


@dataclass(frozen=True, slots=True)
class Line:
    """Volts of the coil's supply as a straight line over the seconds of one look: in its middle, and their slope."""

    middle_s: float
    middle: float
    slope: float

    def at(self, seconds: float) -> float:
        """Volts at a moment of the look."""
        return self.middle + self.slope * (seconds - self.middle_s)


def _line(rig: PartOnRig, seen: Followed) -> Line:
    count = len(seen.bus)
    every_s = seen.span_ms / 1000 / (count - 1)
    at_s = [seen.last_ms / 1000 - every_s * (count - 1 - i) for i in range(count)]
    volts = [rig.supply_v(bus) for bus in seen.bus]
    middle_s, middle = fmean(at_s), fmean(volts)
    slope = sum((at - middle_s) * (v - middle) for at, v in zip(at_s, volts, strict=True)) / sum(
        (at - middle_s) ** 2 for at in at_s
    )
    return Line(middle_s, middle, slope)


def threshold(rig: PartOnRig, turns: Turns, up: bool) -> Any:
    """Coil amps at the threshold with their budget: back from the edge by what the volts changed while the armature
    left."""
    bus = fmean(one.bus[-1] for one in turns.raw)
    seen = median_of(turns.amps, "turns", WALKS_DIFFER * abs(fmean(turns.amps)))
    gain, ohm = rig.calibration.coil_shunt.gain, rig.coil_ohm or 1.0
    rate = fmean(turns.rates)
    noise = uncertain(0.0, gain * LINE_COUNTS, "line", "noise of the readings before the edge")
    uneven = rectangular(fmean(turns.uneven) * FLUX_S / ohm, "uneven turning", "the current lags by its time constant")
    late_s = TRAVEL_S[up] + rectangular(TRAVEL_ROOM_S[up], "armature", "what it travels before the first edge")
    late_s = late_s + rectangular(CONVERTED_ROOM_S, "conversion", "when bus and shunt were converted")
    creep_v = rig.nominal_v * (abs(rate) / (CREEP_RATE * rig.nominal_v)) ** (2 / 3)
    why = "an armature creeps near its threshold"
    if up:
        crept = whole_or_none(CREEP_UP_V * creep_v, "creep", why)
    else:
        crept = rectangular(CREEP_ROOM_V * creep_v, "creep", why) - CREEP_DOWN_V * creep_v
    late_v = rate * late_s + crept
    return rig.coil_amps(seen, bus) + noise + uneven - late_v / ohm


LINE_COUNTS = 1.5
"""Of a straight line through a few single conversions, at its end (assumed: one count each)."""


def findings(rig: PartOnRig, turns: Turns, up: bool, id: str, change: PairChange) -> tuple[Reading, Any]:
    """The reading in volts of a coil as warm as the bench, or its bound; amps with budget, None for a bound."""
    shown = conditions(rig, turns, change)
    if turns.ended_v is not None:
        ohm = rig.coil_ohm or 1.0
        volts = turns.ended_v * ohm / (ohm + rig.calibration.low_side_ohm)
        return bounded(id, ">" if up else "<", max(volts, END_V), shown, raw=turns.raw), None
    if len(turns.amps) < TURNS:
        raise CannotTest(f"the knob was turned too fast: {len(turns.amps)} of {TURNS} turns could be read in {TRIES}")
    amps = threshold(rig, turns, up)
    ohm = rig.ohm()
    makes = [nominal_value(rig.coil_amps(one, turns.raw[0].bus[-1]) * ohm) for one in turns.amps]
    return reading(id, amps * ohm, shown, raw=turns.raw, makes=makes), amps


END_V = 0.3
"""Where the knob ends at the left, at most."""


def conditions(rig: PartOnRig, turns: Turns, change: PairChange) -> tuple[Condition, ...]:
    """How a threshold was sought."""
    rates = [abs(rate) for rate in turns.rates]
    told = f"{min(rates):.1f} to {max(rates):.1f} V/s" if rates else "none read"
    return rig.conditions(by_hand="a knob turned slowly", turns=str(len(turns.amps)), rate=told,
                          ends_at=ends_at(change), attitude=ATTITUDE)  # fmt: skip
