"""Every clue that a run gives: which reading gives it, and which clues make others moot.

Rule: every clue comes from one reading (or from two, as named), and keeps its uncertainty.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from pulldrop.judge.diagnosis.evidence.armature import gap, held, motion, overdriven, pull_in, released, reversal, start
from pulldrop.judge.diagnosis.evidence.clue import Clue
from pulldrop.judge.diagnosis.evidence.makes import (
    MAY_WAIT,
    after_hot,
    after_hot_nc,
    first_load,
    first_make,
    first_motion,
    moves,
)
from pulldrop.judge.diagnosis.evidence.one_reading import Maker, later_value, number, state
from pulldrop.judge.diagnosis.evidence.scales import cold_ohm, load, nominal, plain, rated_ohm, slower
from pulldrop.model.reading import Finding, NotTested, Reading, by_the_part
from pulldrop.model.run.plan import Plan

LEAST_OHM = 1e-3
"""Below it the bench cannot tell a dry contact from a perfect one."""
ENDLESS_BOUNCE_S = 8e-3
"""What a bounce lasts at least that does not end, or has more edges than the board keeps (assumed)."""
SEEN_S = 27e-3
"""An end of bouncing is seen up to here: windows of 30 ms, and 3 ms of rest after it."""
LEAST_BOUNCE_S = 1e-5
"""What is left of a window in which a contact closes so late that its bounce could not be seen to end."""
TRIP_SHARE = 1.4
"""Of the rated current: a coil that made the board switch off took more. The board's limit is twice what the coil
should take, and at most 0.3 A, which is 1.5 times what the lowest coil of its class takes (60 ohm)."""
TRIP_ROOM = 0.05
"""By which a coil's current may differ from what its ohms at half a volt make of it (assumed)."""
FIRST_MAKE = ("first_make", "first_no")
LATE_S = 24e-3
"""A part that lets go so late may not have made NC within the 30 ms of a window: then that is no sign of NC."""
AFTER_RELEASE = (
    "release", "bounce_nc", "after_hot", "after_hot_nc", "drop_nc", "scatter_nc", "dry_nc", "after_nc", "overdriven",
)  # fmt: skip
DROPS = ("drop_no", "drop_nc")
"""The clues of contacts under load, by which a contact is worn or not."""


def clues(plan: Plan, findings: Iterable[Finding], tripped: bool = False) -> dict[str, Clue]:
    """Every clue that the run gives, by its key; what the bench could not test says nothing about the part.

    `tripped`: the coil took more current than its limit, and so ended the run. Where it had more ohms at half a volt
    than that current leaves, it changed in between: that is known of no fault.
    """
    by_id = {one.id: one for one in findings if by_the_part(one)}
    found = (make(plan, by_id) for make in _MAKERS)
    shown = "beyond its limit: the board switched everything off"
    trip = Clue("trip", "coil_current", shown, TRIP_SHARE, bound=">") if tripped else None
    made = {clue.key: clue for clue in (*found, trip) if clue is not None}
    low = made.get("half_volt")
    if trip and low and low.bound == "=" and (low.value or 0.0) * TRIP_SHARE > 1 + TRIP_ROOM:
        del made["trip"]
    if (later_value(by_id, "pull_in_voltage") or 0.0) > MAY_WAIT * plan.relay.nominal:
        made = {key: clue for key, clue in made.items() if key not in FIRST_MAKE}
    loaded, dry = made.get("after_load"), made.get("release")
    if loaded and loaded.value and loaded.value > LATE_S:
        made = {key: clue for key, clue in made.items() if not (clue.missing and key in AFTER_RELEASE)}
    if loaded and loaded.bound == ">" and dry and dry.missing:  # with a slow diode it leaves the window dry, too
        del made["after_load"]
    return made


def _bounce(key: str, id: str, closes: str) -> Maker:
    """Bounce; where the contact closes, at `closes`, and no end is seen, it is longer than a sound part's ever is, or
    than what is left of the window."""

    def make(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
        one, closed = by_id.get(id), by_id.get(closes)
        if isinstance(one, NotTested) and isinstance(closed, Reading) and closed.bound == "=":
            left_s = max(SEEN_S - (closed.value or 0.0), LEAST_BOUNCE_S)
            return Clue(key, id, "no end seen", min(ENDLESS_BOUNCE_S, left_s), bound=">")
        return number(key, id, plain)(plan, by_id)

    return make


def _climb(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Loaded resistance of the last pulse over that of the first."""
    clue = number("climb", "contact_climb_no", plain)(plan, by_id)
    if clue is None or clue.value is None:
        return clue
    return replace(clue, value=1 + clue.value / 100, u=clue.u / 100)


_MAKERS: tuple[Maker, ...] = (
    number("leak_open", "leakage_open_contact", plain),
    number("leak_coil", "leakage_coil_contact", plain),
    state("rest", "contact_rest"),
    first_make,
    first_motion,
    first_load("first_no", "first_drop_no", "contact_drop_no"),
    first_load("first_nc", "first_drop_nc", "contact_drop_nc"),
    state("operated", "contact_operated"),
    motion,
    held,
    number("half_volt", "coil_resistance_low", rated_ohm),
    number("coil", "coil_resistance_20c", rated_ohm),
    pull_in,
    number("drop_out", "drop_out_voltage", nominal),
    gap,
    state("clamp", "flyback_class"),
    number("hot", "coil_resistance_hot", cold_ohm),
    number("after_load", "release_after_load", plain),
    after_hot,
    after_hot_nc,
    start,
    number("operate", "operate_time", slower),
    number("release", "release_time", plain),
    moves,
    _bounce("bounce_no", "bounce_time_no", "operate_time"),
    _bounce("bounce_nc", "bounce_time_nc", "release_time"),
    number("drop_no", "contact_drop_no", load),
    number("drop_nc", "contact_drop_nc", load),
    number("scatter_no", "contact_scatter_no", plain),
    number("scatter_nc", "contact_scatter_nc", plain),
    number("dry_no", "contact_before_load_no", plain, LEAST_OHM),
    number("dry_nc", "contact_before_load_nc", plain, LEAST_OHM),
    number("after_no", "contact_after_load_no", plain, LEAST_OHM),
    number("after_nc", "contact_after_load_nc", plain, LEAST_OHM),
    _climb,
    overdriven,
    released,
    reversal,
)
