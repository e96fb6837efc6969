"""Faults that show already at a few mA, before anything is energised: what the look into the socket names.

Rule: only what its winding and its suppression leave no doubt of; titles and advice are those of the diagnosis.
"""

from typing import Any

from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.model.part.identification import About, Identification
from pulldrop.model.run.fault import Evidence, NamedFault
from pulldrop.model.run.plan import Plan

BY_ID = {fault.id: fault for fault in FAULTS}
LOOK = "look"
"""Evidence by the look before a test, which no measurement of a protocol is."""
SURE = 0.99


def seen(identified: Identification, plan: Plan | None) -> tuple[NamedFault, ...]:
    """The fault for which the part must not be energised, by this plan or by any; none for another reason."""
    told = identified.said("class")
    if identified.winding == "shorted":
        return _named("coil_shorted", identified, "coil")
    if identified.suppression.reversed and identified.suppression.kind == "diode":
        return _named("diode_reversed", identified, "suppression")
    if plan and identified.volts and told and told.sure != "unsure" and identified.volts == 2 * plan.rating.nominal:
        return _named("wrong_voltage", identified, "class")
    return ()


def in_the_words_of_the_rules(id: str) -> dict[str, Any]:
    """Title, advice and fate of a fault. Raises KeyError for one that no look shows."""
    fault = BY_ID[id]
    return dict(title=fault.title, advice=fault.advice, never_fit=fault.fate == "never fit")


def _named(id: str, identified: Identification, about: About) -> tuple[NamedFault, ...]:
    said = identified.said(about)
    shown = (Evidence(id=LOOK, text=f"the look at a few mA, {about}: {said.text}", speaks="for"),) if said else ()
    return (
        NamedFault(
            id=id,
            weight=SURE,
            evidence=shown,
            **in_the_words_of_the_rules(id),
        ),
    )
