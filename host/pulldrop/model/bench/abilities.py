"""What a board can do by its build, so that nobody asks which build it is."""

from dataclasses import dataclass
from itertools import combinations
from typing import Literal

Build = Literal["full", "bare", "evening"]
BRANCHES_A = (1.0, 5.0, 10.0, 20.0)
LOAD_MOST_A = 20.0
LOADS_A = tuple(
    sorted(a for n in range(1, 4) for some in combinations(BRANCHES_A, n) if (a := sum(some)) <= LOAD_MOST_A)
)
"""What the load branches add up to; terminals, fuse and supply of the bench are made for 20 A."""
SUPPLY_ROOM = 0.25
"""By which share the nominal volts of a coil may be off those of a supply that nobody can set: a battery on charge has
a fifth more than 12 V."""


@dataclass(frozen=True, slots=True)
class Abilities:
    """One build's.

    coil: its volts are set by the program, are those of its one supply and turned down by hand, or it has none;
    supply_v: of that one supply; loads_a: amps that it can load with; looks: pairs of terminals that it looks at with a
    few mA: nearly all through its scan, all by its pins, or the coil alone; clamp_diode: a diode for the coil at
    switch-off; reference_v: of the board's own converter, and the share by which that may be off; dry_ohm: of a dry
    source.
    """

    coil: Literal["set", "by hand", "none"]
    supply_v: float
    loads_a: tuple[float, ...]
    looks: Literal["scan", "pins", "coil"]
    clamp_diode: bool
    reference_v: float
    reference_share: float
    dry_ohm: float

    def feeds(self, nominal_v: float) -> bool:
        """Whether it gives a coil of so many volts what it needs."""
        return self.coil == "set" or (self.coil == "by hand" and abs(nominal_v / self.supply_v - 1) <= SUPPLY_ROOM)


OF_BUILD: dict[Build, Abilities] = {
    "full": Abilities("set", 0.0, LOADS_A, "scan", True, 5.0, 0.04, 1025.0),
    "bare": Abilities("none", 0.0, (), "pins", False, 5.0, 0.05, 1025.0),
    "evening": Abilities("by hand", 12.0, (10.0,), "coil", False, 4.875, 0.077, 1000.0),
}
"""Evening: 5 V of the USB port, 4.5 to 5.25 V; a dry source is 910 ohm, its pin's 25 ohm and a Schottky diode of 0.3 V,
which take as much current as 1000 ohm at 5 V."""
