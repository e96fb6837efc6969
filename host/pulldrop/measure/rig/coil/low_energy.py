"""The coil at 0.3 to 2 V (24 V coils: 4 V): how its current rises, and how it lets go, which shows what is across it.

Rule: no step is taken before the one below it was harmless. At most 3 % of the energy of nominal voltage is fed, far
below any pull-in; the over-current limit is 45 mA up to 1 V and little above what is foreseen beyond it.
Here a resistor across the coil shows in the spike; at nominal volts the bench's 68 V clamp ends the spike before it.
"""

from dataclasses import dataclass
from statistics import fmean

from pulldrop.board.request_types import Drive
from pulldrop.measure.rig.counts.channels import LOW_SIDE_GAIN
from pulldrop.measure.rig.rig import CoilPoint, Rig
from pulldrop.model.raw import Contact

LADDER_V = (0.3, 0.5, 0.65, 0.8, 1.0)
TOP_V, TOP_24_V = 2.0, 4.0
"""The walk up, and where it ends; half of that is a step as well."""
HIGH_OHM = 190.0
"""From here on a coil is none of 12 V (the hottest of its class has 166 ohm): twice the volts are as harmless."""
LIMIT_A, SPARE_A = 0.045, 0.010
"""Over-current limit up to a volt; above it half more than is foreseen, and SPARE_A."""
HOLD_S, WINDOW_MS, TAIL = 0.06, 18, 40
"""Several time constants of a coil; the board's window; samples at its end, when nothing moves any more."""
MAKES = 2
"""The peak may last for a few microseconds only, and be missed between two samples: the higher one counts."""
BEND = 1.3
"""So much more current than in proportion, and something conducts that the winding is not."""
LEAST_A = 150e-6
"""Below it the coil takes nothing: 6 counts of the INA226."""


@dataclass(frozen=True, slots=True)
class Release:
    """The coil let go at `amps`: how far above its supply of `volts` the low end rose at most, and 50 us later."""

    volts: float
    amps: float
    above_v: float
    later_v: float


@dataclass(frozen=True, slots=True)
class Response:
    """What the coil did. `stopped_v`: where it took more than was to be borne, None when it did not."""

    points: tuple[CoilPoint, ...]
    stopped_v: float | None = None
    releases: tuple[Release, ...] = ()


def respond(rig: Rig) -> Response:
    """Walk up, and let go twice at the top. Everything is off afterwards."""
    feed = _Feed(rig)
    points, stopped_v = _ladder(feed)
    releases: tuple[Release, ...] = ()
    if stopped_v is None and points[-1].a > LEAST_A:
        top_v = TOP_24_V if _slope(points) < 1 / HIGH_OHM else TOP_V
        most_a = 1.5 * top_v * _slope(points) + SPARE_A
        for volts in (top_v / 2, top_v):
            point = feed.hold(volts, most_a)
            if point is None:
                stopped_v = volts
                break
            points.append(point)
            releases += (max((feed.let_go(point, most_a) for _ in range(MAKES)), key=lambda one: one.above_v),)
    rig.off()
    return Response(tuple(points), stopped_v, releases)


def walk_low(rig: Rig) -> Response:
    """The walk up to a volt alone. Everything is off afterwards."""
    points, stopped_v = _ladder(_Feed(rig))
    rig.off()
    return Response(tuple(points), stopped_v)


def _ladder(feed: "_Feed") -> tuple[list[CoilPoint], float | None]:
    """The points up to a volt, and where it was stopped."""
    points: list[CoilPoint] = []
    for volts in LADDER_V:
        point = feed.hold(volts, LIMIT_A)
        if point is None or _bent(points, point):
            return points, volts
        points.append(point)
    return points, None


def _slope(points: list[CoilPoint]) -> float:
    """Siemens between the last two points: with a diode in series the first ones carry nothing."""
    before, last = points[-2:]
    return max((last.a - before.a) / max(last.v - before.v, 0.05), last.a / last.v)


def _bent(points: list[CoilPoint], point: CoilPoint) -> bool:
    """Whether it takes more than in proportion, although it took current before a silicon diode could."""
    low = [one for one in points if one.v < 0.58 and one.a > LEAST_A]
    return bool(low) and point.a / point.v > BEND * low[-1].a / low[-1].v


class _Feed:
    """The coil supply, its setting mended from point to point by what the bus showed."""

    def __init__(self, rig: Rig) -> None:
        self._rig, self._dac, self._missing_v = rig, 0, 0.0
        rig.take_zero(Contact.NONE)

    def hold(self, volts: float, most_a: float) -> CoilPoint | None:
        """The coil at about `volts`; None when it would take more than `most_a`."""
        self._dac = self._rig.dac_for(volts + self._missing_v)
        point = self._rig.tried(self._drive(most_a, on=True), HOLD_S)
        if point is not None:
            self._missing_v += volts - self._rig.supply_v(point.counts.bus)
        return point

    def let_go(self, point: CoilPoint, most_a: float) -> Release:
        """The coil switched off at this setting, and its low end watched."""
        self._rig.hold(self._drive(most_a, on=True), HOLD_S)
        capture = self._rig.board.step_coil(self._drive(most_a, on=False), WINDOW_MS, 1, low_side=True)
        rest, peak = fmean(capture.samples[-TAIL:]), max(capture.samples)
        later = capture.samples[capture.samples.index(peak) + 1 :][:1] or (peak,)
        return Release(point.v, point.a, (peak - rest) * LOW_SIDE_GAIN, (later[0] - rest) * LOW_SIDE_GAIN)

    def _drive(self, most_a: float, on: bool) -> Drive:
        return Drive(self._dac, on, on_ms=1000, dry=Contact.NONE, limit=self._rig.limit_for(most_a, 0))
