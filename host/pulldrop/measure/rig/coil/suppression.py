"""What is across the coil, from how its current rises and how it lets go.

Rule: pure. What holds the spike at the same volts from half the current is a diode, a zener or the bench's clamp; what
lets it rise in proportion is a resistor.
"""

from pulldrop.measure.rig.coil.low_energy import Release, Response
from pulldrop.measure.rig.counts.channels import BENCH_CLAMP_V
from pulldrop.model.part.identification import Statement, SuppressionSeen, Sure

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

Told = tuple[SuppressionSeen, Statement | None, tuple[str, ...]]


def held(release: Release) -> bool:
    """Whether anything rose at all."""
    return release.above_v > SPIKE_V


def say(seen: SuppressionSeen, text: str, sure: Sure, why: str = "", *unknown: str) -> Told:
    """One statement about the suppression."""
    return seen, Statement(about="suppression", text=text, sure=sure, why=why), unknown


def fed(response: Response) -> Told:
    """What is across the coil, how sure that is, and what cannot be known, from the coil walked up to 2 V."""
    if response.stopped_v is not None:
        return _stopped(response)
    if not response.releases:
        seen = SuppressionSeen(kind="unknown")
        return say(seen, "unknown: the coil took no current", "unsure")
    if begins_v(response) > BEGINS_V:
        return _series(response)
    half, full = response.releases
    if not held(full):
        ohm = full.volts / full.amps
        seen = SuppressionSeen(kind="resistor", ohm_least=0.97 * ohm, ohm_most=1.03 * ohm)
        return say(seen, f"a resistor of {ohm:.0f} ohm", "sure", "it alone carries the current")
    flat = full.above_v < PROPORTION * half.above_v
    if flat and full.above_v < DIODE_MOST_V:
        why = f"the coil lets go {full.above_v:.1f} V above its supply, at half the current as well"
        return say(SuppressionSeen(kind="diode"), "a diode across the coil", "sure", why)
    if full.above_v + full.volts >= BENCH_CLAMP_V:
        return _none(half, full)
    return _zener(full) if flat else _resistor(full)


def _stopped(response: Response) -> Told:
    at = response.stopped_v
    text = f"a diode the wrong way round: from {at:g} V on it takes the current"
    seen = SuppressionSeen(kind="diode", reversed=True)
    sure: Sure = "sure" if response.points else "likely"
    return say(seen, text, sure, "the coil took its share below, where a silicon diode cannot")


def _series(response: Response) -> Told:
    spike = response.releases[-1].above_v
    more = "and one across it" if spike < DIODE_MOST_V else "and none that holds its spike"
    text = f"a diode in series with the coil, {more}: 86 is its plus"
    return say(SuppressionSeen(kind="series diode"), text, "sure", f"the current begins at {begins_v(response):.2f} V")


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
    return say(seen, "none", "likely", why)


def _zener(full: Release) -> Told:
    seen = SuppressionSeen(kind="zener", zener_v=round(full.above_v - 0.7, 1))
    why = "its spike is as high from half the current"
    unknown = "which way round the zener lies, and whether it is one suppressor for both polarities"
    return say(seen, f"a diode and a zener of about {full.above_v - 0.7:.0f} V", "likely", why, unknown)


def _missed(release: Release) -> bool:
    """Whether the highest sample is part of the slow tail already."""
    return release.above_v < FALLS * release.later_v


def _resistor(full: Release) -> Told:
    """Spike over current: the coil's own share of the current has left the supply, and flows in the resistor."""
    ohm = (full.above_v + full.volts) / full.amps
    if ohm > PLAIN_OHM and _missed(full):
        seen = SuppressionSeen(kind="unknown", possible=("none", "resistor", "zener"))
        return say(seen, "none, or a resistor: the peak of its spike was missed", "unsure")
    seen = SuppressionSeen(kind="resistor", ohm_least=0.93 * ohm, ohm_most=DECAYS * ohm)
    text = f"a resistor of {seen.ohm_least:.0f} to {seen.ohm_most:.0f} ohm"
    return say(seen, text, "likely", "its spike is in proportion to the current")
