"""Faults that show already at a few mA, before anything is energised: what the look into the socket names.

Rule: only what its winding and its suppression leave no doubt of; titles and advice are those of the diagnosis.
"""

from pulldrop.judge.diagnosis.faults import FAULTS, Fault
from pulldrop.model.nature import Nature
from pulldrop.model.plan import Plan

BY_ID = {fault.id: fault for fault in FAULTS}


def seen(nature: Nature, plan: Plan | None) -> Fault | None:
    """The fault for which the part must not be energised, by this plan or by any; None for another reason."""
    told = nature.said("class")
    if nature.winding == "shorted":
        return BY_ID["coil_shorted"]
    if nature.suppression.reversed and nature.suppression.kind == "diode":
        return BY_ID["diode_reversed"]
    if plan and nature.volts and told and told.sure != "unsure" and nature.volts == 2 * plan.rating.nominal:
        return BY_ID["wrong_voltage"]
    return None
