"""What the readings say, in the terms in which a fault is described: shares of the rated, times, ohms, states.

Rule: every clue comes from one reading (or from two, as named), and keeps its uncertainty.
"""

import math
import statistics
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from pulldrop.judge.diagnosis.clue import Clue, Motion, Reversal
from pulldrop.judge.diagnosis.scales import (
    FOLLOWS_VOLTS,
    ON_CHARGE,
    cold_ohm,
    load,
    more_volts,
    nominal,
    plain,
    rated_amps,
    rated_ohm,
    slower,
)
from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.relay import FORMS, NO, PairChange
from pulldrop.model.quantity import show
from pulldrop.model.reading import (
    MOVED,
    Condition,
    ConditionName,
    Finding,
    NotTested,
    Reading,
    by_the_part,
    condition,
    state_words,
)
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
MAY_WAIT = 0.9
"""Of nominal: with a pull-in above it a first make at nominal may be late, or never come, though nothing sticks."""
FIRST_MAKE = ("first_make", "first_no")
BY_WORD = "if the leads were exchanged as the person said"
MOVES = ("operate_time", "release_time")
"""Times whose scatter from make to make shows friction in the hinge."""
LEAST_SCATTER = 1e-3
"""Below it the scatter is the board's own: an edge may wait for 18 us."""
RISEN_SHARE = 0.02
"""Of nominal: a smaller rise of the drop-out is no sign of hardened iron, for soft iron keeps a little (assumed)."""


HELD_U = 0.02
"""Share by which a look's volts at a few mA may be off (INA226 and the switch below the coil, assumed)."""
LATE_S = 24e-3
"""A part that lets go so late may not have made NC within the 30 ms of a window: then that is no sign of NC."""
AFTER_RELEASE = (
    "release", "bounce_nc", "after_hot", "after_hot_nc", "drop_nc", "scatter_nc", "dry_nc", "after_nc", "overdriven",
)  # fmt: skip
SLOWEST_OF_5 = 1.35
"""The slowest of five lies as far above their mean, in their standard deviations (root of the mean square)."""


def clues(plan: Plan, findings: Iterable[Finding], tripped: bool = False) -> dict[str, Clue]:
    """Every clue that the run gives, by its key; what the bench could not test says nothing about the part.

    `tripped`: the coil took more current than its limit, and so ended the run. Where it had more ohms at half a volt
    than that current leaves, it changed in between: that is known of no fault.
    """
    by_id = {one.id: one for one in findings if by_the_part(one)}
    found = (make(plan, by_id) for make in _MAKERS)
    told = "beyond its limit: the board switched everything off"
    trip = Clue("trip", "coil_current", told, TRIP_SHARE, bound=">") if tripped else None
    made = {clue.key: clue for clue in (*found, trip) if clue is not None}
    low = made.get("half_volt")
    if trip and low and low.bound == "=" and (low.value or 0.0) * TRIP_SHARE > 1 + TRIP_ROOM:
        del made["trip"]
    if (_later(by_id, "pull_in_voltage") or 0.0) > MAY_WAIT * plan.relay.nominal:
        made = {key: clue for key, clue in made.items() if key not in FIRST_MAKE}
    loaded, dry = made.get("after_load"), made.get("release")
    if loaded and loaded.value and loaded.value > LATE_S:
        made = {key: clue for key, clue in made.items() if not (clue.missing and key in AFTER_RELEASE)}
    if loaded and loaded.bound == ">" and dry and dry.missing:  # with a slow diode it leaves the window dry, too
        del made["after_load"]
    return made


_Maker = Callable[[Plan, Mapping[str, Finding]], Clue | None]


def _number(
    key: str, id: str, scale: Callable[[Plan, Mapping[str, Finding]], float | None], least: float = 1e-9
) -> _Maker:
    """A clue from one reading, divided by `scale`; none when the scale is not known."""

    def make(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
        one = by_id.get(id)
        by = scale(plan, by_id)
        if one is None or by is None:
            return None
        if isinstance(one, NotTested):
            return Clue(key, id, "not possible", missing=True)
        assert one.value is not None
        u = one.expanded_uncertainty / 2  # as wide as few makes make it
        return Clue(key, id, _shown(one), one.value / by, u / by, one.bound, least=least)

    return make


def _shown(one: Reading) -> str:
    if one.value is None:
        return state_words(one.state)
    if one.bound == "=":
        return show(one.value, one.unit, one.expanded_uncertainty)
    return f"{'more' if one.bound == '>' else 'less'} than {show(one.value, one.unit)}"


def _state(key: str, id: str) -> _Maker:
    def make(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
        one = by_id.get(id)
        if one is None:
            return None
        if isinstance(one, NotTested):
            return Clue(key, id, "not possible", missing=True)
        return Clue(key, id, state_words(one.state), state=one.state)

    return make


def _motion(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Whether the coil current shows the dip of a moving armature."""
    id = "armature_seat_time"
    one = by_id.get(id)
    if one is None:
        return None
    if isinstance(one, NotTested):
        return Clue("motion", id, "not possible", missing=True)
    seen = Motion.MOVES if one.bound == "=" else Motion.RESTS
    return Clue("motion", id, seen, state=seen)


def _pull_in(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """The current at pull-in; or that there is none up to the highest voltage of the search."""
    volts = by_id.get("pull_in_voltage")
    if isinstance(volts, Reading) and volts.bound == ">":
        return Clue("pull_in", "pull_in_voltage", _shown(volts), (volts.value or 0.0) / plan.relay.nominal, bound=">")
    return _number("pull_in", "pull_in_current", rated_amps)(plan, by_id)


def _bounce(key: str, id: str, closes: str) -> _Maker:
    """Bounce; where the contact closes, at `closes`, and no end is seen, it is longer than a sound part's ever is, or
    than what is left of the window."""

    def make(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
        one, closed = by_id.get(id), by_id.get(closes)
        if isinstance(one, NotTested) and isinstance(closed, Reading) and closed.bound == "=":
            left_s = max(SEEN_S - (closed.value or 0.0), LEAST_BOUNCE_S)
            return Clue(key, id, "no end seen", min(ENDLESS_BOUNCE_S, left_s), bound=">")
        return _number(key, id, plain)(plan, by_id)

    return make


def _held(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Volts across a coil at a few mA, where they are so low that it got no more."""
    one = by_id.get("coil_resistance")
    held = condition(ConditionName.HELD, one.conditions) if isinstance(one, Reading) else None
    if held is None or held.value is None:
        return None
    return Clue("held", "coil_resistance", f"{held.text} at a few mA", held.value, HELD_U * held.value, least=1e-3)


def _start(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """When the armature starts; reported by `motion` when it does not."""
    one = by_id.get("armature_start_time")
    if not isinstance(one, Reading) or one.bound != "=":
        return None
    return _number("start", "armature_start_time", _less_volts)(plan, by_id)


def _less_volts(plan: Plan, by_id: Mapping[str, Finding]) -> float:
    """By what factor an armature starts later than at the volts of the bands."""
    start = by_id["armature_start_time"]
    at = condition(ConditionName.COIL_VOLTAGE, start.conditions) if isinstance(start, Reading) else None
    return (ON_CHARGE * plan.relay.nominal / at.value) ** FOLLOWS_VOLTS if at and at.value else 1.0


def _gap(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Drop-out over pull-in: coil and springs move both, friction moves them apart."""
    pull_in, drop_out = by_id.get("pull_in_voltage"), by_id.get("drop_out_voltage")
    if not (isinstance(pull_in, Reading) and isinstance(drop_out, Reading)):
        return None
    if pull_in.bound != "=" or not pull_in.value or not drop_out.value:
        return None
    share = drop_out.value / pull_in.value
    shown = f"{_shown(drop_out)}, {share:.2f} of the pull-in voltage"
    u = math.hypot(*(one.expanded_uncertainty / 2 / (one.value or 1.0) for one in (pull_in, drop_out)))
    return Clue("gap", "drop_out_voltage", shown, share, share * u, drop_out.bound)


def _moves(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """How much operate and release scatter from make to make, both together: springs and coil act alike each time, and
    friction does not. Uncertain as so few makes leave it."""
    timed = [one for one in map(by_id.get, MOVES) if isinstance(one, Reading)]
    pooled = scatter_of([one for one in timed if one.bound == "="])
    if pooled is None:
        return None
    share, freedom = pooled
    shown = f"scatters by {100 * share:.2g} % from make to make"
    return Clue("moves", timed[0].id, shown, share, share / math.sqrt(2 * freedom), least=LEAST_SCATTER)


def scatter_of(timed: Iterable[Reading]) -> tuple[float, int] | None:
    """Standard deviation of single makes as a share of the reading, of several readings together, and its degrees of
    freedom; None without makes."""
    rows = [[make / one.value for make in one.makes] for one in timed if one.value and len(one.makes) > 1]
    freedom = sum(len(row) - 1 for row in rows)
    return (_scatter_s(*rows), freedom) if freedom else None


def _after_hot(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Release after a hot make over that after a dry one, of the same step where no other has one; nothing where it
    does not even let go after a dry one."""
    dry, hot = by_id.get("release_after_load"), by_id.get("release_after_hot_make")
    own = condition(ConditionName.DRY, hot.conditions) if isinstance(hot, Reading) else None
    if own and own.value:
        return _times_dry("after_hot", "release_after_hot_make", (), own.value, plan, by_id)
    if not isinstance(dry, Reading) or dry.bound != "=" or not dry.value:
        return None
    return _times_dry("after_hot", "release_after_hot_make", dry.makes, dry.value, plan, by_id)


def _after_hot_nc(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """When NC opens after a hot make, over when it does after dry ones: operate less transfer, if there is NO."""
    operate, transfer = by_id.get("operate_time"), by_id.get("transfer_time")
    without_no = NO not in FORMS[plan.relay.form].pairs
    if not isinstance(operate, Reading) or operate.bound != "=" or not (without_no or isinstance(transfer, Reading)):
        return None
    dry_s = (operate.value or 0.0) - ((transfer.value or 0.0) if isinstance(transfer, Reading) else 0.0)
    return _times_dry("after_hot_nc", "opening_after_hot_make_nc", operate.makes, dry_s, plan, by_id)


def _times_dry(
    key: str, id: str, dry: Sequence[float], dry_s: float, plan: Plan, by_id: Mapping[str, Finding]
) -> Clue | None:
    """The slowest of hot makes over the dry ones; as uncertain as friction makes dry and other hot ones scatter."""
    clue = _number(key, id, lambda _plan, _by_id: dry_s)(plan, by_id)
    if clue is None or clue.value is None:
        return clue
    least = "" if clue.bound == "=" else "at least "
    hot = by_id[id]
    others = sorted(hot.makes)[:-1] if isinstance(hot, Reading) else []
    u = math.hypot(clue.u, SLOWEST_OF_5 * _scatter_s(dry, others) / dry_s)
    return replace(clue, u=u, shown=f"{clue.shown}, {least}{clue.value:.3g} times that after a dry make")


def _scatter_s(*makes: Sequence[float]) -> float:
    """Standard deviation of single makes, of several rows of them together; 0 for too few."""
    rows = [row for row in makes if len(row) > 1]
    freedom = sum(len(row) - 1 for row in rows)
    return math.sqrt(sum((len(row) - 1) * statistics.variance(row) for row in rows) / freedom) if freedom else 0.0


def _overdriven(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Drop-out after overdrive over drop-out before it; nothing where the part does not let go even before."""
    before = by_id.get("drop_out_voltage")
    if not isinstance(before, Reading) or before.bound != "=" or not before.value:
        return None
    clue = _number("overdriven", "drop_out_overdriven", lambda _plan, _by_id: before.value)(plan, by_id)
    if clue is None or clue.value is None:
        return clue
    u_before = clue.value * before.expanded_uncertainty / 2 / before.value
    return replace(clue, u=math.hypot(clue.u, u_before))


def _released(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Whether it lets go by itself; a step that was left out or refused says nothing of that."""
    one = by_id.get("contact_released")
    return Clue("released", one.id, state_words(one.state), state=one.state) if isinstance(one, Reading) else None


def _reversal(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """What reversed pulses did: made it let go or not; or raised its drop-out, beyond both uncertainties, or not."""
    released, reversed = by_id.get("contact_released"), by_id.get("contact_reversed")
    if not (isinstance(released, Reading) and isinstance(reversed, Reading)):
        return None
    operates = FORMS[plan.relay.form].operates
    if happened(operates, released):
        did = Reversal.HELD if happened(operates, reversed) else Reversal.LET_GO
        at = condition(ConditionName.LET_GO_AT, reversed.conditions)
        return Clue("reversal", reversed.id, f"{did}{f' ({at.text})' if at else ''}, {BY_WORD}", state=did)
    rise = by_id.get("drop_out_rise")
    if not isinstance(rise, Reading) or rise.value is None:
        return None
    risen = rise.value - rise.expanded_uncertainty > RISEN_SHARE * plan.relay.nominal
    did = Reversal.RISEN if risen else Reversal.SAME
    return Clue("reversal", rise.id, f"{did} ({_shown(rise)}), {BY_WORD}", state=did)


def happened(change: PairChange, seen: Reading) -> bool:
    """Whether the pairs of a reading are as after this change."""
    return isinstance(seen.state, ContactState) and change.pair in (
        seen.state.closed if change.closes else seen.state.open
    )


def _climb(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Loaded resistance of the last pulse over that of the first."""
    clue = _number("climb", "contact_climb_no", plain)(plan, by_id)
    if clue is None or clue.value is None:
        return clue
    return replace(clue, value=1 + clue.value / 100, u=clue.u / 100)


def _first_make(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """The first operate time over later ones, at the same volts; nothing where later makes do not operate, or where the
    armature moved and a contact did not show it."""
    later = _later(by_id, "operate_time")
    if later is None or _unshown(by_id) is not None:
        return None
    return _over("first_make", "first_operate_time", later * _sooner(plan, by_id), plan, by_id)


def _sooner(plan: Plan, by_id: Mapping[str, Finding]) -> float:
    """By what factor a make at nominal volts takes longer than those of the timing: one whose current only just comes
    to pull-in waits for it along an exponential."""
    share = (_later(by_id, "pull_in_voltage") or 0.0) / plan.relay.nominal
    times_volts = ON_CHARGE / more_volts(plan)
    if not 0 < share < MAY_WAIT:
        return float(times_volts**FOLLOWS_VOLTS)
    return math.log(1 - share) / math.log(1 - share / times_volts)


def _first_motion(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """That the armature moved in a first make which no contact shows, though later ones do."""
    armature = None if _later(by_id, "operate_time") is None else _unshown(by_id)
    if armature is None:
        return None
    return Clue("first_motion", "first_operate_time", armature.text, state=Motion.MOVES)


def _unshown(by_id: Mapping[str, Finding]) -> Condition | None:
    """What the coil's current says of an armature that moved in a first make without a contact's change."""
    one = by_id.get("first_operate_time")
    armature = condition(ConditionName.ARMATURE, one.conditions) if isinstance(one, Reading) else None
    return armature if armature and armature.code == MOVED else None


def _first_load(key: str, id: str, drop: str) -> _Maker:
    """The first drop after rest over later ones; nothing where later makes carry nothing. That it was open the first
    time says nothing of its contact where later makes do not operate either."""

    def make(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
        later = _later(by_id, drop)
        moot = isinstance(by_id.get(id), NotTested) and _later(by_id, "operate_time") is None
        return None if later is None or moot else _over(key, id, later, plan, by_id)

    return make


def _later(by_id: Mapping[str, Finding], id: str) -> float | None:
    """A reading of later makes; None where they did not allow it."""
    one = by_id.get(id)
    return one.value or None if isinstance(one, Reading) and one.bound == "=" else None


def _over(key: str, id: str, later: float, plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    clue = _number(key, id, lambda _plan, _by_id: later)(plan, by_id)
    return clue and replace(clue, shown=clue.shown + (f", {clue.value:.3g} times later ones" if clue.value else ""))


_MAKERS: tuple[_Maker, ...] = (
    _number("leak_open", "leakage_open_contact", plain),
    _number("leak_coil", "leakage_coil_contact", plain),
    _state("rest", "contact_rest"),
    _first_make,
    _first_motion,
    _first_load("first_no", "first_drop_no", "contact_drop_no"),
    _first_load("first_nc", "first_drop_nc", "contact_drop_nc"),
    _state("operated", "contact_operated"),
    _motion,
    _held,
    _number("half_volt", "coil_resistance_low", rated_ohm),
    _number("coil", "coil_resistance_20c", rated_ohm),
    _pull_in,
    _number("drop_out", "drop_out_voltage", nominal),
    _gap,
    _state("clamp", "flyback_class"),
    _number("hot", "coil_resistance_hot", cold_ohm),
    _number("after_load", "release_after_load", plain),
    _after_hot,
    _after_hot_nc,
    _start,
    _number("operate", "operate_time", slower),
    _number("release", "release_time", plain),
    _moves,
    _bounce("bounce_no", "bounce_time_no", "operate_time"),
    _bounce("bounce_nc", "bounce_time_nc", "release_time"),
    _number("drop_no", "contact_drop_no", load),
    _number("drop_nc", "contact_drop_nc", load),
    _number("scatter_no", "contact_scatter_no", plain),
    _number("scatter_nc", "contact_scatter_nc", plain),
    _number("dry_no", "contact_before_load_no", plain, LEAST_OHM),
    _number("dry_nc", "contact_before_load_nc", plain, LEAST_OHM),
    _number("after_no", "contact_after_load_no", plain, LEAST_OHM),
    _number("after_nc", "contact_after_load_nc", plain, LEAST_OHM),
    _climb,
    _overdriven,
    _released,
    _reversal,
)


DROPS = ("drop_no", "drop_nc")
"""The clues of contacts under load, by which a contact is worn or not."""
