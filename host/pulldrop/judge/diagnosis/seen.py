"""What shows already at a few mA, before anything is energised, and why a part is refused: faults, and other layouts.

Rule: only what its winding, its suppression and its layout leave no doubt of; a fault that the diagnosis knows as well
has its title and advice.
"""

from typing import Any, NamedTuple

from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.model.part.identification import About, Identification, Layout
from pulldrop.model.run.fault import Evidence, NamedFault
from pulldrop.model.run.plan import Plan

BY_ID = {fault.id: fault for fault in FAULTS}
LOOK = "look"
"""Evidence by the look before a test, which no measurement of a protocol is."""
SURE = 0.99


class Seen(NamedTuple):
    """Something for which a part is refused, and that no test by a protocol can name."""

    title: str
    advice: str


BY_LOOK_ALONE = {
    "exchanged_layout": Seen(
        "blades 30 and 86 have changed places: the other common layout",
        "Use an adapter that crosses 30 and 86, and test it again: nothing may be wrong with it.",
    ),
    "other_layout": Seen(
        "coil and contacts lie on blades as no layout known here has them",
        "Read the print on it: it needs an adapter for its own layout.",
    ),
    "no_coil_seen": Seen(
        "no coil is seen, and the contacts do not show where it should be",
        "Measure ohms from 85 to 86 with a meter, both ways round: open is scrap; else use an adapter that crosses 30"
        " and 86.",
    ),
    "no_relay": Seen(
        "no coil, and 30 joined to 87: a fuse, a lamp or a link; or a relay whose coil is open and whose 87 is welded",
        "Test a fuse or a lamp by 'pulldrop pair'; a relay that reads so is scrap.",
    ),
    "series_diode_reversed": Seen(
        "its diode in series is the wrong way round for this polarity",
        "Exchange the leads to 85 and 86, test again; fit it only where the polarity is the same, else it does"
        " nothing.",
    ),
}
LAYOUTS: dict[Layout, str] = {"exchanged": "exchanged_layout", "other": "other_layout", "unknown": "no_coil_seen"}


def seen(identified: Identification, plan: Plan | None) -> tuple[NamedFault, ...]:
    """Why the part must not be energised, by this plan or by any; none for another reason."""
    told = identified.said("class")
    if identified.empty:
        return ()
    if identified.layout in LAYOUTS:
        return _named(LAYOUTS[identified.layout], identified, "layout")
    if identified.no_relay:
        return _named("no_relay", identified, "form")
    if identified.winding == "shorted":
        return _named("coil_shorted", identified, "coil")
    if identified.suppression.reversed:
        series = identified.suppression.kind == "series diode"
        return _named("series_diode_reversed" if series else "diode_reversed", identified, "suppression")
    if plan and identified.volts and told and told.sure != "unsure" and identified.volts == 2 * plan.relay.nominal:
        return _named("wrong_voltage", identified, "class")
    return ()


def in_the_words_of_the_rules(id: str) -> dict[str, Any]:
    """Title, advice and fate of a fault. Raises KeyError for one that no look shows."""
    if id in BY_LOOK_ALONE:
        return BY_LOOK_ALONE[id]._asdict()
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
