"""Decks of the input pins: what each pin of the Nano and of the converters sees through its resistors, at a corner.

The chip's side is stated here: leakage either way, the pull-up when the firmware has it on, the sampling capacitor.
"""

from making.circuit import Circuit
from making.decks.blocks import BRANCHES
from making.decks.spice import INA_BUS_OHM, deck, run
from making.limits.worst import ohm

SAMPLER_F, SAMPLER_OHM, SAMPLE_S = 14e-12, 10e3, 3e-6
"""Of the ATmega328P's converter: its capacitor behind 1 to 100 kohm, and 1.5 clocks at 500 kHz (data sheet)."""
STRAY_F = 50e-12
"""Of a pin with its strip and wire (assumed)."""
ADS_COMMON_OHM = 10e6
"""Of an ADS1115's input to ground at +-6.144 V (data sheet, typical)."""
BUS_F = 6e-9
"""Of the load bus to ground while all load transistors are off: drain to source of one throw's, drain to gate of both,
at a few volts (from memory of their sheets, 3 to 12 nF)."""
EDGES = {"edge_no": ("t87", ["R40", "R41"]), "edge_nc": ("t87a", ["R42", "R43"])}
ANALOG = {
    "temperature": ["R8", "TH1", "C6"],
    "coil_current": ["R21", "C13"],
    "load_supply": ["R77", "R78", "C41"],
    "coil_low_side": ["R22", "R23"],
}
LOOKS = {"p1": ("x85", "R101"), "p2": ("x86", "R102"), "p3": ("t87", "R103"), "p4": ("t87a", "R104")}


def _pin(pin: str, leak_a: float, pull_up_ohm: float | None) -> list[str]:
    pulled = [f"rup v5 {pin} {pull_up_ohm}"] if pull_up_ohm else []
    return [f"ileak 0 {pin} {leak_a}", *pulled]


def edge(circuit: Circuit, pin: str, vcc: float, leak_a: float, pull_up_ohm: float | None = None) -> dict[str, float]:
    """A contact that closes at 0.2 ms and opens at 0.4 ms: levels at the pin, and how late it passes VIL and VIH."""
    terminal, refs = EDGES[pin]
    extra = [
        f"v5s v5 0 {vcc}",
        f"rdry v5 {terminal} 1025",
        "vc ctl 0 pwl(0 0 200u 0 200.1u 1 400u 1 400.1u 0)",
        f"scontact {terminal} 0 ctl 0 m_contact",
        ".model m_contact sw(vt=0.5 vh=0 ron=0.05 roff=1g)",
        f"cstray {pin} 0 {STRAY_F}",
        *_pin(pin, leak_a, pull_up_ohm),
        ".tran 0.1u 600u 0 0.1u",
        f".meas tran open_v find v({pin}) at=190u",
        f".meas tran closed_v find v({pin}) at=390u",
        f".meas tran terminal_v find v({terminal}) at=390u",
    ]
    return run(deck(circuit, f"{pin}, levels", refs, extra))


def edge_late(
    circuit: Circuit,
    pin: str,
    vcc: float,
    level_v: float,
    opens: bool,
    load: bool,
    stray: float = 1.0,
    bus: float = 1.0,
    sign: int = 0,
    leak_a: float = 0.0,
) -> float:
    """Seconds from the contact's edge until the pin passes `level_v`; with the load's switches off, and its supply or
    none. `stray`, `bus`: over STRAY_F and BUS_F; `sign`: end of the resistors' tolerance at which it is later, 1."""
    terminal, refs = EDGES[pin]
    ends = "0 0 200u 0 200.1u 1" if not opens else "0 1 200u 1 200.1u 0"
    extra = [
        f"v5s v5 0 {vcc}",
        f"rdry v5 {terminal} {1025 * (1 + 0.01 * sign)}",
        f"vc ctl 0 pwl({ends})",
        f"scontact {terminal} 0 ctl 0 m_contact",
        ".model m_contact sw(vt=0.5 vh=0 ron=0.05 roff=1g)",
        f"cstray {pin} 0 {stray * STRAY_F}",
        *_pin(pin, leak_a, None),
        *(f"v_{low} {low} 0 0" for low in ("branch_1a", "branch_5a", "branch_10a", "branch_20a", "gate_no", "gate_nc")),
        *(["vload load 0 12"] if load else []),
        "rstar load_minus 0 1u",
        f"rother {'t87a' if terminal == 't87' else 't87'} 0 1g",
        f"c_bus load_bus 0 {bus * BUS_F}",
        ".tran 0.05u 300u 0 0.05u",
        f".meas tran passed_s when v({pin})={level_v} {'rise' if opens else 'fall'}=1",
    ]
    refs = [*refs, "R77", "R78", "C41", *(ref for ref in BRANCHES if ref != "R30")]
    series, pull = EDGES[pin][1]
    values = {series: ohm(circuit, series, sign), pull: ohm(circuit, pull, -sign)}
    return run(deck(circuit, f"{pin}, edge", refs, extra, values))["passed_s"] - 200.05e-6


def stop(circuit: Circuit, vcc: float, leak_a: float, pull_up_ohm: float | None, level_v: float) -> dict[str, float]:
    """The stop opens at 5 ms: level before, level after, and when the pin passes `level_v`."""
    extra = [
        f"v5s v5 0 {vcc}",
        "vc ctl 0 pwl(0 1 5m 1 5.001m 0)",
        "sstop stop_n 0 ctl 0 m_contact",
        ".model m_contact sw(vt=0.5 vh=0 ron=0.05 roff=1g)",
        *_pin("stop", leak_a, pull_up_ohm),
        ".tran 2u 20m 0 2u",
        ".meas tran closed_v find v(stop) at=4.9m",
        ".meas tran open_v find v(stop) at=19m",
        f".meas tran passed_s when v(stop)={level_v} rise=1",
    ]
    return run(deck(circuit, "stop", ["R6", "R7", "C5"], extra))


def analog(circuit: Circuit, pin: str, source: tuple[str, float], leak_a: float) -> dict[str, float]:
    """A converter pin as sampled: `source` is a net and its volts; the sampler starts empty."""
    net, volts = source
    extra = [
        "v5s v5 0 5",
        *([f"vsource {net} 0 {volts}"] if net != "v5" else []),
        f"ileak 0 {pin} {leak_a}",
        "vc ctl 0 pwl(0 0 20m 0 20.0001m 1)",
        f"ssample {pin} hold0 ctl 0 m_gate",
        ".model m_gate sw(vt=0.5 vh=0 ron=1 roff=1t)",
        f"rsample hold0 hold {SAMPLER_OHM}",
        f"csample hold 0 {SAMPLER_F}",
        ".tran 0.5u 20.01m 0 0.5u",
        f".meas tran pin_v find v({pin}) at=19.9m",
        f".meas tran sampled_v find v(hold) at={20.0001e-3 + SAMPLE_S}",
    ]
    return run(deck(circuit, f"{pin}, converter", ANALOG[pin], extra))


def look(circuit: Circuit, pin: str, volts: float, leak_a: float, mux_ohm: float = 80.0) -> float:
    """Volts at the scan converter's third input while a terminal stands at `volts`."""
    terminal, resistor = LOOKS[pin]
    extra = [
        f"vsource {terminal} 0 {volts}",
        f"rmux {pin} scan_look {mux_ohm}",
        f"ileak 0 {pin} {leak_a}",
        f"rads scan_look 0 {ADS_COMMON_OHM}",
        ".tran 1u 10u",
        ".meas tran seen_v find v(scan_look) at=9u",
    ]
    return run(deck(circuit, f"{pin}, look", [resistor], extra))["seen_v"]


def sense(
    circuit: Circuit, drop_v: float, ads_ohm: float, intact: bool, open_30: bool = False, throw: str = "87"
) -> float:
    """Volts between the converter's inputs for a throw and 30: drop at the blades, sense wires whole or one open."""
    ain = {"87": "ain_no", "87a": "ain_nc"}[throw]
    extra = [
        "v5s v5 0 5",
        f"vdrop blade 0 {drop_v}",
        f"rwire blade t{throw}_sense {0.05 if intact or open_30 else 1e12}",
        f"rwire30 0 t30_sense {1e12 if open_30 else 0.05}",
        f"rads {ain} ain_30 {ads_ohm}",
        ".tran 1u 10u",
        f".meas tran seen_v find par('v({ain})-v(ain_30)') at=9u",
    ]
    own = {"87": ["R31", "D30", "R44", "R32"], "87a": ["R33", "D31", "R45", "R34"]}[throw]
    refs = [*own, "R35", "D32", "R46", "R36"]
    return run(deck(circuit, "sense wires", refs, extra))["seen_v"]


def button(circuit: Circuit, pressed: bool, leak_a: float) -> float:
    """Volts at the button's pin of the port expander."""
    extra = [
        "v5s v5 0 5",
        f"rs2 button 0 {0.1 if pressed else 1e9}",
        f"ileak 0 button {leak_a}",
        ".tran 1u 10u",
        ".meas tran pin_v find v(button) at=9u",
    ]
    return run(deck(circuit, "button", ["R93"], extra))["pin_v"]


def shunt(circuit: Circuit, amps: float, ads_ohm: float) -> float:
    """Volts that the contact converter sees of the load shunt, terminal 30 fed with `amps`."""
    extra = [
        f"iload 0 t30 {amps}",
        "rstar load_minus 0 1u",
        f"rads ain_shunt 0 {ads_ohm}",
        ".tran 1u 10u",
        ".meas tran seen_v find v(ain_shunt) at=9u",
    ]
    return run(deck(circuit, "shunt input", ["R30", "R37"], extra))["seen_v"]


def scan_ends(circuit: Circuit, part_ohm: float, leak_a: float, mux_ohm: float = 80.0) -> dict[str, float]:
    """A part between 87 and 87a under the scan: volts at both ends, as A0 and A1 of its converter have them."""
    extra = [
        "v5s v5 0 5",
        f"rdrive scan_drive l3 {mux_ohm}",
        f"rsink l4 scan_sink {mux_ohm}",
        f"rpart t87 t87a {part_ohm}",
        *(f"rads{end} {end} 0 {ADS_COMMON_OHM}" for end in ("scan_drive", "scan_sink")),
        *(f"ileak{end} 0 {end} {leak_a}" for end in ("scan_drive", "scan_sink")),
        ".tran 1u 10u",
        ".meas tran drive_v find v(scan_drive) at=9u",
        ".meas tran sink_v find v(scan_sink) at=9u",
    ]
    return run(deck(circuit, "ends of the scan", ["R88", "R89", "R82", "R83", "D53", "D54"], extra))


def coil_meter(circuit: Circuit, coil_v: float, amps: float, bias_a: float, apart_a: float) -> dict[str, float]:
    """What U5 sees of the coil's current and volts, its inputs drawing `bias_a` and differing by `apart_a`."""
    extra = [
        f"vcoil coil_reg 0 {coil_v}",
        f"iload coil_plus 0 {amps}",
        f"iplus ina_plus 0 {bias_a + apart_a / 2}",
        f"iminus ina_minus 0 {bias_a - apart_a / 2}",
        f"rbus ina_bus 0 {INA_BUS_OHM}",
        ".tran 1u 10u",
        ".meas tran shunt_v find par('v(ina_plus)-v(ina_minus)') at=9u",
        ".meas tran bus_v find v(ina_bus) at=9u",
    ]
    return run(deck(circuit, "coil meter", ["R17", "R25", "R26", "R27"], extra))
