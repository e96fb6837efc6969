"""Which leg behind a socket is dead: drawn circuits, looked at with errors, against what each leg loses at work.

Goals: the right leg first in 97 % of those with a broken leg; a leg at twice its limit or more never called good,
one between the limit and twice that in at most 1 %; a fault claimed of a leg within its limit in at most 1 %; ohms
inside U in 93 to 97 %.
"""

import random
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from circuits import Case, drawn
from report import close, options, share

from pulldrop.judge.socket.roles import Roles, by_look, first_looks, roles
from pulldrop.judge.socket.table import ORDER, decide_socket
from pulldrop.model.vehicle.socket import Look, Seen, SocketFound, Value
from pulldrop.plant.vehicle.adapter import looked

GAIN, OFFSET_V, NOISE_V = 0.0005, 0.006, 0.003
"""Of each input once all clips were on battery plus and then all on minus: limits of gain and offset, and scatter."""
GOOD = ("good", "worth cleaning")
AMPS = 0.01
"""Limit of the amps, relative: the loads' resistors and the shunt, 1 %."""


@dataclass(frozen=True)
class Line:
    """One circuit and what was said of it."""

    case: Case
    found: SocketFound
    right_roles: bool
    inside: tuple[bool, ...]


class Errors:
    """Readings of one bench: its errors stay from look to look; gains crowd at the ends of their limits."""

    def __init__(self, rng: random.Random) -> None:
        self._rng = rng
        self._gain = {
            one: rng.triangular(-GAIN, GAIN, rng.choice((-GAIN, GAIN))) for one in ("battery", "30", "85", "86", "87")
        }
        self._offset = {one: rng.uniform(-OFFSET_V, OFFSET_V) for one in self._gain}
        self._amps = rng.uniform(-AMPS, AMPS)

    def volts(self, channel: str, volts: float) -> Value:
        read = volts * (1 + self._gain[channel]) + self._offset[channel] + self._rng.gauss(0, NOISE_V)
        return Value(value=read, u=((GAIN * read) ** 2 / 3 + OFFSET_V**2 / 3 + NOISE_V**2) ** 0.5, scatter=NOISE_V)

    def amps(self, amps: float) -> Value:
        read = amps * (1 + self._amps) + self._rng.gauss(0, 1e-3 if amps < 0.5 else 5e-3)
        return Value(value=max(read, 0.0), u=((AMPS * read) ** 2 / 3 + (1e-3 if amps < 0.5 else 5e-3) ** 2) ** 0.5)


def look_at(case: Case, rng: random.Random) -> tuple[list[Seen], Roles]:
    """All looks that a person with the adapter makes, and the roles as found."""
    errors = Errors(rng)
    seen = [_seen(case, errors, one) for one in first_looks()]
    found = roles(by_look(seen))
    seen += [_seen(case, errors, one) for one in _further(found, case)]
    return seen, found


def _further(found: Roles, case: Case) -> Iterator[Look]:
    for hang in ("1 A down", "5 A down", "joined"):
        yield Look(cavity=found.feed, hang=hang, worked=True)
    for name in case.lit:
        yield Look(cavity=found.ground, hang="coil up", worked=True, lit=name)


def _positions(case: Case, look: Look) -> dict[str, str]:
    return (case.car.socket.works if look.worked else {}) | ({look.lit: "on"} if look.lit else {})


def _seen(case: Case, errors: Errors, look: Look) -> Seen:
    true = looked(case.car, look.cavity, look.hang, _positions(case, look))
    return Seen(
        look=look, battery=errors.volts("battery", true.battery), volts=errors.volts(look.cavity, true.volts),
        amps=errors.amps(true.amps),
    )  # fmt: skip


def ohms_inside(case: Case, found: Roles, said: SocketFound) -> Iterator[bool]:
    """Whether the ohms of feed and coil ends lie within U of those of the same looks without errors."""
    perfect = [
        Seen(
            look=one,
            battery=Value(value=true.battery, u=0),
            volts=Value(value=true.volts, u=0),
            amps=Value(value=true.amps, u=0),
        )
        for one in (*first_looks(), *_further(found, case))
        for true in (looked(case.car, one.cavity, one.hang, _positions(case, one)),)
    ]
    truth = {one.leg: one.ohm for one in decide_socket(perfect, case.coil_ohm).legs}
    for one in said.legs:
        true = truth[one.leg]
        if one.ohm and true and 0.01 < true.value < 100:
            yield abs(one.ohm.value - true.value) <= 1.96 * one.ohm.u


def one_circuit(seed: int, number: int) -> Line:
    """Drawn, looked at and judged."""
    case = drawn(seed, number)
    seen, found = look_at(case, random.Random(f"{seed}/{number}/errors"))
    said = decide_socket(
        seen, case.coil_ohm * random.Random(number).uniform(0.97, 1.03), case.lit, case.watts, float(case.car.system_v)
    )
    socket = case.car.socket
    right = all(socket.cavities[getattr(found, leg)] == socket.node(leg) for leg in ORDER)  # type: ignore[index]
    return Line(case, said, right, tuple(ohms_inside(case, found, said)))


def shown(line: Line) -> None:
    """A circuit of which something wrong was said, or nothing where something is broken."""
    drops = ", ".join(f"{leg} {line.case.drops[leg]:.2g}" for leg in ORDER)
    print(f"{line.case.car.title} ({line.case.kind}; {drops}): {line.found.first}: {line.found.said}")
    for one in line.found.legs:
        print(f"    {one.leg} {one.cavity} {one.state}: {one.why}")


def wrong(line: Line) -> bool:
    """Another leg first than a broken one, or a state that contradicts the circuit."""
    legs = {leg for leg in ORDER if line.case.broken(leg)}
    other = line.found.first not in (legs or {None})
    return other or any(one.state in (GOOD if one.leg in legs else ("broken",)) for one in line.found.legs)


def main() -> int:
    """Draw, look, judge and hold against the circuits."""
    given = options(str(__doc__).splitlines()[0], 1000)
    lines = [one_circuit(given.seed, number) for number in range(given.parts)]
    for line in lines:
        if wrong(line):
            shown(line)
    states = [(line.case, one) for line in lines for one in line.found.legs]
    twice = [one.state for case, one in states if case.broken(one.leg, 2.0)]
    once = [one.state for case, one in states if case.broken(one.leg) and not case.broken(one.leg, 2.0)]
    within = [one.state for case, one in states if not case.broken(one.leg)]
    some = [line for line in lines if any(line.case.broken(leg) for leg in ORDER)]
    none = [line for line in lines if line not in some]
    sound = [line for line in lines if line.case.kind == "sound"]
    print(", ".join(f"{count} {state}" for state, count in Counter(one.state for _, one in states).items()))
    goals = [
        share("right leg first", (line.case.broken(line.found.first) for line in some if line.found.first), 0.97),
        share("a first leg named where one is broken", (line.found.first is not None for line in some), 0.99),
        share("good at twice the limit or more", (one in GOOD for one in twice), None, 0),
        share("good between limit and twice that", (one in GOOD for one in once), None, 0.01),
        share("called broken within its limit", (one == "broken" for one in within), None, 0.01),
        share("ohms of a leg inside U", (one for line in lines for one in line.inside), 0.93, 0.97),
        share("roles right where nothing is broken", (line.right_roles for line in none), 0.99),
        share("nothing to mend where all is sound", (line.found.first is None for line in sound), 0.97),
    ]
    return close("sockets", given, goals)


if __name__ == "__main__":
    sys.exit(main())
