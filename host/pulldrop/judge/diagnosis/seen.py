"""Faults that show already at a few mA, before anything is energised: what the look into the socket names.

Rule: only what its winding and its suppression leave no doubt of; titles and advice are those of the diagnosis.
"""

from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.model.part.identification import About, Nature
from pulldrop.model.run.fault import Evidence, NamedFault
from pulldrop.model.run.plan import Plan

BY_ID = {fault.id: fault for fault in FAULTS}
LOOK = "look"
"""Evidence by the look before a test, which no measurement of a protocol is."""
SURE = 0.99


def seen(nature: Nature, plan: Plan | None) -> tuple[NamedFault, ...]:
    """The fault for which the part must not be energised, by this plan or by any; none for another reason."""
    told = nature.said("class")
    if nature.winding == "shorted":
        return _named("coil_shorted", nature, "coil")
    if nature.suppression.reversed and nature.suppression.kind == "diode":
        return _named("diode_reversed", nature, "suppression")
    if plan and nature.volts and told and told.sure != "unsure" and nature.volts == 2 * plan.rating.nominal:
        return _named("wrong_voltage", nature, "class")
    return ()


def _named(id: str, nature: Nature, about: About) -> tuple[NamedFault, ...]:
    fault, said = BY_ID[id], nature.said(about)
    shown = (Evidence(id=LOOK, text=f"the look at a few mA, {about}: {said.text}", speaks="for"),) if said else ()
    return (
        NamedFault(
            id=id,
            title=fault.title,
            weight=SURE,
            advice=fault.advice,
            never_fit=fault.fate == "never fit",
            evidence=shown,
        ),
    )
