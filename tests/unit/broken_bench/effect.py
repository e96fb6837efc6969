"""What a fault of the wiring does to this plant: not what is wrong, but what the rest of the bench then meets."""

from dataclasses import dataclass, replace

from pulldrop.plant.bench.pins import Pins

BRANCHES = ("branch_1a", "branch_5a", "branch_10a", "branch_20a")
COIL_CURRENT, TEMPERATURE, LOAD_SUPPLY, LOW_SIDE = range(4)
"""Channels of the converter, as the bench numbers them."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What is not as drawn.

    lost: outputs that do not arrive, by net; together: outputs that are high when either is; cut: open wires of the
    contact side, and joined: what is shorted there; drives: an edge pin that an output holds; floats: channels of the
    converter that nothing drives; deaf: parts of the bus that do not answer, `bus` all of them; no_load, no_supply: no
    load supply, no coil supply; stopped: the stop reads open; coil: 86 or 85 is off the supply; dark: terminals whose
    scan line is open, as `87`, for one multiplexer as `drive.87`, or all of its lines as `drive`; bridged: two
    terminals of the socket that are shorted; unlimited: the pulse limit is dead; earthed: the load's return is lost,
    and its current goes home by a second earth, through the wire from R30's V- to ground; low, high: channels of the
    converter held at 0 V and at 5 V, mixed: two that see the mean of both; leak: two terminals, or one and ground, and
    the ohms that join them, as the scan alone sees them; half: branches with one resistor of a pair; runaway: the coil
    supply gives all that it can; unheld: it follows its DAC while the lamp is dark, too; shunt_end: the end at which
    the INA226 reads the coil's current, no_bus: it reads no volts; port_low, port_high: bits of U10's ports that the
    multiplexers see low, or high; adrift: inputs of the scan's converter that hang free; usb: the 5 V are those of the
    USB port, behind a diode; unclamped: Q3 takes the coil's spike.
    """

    lost: frozenset[str] = frozenset()
    together: frozenset[str] = frozenset()
    cut: frozenset[str] = frozenset()
    joined: tuple[tuple[str, str], ...] = ()
    drives: tuple[tuple[str, str], ...] = ()
    floats: frozenset[int] = frozenset()
    deaf: frozenset[str] = frozenset()
    no_load: bool = False
    no_supply: bool = False
    stopped: bool = False
    coil: bool = False
    dark: frozenset[str] = frozenset()
    bridged: tuple[str, str] | None = None
    unlimited: bool = False
    earthed: bool = False
    low: frozenset[int] = frozenset()
    high: frozenset[int] = frozenset()
    mixed: tuple[int, ...] = ()
    leak: tuple[str, str, float] | None = None
    half: frozenset[str] = frozenset()
    runaway: bool = False
    unheld: bool = False
    shunt_end: int = 0
    no_bus: bool = False
    port_low: tuple[int, int] = (0, 0)
    port_high: tuple[int, int] = (0, 0)
    adrift: frozenset[int] = frozenset()
    usb: bool = False
    unclamped: bool = False

    @property
    def coil_shorted(self) -> bool:
        """Whether 85 and 86 are one."""
        return self.bridged == ("85", "86")

    @property
    def contact_side(self) -> bool:
        """Whether the contacts are no longer seen as on a whole bench."""
        return bool(self.cut or self.joined or self.drives)


OUTPUTS = {
    **{net: ("branches", 1 << bit) for bit, net in enumerate(BRANCHES)},
    "coil_switch": ("coil", 1), "clamp_diode": ("diode", 1), "throw_no": ("throws", 1), "throw_nc": ("throws", 2),
    "lamp": ("lamp", 1), "dry_no": ("dry", 1), "dry_nc": ("dry", 2),
}  # fmt: skip
"""Field and bits of `Pins` of each output."""


def driven(pins: Pins, net: str) -> bool:
    """Whether an output is high."""
    field, bits = OUTPUTS[net]
    return bool(int(getattr(pins, field)) & bits)


def arriving(pins: Pins, effect: Effect) -> Pins:
    """What arrives of the levels that the board drives."""
    changed: dict[str, int | bool] = {}

    def put(net: str, high: bool) -> None:
        field, bits = OUTPUTS[net]
        now = int(changed.get(field, getattr(pins, field)))
        word = now | bits if high else now & ~bits
        changed[field] = bool(word) if field in ("coil", "diode", "lamp") else word

    if effect.together:
        high = any(driven(pins, net) for net in effect.together)
        for net in effect.together:
            put(net, high)
    for net in effect.lost:
        put(net, False)
    return replace(pins, **changed) if changed else pins  # type: ignore[arg-type]  # names and types of `OUTPUTS`


WHOLE = Effect()
"""Nothing wrong, or nothing that a relay's test could meet."""
