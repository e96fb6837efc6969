"""From what was seen at a few mA to what the part is: layout, coil, winding, form, class; what cannot be known.

Rule: pure; nothing is said that another part known here would show as well, unless it says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from pulldrop.measure.budget import nominal_value
from pulldrop.measure.copper import at_20c, factor
from pulldrop.measure.low_energy import Response
from pulldrop.measure.suppressor import across, held
from pulldrop.measure.survey import Pair, Survey
from pulldrop.model.nature import CoilSeen, ContactForm, Layout, Nature, Statement, SuppressionSeen, Sure, Winding
from pulldrop.model.rating import Rating

SHORT_OHM = 15.0
"""Below it no coil that this bench can feed: 12 V over 15 ohm is 0.8 A."""
BEHIND_OHM = 520.0
"""Above it, hot or cold, no coil of 12 or 24 V: 400 ohm of the widest 24 V class at 85 degC, and 4 %."""
COLDEST_C, HOTTEST_C = -40.0, 85.0
"""What a part may come from: a yard in winter, or beside an engine (the span that makers of vehicle relays name)."""
JUNCTION_V, JUNCTION_HALF_V = 0.62, 0.10
"""A silicon diode at some mA, and how well that is known."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Everything that was looked at. `response` None: the coil was not fed."""

    survey: Survey
    response: Response | None
    temperature_c: float | None


def layout_of(survey: Survey) -> Layout:
    """Where coil and contacts lie. In every layout known here 85 is one end of the coil."""
    partner = coil_partner(survey)
    usual = partner == "86" or any(survey.closed("30", throw) for throw in ("87", "87a"))
    exchanged = partner == "30" or any(survey.closed("86", throw) for throw in ("87", "87a"))
    if partner in ("87", "87a") or survey.closed("30", "86") or (usual and exchanged):
        return "other"
    if exchanged:
        return "exchanged"
    return "usual" if usual else "unknown"


def coil_partner(survey: Survey) -> str | None:
    """The blade that conducts best to 85."""
    found = [(ohm, other) for other in ("86", "30", "87", "87a") if (ohm := _least_ohm(survey, other)) is not None]
    return min(found)[1] if found else None


def _least_ohm(survey: Survey, other: str) -> float | None:
    pairs = (survey.at(other, "85"), survey.at("85", other))
    return min((pair.ohm for pair in pairs if pair is not None and pair.ohm is not None), default=None)


def shorted(survey: Survey) -> bool:
    """The coil's blades are joined by next to nothing."""
    partner = coil_partner(survey)
    ohm = _least_ohm(survey, partner) if partner else None
    return ohm is not None and ohm < SHORT_OHM


def may_feed(survey: Survey) -> bool:
    """Whether half a volt on 86, and some more, is harmless: the coil is where the supply is, and no short."""
    fed = survey.at("86", "85")
    return (
        not survey.bare
        and layout_of(survey) == "usual"
        and fed is not None
        and fed.ohm is not None
        and not (shorted(survey))
    )


def nature_of(seen: Seen, classes: Sequence[Rating]) -> Nature:
    """What the part is, without protocol and rating."""
    survey, layout = seen.survey, layout_of(seen.survey)
    if not survey.seen:
        return _empty()
    plus = "30" if layout == "exchanged" else "86"
    suppression, suppression_said, unknown = across(survey, seen.response, plus)
    coil = _coil(seen, suppression, plus) if coil_partner(survey) == plus else None
    winding, winding_said = _winding(seen, coil, suppression)
    volts, fitting, class_said = _class(coil, winding, suppression, classes)
    forms, form_said, terminals = _form(survey, layout)
    statements = [_blades(survey, terminals), _layout_said(layout, survey), winding_said, form_said, class_said]
    nature = Nature(
        seen=survey.seen,
        terminals=terminals,
        layout=layout,
        forms=forms,
        coil=coil,
        winding=winding,
        volts=volts,
        classes=fitting,
        suppression=suppression,
        statements=tuple(one for one in (*statements, suppression_said) if one is not None),
        cannot_know=(*_cannot_know(forms, suppression, coil), *unknown),
    )
    return nature.model_copy(update={"refuse": refusal_of(nature)})


def _empty() -> Nature:
    return Nature(
        empty=True,
        statements=(
            Statement(about="terminals", text="nothing conducts between any two blades", sure="sure"),
            Statement(about="coil", text="no coil is seen: the socket is empty, or the coil is open", sure="unsure"),
        ),
        cannot_know=("an empty socket from a part whose coil is open and whose contacts are all open at rest",),
        refuse="nothing conducts between any two blades: the socket is empty, or the coil of a part without closed"
        " contacts is open; put the part in, or look whether its blades touch",
    )


def refusal_of(nature: Nature) -> str:
    """Why nothing may be energised, or nothing."""
    suppression = nature.suppression
    if nature.layout == "exchanged":
        return (
            "the coil lies between 30 and 85, and the contacts on 86: blades 30 and 86 have changed places; on this"
            " bench the coil supply and the load would meet in the contacts; use an adapter that crosses 30 and 86"
        )
    if nature.layout == "other":
        return "coil and contacts lie on blades as no layout known here has them; look at the print on the part"
    if nature.winding == "shorted":
        return f"the coil's blades are joined by less than {SHORT_OHM:g} ohm: the coil or what is across it is shorted"
    if suppression.reversed and suppression.kind == "series diode":
        return "its diode in series lets nothing through from 86 to 85: exchange 85 and 86 if the part may be fed so"
    if suppression.reversed:
        return (
            "its diode is the wrong way round for 86 as plus: it would short the coil supply; exchange 85 and 86 if the"
            " part may be fed so, else the part is bad"
        )
    return ""


def _coil(seen: Seen, suppression: SuppressionSeen, plus: str) -> CoilSeen | None:
    """Ohms between its blades, from the best that was seen."""
    series = suppression.kind == "series diode"
    if seen.response and seen.response.releases:
        before, top = seen.response.points[-2:]
        ohm = (top.volts - before.volts) / (top.amps - before.amps) if series else top.volts / top.amps
        value, u = nominal_value(ohm), ohm.std_dev
        u = max(u, 0.03 * value) if series else u
    else:
        pairs = [p for p in (seen.survey.at(plus, "85"), seen.survey.at("85", plus)) if p is not None and p.ohm]
        if not pairs:
            return None
        value, u = _from_pairs(pairs, series)
    at_20 = None if seen.temperature_c is None else float(at_20c(value, seen.temperature_c))
    return CoilSeen(plus=plus, minus="85", ohm=value, expanded_ohm=2 * u, ohm_20c=at_20)


def _from_pairs(pairs: list[Pair], series: bool) -> tuple[float, float]:
    """The polarity in which nothing is across the coil has the higher ohms."""
    best = max(pairs, key=lambda pair: pair.ohm or 0.0)
    ohm = best.ohm or 0.0
    if series:
        return max((best.volts - JUNCTION_V) / best.amps, 1.0), JUNCTION_HALF_V / best.amps / 3**0.5
    return ohm, best.expanded_ohm / 2


def _winding(seen: Seen, coil: CoilSeen | None, suppression: SuppressionSeen) -> tuple[Winding, Statement]:
    if shorted(seen.survey):
        return "shorted", Statement(about="coil", text="shorted, or a short lies across it", sure="sure")
    if coil is None:
        text = "nothing conducts between the blades of the coil: it is open"
        return "open", Statement(about="coil", text=text, sure="likely", why="or its blades do not touch")
    shown = f"{coil.ohm:.0f} +-{max(coil.expanded_ohm, 0.5):.0f} ohm between {coil.plus} and {coil.minus}"
    if seen.response and seen.response.releases:
        if suppression.kind != "series diode" and not any(held(one) for one in seen.response.releases):
            text = f"{shown} without any inductance: the coil is open behind its resistor"
            return "open behind its resistor", Statement(about="coil", text=text, sure="sure")
        return "whole", Statement(about="coil", text=shown, sure="sure", why="it lets go with a spike, as a coil does")
    if coil.ohm > BEHIND_OHM:
        text = f"{shown}: more than any coil of 12 or 24 V; open behind its resistor"
        return "open behind its resistor", Statement(about="coil", text=text, sure="likely")
    return "whole", Statement(
        about="coil", text=shown, sure="likely", why="a resistor alone would look the same to a few mA"
    )


def _class(
    coil: CoilSeen | None, winding: Winding, suppression: SuppressionSeen, classes: Sequence[Rating]
) -> tuple[float | None, tuple[str, ...], Statement | None]:
    """Nominal voltage by the ratings that the winding fits: at the bench's temperature, then from wherever it comes."""
    if coil is None or winding != "whole":
        return None, (), None
    low, high = winding_ohm(coil, suppression)
    here = [one for one in classes if _fits(one, low, high, 20.0, 20.0)]
    ever = [one for one in classes if _fits(one, low, high, COLDEST_C, HOTTEST_C)]
    names = tuple(one.rating for one in here or ever)
    shown = f"a winding of {low:.0f} to {high:.0f} ohm at 20 degC"
    known_v = {one.nominal for one in ever}
    if len(known_v) == 1 and len({one.nominal for one in here}) == 1:
        volts = here[0].nominal
        return volts, names, Statement(about="class", text=f"{volts:g} V, by {shown}", sure="sure")
    if len(known_v) == 1 or len({one.nominal for one in here}) == 1:
        volts = (here or ever)[0].nominal
        why = "outside its class, unless the part is much colder or hotter than the bench" if not here else ""
        return volts, names, Statement(about="class", text=f"{volts:g} V, by {shown}", sure="likely", why=why)
    why = "it fits classes of two voltages" if ever else "no class that is known here has such a coil"
    return None, names, Statement(about="class", text=f"not told, by {shown}", sure="unsure", why=why)


def winding_ohm(coil: CoilSeen, suppression: SuppressionSeen) -> tuple[float, float]:
    """Least and most ohms of the winding at 20 degC, its resistor taken away as far as it is known."""
    cold = 1.0 if coil.ohm_20c is None else coil.ohm_20c / coil.ohm
    low, high = coil.ohm - coil.expanded_ohm, coil.ohm + coil.expanded_ohm
    if suppression.kind == "resistor" and suppression.ohm_least and suppression.ohm_least > 1.3 * high:
        low = 1 / (1 / low - 1 / (suppression.ohm_most or suppression.ohm_least))
        high = 1 / (1 / high - 1 / suppression.ohm_least)
    return cold * low, cold * high


def _fits(one: Rating, low: float, high: float, coldest_c: float, hottest_c: float) -> bool:
    """Whether the winding may be of a class, if it has any temperature between the two."""
    if one.coil_resistance is None:
        return False
    share = (one.coil_tolerance or 10.0) / 100
    least, most = one.coil_resistance * (1 - share), one.coil_resistance * (1 + share)
    return bool(high >= least * factor(20.0, coldest_c) and low <= most * factor(20.0, hottest_c))


def _form(survey: Survey, layout: Layout) -> tuple[tuple[ContactForm, ...], Statement, tuple[int, ...]]:
    """Contact forms by what is closed at rest."""
    common = "86" if layout == "exchanged" else "30"
    no, nc, bridged = survey.closed(common, "87"), survey.closed(common, "87a"), survey.closed("87", "87a")

    def say(text: str, sure: Sure, why: str = "") -> Statement:
        return Statement(about="form", text=text, sure=sure, why=why)

    if bridged and not no and not nc:
        said = say("two blades 87, joined inside (Form A)", "sure", "87 and the blade in the place of 87a are joined")
        return ("twin 87",), said, (5,)
    if no and nc:
        said = say("both throws are closed at rest: welded, or two blades 87 on a welded contact", "unsure")
        return ("C", "twin 87"), said, (5,)
    if nc:
        said = say(f"changeover (Form C): {common} and 87a are closed at rest", "likely", "or normally closed, Form B")
        return ("C", "B"), said, (5, 4)
    if no:
        said = say(f"{common} and 87 are closed at rest: welded, held, or a part made so", "unsure")
        return ("A", "C", "B"), said, (4, 5)
    why = "or a changeover part whose resting contact is open"
    return ("A", "C"), say("normally open (Form A): nothing is closed at rest", "likely", why), (4, 5)


def _blades(survey: Survey, terminals: tuple[int, ...]) -> Statement:
    text = f"{' or '.join(str(n) for n in terminals)}; {', '.join(survey.seen)} conduct to another one"
    sure: Sure = "sure" if len(terminals) == 1 else "likely"
    return Statement(about="terminals", text=text, sure=sure)


def _layout_said(layout: Layout, survey: Survey) -> Statement:
    partner = coil_partner(survey)
    by = f"the coil lies between {partner} and 85" if partner else "by the contacts alone: no coil conducts"
    sure: Sure = "sure" if partner else "likely"
    texts = {
        "usual": "30 common, 85 and 86 coil",
        "exchanged": "30 and 86 have changed places",
        "other": "none that is known here",
        "unknown": "not told",
    }
    return Statement(about="layout", text=texts[layout], sure="unsure" if layout == "unknown" else sure, why=by)


def _cannot_know(
    forms: tuple[ContactForm, ...], suppression: SuppressionSeen, coil: CoilSeen | None
) -> tuple[str, ...]:
    """What no look at rest can show, in words."""
    said: list[str] = []
    if "C" in forms and "B" in forms:
        said.append("whether there is a blade 87: at rest nothing joins it to another one; count the blades")
    if forms[:2] == ("A", "C"):
        said.append("whether there is a blade 87a whose contact is open: count the blades")
    if coil and suppression.kind in ("none", "resistor", "unknown"):
        said.append("85 from 86: the coil works either way round")
    if coil:
        said.append("a mini from a micro part: their coils are alike, the socket tells")
    return tuple(said)
