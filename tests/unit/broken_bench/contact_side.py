"""The contact side of a bench with a broken wire, as a network: terminals, sense wires, edge pins and load.

A whole bench is solved by shorter sums in bench.py. Nodes: `87`, `87a` at the screws of the throws' switches; `87b`,
`87ab`, `30b` at the part's blades; `s87`, `s87a`, `s30` at the converter's inputs; `edge_no`, `edge_nc` at the pins;
`shunt` at the load shunt.
"""

from dataclasses import dataclass
from functools import lru_cache

from pulldrop.plant.network import Element, Resistor, solve

WIRE_OHM, SHORT_OHM = 1e-3, 0.05
SENSE_OHM, BIAS_OHM = 1140.0, 10e6
"""R31 and R32 with what the deck allows for the converter; R44 to R46."""
STRIPS, BLADES, SENSES, PINS = ("87", "87a"), ("87b", "87ab"), ("s87", "s87a"), ("edge_no", "edge_nc")
SERIES = ("R40", "R42")
FOLLOWER_V = 3.5
"""Above this a throw's MOSFET, its gate at 5 V, does not conduct from the load to its terminal."""


@dataclass(frozen=True, slots=True)
class Feeds:
    """What holds the terminals: ohms from 5 V by each dry source (None: off) and each edge pin's pull-up, and by its
    series resistor; ohms from the load supply (None: that throw is off)."""

    vcc_v: float
    dry_ohm: tuple[float | None, float | None]
    pull_ohm: tuple[float, float]
    series_ohm: tuple[float, float]
    load_v: float
    load_ohm: tuple[float | None, float | None]
    shunt_ohm: float


@dataclass(frozen=True, slots=True)
class Seen:
    """Volts: of both strips, of both edge pins, between the sense inputs of each throw, at the shunt; amps through both
    contacts."""

    strip_v: tuple[float, float]
    pin_v: tuple[float, float]
    sensed_v: tuple[float, float]
    shunt_v: float
    amps: tuple[float, float]


@lru_cache(maxsize=64)
def contact_side(
    feeds: Feeds,
    contacts: tuple[float | None, float | None],
    ads_ohm: float,
    cut: frozenset[str],
    joined: tuple[tuple[str, str], ...],
) -> Seen:
    """Solved once for each throw's converter input, and once for all looks at what stays as it is.

    `contacts`: ohms of the throws that touch; `cut`: names of open wires: 87, 87a, 30, the same with s for sense,
    R40, R42, shunt, star; ain_no, ain_nc, ain_30 at the converter itself.
    """
    held = {"5v": feeds.vcc_v, "gnd": 0.0, "load": feeds.load_v}
    elements = [*_fixed(feeds, contacts, cut), *(Resistor(a, b, SHORT_OHM) for a, b in joined)]
    loads = [Resistor("load", strip, ohm) for strip, ohm in zip(STRIPS, feeds.load_ohm, strict=True) if ohm]
    unloaded = solve(elements, held)
    volts = solve([*elements, *loads], held) if loads else unloaded
    for load in loads:
        if volts[load.b] > FOLLOWER_V:
            volts = solve(elements, {**held, load.b: max(FOLLOWER_V, unloaded[load.b])})
    stiff = {node: volts[node] for node in (*BLADES, "30b", *STRIPS) if node in volts}
    sensed = tuple(_sensed(elements, {**held, **stiff}, sense, ads_ohm) for sense in SENSES)
    amps = tuple(
        (volts[blade] - volts["30b"]) / ohm if ohm else 0.0 for blade, ohm in zip(BLADES, contacts, strict=True)
    )
    return Seen(
        (volts["87"], volts["87a"]), (volts["edge_no"], volts["edge_nc"]), (sensed[0], sensed[1]),
        0.0 if "shunt" in cut else volts["shunt"], (amps[0], amps[1]),
    )  # fmt: skip


def _sensed(elements: list[Element], held: dict[str, float], sense: str, ads_ohm: float) -> float:
    volts = solve([*elements, Resistor(sense, "s30", ads_ohm)], held)
    return volts[sense] - volts["s30"]


def _fixed(feeds: Feeds, contacts: tuple[float | None, float | None], cut: frozenset[str]) -> list[Element]:
    elements: list[Element] = []

    def wire(name: str, a: str, b: str, ohm: float = WIRE_OHM) -> None:
        elements.append(Resistor(a, b, 1e12 if name in cut else ohm))

    for throw, (strip, blade, sense, pin) in enumerate(zip(STRIPS, BLADES, SENSES, PINS, strict=True)):
        if ohm := feeds.dry_ohm[throw]:
            elements.append(Resistor("5v", strip, ohm))
        elements.append(Resistor("5v", pin, feeds.pull_ohm[throw]))
        wire(SERIES[throw], pin, strip, feeds.series_ohm[throw])
        wire(strip, strip, blade)
        if ohm := contacts[throw]:
            elements.append(Resistor(blade, "30b", ohm))
        _sense(cut, elements, f"{strip}s", ("ain_no", "ain_nc")[throw], blade, sense)
    wire("30", "30b", "shunt")
    wire("star", "shunt", "gnd", feeds.shunt_ohm)
    _sense(cut, elements, "30s", "ain_30", "30b", "s30")
    return elements


def _sense(cut: frozenset[str], elements: list[Element], name: str, pin: str, blade: str, sense: str) -> None:
    """A sense wire, and its bias: on the way to the converter, so that behind it the input hangs free."""
    elements.append(Resistor(blade, sense, 1e12 if cut & {name, pin} else SENSE_OHM))
    elements.append(Resistor("5v", sense, 1e12 if pin in cut else BIAS_OHM))
