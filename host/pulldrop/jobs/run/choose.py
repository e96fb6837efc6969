"""From what a person names to a plan; a protocol that is not named follows from the kind of part.

Rule: where nothing says what kind of part it is, nothing is guessed.
"""

from pulldrop.model.run.plan import Plan
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol import library
from pulldrop.protocol.load import plan
from pulldrop.protocol.ratings import load_rating

TERMINALS = {"A": 4, "B": 4, "C": 5, "twin": 4}


def plan_by_name(protocol: str | None, rating: str | None) -> Plan | None:
    """The plan for the names given; a rating alone gets the quick protocol of its kind.

    None when neither is given. Raises ProtocolError and BadText.
    """
    if protocol:
        return plan(protocol, rating)
    if rating:
        rated = load_rating(library.find_rating(rating))
        return plan(_quick(rated.form, rated.nominal), rating)
    return None


def plan_for_specimen(specimen: Specimen, bare: bool = False) -> Plan:
    """The quick protocol for what is printed on a virtual part; on a bare board the one that it can do."""
    quick = _quick(specimen.form, specimen.nominal_v)
    return plan(quick.removesuffix("quick") + "bare" if bare else quick)


def _quick(form: str, nominal_v: float) -> str:
    """Name of the shipped quick protocol for a contact form and a nominal voltage."""
    return f"relay-{TERMINALS[form]}t-{nominal_v:g}v-quick"
