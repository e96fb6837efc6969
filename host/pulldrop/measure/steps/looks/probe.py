"""The coil at half a volt: a short takes current even here, a diode the wrong way round does not yet.

It comes first of all: a silicon diode needs about 0.7 V, so that what flows below belongs to the winding. Nothing of
part or bench is strained by it.
"""

from collections.abc import Iterable, Iterator

from pulldrop.board.contract import Board
from pulldrop.board.request_types import Drive
from pulldrop.measure.rig.counts.budget import nominal_value
from pulldrop.measure.rig.part import PartOnRig
from pulldrop.measure.rig.paths import coil_paths
from pulldrop.measure.rig.readings import bounded, reading
from pulldrop.measure.rig.rig import CoilPoint
from pulldrop.measure.rig.scan_read import Eyes
from pulldrop.model.reading import Condition, Finding, Reading
from pulldrop.model.steps.looks.probe import ProbeStep

LIMIT_COUNTS = 150
"""About 45 mA at half a volt: 11 ohm."""
WAIT_S = 0.05
"""Several time constants of a coil."""
LEAST_A = 0.0002
"""Below it half a volt over the current is more than 2.5 kohm: given as a bound."""


def procedure(rig: PartOnRig, step: ProbeStep) -> Iterator[Finding]:
    """coil_resistance_low."""
    rig.release(0.02)
    rig.take_zero()
    shown = rig.conditions(coil_voltage=f"about {step.at:g} V")
    dac = rig.dac_for(step.at)
    point = _held(rig, dac)
    if point and abs(wrong_v := point.v - step.at) >= 0.05 * step.at:
        point = _held(rig, max(0, dac - round(wrong_v / rig.volts_per_count)))
    if point is None:
        yield bounded("coil_resistance_low", "<", step.at / (LIMIT_COUNTS * rig.amps_per_count), shown)
        return
    rig.release(0.02)
    amps = point.a
    if amps < LEAST_A:
        yield bounded(
            "coil_resistance_low", ">", step.at / (LEAST_A + 2 * point.amps.std_dev), shown, raw=[point.counts]
        )
        return
    yield reading("coil_resistance_low", point.volts / point.amps, shown, raw=[point.counts])


def _held(rig: PartOnRig, dac: int) -> CoilPoint | None:
    return rig.tried(Drive(dac, on=True, on_ms=1000, limit=LIMIT_COUNTS), WAIT_S)


def short_or_diode(board: Board, found: Iterable[Finding]) -> Reading | None:
    """coil_resistance_low by the terminal scan, where a coil took too much at a volt and nothing shows yet what did.

    Of both polarities the one with more ohms, in which no diode takes part. None where nothing conducts as well.
    """
    if board.identity.able.looks == "coil":
        return None
    by_id = {one.id: one for one in found}
    coil = by_id.get("coil_resistance")
    if not isinstance(coil, Reading) or coil.bound != "<" or "coil_resistance_low" in by_id:
        return None
    paths = [one for one in coil_paths(Eyes(board)) if one.ohm is not None]
    if not paths:
        return None
    best = max(paths, key=lambda one: nominal_value(one.ohm))
    ohm, u = nominal_value(best.ohm), best.ohm.std_dev
    shown = (
        Condition(name="method", text="terminal scan, both polarities"),
        Condition(name="current", text=f"{1e3 * best.amps:.1f} mA"),
    )
    if ohm < 2 * u:
        return bounded("coil_resistance_low", "<", max(ohm, 0.0) + 2 * u, shown, raw=best.counts)
    return reading("coil_resistance_low", best.ohm, shown, raw=best.counts)
