"""Free play in drawn circuits whose wire follows one control, without timers: is it named within a minute?

Rule: the person goes through the positions of one control after the other, those outside of the seat last, on a beat
of 2 s, and taps what was touched up to 1 s after it; 3 taps in 100 name another control. Then the positions are read
aloud, as the hunt asks after play, where the minute leaves time for it.
"""

import random

import numpy as np
from drawn import Circuit, Vehicle, draw_circuit

from pulldrop.hunt.session import Hunt
from pulldrop.hunt.space import READ_ALOUD_S, READ_S, WALK_S
from pulldrop.model.hunt.control import ControlKind, Reach
from pulldrop.model.hunt.diary import Touch, WireEdge
from pulldrop.model.hunt.look import WireLevel, WireLook

MINUTE_S, BEAT_S, HELD_S, WRONG = 60.0, 2.0, 0.5, 0.03


def single(seed: int, n: int) -> Circuit:
    """A circuit of the trial's world that one control works."""
    while True:
        made = draw_circuit(seed, n, "trial")
        plain = made.button is None and not (made.on_s or made.off_s or made.misses)
        if plain and len(made.paths) == 1 and len(made.paths[0]) == 1:
            return made
        seed += 7_000_003


def play(seed: int, n: int) -> Hunt:
    """The hunt after a minute of play."""
    circuit = single(seed, n)
    vehicle, draw = Vehicle(circuit, random.Random(seed)), random.Random(f"y{seed}")
    hunt = Hunt(circuit.controls, circuit.precautions, circuit.side, seed)
    hunt.next_step()
    hunt.seen([vehicle.look(0.0, 0.0, 0.0)])
    touches, edges = list[Touch](), list[WireEdge]()
    now, live, outside = 1.0, False, False

    def put(control: int, position: int, at_s: float) -> None:
        nonlocal live
        vehicle.put(control, position)
        if circuit.closed(tuple(vehicle.positions)) != live:
            live = not live
            edges.append(WireEdge(look=WireLook(level=WireLevel.ON if live else WireLevel.OPEN), at_s=at_s))

    seated = sorted(range(n), key=lambda i: (circuit.controls[i].reach is Reach.OUTSIDE, i))
    for control in seated:
        one = circuit.controls[control]
        if (one.reach is Reach.OUTSIDE) != outside:
            now, outside = now + WALK_S, True
        for position in hunt.space.allowed[control][1:]:
            if now > MINUTE_S - BEAT_S:
                break
            put(control, position, now)
            if position in one.springs:
                put(control, one.springs[position], now + HELD_S)
            tapped, there = control, position
            if draw.random() < WRONG:
                tapped = draw.choice([i for i in range(n) if i != control])
                there = 1 if circuit.controls[tapped].kind is not ControlKind.KEY else 2
            tap_s = now + (HELD_S if position in one.springs else 0.0) + draw.uniform(0.2, 1.0)
            touches.append(Touch(control=circuit.controls[tapped].id, position=there, at_s=tap_s))
            now += BEAT_S
    hunt.play(touches, edges, WireLook(level=WireLevel.OPEN))
    if now + READ_S + READ_ALOUD_S * n <= MINUTE_S:
        hunt.read_back(vehicle.positions)
    return hunt


def named(seed: int, n: int) -> bool:
    """Whether the leading rule is that of the circuit."""
    circuit, hunt = single(seed, n), play(seed, n)
    found = hunt.leading
    if found is None or found.rule.button >= 0 or len(found.rule.paths) != 1:
        return False
    ((control, closed),) = circuit.paths[0]
    settings = np.array([np.where(np.arange(n) == control, p, 0) for p in hunt.space.allowed[control]], np.int8)
    held = hunt.language.holds(np.array(found.rule.paths), settings)[:, 0]
    alone = all(one.control == control for one in hunt.language.conditions(found.rule.paths[0]))
    return alone and held.tolist() == [int(one[control]) in closed for one in settings]
