"""The coil by its ohms and by how it lets go: whole, open, shorted, open behind a resistor; and its class of voltage.

Rule: pure. A resistor across it is taken away as far as it is known, and a part may be as cold as a yard in winter or
as hot as an engine bay: where two classes come into question then, none is named.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from pulldrop.measure.identify.layout import coil_partner, layout_of, shorted
from pulldrop.measure.identify.suppressor import junction_v, only_a_diode
from pulldrop.measure.identify.survey import Survey, SurveyedPair
from pulldrop.measure.rig.coil.low_energy import Response
from pulldrop.measure.rig.coil.suppression import held
from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.counts.copper import at_20c, factor
from pulldrop.model.part.identification import CoilSeen, Statement, SuppressionSeen, Winding
from pulldrop.model.part.rating import Rating

BEHIND_OHM = 520.0
"""Above it, hot or cold, no coil of 12 or 24 V: 400 ohm of the widest 24 V class at 85 degC, and 4 %."""
COLDEST_C, HOTTEST_C = -40.0, 85.0
"""What a part may come from: a yard in winter, or beside an engine (the span that makers of vehicle relays name)."""
BIG_OHM = (40.5, 55.0)
"""Coils of big 12 V relays, of 60 A and more: 45 to 50 ohm +-10 % (common practice)."""
JUNCTION_HALF_V = 0.10
"""How well the volts of a silicon diode are known."""
NO_DIODE_V = 0.45
"""Below it no silicon diode takes part."""


@dataclass(frozen=True, slots=True)
class WindingSeen:
    """Everything that was looked at. `response` None: the coil was not fed."""

    survey: Survey
    response: Response | None
    temperature_c: float | None

    @property
    def plus(self) -> str:
        """The coil's end that is not 85."""
        return "30" if layout_of(self.survey) == "exchanged" else "86"

    @property
    def one_way(self) -> bool:
        """A full bench cannot look from 30: it is ground there."""
        return self.plus == "30" and not self.survey.bare


def coil_of(seen: WindingSeen, suppression: SuppressionSeen) -> CoilSeen | None:
    """Ohms between its blades, from the best that was seen; None when no winding conducts."""
    if coil_partner(seen.survey) != seen.plus or only_a_diode(seen.survey, seen.response, seen.plus):
        return None
    series = suppression.kind == "series diode"
    if seen.response and seen.response.releases:
        before, top = seen.response.points[-2:]
        ohm = (top.volts - before.volts) / (top.amps - before.amps) if series else top.volts / top.amps
        value, u = nominal_value(ohm), ohm.std_dev
        u = max(u, 0.03 * value) if series else u
    else:
        value, u = _from_pairs(_conducting(seen), series)
    at_20 = None if seen.temperature_c is None else float(at_20c(value, seen.temperature_c))
    return CoilSeen(plus=seen.plus, minus="85", ohm=value, expanded_ohm=2 * u, ohm_20c=at_20)


def _conducting(seen: WindingSeen) -> list[SurveyedPair]:
    pairs = (seen.survey.at(seen.plus, "85"), seen.survey.at("85", seen.plus))
    return [pair for pair in pairs if pair is not None and pair.ohm is not None]


def _from_pairs(pairs: list[SurveyedPair], series: bool) -> tuple[float, float]:
    """The polarity in which nothing is across the coil has the higher ohms."""
    best = max(pairs, key=lambda pair: pair.ohm or 0.0)
    ohm = best.ohm or 0.0
    if series:
        return max((best.volts - junction_v(best.amps)) / best.amps, 1.0), JUNCTION_HALF_V / best.amps / 3**0.5
    return ohm, best.expanded_ohm / 2


def winding_of(seen: WindingSeen, coil: CoilSeen | None, suppression: SuppressionSeen) -> tuple[Winding, Statement]:
    """Whether the winding is whole, and in words."""
    if shorted(seen.survey):
        return "shorted", Statement(about="coil", text="shorted, or a short lies across it", sure="sure")
    if seen.one_way and (coil is None or any(pair.volts > NO_DIODE_V for pair in _conducting(seen))):
        shown = "nothing conducts" if coil is None else f"{coil.ohm:.0f} ohm, of which a diode may be a part,"
        text, why = f"{shown} from 85 to 30", "a full bench can look in this polarity only: 30 is ground there"
        return "unknown", Statement(about="coil", text=text, sure="unsure", why=why)
    if coil is None and coil_partner(seen.survey) == seen.plus:
        text = "nothing but a diode conducts between the blades of the coil: it is open"
        return "open", Statement(about="coil", text=text, sure="likely")
    if coil is None and layout_of(seen.survey) == "unknown" and not seen.survey.bare:
        text, why = (
            "none is seen",
            "open, or between 30 and 85 with a diode in series: from 30 a full bench cannot look",
        )
        return "unknown", Statement(about="coil", text=text, sure="unsure", why=why)
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


def class_of(
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
    if not here and BIG_OHM[0] <= high and low <= BIG_OHM[1]:
        text = f"a big relay of 12 V, which no class here is for, or turns are shorted, by {shown}"
        why = "name a rating by what is printed on it: the maker's sheet, or its class if the case is a usual one"
        return None, (), Statement(about="class", text=text, sure="unsure", why=why)
    known_v = {one.nominal for one in ever}
    if len(known_v) == 1 and len({one.nominal for one in here}) == 1:
        volts = here[0].nominal
        return volts, names, Statement(about="class", text=f"{volts:g} V, by {shown}", sure="sure")
    if len(known_v) == 1 or len({one.nominal for one in here}) == 1:
        volts = (here or ever)[0].nominal
        why = "outside its class, unless the part is much colder or hotter than the bench" if not here else ""
        return volts, names, Statement(about="class", text=f"{volts:g} V, by {shown}", sure="likely", why=why)
    why = "it fits classes of two voltages" if ever else "no class that is known here has such a coil"
    return None, names, Statement(about="class", text=f"unknown, by {shown}", sure="unsure", why=why)


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
    if one.coil_ohm is None:
        return False
    share = one.coil_share or 0.1
    least, most = one.coil_ohm * (1 - share), one.coil_ohm * (1 + share)
    return bool(high >= least * factor(20.0, coldest_c) and low <= most * factor(20.0, hottest_c))
