"""Free play: edges of the wire matched to what the person tapped.

Rule: an edge belongs to the touch that it is nearest to within reach; a touch without an edge changed nothing. What
cannot be told apart, because two touches share one edge's reach, is no evidence.
"""

from collections.abc import Collection, Iterator

from pulldrop.hunt.space import Space
from pulldrop.model.hunt.diary import Played, Touch
from pulldrop.model.hunt.look import WireLevel

EARLY_S, LATE_S = 1.6, 0.8
"""An edge may come so long before the tap that names its touch, or after it: the hand moves first, then taps."""

Settled = tuple[tuple[int, int], tuple[WireLevel, bool] | None]


def settle(played: Played, space: Space, acts: Collection[WireLevel]) -> Iterator[Settled]:
    """For each touch the move, and the level after it with whether it acts; None where the touches were too close.

    A button's touch is two moves, press and release. Raises KeyError and ValueError for touches of what is not there.
    """
    touches = sorted(played.touches, key=lambda one: one.at_s)
    edges = sorted(played.edges, key=lambda one: one.at_s)
    level = played.before.level
    for i, touch in enumerate(touches):
        control = space.index(touch.control)
        if touch.position not in range(len(space.controls[control].positions)):
            raise ValueError(f"{touch.control} has no position {touch.position}")
        follows = touches[i + 1].at_s if i + 1 < len(touches) else float("inf")
        clear = _clear(touch, touches[i - 1] if i else None, follows)
        until = min(touch.at_s + LATE_S, follows - EARLY_S)
        mine = [edge.look.level for edge in edges if touch.at_s - EARLY_S <= edge.at_s < until]
        later = [edge.look.level for edge in edges if edge.at_s < until]
        before, level = level, later[-1] if later else played.before.level
        if not space.holds(control, touch.position):
            yield (control, touch.position), (level, level in acts) if clear else None
            continue
        while_held = next((one for one in mine if (one in acts) != (before in acts)), before)
        yield (control, touch.position), (while_held, while_held in acts) if clear else None
        home = space.controls[control].springs[touch.position]
        yield (control, home), (level, level in acts) if clear else None


def _clear(touch: Touch, before: Touch | None, follows: float) -> bool:
    """Whether no other touch reaches into this one's time."""
    return (before is None or touch.at_s - before.at_s >= EARLY_S) and follows - touch.at_s >= EARLY_S
