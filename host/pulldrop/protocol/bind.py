"""A protocol and a rating become a plan: steps, and every limit a number with its source."""

import hashlib

from pulldrop.model.limit import Limit, Source
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import FORMS
from pulldrop.model.quantity import show
from pulldrop.model.run.plan import Plan
from pulldrop.model.steps import yields
from pulldrop.model.steps.contact import ContactStep
from pulldrop.model.steps.step import COIL_MOST_A, Step
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.protocol.expression import parse
from pulldrop.protocol.limits import Applied, NoFigure, apply
from pulldrop.protocol.shape import LimitLine, Protocol

TIMES = ("operate_most", "release_most")
"""Figures that a maker gives at nominal coil voltage."""


def bind(protocol: Protocol, rating: Rating, text: str) -> Plan:
    """The plan for a part of this rating; `text` is the protocol file as read. Raises DoesNotFit.

    The protocol comes from `load.py`, so that its limits are known to be well formed.
    """
    refuse_misfit(protocol, rating)
    load_a = next((step.load for step in protocol.steps if isinstance(step, ContactStep)), None)
    limits: dict[str, Limit] = {}
    unlimited: dict[str, str] = {}
    steps = protocol.steps
    for id, line in protocol.limits.items():
        try:
            applied = apply(parse(line.limit), id, rating, load_a)
        except NoFigure as lack:
            unlimited[id] = f"no limit from '{line.limit}': {lack}"
        else:
            limits[id] = _limit(applied, id, line, protocol.source, rating)
            if applied.figure in TIMES and rating.source_of(applied.figure).known != "common practice":
                steps = tuple(_timed_at_nominal(step, rating) for step in steps)
    return Plan(
        protocol=protocol.protocol,
        version=protocol.version,
        title=protocol.title,
        form=protocol.form,
        rating=rating,
        steps=tuple(step for step in steps if yields(step.measure, rating.form)),
        wanted=wanted(protocol),
        limits=limits,
        unlimited=unlimited,
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )


def wanted(protocol: Protocol) -> tuple[str, ...]:
    """Every measurement that the steps give for this form, in the order in which they are reported."""
    given = {id for step in protocol.steps for id in yields(step.measure, protocol.form)}
    return tuple(id for id in MEASUREMENTS if id in given)


def _limit(applied: Applied, id: str, line: LimitLine, protocols_own: Source, rating: Rating) -> Limit:
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
    """A maker's times hold at nominal; a step that is compared with them follows, so that its volts stay the same."""
    return step.model_copy(update={"coil": rating.nominal}) if step.timed else step


def refuse_misfit(protocol: Protocol, rating: Rating) -> None:
    """Raises DoesNotFit for another contact form or voltage, or a coil that the bench cannot feed."""
    if rating.form != protocol.form:
        raise DoesNotFit(
            f"the protocol '{protocol.protocol}' is for relays of {FORMS[protocol.form]}, the rating '{rating.rating}'"
            f" for those of {FORMS[rating.form]}; take a protocol or a rating of the other kind"
        )
    if rating.nominal != protocol.nominal:
        raise DoesNotFit(
            f"the protocol '{protocol.protocol}' is for {protocol.nominal:g} V coils, the rating '{rating.rating}'"
            f" for {rating.nominal:g} V; take a protocol or a rating of the same voltage"
        )
    if rating.coil_resistance:
        least_ohm = rating.coil_resistance * (1 - (rating.coil_tolerance or 0.0) / 100)
        most_v = max(step.held_v(rating.nominal) for step in protocol.steps)
        if most_v > COIL_MOST_A * least_ohm:
            raise DoesNotFit(
                f"a coil of the rating '{rating.rating}' may draw {show(most_v / max(least_ohm, 1e-3), 'A')} at"
                f" {most_v:g} V; the coil supply of the bench gives {COIL_MOST_A:g} A at most"
            )
