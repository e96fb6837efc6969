"""Free play: edges of the wire matched to what the person tapped.

Rule: the hand moves first and taps then, so an edge belongs to the next tap within reach, or, right after a tap, to
that one. What both could claim is evidence for neither; after an edge that nobody tapped nothing is known any more.
"""

from collections.abc import Collection, Iterator, Sequence

from pulldrop.hunt.space import Space
from pulldrop.model.hunt.diary import Played, Touch
from pulldrop.model.hunt.look import WireLevel

EARLY_S, LATE_S = 1.8, 0.8
"""An edge may come so long before the tap that names its touch, or after it."""
SOON_S = 0.15
"""So soon after a tap an edge may still be of it, though another tap follows within reach: nobody moves on faster."""

Settled = tuple[tuple[int, int], tuple[WireLevel, bool] | None]


def settle(played: Played, space: Space, acts: Collection[WireLevel]) -> Iterator[Settled]:
    """For each touch the move, and the level after it with whether it acts; None where that cannot be said.

    A button's touch is two moves, press and release. Raises KeyError and ValueError for touches of what is not there.
    """
    touches = sorted(played.touches, key=lambda one: one.at_s)
    edges = sorted(played.edges, key=lambda one: one.at_s)
    owners = [_owners(edge.at_s, touches) for edge in edges]
    doubtful = {owner for listed in owners if len(listed) > 1 for owner in listed}
    level, lost_s = (
        played.before.level,
        min((edge.at_s for edge, listed in zip(edges, owners, strict=True) if not listed), default=float("inf")),
    )
    for i, touch in enumerate(touches):
        control = space.index(touch.control)
        if touch.position not in range(len(space.controls[control].positions)):
            raise ValueError(f"{touch.control} has no position {touch.position}")
        mine = [edge.look.level for edge, listed in zip(edges, owners, strict=True) if i in listed]
        clear = i not in doubtful and touch.at_s < lost_s
        before, level = level, mine[-1] if mine else level
        if space.holds(control, touch.position):
            held = next((one for one in mine if (one in acts) != (before in acts)), before)
            yield (control, touch.position), (held, held in acts) if clear else None
            home = space.controls[control].springs[touch.position]
            yield (control, home), (level, level in acts) if clear else None
        else:
            yield (control, touch.position), (level, level in acts) if clear else None


def _owners(at_s: float, touches: Sequence[Touch]) -> list[int]:
    """The touches that an edge may be of: none, one, or the one before and the one after it."""
    after = next((i for i, one in enumerate(touches) if one.at_s >= at_s), len(touches))
    follows = after < len(touches) and touches[after].at_s - at_s <= EARLY_S
    since = at_s - touches[after - 1].at_s if after else float("inf")
    if follows:
        return [after - 1, after] if since <= SOON_S else [after]
    return [after - 1] if since <= LATE_S else []
