"""Decks of the evening build that follow time: pulse limit, switch-off, stop under current, short circuits."""

from making.circuit import Circuit
from making.decks.spice import deck, node

PULSE = ["R70", "R72", "R68", "R69", "D42", "D43", "D45", "D46", "R75", "R76", "D47", "C40", "U8", "R71", "R73"]
PULSE += ["R79", "R96"]
COIL = ["F1", "R136", "D1", "R27", "D11", "D66", "R131", "U5", "S4", "P1", "R13", "C12", "Q1", "R16"]
SWITCH = ["R19", "R20", "Q3", "R18", "D12", "R22", "R23"]


def pulse_limit(
    circuit: Circuit,
    throw: str = "no",
    vcc: float = 5.0,
    values: dict[str, float] | None = None,
    pin_ohm: float = 30.0,
) -> str:
    """A throw's pin goes high at 0.1 s for 2.4 s: how long its gate is up, and how far down it is cut."""
    high = f"pwl(0 0 0.1 0 0.1001 {vcc} 2.5 {vcc} 2.5001 0)"
    other = {"no": "nc", "nc": "no"}[throw]
    gate = node(circuit[{"no": "R70", "nc": "R72"}[throw]].net("2"))
    extra = [
        f"v5s v5 0 {vcc}",
        f"vhigh pin 0 {high}",
        f"rhigh pin throw_{throw} {pin_ohm}",
        f"rlow throw_{other} 0 30",
        "rhome load_minus 0 1m",
        *(f"roff_{n} {net} 0 100g" for n, net in enumerate(sorted(circuit.nets())) if net.endswith("_off")),
        ".tran 1m 2.6 0 1m",
        f".meas tran on_v find v({gate}) at=0.3",
        f".meas tran off_v find v({gate}) at=2.4",
        f".meas tran on_s integ par('v({gate}) > 1 ? 1 : 0') from=0.1 to=2.5",
    ]
    return deck(circuit, "evening build: pulse limit", PULSE, extra, values)


def _coil(circuit: Circuit, ohm: float, henry: float, supply: str, gate: str, more: list[str]) -> str:
    extra = [
        supply,
        gate,
        "rhome load_minus 0 1m",
        "rlook clamp_diode 0 30",
        f"lc coil_plus lx {henry} ic={12 / ohm:.4g}",
        f"rc lx coil_minus {ohm}",
        *(f"roff_{n} {net} 0 100g" for n, net in enumerate(sorted(circuit.nets())) if net.endswith("_off")),
        ".tran 5u 60m 0 5u",
        ".meas tran before_a find i(lc) at=19.9m",
        ".meas tran after_a find i(lc) at=59m",
        ".meas tran ina_least_v min v(coil_reg)",
        ".meas tran ina_most_v max v(coil_reg)",
        *more,
    ]
    return deck(circuit, "evening build: coil", [*COIL, *SWITCH], extra)


def flyback(circuit: Circuit, ohm: float, henry: float) -> str:
    """A coil is switched off at 20 ms: the peak at Q3, at A7, and what the current meter bears."""
    more = [".meas tran peak_v max v(coil_minus)", ".meas tran sense_v max v(coil_low_side)"]
    gate = "vg coil_switch 0 pwl(0 5 20m 5 20.001m 0)"
    return _coil(circuit, ohm, henry, "vs load 0 14.8", gate, more)


def stopped(circuit: Circuit, ohm: float, henry: float) -> str:
    """The stop opens K1 at 20 ms while a coil is on and Q3 stays on."""
    supply = "vs bat 0 12.6\nsk1 bat load ctl 0 m_k1\nvctl ctl 0 pwl(0 1 20m 1 20.01m 0)\n"
    return _coil(circuit, ohm, henry, supply + ".model m_k1 sw(vt=0.5 vh=0 ron=5m roff=1g)", "vg coil_switch 0 5", [])
