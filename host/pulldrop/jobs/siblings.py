"""Which tested parts a part is held beside: those of the same rating, if it is a maker's, or those that a person names.

A class of parts whoever made them is no type: its parts are of many designs.
"""

from collections.abc import Sequence

from pulldrop.judge.diagnosis import READ_OF_SIBLINGS, learned
from pulldrop.model.part.reference import LEAST_PARTS, TypeReference
from pulldrop.model.run.plan import Plan
from pulldrop.store import Store, StoreError


class NoReference(StoreError):
    """Too few parts were tested alike, or what was learned of them is not for this part."""


def reference(store: Store, plan: Plan, part: str, simulated: bool) -> TypeReference | None:
    """What the other parts of a maker's type read; None for a class, and for too few of them."""
    if plan.rating.any_maker:
        return None
    return learned(plan, store.of_rating(plan, simulated, part, READ_OF_SIBLINGS))


def reference_of(store: Store, plan: Plan, parts: Sequence[str], simulated: bool) -> TypeReference:
    """What these parts read by the same protocol. Raises NoReference."""
    return _enough(plan, learned(plan, store.of_parts(plan, simulated, parts, READ_OF_SIBLINGS)), "these parts")


def reference_of_rating(store: Store, plan: Plan, simulated: bool) -> TypeReference:
    """What all parts of a maker's rating read by this protocol. Raises NoReference."""
    if plan.rating.any_maker:
        raise NoReference(
            f"The rating {plan.rating.rating} is a class whoever made its parts, so they are of many designs. Name a"
            " maker's rating, or three parts of one type (--beside)."
        )
    return _enough(plan, reference(store, plan, "", simulated), f"the parts of {plan.rating.rating}")


def check(siblings: TypeReference, plan: Plan, simulated: bool) -> None:
    """Whether they were tested as this part is. Raises NoReference."""
    for what, theirs, own in (
        ("protocol", f"{siblings.protocol} {siblings.version}", f"{plan.protocol} {plan.version}"),
        ("nominal voltage", f"{siblings.nominal_v:g} V", f"{plan.rating.nominal:g} V"),
        ("contact form", siblings.form, plan.form),
        ("bench", *("simulated" if one else "real" for one in (siblings.simulated, simulated))),
    ):
        if theirs != own:
            raise NoReference(
                f"The {what} of the siblings is {theirs}; {own} was expected, as of this part. Leave them out."
            )


def _enough(plan: Plan, made: TypeReference | None, whose: str) -> TypeReference:
    if made is None:
        raise NoReference(
            f"Fewer than {LEAST_PARTS} of {whose} went last through {plan.protocol} (version {plan.version}) with"
            f" nothing named and the same suppression. Test {LEAST_PARTS} parts of one type by it first."
        )
    return made
