"""Which tested parts a part is held beside: those of the same rating, if it is a maker's, or those that a person names.

A class of parts whoever made them is no type: its parts are of many designs.
"""

from collections.abc import Sequence

from pulldrop.judge.diagnosis import READ_OF_SIBLINGS, learned
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.run.plan import Plan
from pulldrop.store import Store


def reference(store: Store, plan: Plan, part: str, simulated: bool) -> TypeReference | None:
    """What the other parts of a maker's type read; None for a class, and for too few of them."""
    if plan.rating.any_maker:
        return None
    return learned(plan, store.of_rating(plan, simulated, part, READ_OF_SIBLINGS))


def reference_of(store: Store, plan: Plan, parts: Sequence[str], simulated: bool) -> TypeReference | None:
    """What these parts read by the same protocol; None for too few that went through it with nothing named."""
    return learned(plan, store.of_parts(plan, simulated, parts, READ_OF_SIBLINGS))
