"""What is true of a part of the second plant: thresholds and times by running it on the bench as drawn.

Thresholds are those of a winding that its current does not warm, at rest at each voltage; statics give them to 2 %,
which serves to solve a design, and where to look. Times are medians over moves drawn with the part's own scatter, the
bench's clamp of 68 V across the switch.
"""

from collections.abc import Callable
from dataclasses import replace
from statistics import median

from designs.second.around import NC, NO
from designs.second.design import Design
from designs.second.iron import ampere_turns, flux_for_pull
from designs.second.relay import Change, SecondRelay
from designs.second.surface import Contact
from designs.second.warmth import copper_ohm
from pulldrop.plant.relay.contact import Touch
from pulldrop.plant.relay.suppression import SWITCH_OHM, Suppression

PLACES = 160
"""The armature's way is looked at in so many places."""
ON_S, OFF_S = 0.04, 0.05
PATIENCE_S = 0.5
"""At each voltage: with 0.08 s some drop out 20 mV later."""


def opening_n(design: Design, z: float) -> float:
    """Newtons at the pole that open the armature, `z` on its way, the leaf at rest; without friction."""
    hinge, leaf = design.hinge, design.leaf
    base, k = leaf.lever * z - leaf.preload_m, leaf.fixed_n_m
    end = base
    if base > leaf.gap_m:
        end = (leaf.rate * base + k * leaf.gap_m) / (leaf.rate + k)
    elif base < 0 and design.changeover:
        end = leaf.rate * base / (leaf.rate + k)
    return hinge.spring_n + hinge.rate * z + leaf.lever * leaf.rate * (base - end)


def _way(design: Design) -> list[float]:
    return [design.hinge.travel_m * n / PLACES for n in range(PLACES + 1)]


def pull_in_a(design: Design) -> float:
    """Ampere-turns that take the armature all the way to where NO closes."""

    def needed(z: float) -> float:
        flux = flux_for_pull(design, opening_n(design, z) + design.hinge.friction_n, z)
        return ampere_turns(design, flux, z, 1.0)

    return max(needed(z) for z in _way(design) if _end_m(design, z) < design.leaf.gap_m)


def drop_out_a(design: Design) -> float:
    """Ampere-turns at which a seated armature has come back so far that NC closes, or of a part without, NO opens."""

    def holds(z: float) -> float:
        flux = flux_for_pull(design, max(opening_n(design, z) - design.hinge.friction_n, 0.0), z)
        return ampere_turns(design, flux, z, -1.0)

    past = 0.0 if design.changeover else design.leaf.gap_m
    return min(holds(z) for z in _way(design) if _end_m(design, z) > past)


def _end_m(design: Design, z: float) -> float:
    """Where the leaf carries its end, contacts apart."""
    return design.leaf.lever * z - design.leaf.preload_m


def _cold(design: Design) -> Design:
    """The same with a winding that its own current does not warm."""
    return replace(design, winding=replace(design.winding, near_k=1e-6, far_k=1e-6))


def thresholds(design: Design, suppression: Suppression, celsius: float, full_v: float) -> tuple[float, float]:
    """Volts across the winding at which it pulls in and drops out, from walks in ever smaller steps.

    Its iron remembers how it came: as on a bench, both walks come from `full_v`, the rising one after the coil was
    switched off at it.
    """
    relay = SecondRelay(_cold(design), suppression, celsius)
    total = (relay.ohm + SWITCH_OHM) / design.winding.turns
    _held_at(relay, full_v)
    relay.drive(full_v, False, False)
    relay.advance(relay.t + PATIENCE_S)
    pull_in_v = pull_in_a(design) * total
    up = _walked(relay, 0.82 * pull_in_v, 0.02 * pull_in_v, NO, True)
    _held_at(relay, full_v)
    throw, closed = (NC, True) if design.changeover else (NO, False)
    drop_out_v = drop_out_a(design) * total
    down = _walked(relay, 1.15 * drop_out_v + 0.05, -0.02 * drop_out_v, throw, closed)
    share = relay.ohm / (relay.ohm + SWITCH_OHM)
    return up * share, down * share


def _held_at(relay: SecondRelay, supply_v: float) -> None:
    relay.drive(supply_v, True, False)
    relay.advance(relay.t + PATIENCE_S)


def _walked(relay: SecondRelay, volts: float, size: float, throw: int, closed: bool) -> float:
    """The supply voltage at which the throw comes to its state, in steps from `volts`.

    Where a step of one size suffices, smaller ones go on from before it.
    """
    _held_at(relay, volts)
    for smaller in (1, 4, 16):
        state = relay.snapshot()
        while not _comes_to(relay, volts + size / smaller, throw, closed):
            volts += size / smaller
            state = relay.snapshot()
        relay.restore(state)
    return volts + size / smaller / 2


def _comes_to(relay: SecondRelay, supply_v: float, throw: int, closed: bool) -> bool:
    """Whether the throw comes to its state in time."""
    relay.drive(supply_v, True, False)
    until = relay.t + PATIENCE_S
    while relay.t < until and not relay.quiet and relay.touching[throw] != closed:
        relay.advance(relay.t + 2e-3)
    return relay.touching[throw] == closed


def force_no(design: Design, z: float | None = None) -> float:
    """Newtons of a seated NO."""
    leaf = design.leaf
    over = _end_m(design, design.hinge.travel_m if z is None else z) - leaf.gap_m
    return max(0.0, over) * leaf.rate * leaf.fixed_n_m / (leaf.rate + leaf.fixed_n_m)


def force_nc(design: Design) -> float:
    """Newtons of NC at rest."""
    leaf = design.leaf
    return leaf.preload_m * leaf.rate * leaf.fixed_n_m / (leaf.rate + leaf.fixed_n_m) if design.changeover else 0.0


def times(design: Design, suppression: Suppression, celsius: float, volts: float, moves: int = 1) -> dict[str, float]:
    """Seconds by measurement id, at `volts` across the coil; empty where it does not switch. One move is the middle."""
    found: dict[str, list[float]] = {}
    relay = SecondRelay(design, suppression, celsius, None if moves == 1 else 1)
    supply = volts * (1 + SWITCH_OHM / relay.ohm)
    if moves > 1:  # iron without magnetism operates later than ever again
        _cycle(relay, supply, design.changeover)
    for _ in range(moves):
        for id, time_s in _cycle(relay, supply, design.changeover).items():
            found.setdefault(id, []).append(time_s)
    return {id: median(values) for id, values in found.items() if len(values) == moves}


def _cycle(relay: SecondRelay, supply: float, changeover: bool) -> dict[str, float]:
    relay.drive(supply, False, False)
    relay.advance(relay.t + 0.01)
    make = _switched(relay, supply, True, ON_S)
    off = _switched(relay, supply, False, OFF_S)
    closes = [t for t, throw, closed in make if throw == NO and closed]
    opens = [t for t, throw, closed in off if throw == NO and not closed]
    if not closes or not opens:
        return {}
    found = {"operate_time": closes[0], "bounce_time_no": _last(make, NO) - closes[0]}
    if not changeover:
        return found | {"release_time": opens[0]}
    left = [t for t, throw, closed in make if throw == NC and not closed and t <= closes[0]]
    back = [t for t, throw, closed in off if throw == NC and closed]
    if not left or not back:
        return {}
    return found | {
        "transfer_time": closes[0] - left[-1],
        "release_time": back[0],
        "bounce_time_nc": _last(off, NC) - back[0],
    }


def _last(changes: list[Change], throw: int) -> float:
    return max(t for t, which, _ in changes if which == throw)


def _switched(relay: SecondRelay, supply: float, on: bool, seconds: float) -> list[Change]:
    start = relay.t
    relay.drive(supply, on, False)
    return [(t - start, throw, closed) for t, throw, closed in relay.advance(start + seconds)]


def truths(
    design: Design, suppression: Suppression, celsius: float, nominal_v: float, test_v: float, load_a: float
) -> dict[str, float]:
    """What every measurement of a sound part should read, by id; a resistor across the coil counts with it. Times are
    those at nominal, thresholds those of iron that `test_v` has magnetised."""
    beside = 1 / suppression.resistor_ohm if suppression.kind == "resistor" else 0.0
    cold = 1 / (1 / design.winding.ohm + beside)
    now = copper_ohm(design.winding.ohm, celsius)
    ohm = 1 / (1 / now + beside)
    up, down = thresholds(design, suppression, celsius, test_v)
    found = {
        "coil_resistance": ohm,
        "coil_resistance_20c": cold,
        "pull_in_voltage": up,
        "pull_in_voltage_20c": up * design.winding.ohm / now,
        "pull_in_current": up / ohm,
        "drop_out_voltage": down,
        "coil_current": nominal_v / ohm,
        "contact_drop_no": load_a * Contact(design.contact_no).ohm(force_no(design), Touch()),
    }
    if design.changeover:
        found["contact_drop_nc"] = load_a * Contact(design.contact_nc).ohm(force_nc(design), Touch())
    return found | times(_cold(design), suppression, celsius, nominal_v, moves=9)


Solved = Callable[[float], float]


def solved(of: Solved, wanted: float, low: float, high: float) -> float | None:
    """Where a rising or falling function has a value, by halving; None where it does not between the two."""
    rises = of(high) > of(low)
    if not min(of(low), of(high)) <= wanted <= max(of(low), of(high)):
        return None
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if (of(middle) < wanted) == rises else (low, middle)
    return (low + high) / 2
