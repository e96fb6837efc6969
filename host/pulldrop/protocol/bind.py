"""A protocol and a rating become a plan: steps, and every limit a number with its source."""

import hashlib
from itertools import product

from pulldrop.model.limit import Limit, Source
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.rating import KindRating, Rating
from pulldrop.model.quantity import show
from pulldrop.model.run.plan import Plan
from pulldrop.model.step import COIL_MOST_A, Step
from pulldrop.model.steps import yields
from pulldrop.model.steps.contacts.contact import ContactStep
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.protocol.expression import parse
from pulldrop.protocol.limits import Applied, NoFigure, apply
from pulldrop.protocol.shape import LimitLine, Protocol
from pulldrop.protocol.shipped.purposes import shipped

TIMES = ("operate_most", "release_most")
"""Figures that makers give at nominal coil voltage; so do classes."""
LEAST_SHARE, MOST_SHARE = {"coil": 0.7, "full": 0.7, "at": 0.0}, 1.5
"""Shares of nominal volts, by the setting that names coil volts. Below, a sound part need not operate (pull-in is at
most 70 %, common practice); above, its coil may burn (assumed). So volts of another system are refused."""


def bind(protocol: Protocol, rating: KindRating, text: str, left_out: dict[str, str]) -> Plan:
    """The plan for a part of this rating; `text` is the protocol file as read. Raises DoesNotFit.

    The protocol comes from `load.py`, so that its limits are known to be well formed, and steps `left_out` as well.
    Limits of what this part does not give, such as those of a throw that it lacks, are not applied.
    """
    refuse_misfit(protocol, rating)
    given = wanted(protocol, rating)
    load_a = next((step.load for step in protocol.steps if isinstance(step, ContactStep)), None)
    limits: dict[str, Limit] = {}
    unlimited: dict[str, str] = {}
    steps = protocol.steps
    for id, line in protocol.limits.items():
        if id not in given:
            continue
        try:
            applied = apply(parse(line.limit), id, rating, load_a)
        except NoFigure as lack:
            unlimited[id] = f"no limit from '{line.limit}': {lack}"
        else:
            limits[id] = _limit(applied, id, line, protocol.source, rating)
            if applied.figure in TIMES and isinstance(rating, Rating):
                steps = tuple(_timed_at_nominal(step, rating) for step in steps)
    return Plan(
        protocol=protocol.protocol,
        version=protocol.version,
        title=protocol.title,
        form=rating.form if isinstance(rating, Rating) else None,
        rating=rating,
        steps=tuple(step for step in steps if yields(step, rating)),
        wanted=given,
        limits=limits,
        unlimited=unlimited,
        left_out=left_out,
        leads_on=tuple(one for one in shipped() if one.kind == rating.kind and one.purpose in protocol.leads_on),
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )


def wanted(protocol: Protocol, rating: KindRating) -> tuple[str, ...]:
    """Every measurement that the steps give of such a part, in the order in which they are reported."""
    given = {id for step in protocol.steps for id in yields(step, rating)}
    return tuple(id for id in MEASUREMENTS if id in given)


def _limit(applied: Applied, id: str, line: LimitLine, protocols_own: Source, rating: KindRating) -> Limit:
    inherited = rating.source_of(applied.figure) if applied.figure else applied.source or protocols_own
    return Limit(
        text=applied.text,
        source=line.source or inherited,
        unit=MEASUREMENTS[id].unit,
        low=applied.low,
        high=applied.high,
        state=applied.state,
    )


def _timed_at_nominal(step: Step, rating: Rating) -> Step:
    """Rated times hold at nominal; a step that is compared with them follows, so that its volts stay the same."""
    return step.model_copy(update={"coil": rating.nominal}) if step.timed else step


def refuse_misfit(protocol: Protocol, rating: KindRating) -> None:
    """Raises DoesNotFit for another kind of part, volts of another system, or a coil that the bench cannot feed."""
    if rating.kind != protocol.kind:
        raise DoesNotFit(
            f"the protocol '{protocol.protocol}' is for a {protocol.kind}, the rating '{rating.rating}' for a"
            f" {rating.kind}; take a protocol or a rating of the same kind"
        )
    if not isinstance(rating, Rating):
        return
    for step, (setting, share) in product(protocol.steps, LEAST_SHARE.items()):
        volts = getattr(step, setting, None) or rating.nominal
        if not share * rating.nominal <= volts <= MOST_SHARE * rating.nominal:
            raise DoesNotFit(
                f"the step '{step.measure}' of '{protocol.protocol}' puts {volts:g} V on a coil of {rating.nominal:g}"
                f" V; expected {share * rating.nominal:g} to {MOST_SHARE * rating.nominal:g} V, such as 'in service'"
            )
    if rating.coil_ohm:
        least_ohm = rating.coil_ohm * (1 - (rating.coil_share or 0.0))
        most_v = max(step.held_v(rating.nominal) for step in protocol.steps)
        if most_v > COIL_MOST_A * least_ohm:
            raise DoesNotFit(
                f"a coil of the rating '{rating.rating}' may draw {show(most_v / max(least_ohm, 1e-3), 'A')} at"
                f" {most_v:g} V; the coil supply of the bench gives {COIL_MOST_A:g} A at most"
            )
