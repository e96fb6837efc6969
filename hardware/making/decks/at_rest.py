"""Decks of the bench while nothing is asked of it: at rest, and in a reset of the Nano with a wire of ground off."""

import csv
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from making.circuit import Circuit
from making.copper.strips import BOARDS, legs, links
from making.decks.blocks import BRANCHES, COIL, PULSE, SWITCH
from making.decks.spice import deck, opened

PINS = ("branch_1a", "branch_5a", "branch_10a", "branch_20a", "throw_no", "throw_nc")
PULLS = ["R64", "R65", "R66", "R67", *(ref for ref in PULSE if ref not in BRANCHES)]
SCANNED = ["R31", "D30", "R44", "R33", "D31", "R45", "R40", "R41", "R42", "R43", "R77", "R78", "R82", "R83"]
SCANNED += ["D53", "D54"]
WIRE_OHM = 0.05
"""Of a wire between two boards (assumed)."""
TIMER_OHM, LEAK_A, RELEASED_S = 240e3, 1e-6, 0.1
"""From VCC to GND through a CMOS 555 (from memory, 200 to 300 kohm); leakage of a pin at its most (ATmega328P data
sheet), here out of every one of them; when the pins are let go."""


def rest(circuit: Circuit, fed: str = "", ohm: float = 1e9) -> str:
    """Every output low, an empty socket, K1 open, 5 V through `ohm` on `fed`: where the contacts' terminals stand."""
    extra = [
        "v5s v5 0 5",
        *(f"v_{pin} {pin} 0 0" for pin in PINS),
        "rstar load_minus 0 1u",
        "rs1 t87 t87_sense 0.05",
        "rs2 t87a t87a_sense 0.05",
        f"rfed v5 {fed or 't87'} {ohm}",
        ".tran 1m 200m 0 1m",
        *(f".meas tran {net} find v({net}) at=190m" for net in ("t87", "t87a", "edge_no", "edge_nc", "l3", "l4")),
    ]
    return deck(circuit, "the bench at rest", [*BRANCHES, *PULLS, *SCANNED], extra)


GATE_A = 100e-9
"""Leakage into a gate at its most (data sheets of power MOSFETs)."""


def coil_gate_off(circuit: Circuit, driven: bool) -> str:
    """The wire to the gate of Q3 comes off at 20 ms, driven high or low: what the coil still carries at 60 ms."""
    told, held = opened(circuit, "R19.2", 20e-3)
    extra = [
        *held,
        "vs coil_rail 0 18",
        "vd dac 0 2.25",
        f"vg coil_switch 0 {5 if driven else 0}",
        f"ileak 0 coil_gate {GATE_A}",
        "lc coil_plus lx 0.3",
        "rc lx coil_minus 75",
        ".tran 20u 60m 0 20u",
        ".meas tran before_a find i(lc) at=19.9m",
        ".meas tran after_a find i(lc) at=59m",
    ]
    return deck(told, "the gate of Q3 loses its wire", [*COIL, *SWITCH], extra)


def load_gate_off(circuit: Circuit, joint: str) -> str:
    """The wire to the gate of a load transistor comes off at 2 ms under 1 A: what still flows at 29 ms."""
    told, held = opened(circuit, joint, 2e-3)
    high = ("branch_1a", "gate_no")
    extra = [
        *held,
        "vbat load load_x 12",
        "rneg load_x load_minus 0.01",
        *(f"v_{pin} {pin} 0 {5 if pin in high else 0}" for pin in (*PINS[:4], "gate_no", "gate_nc")),
        f"ileak 0 {'g_no' if joint == 'R71.1' else 'g1'} {GATE_A}",
        "rcontact t87 t30 0.005",
        "rnc t87a 0 100k",
        ".tran 20u 30m 0 20u",
        ".meas tran before_a find par('(v(t30)-v(load_minus))/0.005') at=1.9m",
        ".meas tran after_a find par('(v(t30)-v(load_minus))/0.005') at=29m",
    ]
    return deck(told, "the gate of a load transistor loses its wire", BRANCHES, extra)


def ground_wires(circuit: Circuit) -> list[tuple[str, str]]:
    """Each wire of ground between two boards."""
    row = next(row for row in csv.DictReader(links(circuit).splitlines()) if row["net"] == "gnd")
    ends = [end[0] for end in row["strips"].split(" - ")]
    return list(pairwise(ends))


def released(circuit: Circuit, off: Iterable[tuple[str, str]] = ()) -> str:
    """The Nano's pins are let go, as in a reset and its boot loader, with a battery, a closed contact 30-87a and some
    wires of ground off: the most that flows, and the gate of the 20 A branch."""
    off = set(off)
    own = {leg.ref for leg in legs(circuit) if leg.board == "D" and leg.net == "gnd"}
    parts = {
        ref: replace(
            part, pins={pin: "gnd_d" if net == "gnd" and ref in own else net for pin, net in part.pins.items()}
        )
        for ref, part in circuit.parts.items()
    }
    wires = [pair for pair in ground_wires(circuit) if pair not in off]
    lines = [f"rw{n} gnd_{a.lower()} gnd_{b.lower()} {WIRE_OHM}" for n, (a, b) in enumerate(wires)]
    extra = [
        *lines,
        *(f"rfloat_{board.lower()} gnd_{board.lower()} 0 1g" for board in BOARDS if board not in ("B", "D")),
        "rb gnd_b 0 1u",
        f"rtimer v5 gnd_d {TIMER_OHM}",
        "v5s v5 0 5",
        "vbat load load_x 12.6",
        "rneg load_x load_minus 0.02",
        "rcontact t87a t30 0.005",
        "rno t87 0 1meg",
        *(f"s_{pin} {pin} 0 ctl 0 m_pin" for pin in PINS),
        *(f"i_{pin} 0 {pin} {LEAK_A}" for pin in PINS),
        ".model m_pin sw(vt=0.5 vh=0 ron=25 roff=1g)",
        f"vctl ctl 0 pwl(0 1 {RELEASED_S} 1 {RELEASED_S + 1e-4} 0)",
        ".tran 1m 1.1 0 1m",
        ".meas tran load_a max par('(v(t30)-v(load_minus))/0.005') from=0.05 to=1.1",
        ".meas tran gate_v max v(g20) from=0.05 to=1.1",
    ]
    refs = (*BRANCHES, *PULLS, "C42", "C43")
    return deck(replace(circuit, parts=parts), "pins let go", refs, extra)
