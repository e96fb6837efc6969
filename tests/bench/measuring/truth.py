"""What is true of a virtual part, straight from its physics: no board, no counts, no code that measures.

Thresholds by bisection with the coil let come to rest at every voltage; times from the moments of touch; ohms from
the terminals of the cold coil; the contact from its own surface and force. Scatter from move to move is the hinge's
friction and the contacts' loss: a true threshold is that of the middle friction, a true time the median over moves
with both drawn. The circuit around the coil is the bench as drawn; what the bench's own parts do is its error.
"""

import math
from dataclasses import dataclass, replace
from statistics import NormalDist, median

from pulldrop.plant.relay.coil import copper_ohm
from pulldrop.plant.relay.contact import Touch
from pulldrop.plant.relay.relay import NC, NO, RelayModel
from pulldrop.plant.relay.suppression import SWITCH_OHM
from pulldrop.plant.specimen import Specimen, parts

MOVES = 101
"""So many equally likely frictions, each with a loss of its own, stand for all moves."""
STRIDE = 37
"""Losses are taken in this stride through their ranks, so that they do not follow the frictions."""
FINE_V = 1e-3
"""Bisection of a threshold ends here."""
PATIENCE_S = 0.5
"""Just beyond a threshold an armature creeps before it moves: with 0.15 s some designs read 0.08 V less at drop-out;
2 s add 0.01 V to that, and take four times as long."""
WINDOW_S = 0.05


@dataclass(frozen=True)
class Switching:
    """Moments of touch after the coil was switched, for one friction."""

    changes: tuple[tuple[float, int, bool], ...]

    def times(self, throw: int, closed: bool) -> list[float]:
        return [t for t, which, state in self.changes if which == throw and state == closed]

    def bounce(self, throw: int) -> float:
        every = [t for t, which, _ in self.changes if which == throw]
        return every[-1] - self.times(throw, True)[0]


def truths(specimen: Specimen, nominal_v: float, test_v: float, load_a: float) -> dict[str, float]:
    """Every measurement's true value by its id; times and contact at `test_v` across the coil, TVS clamp."""
    found = coil(specimen, nominal_v) | thresholds(specimen, nominal_v)
    return found | times(specimen, test_v) | drops(specimen, test_v, load_a)


def drops(specimen: Specimen, test_v: float, load_a: float) -> dict[str, float]:
    """Of the middle make."""
    cold = _cold(specimen)
    held, rest = _held(_relay(cold), test_v), _relay(cold)
    found = {"contact_drop_no": load_a * cold.contact_no.ohm(held.force[NO], Touch(), load_a)}
    if cold.form == "C":
        found["contact_drop_nc"] = load_a * cold.contact_nc.ohm(rest.force[NC], Touch(), load_a)
    return found


def _cold(specimen: Specimen) -> Specimen:
    """The same with a winding that its own current does not warm."""
    return specimen.model_copy(update={"coil": specimen.coil.model_copy(update={"heating_k_per_w": 0.0})})


def _relay(specimen: Specimen, **armature: float) -> RelayModel:
    physics = parts(specimen)
    physics = replace(physics, armature=physics.armature.model_copy(update=armature))
    assert specimen.temperature_c is not None
    return RelayModel(physics, specimen.temperature_c)


def _rest(relay: RelayModel) -> None:
    """Let everything come to rest."""
    for _ in range(100):
        if relay.still:
            return
        relay.advance(relay.t + 0.02)
    raise AssertionError("the relay did not come to rest")


def _comes_to(relay: RelayModel, throw: int, closed: bool) -> bool:
    """Whether the throw comes to its state in time."""
    until = relay.t + PATIENCE_S
    while relay.t < until and not relay.still and relay.touching[throw] != closed:
        relay.advance(relay.t + 0.005)
    return relay.touching[throw] == closed


def _coil_v(relay: RelayModel) -> float:
    around = relay.circuit()
    return around.plus_v - around.low_side_v


def _held(relay: RelayModel, coil_v: float) -> RelayModel:
    """The relay at rest with `coil_v` across its coil; the supply gives what falls below the coil as well."""
    supply = coil_v
    for _ in range(4):
        relay.drive(supply, True, False)
        _rest(relay)
        supply += coil_v - _coil_v(relay)
    return relay


def coil(specimen: Specimen, nominal_v: float) -> dict[str, float]:
    """What the terminals show: a resistor across the winding is part of it."""
    cold = _cold(specimen)
    ohm = _terminal_ohm(cold, nominal_v)
    at_20c = _terminal_ohm(cold.model_copy(update={"temperature_c": 20.0}), nominal_v)
    return {"coil_resistance": ohm, "coil_resistance_20c": at_20c, "coil_current": nominal_v / ohm}


def _terminal_ohm(cold: Specimen, nominal_v: float) -> float:
    relay = _held(_relay(cold), nominal_v)
    return _coil_v(relay) / relay.circuit().supply_a


def thresholds(specimen: Specimen, nominal_v: float) -> dict[str, float]:
    """In volts across the coil once its current is steady, which the supply's volts tell."""
    cold, changeover = _cold(specimen), specimen.form == "C"
    ohm = _terminal_ohm(cold, nominal_v)
    across = ohm / (ohm + SWITCH_OHM)
    up_v = across * _bisected(_relay(cold), 0.0, 1.5 * nominal_v, NO, True)
    throw, closed = (NC, True) if changeover else (NO, False)
    down_v = across * _bisected(_held(_relay(cold), nominal_v), nominal_v, 0.0, throw, closed)
    copper = cold.coil.resistance_ohm
    assert cold.temperature_c is not None
    return {
        "pull_in_voltage": up_v,
        "pull_in_voltage_20c": up_v * copper / copper_ohm(copper, cold.temperature_c),
        "pull_in_current": up_v / ohm,
        "drop_out_voltage": down_v,
    }


def _bisected(relay: RelayModel, before: float, after: float, throw: int, closed: bool) -> float:
    """The supply voltage at which the throw comes to its state.

    It comes to every voltage from the last one that did not suffice, so that the last step is a small one.
    """
    relay.drive(before, True, False)
    _rest(relay)
    state = relay.snapshot()
    while abs(after - before) > FINE_V:
        middle = (before + after) / 2
        relay.restore(state)
        relay.drive(middle, True, False)
        if _comes_to(relay, throw, closed):
            after = middle
        else:
            before, state = middle, relay.snapshot()
    return (before + after) / 2


def times(specimen: Specimen, test_v: float, moves: int = MOVES) -> dict[str, float]:
    """One move is the middle one of operate and release, which follow friction alone; a bounce takes many."""
    cold, changeover = _cold(specimen), specimen.form == "C"
    arm = cold.armature
    supply = test_v * (1 + SWITCH_OHM / _terminal_ohm(cold, test_v))
    found: dict[str, list[float]] = {}
    for rank in range(moves):
        friction = NormalDist().inv_cdf((rank + 0.5) / moves)
        loss = NormalDist().inv_cdf((rank * STRIDE % moves + 0.5) / moves)
        relay = _relay(
            cold,
            friction_n=arm.friction_n * math.exp(arm.friction_scatter * friction),
            contact_damping_s_per_m=arm.contact_damping_s_per_m * math.exp(arm.damping_scatter * loss),
        )
        make = _switched(relay, supply, True)
        _rest(relay)
        for id, time_s in _one_cycle(make, _switched(relay, supply, False), changeover).items():
            found.setdefault(id, []).append(time_s)
    return {id: median(values) for id, values in found.items()}


def _one_cycle(make: Switching, off: Switching, changeover: bool) -> dict[str, float]:
    closing = make.times(NO, True)[0]
    found = {"operate_time": closing, "bounce_time_no": make.bounce(NO)}
    if not changeover:
        return found | {"release_time": off.times(NO, False)[0]}
    opened = [t for t in make.times(NC, False) if t <= closing][-1]
    return found | {
        "transfer_time": closing - opened,
        "release_time": off.times(NC, True)[0],
        "bounce_time_nc": off.bounce(NC),
    }


def _switched(relay: RelayModel, supply: float, on: bool) -> Switching:
    """The supply is there before the switch moves, as on a bench."""
    if on:
        relay.drive(supply, False, False)
        relay.advance(relay.t + 0.01)
    start = relay.t
    relay.drive(supply, on, False)
    return Switching(tuple((t - start, throw, state) for t, throw, state in relay.advance(start + WINDOW_S)))
