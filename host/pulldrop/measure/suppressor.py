"""What is across the coil, from both polarities of the scan, from how its current rises, and from how it lets go.

Rule: pure. What holds the spike at the same volts from half the current is a diode, a zener or the bench's clamp; what
lets it rise in proportion is a resistor.
"""

from math import log10

from pulldrop.measure.flyback import BENCH_CLAMP_V
from pulldrop.measure.low_energy import Release, Response
from pulldrop.measure.scan import ONE_WAY
from pulldrop.measure.survey import Pair, Survey
from pulldrop.model.nature import Statement, SuppressionSeen, Sure

SPIKE_V = 0.4
"""A coil that lets go rises by more; the noise of the converter, 2 counts at most, does not."""
BEGINS_V = 0.35
"""A silicon diode in series puts the beginning at 0.6 V, one of Schottky's sort at 0.3 to 0.4; a winding has none."""
DIODE_MOST_V = 1.6
"""A spike that does not grow with the current and stays below this is a diode's: it takes about 0.7 V (assumed)."""
PROPORTION = 1.5
"""Twice the current: a resistor's spike is twice as high, a diode's and a zener's the same. This lies between."""
FALLS = 1.12
"""A resistor that takes the coil's current shows a first peak of the flux outside the iron; without it the peak itself
may have been missed between two samples."""
PLAIN_OHM = 300.0
"""Below this many ohms a resistor needs no such check: an open coil's flux alone gives more."""
DECAYS = 1.6
"""By so much the first sample may lie below the true peak, at most: it is taken some microseconds late."""
ONLY_A_DIODE_V, SURELY_MORE_V = 0.03, 0.10
"""So much beyond a diode's own volts, at most, when nothing is in series with it; and so much at least with a coil."""
SEES_DIODE_V = 0.65
"""Less than this across the coil shows no diode."""

Told = tuple[SuppressionSeen, Statement | None, tuple[str, ...]]


def held(release: Release) -> bool:
    """Whether anything rose at all."""
    return release.above_v > SPIKE_V


def across(survey: Survey, response: Response | None, plus: str) -> Told:
    """What is across the coil, how sure that is, and what cannot be known."""
    there, back = survey.at(plus, "85"), survey.at("85", plus)
    if not any(pair is not None and pair.ohm is not None for pair in (there, back)):
        return SuppressionSeen(), None, ()
    if response is not None:
        return fed(response)
    return _looked_at(there, back, plus)


def _say(seen: SuppressionSeen, text: str, sure: Sure, why: str = "", *unknown: str) -> Told:
    return seen, Statement(about="suppression", text=text, sure=sure, why=why), unknown


def fed(response: Response) -> Told:
    """The same from the coil walked up to 2 V, where that was done."""
    if response.stopped_v is not None:
        return _stopped(response)
    if not response.releases:
        seen = SuppressionSeen(kind="unknown")
        return _say(seen, "not told: the coil took no current", "unsure")
    if begins_v(response) > BEGINS_V:
        return _series(response)
    half, full = response.releases
    if not held(full):
        ohm = full.volts / full.amps
        seen = SuppressionSeen(kind="resistor", ohm_least=0.97 * ohm, ohm_most=1.03 * ohm)
        return _say(seen, f"a resistor of {ohm:.0f} ohm", "sure", "it alone carries the current")
    flat = full.above_v < PROPORTION * half.above_v
    if flat and full.above_v < DIODE_MOST_V:
        why = f"the coil lets go {full.above_v:.1f} V above its supply, at half the current as well"
        return _say(SuppressionSeen(kind="diode"), "a diode across the coil", "sure", why)
    if full.above_v + full.volts >= BENCH_CLAMP_V:
        return _none(half, full)
    return _zener(full) if flat else _resistor(full)


def _stopped(response: Response) -> Told:
    at = response.stopped_v
    text = f"a diode the wrong way round: from {at:g} V on it takes the current"
    seen = SuppressionSeen(kind="diode", reversed=True)
    sure: Sure = "sure" if response.points else "likely"
    return _say(seen, text, sure, "the coil took its share below, where a silicon diode cannot")


def _series(response: Response) -> Told:
    spike = response.releases[-1].above_v
    more = "and one across it" if spike < DIODE_MOST_V else "and none that holds its spike"
    text = f"a diode in series with the coil, {more}: 86 is its plus"
    return _say(SuppressionSeen(kind="series diode"), text, "sure", f"the current begins at {begins_v(response):.2f} V")


def begins_v(response: Response) -> float:
    """Where the line of the last two points meets zero current: 0 V but for a diode in series."""
    if len(response.points) < 2:
        return 0.0
    before, top = response.points[-2:]
    return top.v - top.a * (top.v - before.v) / (top.a - before.a)


def _none(half: Release, full: Release) -> Told:
    least = full.above_v / full.amps
    if half.above_v + half.volts < BENCH_CLAMP_V and not _missed(half):
        return _resistor(half)
    seen = SuppressionSeen(kind="none")
    why = f"its spike reaches the bench's own clamp; a resistor above {least:.0f} ohm would do so too"
    return _say(seen, "none", "likely", why)


def _zener(full: Release) -> Told:
    seen = SuppressionSeen(kind="zener", zener_v=round(full.above_v - 0.7, 1))
    why = "its spike is as high from half the current"
    unknown = "which way round the zener lies, and whether it is one suppressor for both polarities"
    return _say(seen, f"a diode and a zener of about {full.above_v - 0.7:.0f} V", "likely", why, unknown)


def _missed(release: Release) -> bool:
    """Whether the highest sample is part of the slow tail already."""
    return release.above_v < FALLS * release.later_v


def _resistor(full: Release) -> Told:
    """Spike over current: the coil's own share of the current has left the supply, and flows in the resistor."""
    ohm = (full.above_v + full.volts) / full.amps
    if ohm > PLAIN_OHM and _missed(full):
        seen = SuppressionSeen(kind="unknown", possible=("none", "resistor", "zener"))
        return _say(seen, "none, or a resistor: the peak of its spike was missed", "unsure")
    seen = SuppressionSeen(kind="resistor", ohm_least=0.93 * ohm, ohm_most=DECAYS * ohm)
    text = f"a resistor of {seen.ohm_least:.0f} to {seen.ohm_most:.0f} ohm"
    return _say(seen, text, "likely", "its spike is in proportion to the current")


def _looked_at(there: Pair | None, back: Pair | None, plus: str) -> Told:
    """By both polarities at a few mA alone."""
    forth, reverse = _ohm(there), _ohm(back)
    if there is not None and back is not None and (forth is None) != (reverse is None):
        return _one_way(there, plus) if forth is not None else _one_way(back, plus)
    if forth is None or reverse is None:
        seen = SuppressionSeen(possible=("none", "diode", "resistor", "zener"))
        return _say(seen, "not told: this bench can look in one polarity only", "unsure")
    apart, u = forth - reverse, ((there.expanded_ohm if there else 0) ** 2 + (back.expanded_ohm if back else 0) ** 2)
    if abs(apart) > max(ONE_WAY * max(forth, reverse), 0.3 * u**0.5):
        wrong = apart < 0
        text = f"a diode across the coil{', the wrong way round for 86 as plus' if wrong else ''}"
        return _say(SuppressionSeen(kind="diode", reversed=wrong), text, "sure", "the polarities differ")
    volts = min(there.volts if there else 0.0, back.volts if back else 0.0)
    if volts < SEES_DIODE_V:
        seen = SuppressionSeen(possible=("none", "diode", "resistor", "zener"))
        return _say(seen, f"not told: {volts:.2f} V across the coil are too little to see a diode", "unsure")
    seen = SuppressionSeen(possible=("none", "resistor", "zener"))
    return _say(
        seen, "no plain diode; none, a resistor or a zener", "unsure", f"both polarities agree at {volts:.2f} V"
    )


def _one_way(pair: Pair, plus: str) -> Told:
    """A diode in series with the winding, or one across a winding that is open."""
    beyond_v = pair.volts - junction_v(pair.amps)
    way = f"it conducts from {pair.source} to {pair.sink} only"
    if beyond_v < ONLY_A_DIODE_V:
        seen = SuppressionSeen(kind="diode", reversed=pair.source == plus)
        return _say(seen, "a diode across the coil, and nothing else", "likely", way)
    seen = SuppressionSeen(kind="series diode", reversed=pair.source != plus)
    return _say(seen, "a diode in series with the coil", "sure" if beyond_v > SURELY_MORE_V else "unsure", way)


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


def _ohm(pair: Pair | None) -> float | None:
    return pair.ohm if pair is not None else None
