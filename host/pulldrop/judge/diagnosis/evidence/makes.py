"""Clues from makes compared: the first with later ones, hot with dry ones, each with the next."""

import math
import statistics
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from pulldrop.judge.diagnosis.evidence.clue import Clue, Motion
from pulldrop.judge.diagnosis.evidence.one_reading import Maker, later_value, number, over_later
from pulldrop.judge.diagnosis.evidence.scales import FOLLOWS_VOLTS, ON_CHARGE, more_volts
from pulldrop.model.part.relay import FORMS, NO
from pulldrop.model.reading import MOVED, Condition, ConditionName, Finding, NotTested, Reading, condition
from pulldrop.model.run.plan import Plan

MAY_WAIT = 0.9
"""Of nominal: with a pull-in above it a first make at nominal may be late, or never come, though nothing sticks."""
MOVES = ("operate_time", "release_time")
"""Times whose scatter from make to make shows friction in the hinge."""
LEAST_SCATTER = 1e-3
"""Below it the scatter is the board's own: an edge may wait for 18 us."""
SLOWEST_OF_5 = 1.35
"""The slowest of five lies as far above their mean, in their standard deviations (root of the mean square)."""


def first_make(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """The first operate time over later ones, at the same volts; nothing where later makes do not operate, or where the
    armature moved and a contact did not show it."""
    later = later_value(by_id, "operate_time")
    if later is None or _unshown(by_id) is not None:
        return None
    return over_later("first_make", "first_operate_time", later * _sooner(plan, by_id), plan, by_id)


def _sooner(plan: Plan, by_id: Mapping[str, Finding]) -> float:
    """By what factor a make at nominal volts takes longer than those of the timing: one whose current only just comes
    to pull-in waits for it along an exponential."""
    share = (later_value(by_id, "pull_in_voltage") or 0.0) / plan.relay.nominal
    times_volts = ON_CHARGE / more_volts(plan)
    if not 0 < share < MAY_WAIT:
        return float(times_volts**FOLLOWS_VOLTS)
    return math.log(1 - share) / math.log(1 - share / times_volts)


def first_motion(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """That the armature moved in a first make which no contact shows, though later ones do."""
    armature = None if later_value(by_id, "operate_time") is None else _unshown(by_id)
    if armature is None:
        return None
    return Clue("first_motion", "first_operate_time", armature.text, state=Motion.MOVES)


def _unshown(by_id: Mapping[str, Finding]) -> Condition | None:
    """What the coil's current says of an armature that moved in a first make without a contact's change."""
    one = by_id.get("first_operate_time")
    armature = condition(ConditionName.ARMATURE, one.conditions) if isinstance(one, Reading) else None
    return armature if armature and armature.code == MOVED else None


def first_load(key: str, id: str, drop: str) -> Maker:
    """The first drop after rest over later ones; nothing where later makes carry nothing. That it was open the first
    time says nothing of its contact where later makes do not operate either."""

    def make(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
        later = later_value(by_id, drop)
        moot = isinstance(by_id.get(id), NotTested) and later_value(by_id, "operate_time") is None
        return None if later is None or moot else over_later(key, id, later, plan, by_id)

    return make


def after_hot(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
    """Release after a hot make over that after a dry one, of the same step where no other has one; nothing where it
    does not even let go after a dry one."""
    dry, hot = by_id.get("release_after_load"), by_id.get("release_after_hot_make")
    own = condition(ConditionName.DRY, hot.conditions) if isinstance(hot, Reading) else None
    if own and own.value:
        return _times_dry("after_hot", "release_after_hot_make", (), own.value, plan, by_id)
    if not isinstance(dry, Reading) or dry.bound != "=" or not dry.value:
        return None
    return _times_dry("after_hot", "release_after_hot_make", dry.makes, dry.value, plan, by_id)


def after_hot_nc(plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
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
    clue = number(key, id, lambda _plan, _by_id: dry_s)(plan, by_id)
    if clue is None or clue.value is None:
        return clue
    least = "" if clue.bound == "=" else "at least "
    hot = by_id[id]
    others = sorted(hot.makes)[:-1] if isinstance(hot, Reading) else []
    u = math.hypot(clue.u, SLOWEST_OF_5 * _scatter_s(dry, others) / dry_s)
    return replace(clue, u=u, shown=f"{clue.shown}, {least}{clue.value:.3g} times that after a dry make")


def moves(_plan: Plan, by_id: Mapping[str, Finding]) -> Clue | None:
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


def _scatter_s(*makes: Sequence[float]) -> float:
    """Standard deviation of single makes, of several rows of them together; 0 for too few."""
    rows = [row for row in makes if len(row) > 1]
    freedom = sum(len(row) - 1 for row in rows)
    return math.sqrt(sum((len(row) - 1) * statistics.variance(row) for row in rows) / freedom) if freedom else 0.0
