"""ngspice decks from the circuit data: parts become elements, a deck adds sources, loads and measurements.

Rule: no value of a part is written here, only how a kind of part behaves. Models are simple ones fitted to the figures
in catalogue.yaml; they show levels and times, not the fine print of a maker's transistor.
"""

import math
import re
import subprocess
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from making.circuit import Circuit, CircuitError, Part

MODELS = """
.model m_signal d(is=2.5n n=1.75 rs=0.6 bv=100 cjo=4p tt=6n)
.model m_rectifier d(is=7n n=1.8 rs=0.04 bv=1000 cjo=20p tt=4u)
.model m_schottky d(is=20u n=1.05 rs=0.03 bv=60 cjo=200p)
.model m_schottky_small d(is=0.2u n=1.05 rs=6 bv=100 cjo=10p)
.model m_lowleak d(is=2f n=1.05 rs=2 bv=75 cjo=2p)
.model m_led d(is=1e-18 n=2 rs=5)
.model m_body d(is=1n n=1.2 rs=5m cjo=100p)
.model m_ideal d(is=1n n=0.05)
.model m_pnp pnp(is=3e-14 bf=200 vaf=80 cje=30p cjc=15p tf=1n)
.model m_npn npn(is=1.8e-14 bf=300 vaf=80 cje=9p cjc=4p tf=0.5n)
.model m_driver npn(is=2e-13 bf=60 vaf=100 cje=200p cjc=60p tf=30n)
.model m_power npn(is=2e-12 bf=40 vaf=100 cje=600p cjc=150p tf=150n)
.subckt darlington c b e
q1 c b m m_driver
q2 c m e m_power
r1 b m 8k
r2 m e 120
.ends
* a thyristor as its two transistors; `gk` sets the gate current that fires it
.subckt latch a k g gk=350
q1 g m a m_latch_p
q2 m g k m_latch_n
r1 g k {gk}
.ends
.model m_latch_p pnp(is=1e-12 bf=5 cje=300p cjc=100p tf=500n)
.model m_latch_n npn(is=1e-12 bf=20 cje=300p cjc=100p tf=100n)
* one pole at 1.8 MHz, output from 0.1 V to 1.3 V below the supply, 30 mA
.subckt amplifier p n out vp vn
g1 0 x p n 1m
r1 x 0 100meg
c1 x 0 88p
e1 hi 0 vol='v(vp)-1.3'
e2 lo 0 vol='v(vn)+0.1'
d1 x hi m_ideal
d2 lo x m_ideal
b1 out 0 i=-0.03*tanh((v(x)-v(out))/(0.03*30))
c2 out 0 10p
.ends
* one pole at 200 kHz, output to 10 mV of its rails, 10 mA
.subckt amplifier_low p n out vp vn
g1 0 x p n 1m
r1 x 0 100meg
c1 x 0 800p
e1 hi 0 vol='v(vp)-0.01'
e2 lo 0 vol='v(vn)+0.01'
d1 x hi m_ideal
d2 lo x m_ideal
b1 out 0 i=-0.01*tanh((v(x)-v(out))/(0.01*100))
.ends
"""


INA_BUS_OHM = 830e3
"""Of the INA226's VBUS input to ground (data sheet, typical)."""
THERMAL_V = 0.02585
KNEE_V = 0.003
"""Over which a shunt reference goes from almost nothing to its full slope (assumed)."""


def node(net: str) -> str:
    """Name of a net in a deck."""
    return "0" if net == "gnd" else net


def _fet(part: Part, g: str, d: str, s: str) -> list[str]:
    kind = part.type
    vth, ron = kind.bounds("vth")[1], kind.number("ron")
    kp = 1 / (ron * (4.9 - vth))
    ciss = float(kind.figures.get("ciss", 60e-12))
    name = part.ref.lower()
    return [
        f"m{name} {d} {g} {s} {s} m_{name} l=1u w=1u",
        f".model m_{name} nmos(level=1 vto={vth} kp={kp:.5g})",
        f"c{name} {g} {s} {ciss:.4g}",
        f"d{name} {s} {d} m_body",
    ]


def _breakdown(part: Part, a: str, k: str) -> list[str]:
    """Zener or suppressor: forward diode, leakage, and breakdown with its knee and slope."""
    kind, name = part.type, part.ref.lower()
    volts = kind.bounds("vz")[1]
    if "vc" in kind.figures:  # volts hold at 1 mA, and the slope goes to the pulse rating
        slope, knee, at = (kind.number("vc") - volts) / kind.number("a"), 1.0, 1e-3
        leak = [f"r{name}_leak {k} {a} {kind.number('v') / kind.number('leak_a'):.4g}"]
    else:  # below the test current the slope grows as the current falls: zzk at izk
        at, leak = kind.number("izt"), []
        knee = kind.number("zzk") * kind.number("izk") / THERMAL_V
        slope = max(kind.number("zz") - knee * THERMAL_V / at, 0.5)
        volts -= slope * at
    figures = f"is=1p n=1.1 rs={slope:.3g} bv={volts:.5g} ibv={at:g} nbv={knee:.3g} cjo=100p"
    return [f"d{name} {a} {k} m_{name}", f".model m_{name} d({figures})", *leak]


def _regulator(part: Part, pin: Mapping[str, str], volts: float) -> list[str]:
    """Three-legged regulator: holds `volts` from adj to out, within its drop and its limit, which falls above 15 V."""
    kind, name = part.type, part.ref.lower()
    i, out, adj = pin["in"], pin["out"], pin["adj"]
    limit, far = kind.number("limit_a"), kind.number("limit_40v_a")
    limited = f"{limit}-{(limit - far) / 25:.5g}*max(v({i})-v({out})-15, 0)"
    room = f"max(v({i})-v({out})-{kind.number('drop_v')}, 0)/0.3"
    bias = f"{kind.bounds('adj_a')[1]}*min(max(v({i})-v({adj})-{kind.number('drop_v')}, 0)/0.1, 1)"
    return [
        f"r{name}_x {out} {name}_x 1k",
        f"c{name}_x {name}_x 0 1n",
        f"b{name} {i} {out} i=min(max(5*(v({adj})+{volts:.5g}-v({name}_x)), 0), min({limited}, {room}))",
        f"b{name}_adj {i} {adj} i={bias}",
        f"r{name}_adj {adj} 0 1g",
        f"c{name}_adj {adj} 0 20p",
    ]


def _timer(part: Part, pin: Mapping[str, str], share: float) -> list[str]:
    """Discharge of a 555 as it is used here: on from `share` of its supply at THR and TRIG, off below half of that."""
    name, gnd = part.ref.lower(), pin["GND"]
    supply = f"v({pin['VCC']})-v({gnd})"
    seen = f"{supply} > 2 ? (v({pin['THR']})-v({gnd}))/max({supply}, 0.1) : 0"
    return [
        f"b{name} {name}_x 0 v={seen}",
        f"s{name} {pin['DIS']} {gnd} {name}_x 0 m_{name}",
        f".model m_{name} sw(vt={0.75 * share:.5g} vh={0.25 * share:.5g} ron=30 roff=1g)",
    ]


def _reference(part: Part, pin: Mapping[str, str], volts: float) -> list[str]:
    """Shunt reference: a little current at any volts, and from its reference volts on all that its slope asks for."""
    kind, name = part.type, part.ref.lower()
    over = f"min((v({pin['R']})-v({pin['A']})-{volts:.5g})/{KNEE_V}, 400)"
    sunk = f"{KNEE_V / kind.number('zka'):.5g}*(({over}) > 30 ? ({over}) : ln(1+exp(min({over}, 30))))"
    off = f"{kind.number('off_a'):.4g}*min(max(v({pin['K']})-v({pin['A']}), 0)/2.5, 1)"
    return [f"b{name} {pin['K']} {pin['A']} i={off}+{sunk}"]


DIODES = {
    "d_signal": "m_signal",
    "d_rectifier": "m_rectifier",
    "d_schottky": "m_schottky",
    "d_schottky_small": "m_schottky_small",
    "led": "m_led",
}


def element(circuit: Circuit, ref: str, values: Mapping[str, float], closed: Iterable[str]) -> list[str]:
    """The lines of one part. `values` replaces ohms, farads or a reference's volts; `closed` names closed relays."""
    part, kind = circuit[ref], circuit[ref].type
    n = [node(net) for net in part.pins.values()]
    pin = {p: node(net) for p, net in part.pins.items()}
    name = ref.lower()
    if kind.kind in ("resistor", "ntc", "fuse"):
        return [f"r{name} {n[0]} {n[1]} {values.get(ref, kind.number('ohm')):.8g}"]
    if kind.kind == "capacitor":
        return [f"c{name} {n[0]} {n[1]} {values.get(ref, kind.number('farad')):.8g}"]
    if kind.kind == "shunt":
        ohms = values.get(ref, kind.number("ohm"))
        taps = [f"r{name}p {pin['I+']} {pin['V+']} 1u", f"r{name}m {pin['I-']} {pin['V-']} 1u"]
        return [f"r{name} {pin['I+']} {pin['I-']} {ohms:.8g}", *taps]
    if kind.name in DIODES:
        return [f"d{name} {pin['a']} {pin['k']} {DIODES[kind.name]}"]
    if kind.kind == "diode_pair":
        return [f"d{name}a {pin['a']} {pin['m']} m_lowleak", f"d{name}k {pin['m']} {pin['k']} m_lowleak"]
    if kind.kind in ("zener", "tvs"):
        return _breakdown(part, pin["a"], pin["k"])
    if kind.kind == "tvs_both":
        middle = f"{name}_m"
        back = _breakdown(part, n[1], middle)
        return [*back, f"d{name}b {n[0]} {middle} m_{name}"]
    if kind.name in ("q_darlington", "q_darlington_clip"):
        return [f"x{name} {pin['c']} {pin['b']} {pin['e']} darlington"]
    if kind.kind == "npn":
        return [f"q{name} {pin['c']} {pin['b']} {pin['e']} m_npn"]
    if kind.kind == "pnp":
        return [f"q{name} {pin['c']} {pin['b']} {pin['e']} m_pnp"]
    if kind.kind == "thyristor":
        fires = kind.bounds("vgt")[1] / values.get(ref, kind.bounds("igt")[1])
        return [f"x{name} {pin['a']} {pin['k']} {pin['g']} latch gk={fires:.5g}"]
    if kind.kind == "nmos":
        return _fet(part, pin["g"], pin["d"], pin["s"])
    if kind.kind == "relay":
        return _relay(part, pin, ref in set(closed))
    if kind.kind == "potentiometer":
        share = values.get(ref, 0.5)
        ohms = kind.number("ohm")
        return [
            f"r{name}a {n[0]} {n[1]} {max(ohms * share, 1):.6g}",
            f"r{name}b {n[1]} {n[2]} {max(ohms * (1 - share), 1):.6g}",
        ]
    if kind.name == "slide_switch":  # 1: from the first pin, 0: from the third
        return [f"r{name} {n[0] if values.get(ref, 1.0) else n[2]} {n[1]} 0.02"]
    if kind.name == "ina226_own":
        bus = f"r{name}b {pin['VBUS']} {pin['GND']} {INA_BUS_OHM}"
        return [f"r{name} {pin['IN+']} {pin['IN-']} {values.get(ref, kind.number('ohm')):.6g}", bus]
    if kind.name == "opamp_low":
        return [f"x{name} {pin['+']} {pin['-']} {pin['out']} {pin['v+']} {pin['v-']} amplifier_low"]
    if kind.name == "opamp":
        return [f"x{name} {pin['+']} {pin['-']} {pin['out']} {pin['v+']} {pin['v-']} amplifier"]
    if kind.name == "shunt_reference":
        return _reference(part, pin, values.get(ref, kind.bounds("vref")[1]))
    if kind.name == "lm317":
        return [*_regulator(part, pin, values.get(ref, kind.bounds("vref")[1]))]
    if kind.name == "timer":
        return _timer(part, pin, values.get(ref, kind.bounds("vth")[1]))
    if kind.name in ("stop_switch", "stop_two_poles", "thermostat"):
        return [f"r{name}{k} {a} {b} 0.01" for k, (a, b) in enumerate(zip(n[::2], n[1::2], strict=True))]
    raise CircuitError(f"spice.py: no element for {ref} ({kind.kind}); leave it out of the deck or add its kind")


def _relay(part: Part, pin: Mapping[str, str], closed: bool) -> list[str]:
    coil = ("86", "85") if "86" in pin else ("A1", "A2")
    contact = ("30", "87") if "30" in pin else ("11", "14")
    name = part.ref.lower()
    ohms = part.type.number("coil_ohm")
    lines = [f"r{name}c {pin[coil[0]]} {name}_l {ohms}", f"l{name} {name}_l {pin[coil[1]]} {ohms / 100:.4g}"]
    return [*lines, f"r{name}k {pin[contact[0]]} {pin[contact[1]]} {0.1 if closed else 1e9}"]


def deck(
    circuit: Circuit,
    title: str,
    refs: Iterable[str],
    extra: Iterable[str],
    values: Mapping[str, float] | None = None,
    closed: Iterable[str] = (),
) -> str:
    """A deck: the named parts, and the sources, loads, analyses and measurements in `extra`."""
    lines = [f"* {title}", MODELS]
    for ref in refs:
        lines += element(circuit, ref, values or {}, closed)
    return "\n".join([*lines, ".options reltol=1e-4 abstol=1e-11 method=gear", *extra, ".end", ""])


def opened(circuit: Circuit, joint: str, at_s: float) -> tuple[Circuit, list[str]]:
    """A circuit with a joint that opens at some time, named as R2.1, and the lines that hold it closed until then."""
    ref, _, pin = joint.partition(".")
    part = circuit[ref]
    net = part.net(pin)
    pins = {**part.pins, pin: f"{net}_off"}
    lines = [
        f"sjoint {net}_off {node(net)} joint 0 m_joint",
        ".model m_joint sw(vt=0.5 vh=0 ron=1m roff=10g)",
        f"vjoint joint 0 pwl(0 1 {at_s} 1 {at_s + 1e-6} 0)",
    ]
    return replace(circuit, parts={**circuit.parts, ref: replace(part, pins=pins)}), lines


RESULT = re.compile(r"^(\w+)\s*=\s*([-+0-9.e]+)", re.M)


def run(text: str) -> dict[str, float]:
    """Run a deck in ngspice; every `.meas` by its name. A failed measurement or analysis is a CircuitError."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "deck.cir"
        path.write_text(text)
        done = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, timeout=60)
    out = done.stdout + done.stderr
    wanted = re.findall(r"^\.meas\s+\w+\s+(\w+)", text, re.M | re.I)
    found = {name: float(value) for name, value in RESULT.findall(out)}
    missing = [name for name in wanted if name.lower() not in found or not math.isfinite(found[name.lower()])]
    if missing:
        raise CircuitError(f"ngspice gave no {', '.join(missing)} for '{text.splitlines()[0]}':\n{out[-1500:]}")
    return {name: found[name.lower()] for name in wanted}
