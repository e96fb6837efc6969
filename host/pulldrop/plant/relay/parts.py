"""What one relay is made of, its faults already turned into physics."""

from dataclasses import dataclass

from pulldrop.plant.relay.armature import Armature
from pulldrop.plant.relay.coil import Coil
from pulldrop.plant.relay.suppression import Suppression


@dataclass(frozen=True, slots=True)
class RelayParts:
    """`coil_factor` on the winding's ohms; `shorted_fraction` of its turns; force in N that tears a weld, 0: none;
    `opens_above_c`: temperature of the winding above which its joint is open; `gummed_s`: how long a pull must last
    until an armature that has rested for years comes loose; `winding_c`: of the winding at first, None: as around it;
    `residual_at_a`: ampere-turns that leave
    the coil's residual magnetisation in the iron, the nominal ones.
    """

    coil: Coil
    armature: Armature
    suppression: Suppression
    changeover: bool
    coil_open: bool = False
    coil_factor: float = 1.0
    shorted_fraction: float = 0.0
    weld_no_n: float = 0.0
    weld_nc_n: float = 0.0
    starts_operated: bool = False
    opens_above_c: float | None = None
    gummed_s: float = 0.0
    winding_c: float | None = None
    residual_at_a: float = 1.0
