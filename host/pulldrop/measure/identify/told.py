"""From what was seen at a few mA to what the part is: layout, coil, winding, form, class; what cannot be known.

Rule: pure; nothing is said that another part known here would show as well, unless it says so.
"""

from collections.abc import Sequence

from pulldrop.measure.identify.layout import SHORT_OHM, coil_partner, layout_of
from pulldrop.measure.identify.suppressor import across
from pulldrop.measure.identify.survey import Survey
from pulldrop.measure.identify.winding import WindingSeen, class_of, coil_of, winding_of
from pulldrop.measure.steps.scan import CLOSED_OHM
from pulldrop.model.part.identification import CoilSeen, Identification, Layout, Statement, SuppressionSeen, Sure
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import FORMS, Form


def identified_of(seen: WindingSeen, classes: Sequence[Rating]) -> Identification:
    """What the part is, without protocol and rating."""
    survey, layout = seen.survey, layout_of(seen.survey)
    if not survey.seen:
        return _empty()
    suppression, suppression_said, unknown = across(survey, seen.response, seen.plus)
    coil = coil_of(seen, suppression)
    winding, winding_said = winding_of(seen, coil, suppression)
    volts, fitting, class_said = class_of(coil, winding, suppression, classes)
    forms, form_said, terminals = _form(survey, layout)
    statements = [_blades(survey, terminals), _layout_said(layout, survey), winding_said, form_said, class_said]
    identified = Identification(
        seen=survey.seen,
        terminals=terminals,
        layout=layout,
        forms=forms,
        coil=coil,
        winding=winding,
        volts=volts,
        classes=fitting,
        suppression=suppression,
        statements=tuple(one for one in (*statements, suppression_said, _tracks(survey, seen.plus)) if one is not None),
        cannot_know=(*_cannot_know(forms, suppression, coil), *unknown),
    )
    return identified.model_copy(update={"refuse": refusal_of(identified, survey.bare)})


def _empty() -> Identification:
    return Identification(
        empty=True,
        statements=(
            Statement(about="terminals", text="nothing conducts between any two blades", sure="sure"),
            Statement(about="coil", text="no coil is seen: the socket is empty, or the coil is open", sure="unsure"),
        ),
        cannot_know=("an empty socket from a part whose coil is open and whose contacts are all open at rest",),
        refuse="nothing conducts between any two blades: the socket is empty, or the coil of a part without closed"
        " contacts is open; put the part in, or look whether its blades touch",
    )


def refusal_of(identified: Identification, bare: bool) -> str:
    """Why nothing may be energised, or nothing."""
    suppression = identified.suppression
    if identified.layout == "exchanged":
        meet = (
            "a protocol would take its contacts for a coil"
            if bare
            else "coil supply and load would meet in its contacts"
        )
        return f"blades 30 and 86 have changed places: {meet}; use an adapter that crosses 30 and 86"
    if identified.layout == "other":
        return "coil and contacts lie on blades as no layout known here has them; look at the print on the part"
    if identified.layout == "unknown":
        return (
            "no coil is seen, and the contacts do not show where it should be: it is open, or 30 and 86 are exchanged"
        )
    if identified.winding == "shorted":
        return f"the coil's blades are joined by less than {SHORT_OHM:g} ohm: the coil or what is across it is shorted"
    if suppression.reversed and suppression.kind == "series diode":
        return "its diode in series lets nothing through from 86 to 85: exchange 85 and 86 if the part may be fed so"
    if suppression.reversed:
        return (
            "its diode is the wrong way round for 86 as plus: it would short the coil supply; exchange 85 and 86 if the"
            " part may be fed so"
        )
    return ""


def _form(survey: Survey, layout: Layout) -> tuple[tuple[Form, ...], Statement, tuple[int, ...]]:
    """Contact forms by what is closed at rest."""
    common = "86" if layout == "exchanged" else "30"
    no, nc, bridged = survey.closed(common, "87"), survey.closed(common, "87a"), survey.closed("87", "87a")

    def say(text: str, sure: Sure, why: str = "") -> Statement:
        return Statement(about="form", text=text, sure=sure, why=why)

    if bridged and not no and not nc:
        said = say(
            f"two blades 87, joined inside ({FORMS['twin'].called})",
            "sure",
            "87 and the blade in the place of 87a are joined",
        )
        return ("twin",), said, (5,)
    if no and nc:
        said = say("both throws are closed at rest: welded, or two blades 87 on a welded contact", "unsure")
        return ("C", "twin"), said, (5,)
    if nc:
        said = say(f"changeover (Form C): {common} and 87a are closed at rest", "likely", "or normally closed, Form B")
        return ("C", "B"), said, (5, 4)
    if no:
        said = say(f"{common} and 87 are closed at rest: welded, held, or a part made so", "unsure")
        return ("A", "C", "B"), said, (4, 5)
    why = "or a changeover part whose resting contact is open"
    return ("A", "C"), say("normally open (Form A): nothing is closed at rest", "likely", why), (4, 5)


def _blades(survey: Survey, terminals: tuple[int, ...]) -> Statement:
    text = f"{' or '.join(str(n) for n in terminals)}; {', '.join(survey.seen)} conduct to another blade"
    sure: Sure = "sure" if len(terminals) == 1 else "likely"
    return Statement(about="terminals", text=text, sure=sure)


def _tracks(survey: Survey, plus: str) -> Statement | None:
    """What conducts, and is neither a coil nor a contact."""
    found: dict[frozenset[str], float] = {}
    for ends, pair in survey.pairs.items():
        if pair.ohm is not None and pair.ohm >= CLOSED_OHM and set(ends) != {plus, "85"}:
            found[frozenset(ends)] = min(pair.ohm, found.get(frozenset(ends), pair.ohm))
    if not found:
        return None
    text = ", ".join(f"{'-'.join(sorted(ends))} {ohm / 1e3:.1f} kohm" for ends, ohm in found.items())
    return Statement(
        about="insulation", text=text, sure="sure", why="water, or a carbon track: neither coil nor contact"
    )


def _layout_said(layout: Layout, survey: Survey) -> Statement:
    partner = coil_partner(survey)
    by = f"the coil lies between {partner} and 85" if partner else "by the contacts alone: no coil conducts"
    sure: Sure = "sure" if partner else "likely"
    texts = {
        "usual": "30 common, 85 and 86 coil",
        "exchanged": "30 and 86 have changed places",
        "other": "none that is known here",
        "unknown": "unknown",
    }
    return Statement(about="layout", text=texts[layout], sure="unsure" if layout == "unknown" else sure, why=by)


def _cannot_know(forms: tuple[Form, ...], suppression: SuppressionSeen, coil: CoilSeen | None) -> tuple[str, ...]:
    """What no look at rest can show, in words."""
    said: list[str] = []
    if "C" in forms and "B" in forms:
        said.append("whether there is a blade 87: at rest nothing joins it to another one; count the blades")
    if forms[:2] == ("A", "C"):
        said.append("whether there is a blade 87a whose contact is open: count the blades")
    if coil and suppression.kind in ("none", "resistor", "unknown"):
        said.append("85 from 86: the coil works either way round")
    if coil:
        said.append("a mini from a micro part: their coils are alike; the socket decides")
    return tuple(said)
