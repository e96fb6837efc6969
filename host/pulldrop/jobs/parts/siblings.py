"""Which tested parts a part is held beside: those that a person names, for nothing that is stored makes parts a type.

One rating is given to parts of several lots, and a class to those of any maker.
"""

from collections.abc import Sequence

from pulldrop.jobs.parts.keep import resolve
from pulldrop.judge.diagnosis import READ_OF_SIBLINGS, learned
from pulldrop.model.part.reference import LEAST_PARTS, Sibling, TypeReference
from pulldrop.model.run.plan import Plan
from pulldrop.store import Store, StoreError


class NoReference(StoreError):
    """Too few parts were tested alike, or what was learned of them is not for this part."""


def reference_of(store: Store, plan: Plan, named: Sequence[str], simulated: bool, but: str = "") -> TypeReference:
    """What these parts, without `but`, read by the same protocol; ids as a person writes them. Raises NotKept and
    NoReference."""
    parts = sorted({resolve(store, one) for one in named} - {but})
    return _learned(plan, store.of_parts(plan, simulated, parts, READ_OF_SIBLINGS), "these parts")


def reference_of_rating(store: Store, plan: Plan, simulated: bool) -> TypeReference:
    """What all parts of a maker's rating read by this protocol. Raises NoReference."""
    if plan.relay.any_maker:
        raise NoReference(
            f"The rating {plan.rating.rating} is a class whoever made its parts, so they are of many designs. Name a"
            " maker's rating, or three parts of one type (--beside)."
        )
    found = store.of_rating(plan, simulated, READ_OF_SIBLINGS)
    return _learned(plan, found, f"the parts of {plan.rating.rating}")


def check(siblings: TypeReference, plan: Plan, simulated: bool) -> None:
    """Whether they were tested as this part is. Raises NoReference."""
    for what, theirs, own in (
        ("protocol", f"{siblings.protocol} {siblings.version}", f"{plan.protocol} {plan.version}"),
        ("nominal voltage", f"{siblings.nominal_v:g} V", f"{plan.relay.nominal:g} V"),
        ("contact form", siblings.form, plan.relay.form),
        ("bench", *("simulated" if one else "real" for one in (siblings.simulated, simulated))),
    ):
        if theirs != own:
            raise NoReference(
                f"The {what} of the siblings is {theirs}; {own} was expected, as of this part. Leave them out."
            )


def _learned(plan: Plan, siblings: Sequence[Sibling], whose: str) -> TypeReference:
    if made := learned(plan, siblings):
        return made
    if len(siblings) >= LEAST_PARTS:
        raise NoReference(
            f"Of {whose} {len(siblings)} went last through {plan.protocol} (version {plan.version}) with nothing named,"
            " but they differ too much among themselves to be of one type, or in their suppression. Name"
            f" {LEAST_PARTS} that are alike (--beside): of one maker, one print and one lot."
        )
    raise NoReference(
        f"Fewer than {LEAST_PARTS} of {whose} went last through {plan.protocol} (version {plan.version}) with"
        f" nothing named. Test {LEAST_PARTS} parts of one type by it first."
    )
