"""Start and strike of the armature, read from the coil current, against where the armature was: designs of the second
plant, whose flux leaks beside the gap, whose iron keeps a field, and whose author had not seen the reader.

Rule: the armature has started once it has left its place of rest by a micrometre, and struck once it has come all the
way but a 200th of it.
"""

import sys
from collections.abc import Sequence
from dataclasses import dataclass

from designs import draw
from designs.second.relay import SecondRelay
from report import close, options, share

from pulldrop.measure.rig.counts.dip import moved
from pulldrop.measure.steps.coil.motion import U_SEAT_S, U_START_S
from pulldrop.model.coverage import spread
from pulldrop.model.raw import Capture, Contact
from pulldrop.plant.relay.suppression import Suppression

COUNT_A = 0.3e-3
"""Of the board's fast converter: 5 V over 1024, 0.82 ohm and a gain of 20."""
EVERY_S, WINDOW_S, SAMPLE_S = 20e-6, 30e-3, 100e-6
PLACE = 3
"""Of the armature's way in the second plant's state."""
LEFT_M, STRUCK = 1e-6, 0.995


@dataclass(frozen=True)
class Line:
    """Errors in s of one make; None where its current shows no dip."""

    start: float | None
    seat: float | None


def one_design(number: int, seed: int) -> Line:
    """One make of one design at the volts of a system on charge, its iron magnetised before, as on a bench."""
    drawn = draw.design(seed, number, 1.0)
    relay = SecondRelay(drawn.design, Suppression(), 20.0, None)
    for on, seconds in ((False, 0.01), (True, 0.2), (False, 0.4)):
        relay.drive(drawn.test_v, on, False)
        relay.advance(relay.t + seconds)
    began, rows = relay.t, list[tuple[float, float, float]]()
    relay.drive(drawn.test_v, True, False)
    while relay.t < began + WINDOW_S:
        relay.advance(relay.t + EVERY_S)
        rows.append((relay.t - began, relay.circuit().shunt_a, relay.state[PLACE]))
    found = moved(_capture([amps for _, amps, _ in rows]))
    if found is None:
        return Line(None, None)
    rest, most = rows[0][2], max(place for _, _, place in rows)
    left = next(at for at, _, place in rows if place - rest > LEFT_M)
    struck = next(at for at, _, place in rows if place - rest >= STRUCK * (most - rest))
    return Line(found.start_s - left, found.seat_s - struck)


def _capture(amps: Sequence[float]) -> Capture:
    """As the board samples it, every 100 us."""
    step = round(SAMPLE_S / EVERY_S)
    samples = (0, *(round(one / COUNT_A) for one in amps[step - 1 :: step]))
    return Capture(
        edges=(), contacts_before=Contact.NONE, samples=samples, sample_ticks=200, window_ticks=60_000
    )  # fmt: skip


def inside(error: float, u: float) -> bool:
    """Whether an error lies inside the expanded uncertainty that comes of the reader's rule alone."""
    return abs(error) <= spread([(u, "normal")], float("inf")).factor * u


def main() -> int:
    given = options(__doc__.splitlines()[0], 40)
    lines = [one_design(number, given.seed) for number in range(given.parts)]
    goals = []
    for name, u in (("start", U_START_S), ("seat", U_SEAT_S)):
        errors = [error for line in lines if (error := getattr(line, name)) is not None]
        mean = sum(errors) / len(errors)
        print(f"{name}: {len(errors)} of {len(lines)} show a dip; mean error {1e3 * mean:+.2f} ms,", end=" ")
        print(f"worst {1e3 * max(errors, key=abs):+.2f} ms, u {1e3 * u:.2f} ms")
        goals.append(share(f"{name}: inside U", (inside(error, u) for error in errors), low=0.90))
    return close("motion", given, goals)


if __name__ == "__main__":
    sys.exit(main())
