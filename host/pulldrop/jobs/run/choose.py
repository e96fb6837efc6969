"""From what a person names to a plan; what is not named follows from the kind of part.

Rule: where nothing says what kind of part it is, nothing is guessed.
"""

from pulldrop.model.part.identification import Identification
from pulldrop.model.part.rating import KindRating
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.purpose import Purpose
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan
from pulldrop.protocol.ratings.classes import class_of
from pulldrop.protocol.ratings.files import load_rating
from pulldrop.protocol.shipped import library
from pulldrop.protocol.shipped.purposes import protocol_for


def plan_rated(protocol: str | None, rating: KindRating | str, bare: bool = False) -> Plan:
    """The plan for a rating, or its name or path; without a protocol the quick one, on a bare board that for it.

    Raises ProtocolError and BadText.
    """
    if isinstance(rating, str):
        rating = load_rating(library.find_rating(rating))
    purposes: tuple[Purpose, ...] = ("bare", "quick") if bare else ("quick",)
    return plan(protocol or protocol_for(rating.kind, *purposes), rating)


def plan_for_specimen(
    specimen: Specimen, bare: bool = False, protocol: str | None = None, seen: Identification | None = None
) -> Plan:
    """The plan for the volts that are printed on a virtual part, and the contact form that the look found.

    Its own form only without a look, or where that is not sure: then a person would count its blades.
    """
    told = seen.said("form") if seen else None
    form = seen.forms[0] if seen and seen.forms and told and told.sure != "unsure" else specimen.form
    return plan_rated(protocol, class_of(form, specimen.nominal_v), bare)


def plan_seen(identified: Identification, protocol: str | None) -> Plan | None:
    """The plan for the class that a look found, and the protocol that suits it; None where the look is not sure."""
    if not identified.rating or identified.sure == "unsure":
        return None
    return plan(protocol or identified.protocol, identified.rating)
