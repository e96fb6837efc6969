"""What is across the coil, from both polarities of the scan, and from the coil at low volts where that was done.

Rule: pure.
"""

from math import log10

from pulldrop.measure.identify.survey import Survey, SurveyedPair
from pulldrop.measure.rig.coil.low_energy import Response
from pulldrop.measure.rig.coil.suppression import Told, fed, say
from pulldrop.measure.rig.paths import ONE_WAY
from pulldrop.model.part.identification import SuppressionSeen

ONLY_A_DIODE_V, SURELY_MORE_V = 0.03, 0.10
"""So much beyond a diode's own volts, at most, when nothing is in series with it; and so much at least with a coil."""
SEES_DIODE_V = 0.65
"""Less than this across the coil shows no diode."""


def across(survey: Survey, response: Response | None, plus: str) -> Told:
    """What is across the coil, how sure that is, and what cannot be known."""
    there, back = survey.at(plus, "85"), survey.at("85", plus)
    if not any(pair is not None and pair.ohm is not None for pair in (there, back)):
        return SuppressionSeen(), None, ()
    if response is not None:
        return fed(response)
    return _looked_at(there, back, plus)


def _looked_at(there: SurveyedPair | None, back: SurveyedPair | None, plus: str) -> Told:
    """By both polarities at a few mA alone."""
    forth, reverse = _ohm(there), _ohm(back)
    if there is not None and back is not None and (forth is None) != (reverse is None):
        return _one_way(there, plus) if forth is not None else _one_way(back, plus)
    if forth is None or reverse is None:
        seen = SuppressionSeen(possible=("none", "diode", "resistor", "zener"))
        return say(seen, "unknown: this bench can look in one polarity only", "unsure")
    apart, u = forth - reverse, ((there.expanded_ohm if there else 0) ** 2 + (back.expanded_ohm if back else 0) ** 2)
    if abs(apart) > max(ONE_WAY * max(forth, reverse), 0.3 * u**0.5):
        wrong = apart < 0
        text = f"a diode across the coil{', the wrong way round for 86 as plus' if wrong else ''}"
        return say(SuppressionSeen(kind="diode", reversed=wrong), text, "sure", "the polarities differ")
    volts = min(there.volts if there else 0.0, back.volts if back else 0.0)
    if volts < SEES_DIODE_V:
        seen = SuppressionSeen(possible=("none", "diode", "resistor", "zener"))
        return say(seen, f"unknown: {volts:.2f} V across the coil are too little to see a diode", "unsure")
    seen = SuppressionSeen(possible=("none", "resistor", "zener"))
    return say(seen, "no plain diode; none, a resistor or a zener", "unsure", f"both polarities agree at {volts:.2f} V")


def _one_way(pair: SurveyedPair, plus: str) -> Told:
    """A diode in series with the winding, or one across a winding that is open."""
    beyond_v = pair.volts - junction_v(pair.amps)
    way = f"it conducts from {pair.source} to {pair.sink} only"
    if beyond_v < ONLY_A_DIODE_V:
        seen = SuppressionSeen(kind="diode", reversed=pair.source == plus)
        return say(seen, "a diode across the coil, and nothing else", "likely", way)
    seen = SuppressionSeen(kind="series diode", reversed=pair.source != plus)
    return say(seen, "a diode in series with the coil", "sure" if beyond_v > SURELY_MORE_V else "unsure", way)


def junction_v(amps: float) -> float:
    """A silicon rectifier: 0.57 V at 1 mA and 0.12 V more a decade (1N4007 data sheets, typical curve; from memory)."""
    return 0.57 + 0.12 * log10(amps / 1e-3)


def only_a_diode(survey: Survey, response: Response | None, plus: str) -> bool:
    """Whether between the coil's blades nothing but a diode is left."""
    there, back = survey.at(plus, "85"), survey.at("85", plus)
    forth, reverse = _ohm(there), _ohm(back)
    if there is None or back is None or (forth is None) == (reverse is None):
        return False
    one = there if forth is not None else back
    return one.volts - junction_v(one.amps) < ONLY_A_DIODE_V and not (response and response.releases)


def _ohm(pair: SurveyedPair | None) -> float | None:
    return pair.ohm if pair is not None else None
