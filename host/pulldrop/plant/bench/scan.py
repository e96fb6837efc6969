"""The terminal scan's side of the bench: what it puts on the part's terminals, and what its converters then see.

Two builds: multiplexers and a converter (hardware/circuit.yaml, blocks scan and scan_lines), or the Nano's own pins
(hardware/bare-board.md). What else of the full bench hangs on a terminal is in the network too, for it takes current.
Values are those of the circuit; each bench draws its own errors.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from pulldrop.plant.bench.frontend import ADC_STEPS, ADC_V, Frontend
from pulldrop.plant.bench.inputs import PULL_UP_OHM
from pulldrop.plant.network import Diode, Element, Resistor, solve
from pulldrop.plant.noise import Chance

TERMINALS = ("85", "86", "87", "87a")
"""The part's terminals on the multiplexers' inputs 0..3; 30 is ground on a full build. Inputs 4..7: loose leads, which
hang free unless the part has something on them."""
LINES = (*TERMINALS, "lead 1", "lead 2", "lead 3", "lead 4")
BARE_OHM = {"85": 220.0, "86": 220.0, "87": 470.0, "87a": 470.0, "30": 470.0}

END_OHM, LINE_OHM, MUX_OHM = 100.0, 1000.0, 80.0
"""R88 and R89; R80 to R87; on-resistance of a 74HC4051 at 4.5 V (typical, from memory of its sheet)."""
MORE_OHM = {"85": 100.0}
"""R95, in the line of 85 alone."""
MUX_LEAK_A, LOOK_OHM = 0.05e-6, 10e3
"""Leakage of a multiplexer's input (sheet: 0.1 uA at most at 25 degC), and R101 to R108 that it flows through."""
FULL_V = {0: 6.144, 1: 4.096, 2: 2.048, 3: 1.024, 4: 0.512, 5: 0.256}
DRIVE_OFF, SINK_OFF, RELAYS = 0x08, 0x80, 0x08
"""Bits of U10's ports: inhibit of drive and sink on port A, K3 and K4 on port B."""

PIN_OHM = 25.0
"""An ATmega328P's pin driven high or low: data sheet, 5 V."""
PIN_LEAK_A, SENSE_OHM = 0.02e-6, 10e3
"""Input leakage (1 uA at most; typical far less), through the sense resistor."""

BODY_V, BODY_OHM = 0.55, 5.0
"""A MOSFET's body diode, or a silicon junction at a few mA."""

COIL_REST_OHM = 300.0
"""About what the coil supply at rest is to a contact on 86 that is fed with a few mA: R16, and D10 with R13. How the
supply takes a load of amps is not modelled: no bench may come to that."""

Level = Literal["high", "low", "weak"]
DRIVEN, SUNK, LOOK, SUPPLY = 1, 5, 6, 7
"""Multiplexer codes of the scan's converter: AIN0-AIN3, AIN1, AIN2, AIN3."""
BARE_LINES = {1: "85", 2: "86", 3: "87", 4: "87a", 9: "30"}
"""Terminals by their line number on the wire."""


def ports(source: int, sink: int, look: int) -> tuple[int, int]:
    """U10's ports for two lines and one looked at, as numbered on the wire: 0 none, 9 terminal 30, which needs none."""
    drive = source - 1 if source else DRIVE_OFF
    into = (sink - 1) << 4 if 0 < sink <= 8 else SINK_OFF
    return drive | into, RELAYS | (look - 1 if 0 < look <= 8 else 0)


def levels(source: int, sink: int, weak: bool) -> dict[str, Level]:
    """What the drive pins of a bare board do."""
    found: dict[str, Level] = {BARE_LINES[sink]: "low"} if sink else {}
    if source:
        found[BARE_LINES[source]] = "weak" if weak else "high"
    return found


@dataclass(frozen=True, slots=True)
class ScanErrors:
    """Relative errors of one bench's scan parts, and offsets in the unit named."""

    drive_end: float = 0.0
    sink_end: float = 0.0
    mux: float = 0.0
    mux_leak_a: float = 0.0
    pin: float = 0.0
    pull_up: float = 0.0
    bare: tuple[float, ...] = (0.0,) * 5
    pin_leak_a: float = 0.0


def drawn(seed: int | None) -> ScanErrors:
    """Resistors of 1 %; a pin's own 25 ohm within 30 %, its pull-up within 20 to 50 kohm; leakage either way."""
    if seed is None:
        return ScanErrors()
    w = Chance(seed ^ 0x5CA11).within
    return ScanErrors(
        drive_end=w(0.01), sink_end=w(0.01), mux=w(0.3), mux_leak_a=w(MUX_LEAK_A), pin=w(0.3), pull_up=w(0.4),
        bare=(w(0.01), w(0.01), w(0.01), w(0.01), w(0.01)), pin_leak_a=w(PIN_LEAK_A),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class FullVolts:
    """Volts at AIN0..3 of the scan's converter: drive end, sink end, the terminal looked at, 5 V."""

    drive: float
    sink: float
    look: float
    supply: float

    def at(self, mux: int) -> float:
        """Volts between the inputs of one multiplexer code (ADS1115, config bits 14..12)."""
        pins = (self.drive, self.sink, self.look, self.supply)
        pairs = {0: (0, 1), 1: (0, 3), 2: (1, 3), 3: (2, 3)}
        return pins[pairs[mux][0]] - pins[pairs[mux][1]] if mux in pairs else pins[mux - 4]


@lru_cache(maxsize=512)
def full(
    part: tuple[Element, ...],
    errors: ScanErrors,
    vcc_v: float,
    load_v: float,
    edge_ohm: tuple[float, float],
    a: int,
    b: int,
    dark: frozenset[str] = frozenset(),
) -> FullVolts:
    """The full build with U10's ports at `a` and `b`, the part's network between the terminals.

    `edge_ohm`: from 5 V through the edge pins' pull-ups and series resistors to 87 and to 87a; `dark`: lines
    that are open, as `87`, for one multiplexer as `drive.87`, or all of its lines as `drive`.

    Solved once for all conversions, and all looks, at what stays as it is: a cold part, or an empty socket.
    """
    elements = [*part, *_loads(edge_ohm), Resistor("5v", "drive", END_OHM * (1 + errors.drive_end))]
    elements.append(Resistor("sink", "gnd", END_OHM * (1 + errors.sink_end)))
    on = {}
    for end, code, off in (("drive", a & 7, a & DRIVE_OFF), ("sink", a >> 4 & 7, a & SINK_OFF)):
        if not off and not dark & {end, f"{end}.{LINES[code]}"}:
            on[code] = f"line {code}"
            elements.append(Resistor(end, on[code], MUX_OHM * (1 + errors.mux)))
    for code, line in on.items():
        if terminal := _terminal(code, b, dark):
            elements.append(Resistor(line, terminal, LINE_OHM + MORE_OHM.get(terminal, 0.0)))
    volts = solve(elements, {"5v": vcc_v, "gnd": 0.0, "30": 0.0, "load": load_v})
    looked = 0.0 if "look" in dark else volts.get(_terminal(b & 7, b, dark) or "", 0.0)
    looked += errors.mux_leak_a * LOOK_OHM
    return FullVolts(volts["drive"], volts["sink"], min(max(looked, -0.3), vcc_v + 0.5), vcc_v)


def ads_counts(volts: float, gain: int, front: Frontend, draw: float) -> int:
    """The scan's own ADS1115: gain and zero errors taken as those of its twin on the same board."""
    counts = (
        volts * (1 + front.ads_gain) / FULL_V[gain] * 32768
        + front.ads_zero_counts(gain, FULL_V[gain])
        + front.noise * draw
    )
    return min(max(round(counts), -32768), 32767)


def pin_v(volts: float, front: Frontend, draw: float) -> float:
    """At the Nano's converter: 0.4 counts of noise."""
    return min(max(volts + 0.4 * front.noise * draw * ADC_V / ADC_STEPS, 0.0), front.vcc_v)


def _terminal(code: int, b: int, dark: frozenset[str]) -> str | None:
    """What a line leads to; K3 and K4 part 85 and 86 from theirs."""
    if (code < 2 and not b & RELAYS) or LINES[code] in dark:
        return None
    return LINES[code]


def _loads(edge_ohm: tuple[float, float]) -> list[Element]:
    """What else of the full bench hangs on the terminals, everything off: circuit.yaml, named part by part."""
    return [
        Resistor("85", "gnd", 104.7e3),  # R22, R23
        Resistor("86", "gnd", 2200.0 * 19.16e3 / 21.36e3),  # R16; R11 and R12
        Diode("86", "gnd", BODY_V, 220.0),  # D10 and R13 into the op amp, which holds 0 V
        Resistor("87", "5v", edge_ohm[0]),
        Resistor("87a", "5v", edge_ohm[1]),
        Diode("87", "bus", BODY_V, BODY_OHM),  # body diodes of Q16, Q17, and those of Q12 to Q15 behind them
        Diode("87a", "bus", BODY_V, BODY_OHM),
        Diode("bus", "load_node", BODY_V, BODY_OHM),
        Resistor("load_node", "gnd", 12.7e3),  # R77, R78, when K1 is open
        Diode("load", "load_node", 0.0, 0.1),  # K1 closed: the load supply holds the node up
    ]


def bare(part: Sequence[Element], errors: ScanErrors, vcc_v: float, levels: Mapping[str, Level]) -> dict[str, float]:
    """Volts at the sense pin of every terminal of a bare board; terminals without a level hang free."""
    pin = PIN_OHM * (1 + errors.pin)
    elements: list[Element] = list(part)
    for (terminal, ohm), error in zip(BARE_OHM.items(), errors.bare, strict=True):
        elements.append(Resistor(terminal, "gnd", 1e12))
        if level := levels.get(terminal):
            of_pin = PULL_UP_OHM * (1 + errors.pull_up) if level == "weak" else pin
            elements.append(Resistor(terminal, "gnd" if level == "low" else "5v", ohm * (1 + error) + of_pin))
    volts = solve(elements, {"5v": vcc_v, "gnd": 0.0})
    return {terminal: volts[terminal] + errors.pin_leak_a * SENSE_OHM for terminal in BARE_OHM}
