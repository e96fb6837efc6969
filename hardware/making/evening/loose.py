"""Every wire of the evening build taken off by itself, in every state of a self-test: what flows, what reads wrong.

Rule: a wire is shown by the first reading of the first state that moves by more than its tolerance, or it is in LATENT
with its reason. Simulated; `python hardware/build.py --simulated` writes the table, and a test repeats it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from making.circuit import Circuit
from making.copper.onboard import Board, Wire, without
from making.copper.onboard_lists import net_of, place
from making.decks.spice import run
from making.evening import states
from making.evening.pulse import pulse_limit
from making.lists import markdown_table

MOVES = {"shunt": 1e-3, "coil_shunt": 2e-4, "drop_no": 0.02, "drop_nc": 0.02, "coil_low_side": 0.02, "bus": 0.5}
"""Volts by which a reading must move to be seen; others 50 mV."""
OVER_V = 1.0
"""From where on a drop is only over range."""
OFF_A = {"coil_a": 1e-3, "load_a": 6e-3}
"""Most amps that may flow while nothing is asked for: less than a few mA of a dry source."""
OFF = tuple(states.at(name, socket=socket) for name in ("rest", "reset") for socket in ("relay", "link", "link_nc"))
STOPPED = tuple(state for state in states.STATES if state.stop)
SEEN = ("stop", "edge_no", "edge_nc", "temperature", "load_supply", "coil_low_side", "coil_current", "drop_no")
SEEN += ("drop_nc", "shunt", "bus", "coil_shunt")
PINS, CONTACT = ("stop", "edge_no", "edge_nc"), ("edge_no", "edge_nc", "drop_no", "drop_nc")
LOW_SHARE, HIGH_SHARE = 0.3, 0.6
"""VIL and VIH of the Nano's pins over its supply (ATmega328P data sheet)."""
MODULES = {"U5": "INA226", "U7": "ADS1115"}
BUS_PINS = ("VCC", "VDD", "GND", "SDA", "SCL", "ADDR")
LATENT = {
    "gnd": "no reading: a second way of ground beside the Nano's own",
    "spare_b": "no reading: the spare half of U6, whose output then floats",
    "load_minus": "no reading: R79, R96; once a gate's wire is off too, that gate may stay up, and K1 ends the load",
}
"""By net, what a wire is for whose loss no reading shows."""


@dataclass(frozen=True)
class Loose:
    """A wire off: most amps of coil and contact at rest and in a reset, and with the stop pressed; what shows it."""

    wire: Wire
    net: str
    off_a: float
    stopped_a: float
    shown: str


def _amps(seen: dict[str, float]) -> float:
    return max(abs(seen["coil_a"]), abs(seen["load_a"]))


def _bus(before: Circuit, after: Circuit) -> Iterator[str]:
    for ref, name in MODULES.items():
        moved = [pin for pin in before[ref].pins if before[ref].net(pin) != after[ref].net(pin)]
        if any(pin in BUS_PINS for pin in moved):
            yield f"start: the {name} does not answer" + (
                " at 0x4B (at 0x48 the board greets as full, and loads nothing)" if "ADDR" in moved else ""
            )


def _level(volts: float, vcc: float) -> str:
    """What a digital pin reads; between VIL and VIH nobody knows."""
    return "low" if volts < LOW_SHARE * vcc else "high" if volts > HIGH_SHARE * vcc else "either"


def _told(name: str, seen: dict[str, float]) -> str:
    if name in PINS:
        return _level(seen[name], seen["v5_v"])
    return "over range" if name.startswith("drop") and seen[name] > OVER_V else f"{seen[name]:.2f} V"


def _seen(name: str, seen: dict[str, float]) -> float:
    return min(seen[name], OVER_V) if name.startswith("drop") else seen[name]


def _readings(state: states.State, before: dict[str, float], after: dict[str, float]) -> str:
    """Readings that move; while no dry source and no load holds a throw, those of the contacts mean nothing."""
    held = "dry_no" in state.high or "lamp" in state.high
    fed = "lamp" in state.high or "clamp_diode" in state.high
    names = [name for name in SEEN if (held or name not in CONTACT) and (fed or name != "bus")]
    moved = [
        name
        for name in names
        if (
            _told(name, before) != _told(name, after)
            if name in PINS
            else abs(_seen(name, after) - _seen(name, before)) > MOVES.get(name, 0.05)
        )
    ]
    return "; ".join(f"{name} {_told(name, before)}, now {_told(name, after)}" for name in moved[:2])


def loose(circuit: Circuit, board: Board, wire: Wire, sound: dict[states.State, dict[str, float]]) -> Loose:
    """One wire off, tried in every state; `sound`: what each state reads when all is right."""
    after = without(circuit, board, wire.number)
    off = max(_amps(states.seen(after, state)) for state in OFF)
    stopped = max(_amps(states.seen(after, state)) for state in STOPPED)
    shown = next(_bus(circuit, after), "")
    for state in states.STATES if not shown else ():
        if moved := _readings(state, sound[state], states.seen(after, state)):
            shown = f"{state.name}: {moved}"
            break
    if not shown:
        on_s = run(pulse_limit(after))["on_s"] if "U8" in _touched(circuit, after) else 0.0
        shown = "a throw held high by hand: not cut" if on_s > 1.0 else ""
    return Loose(wire, net_of(circuit, board, wire), off, stopped, shown)


def _touched(before: Circuit, after: Circuit) -> set[str]:
    return {ref for ref, part in before.parts.items() if part.pins != after[ref].pins}


def found(circuit: Circuit, board: Board) -> list[Loose]:
    """Every wire."""
    sound = {state: states.seen(circuit, state) for state in states.STATES}
    return [loose(circuit, board, wire, sound) for wire in board.wires]


HEAD = ("wire", "net", "from", "to", "coil or contact while off", "shown by")


def text(circuit: Circuit, board: Board) -> str:
    """loose_wires.md."""
    return written(circuit, board, found(circuit, board))


def written(circuit: Circuit, board: Board, tried: list[Loose]) -> str:
    """loose_wires.md of what was tried."""
    rows = [
        (
            str(one.wire.number),
            one.net,
            *(place(circuit, end) for end in one.wire.ends),
            f"{1000 * one.off_a:.1f} mA",
            one.shown or LATENT[one.net],
        )
        for one in tried
    ]
    silent = sum(not one.shown for one in tried)
    return "\n".join(
        [
            "# Every wire off by itself",
            "<!-- Made by hardware/build.py --simulated from circuit.yaml and board.yaml; do not edit. -->",
            "",
            f"Simulated (ngspice): {len(states.STATES) + len(OFF)} states, 12.6 V, 5 V by USB. *While off* is the most",
            "that flows in coil or contact of a part at rest and in a reset, with a relay and with a link in place.",
            f"With the stop pressed no more than {1000 * max(one.stopped_a for one in tried):.1f} mA flows, though the",
            "Nano goes on. *Shown by* is the first state of a self-test in which a reading changes, with the reading:",
            f"{len(tried) - silent} of {len(tried)} wires.",
            "",
            markdown_table(HEAD, rows),
        ]
    )
