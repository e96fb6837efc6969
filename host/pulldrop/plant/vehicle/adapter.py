"""The adapter in a relay's socket as the circuit meets it: what hangs on a cavity, and the true volts and amps.

Rule: it hangs one thing at a time and knows no limit; readings with their errors are made of these by whoever looks.
"""

from dataclasses import dataclass

from pulldrop.plant.vehicle.elements import Battery, Element, Ohmic
from pulldrop.plant.vehicle.vehicle import Cavity, Vehicle

INPUT_OHM = 135e3
"""Of each input, to the clip on the battery's minus post."""
HUNG = "adapter, hung"
JOINED_OHM = 15e-3
"""Shunt, leads and transistor between cavities 30 and 87 (assumed)."""
HUNG_OHM = {"1 kohm": (1000.0, 1000.0), "coil": (100.0, 330.0), "1 A": (12.0, 27.0), "5 A": (2.4, 5.4)}
"""By what hangs there: ohms for 6 and 12 V, and for 24 V."""


@dataclass(frozen=True)
class Truth:
    """Volts at the battery's posts and at the cavity against its minus post, amps through what hangs there."""

    battery: float
    volts: float
    amps: float


def hung_ohm(hang: str, system_v: int) -> float:
    """Ohms of what hangs there; of nothing, endless."""
    name = hang.removesuffix(" down").removesuffix(" up")
    if name == "nothing":
        return float("inf")
    return JOINED_OHM if name == "joined" else HUNG_OHM[name][system_v == 24]


def looked(vehicle: Vehicle, cavity: Cavity, hang: str, positions: dict[str, str], time_s: float = 0.0) -> Truth:
    """One look with the controls at `positions`; those not named rest."""
    plus = next(one.a for one in vehicle.elements if isinstance(one, Battery))
    node = vehicle.socket.cavities[cavity]
    inputs = tuple(
        _ohm(f"adapter, input {name}", at, vehicle.minus, INPUT_OHM) for name, at in vehicle.socket.cavities.items()
    )
    extra: tuple[Element, ...] = ()
    if hang != "nothing":
        other = vehicle.socket.cavities["87" if cavity == "30" else "30"]
        to = {"down": vehicle.minus, "up": plus, "joined": other}[hang.split()[-1]]
        extra = (_ohm(HUNG, node, to, hung_ohm(hang, vehicle.system_v)),)
    solved = vehicle.solved(positions, (*inputs, *extra), time_s)
    amps = abs(solved.amps[HUNG]) if extra else 0.0
    return Truth(solved.volts[plus], solved.volts[node], amps)


def _ohm(name: str, a: str, b: str, ohm: float) -> Ohmic:
    return Ohmic(kind="resistor", name=name, a=a, b=b, ohm=ohm)
