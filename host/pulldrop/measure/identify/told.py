"""From what was seen at a few mA to what the part is: layout, coil, winding, form, class; what cannot be known.

Rule: pure; nothing is said that another part known here would show as well, unless it says so.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence

from pulldrop.measure.identify.layout import SHORT_OHM, coil_partner, layout_of
from pulldrop.measure.identify.suppressor import across
from pulldrop.measure.identify.survey import Survey
from pulldrop.measure.identify.winding import WindingSeen, class_of, coil_of, winding_of
from pulldrop.measure.rig.paths import CLOSED_OHM
from pulldrop.model.part.identification import (
    CannotKnow,
    CoilSeen,
    Identification,
    Layout,
    Statement,
    SuppressionSeen,
    Sure,
)
from pulldrop.model.part.rating import Rating
from pulldrop.model.part.relay import COMMONEST_FIRST, FORMS, NC, NO, TWIN, Form, RelayForm, form_of


def identified_of(seen: WindingSeen, classes: Sequence[Rating]) -> Identification:
    """What the part is, without protocol and rating."""
    survey, layout = seen.survey, layout_of(seen.survey)
    if not survey.seen:
        return _empty()
    suppression, suppression_said, unknown = across(survey, seen.response, seen.plus)
    coil = coil_of(seen, suppression)
    winding, winding_said = winding_of(seen, coil, suppression)
    volts, fitting, class_said = class_of(coil, winding, suppression, classes)
    forms, form_said = _form(survey, layout)
    terminals = blades_of(forms)
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
        cannot_know=(
            *_cannot_know(forms, suppression, coil),
            *(CannotKnow(about="suppression", text=text) for text in unknown),
        ),
    )
    return identified.model_copy(update={"refuse": refusal_of(identified, survey.bare)})


def _empty() -> Identification:
    return Identification(
        empty=True,
        statements=(
            Statement(about="terminals", text="nothing conducts between any two blades", sure="sure"),
            Statement(about="coil", text="no coil is seen: the socket is empty, or the coil is open", sure="unsure"),
        ),
        cannot_know=(
            CannotKnow(
                about="coil",
                text="an empty socket from a part whose coil is open and whose contacts are all open at rest",
            ),
        ),
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
        return f"blades 30 and 86 have changed places: {meet}"
    if identified.layout == "other":
        return "coil and contacts lie on blades as no layout known here has them"
    if identified.layout == "unknown":
        return (
            "no coil is seen, and the contacts do not show where it should be: it is open, or 30 and 86 are exchanged"
        )
    if identified.no_relay:
        return "30 conducts to 87 and no coil is there: a fuse, a lamp or a link, or a relay with two faults at once"
    if identified.winding == "shorted":
        return f"the coil's blades are joined by less than {SHORT_OHM:g} ohm: the coil or what is across it is shorted"
    if suppression.reversed and suppression.kind == "series diode":
        return "its diode in series lets nothing through from 86 to 85"
    if suppression.reversed:
        return "its diode is the wrong way round for 86 as plus: it would short the coil supply"
    return ""


def blades_of(forms: Iterable[Form]) -> tuple[int, ...]:
    """How many blades parts of these forms have, each number once."""
    return tuple(dict.fromkeys(len(FORMS[form].terminals) for form in forms))


def _form(survey: Survey, layout: Layout) -> tuple[tuple[Form, ...], Statement]:
    """Contact forms by what is closed at rest, the commonest first."""
    common = "86" if layout == "exchanged" else "30"
    no, nc, bridged = survey.closed(common, "87"), survey.closed(common, "87a"), survey.closed("87", "87a")

    def say(
        may_be: Callable[[RelayForm], bool], text: str, sure: Sure, why: str = ""
    ) -> tuple[tuple[Form, ...], Statement]:
        forms = tuple(one.form for one in COMMONEST_FIRST if may_be(one))
        return forms, Statement(about="form", text=text, sure=sure, why=why)

    if bridged and not no and not nc:
        text = f"two blades 87, joined inside ({form_of(NO, TWIN).called})"
        return say(lambda one: TWIN in one.pairs, text, "sure", "87 and the blade in the place of 87a are joined")
    if no and nc:
        text = "both throws are closed at rest: welded, or two blades 87 on a welded contact"
        return say(lambda one: len(one.throws) == 2, text, "unsure")
    if nc:
        text, other = f"{_called(form_of(NO, NC))}: {common} and 87a are closed at rest", form_of(NC)
        return say(lambda one: NC in one.pairs, text, "likely", f"or {other.title}, {other.called}")
    if no:
        text = f"{common} and 87 are closed at rest: welded, held, a latching type, or one made so"
        return say(lambda one: TWIN not in one.pairs, text, "unsure")
    text, why = (
        f"{_called(form_of(NO))}: nothing is closed at rest",
        "or a changeover part whose resting contact is open",
    )
    return say(lambda one: NO in one.pairs and TWIN not in one.pairs, text, "likely", why)


def _called(form: RelayForm) -> str:
    return f"{form.title} ({form.called})"


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


def _cannot_know(
    forms: tuple[Form, ...], suppression: SuppressionSeen, coil: CoilSeen | None
) -> Iterator[CannotKnow]:  # fmt: skip
    """What no look at rest can show, in words."""
    if form_of(NC).form in forms:
        text = "whether there is a blade 87: at rest nothing joins it to another one; count the blades"
        yield CannotKnow(about="form", text=text)
    if forms and not FORMS[forms[0]].seen("rest") and any(NC in FORMS[form].pairs for form in forms):
        yield CannotKnow(about="form", text="whether there is a blade 87a whose contact is open: count the blades")
    if coil and suppression.kind in ("none", "resistor", "unknown"):
        yield CannotKnow(about="coil", text="85 from 86: the coil works either way round")
    if coil:
        yield CannotKnow(about="class", text="a mini from a micro part: their coils are alike; the socket decides")
        text = "a latching type, which stays operated by design and is not tested here: read what is printed on it"
        yield CannotKnow(about="class", text=text)
