"""The whole evening build in one deck: every part, a battery, USB, what the firmware sets, a part in the socket.

Rule: a state is what a person and the firmware did; a deck answers what every input of the Nano and of the converters
reads then, and what flows. K1 and the part's contacts follow their coils.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from making.circuit import Circuit
from making.decks.spice import deck, node, run

PIN_OHM, LEAK_A, NANO_A = 30.0, 1e-6, 0.020
"""Of an output (data sheet, typical); most of an input, here out of it; what the Nano draws at 5 V (from memory)."""
ADS_OHM = 750e3
"""Of an input of the ADS1115 at its finest range, here to ground (differential 710 kohm, data sheet, typical)."""
ANALOG = ("A0", "A1", "A2", "A3")
OUTPUTS = ("coil_switch", "clamp_diode", "throw_no", "throw_nc", "lamp", "dry_no", "dry_nc")
COIL_OHM, COIL_H = 85.0, 0.3
ON_V, CONTACT_OHM = 6.5, 0.005
"""Coil volts from which the part in the socket and K1 are operated, here without hysteresis; a closed contact."""
READS = {
    "stop": "v(stop)", "edge_no": "v(edge_no)", "edge_nc": "v(edge_nc)", "temperature": "v(temperature)",
    "load_supply": "v(load_supply)", "coil_low_side": "v(coil_low_side)", "coil_current": "v(coil_current)",
    "drop_no": "v(ain_no)-v(ain_30)", "drop_nc": "v(ain_nc)-v(ain_30)", "shunt": "v(ain_shunt)",
    "bus": "v(ina_bus)-v({ina_gnd})", "coil_shunt": "v({ina_plus})-v({ina_minus})",
}  # fmt: skip
"""What the firmware can read, volts; the bus by its module's own ground."""
FLOWS = ("coil_a", "load_a", "k1_v", "v5_v", "home_v")
"""Amps through coil and contact of the part; volts of K1's coil, of the 5 V, and of load_minus against gnd."""


@dataclass(frozen=True)
class State:
    """`high`: outputs of the Nano that are on; `pins`: False while it is in reset or without supply. `socket`: empty,
    relay (Form C), link (30 to 87), link_nc. `knob`: share of the knob's turn, None: S4 on supply."""

    name: str
    high: tuple[str, ...] = ()
    pins: bool = True
    usb_v: float = 5.0
    battery_v: float = 12.6
    socket: str = "empty"
    stop: bool = False
    knob: float | None = None
    coil_ohm: float = COIL_OHM


STATES = (
    State("rest"),
    State("reset", pins=False),
    State("lamp", ("lamp",)),
    State("lamp, relay", ("lamp",), socket="relay"),
    State("dry, empty socket", ("dry_no", "dry_nc")),
    State("dry, link in 30 and 87", ("dry_no", "dry_nc"), socket="link"),
    State("dry, link in 30 and 87a", ("dry_no", "dry_nc"), socket="link_nc"),
    State("load, link in 30 and 87", ("lamp", "throw_no"), socket="link"),
    State("load, link in 30 and 87a", ("lamp", "throw_nc"), socket="link_nc"),
    State("look at a relay", ("coil_switch", "clamp_diode"), socket="relay"),
    State("relay on", ("lamp", "coil_switch", "dry_no", "dry_nc"), socket="relay"),
    State("relay on, knob at half", ("lamp", "coil_switch", "dry_no", "dry_nc"), socket="relay", knob=0.5),
    State("relay on, stop pressed", ("lamp", "coil_switch"), socket="relay", stop=True),
    State("load, link, stop pressed", ("lamp", "throw_no"), socket="link", stop=True),
)
"""In the order of a self-test; the last two are what nothing but the stop ends."""


def _contact(name: str, one: str, other: str, coil: tuple[str, str], way: int = 1) -> str:
    """A contact that follows a coil; `way` -1: closed at rest."""
    share = f"(1+tanh({5 * way}*(v({coil[0]})-v({coil[1]})-{ON_V})))/2"
    return f"{name} {one} {other} i=(v({one})-v({other}))*(1e-10+{share}/{CONTACT_OHM})".replace("v(0)", "0")


def _part(circuit: Circuit, state: State) -> list[str]:
    """What is in the socket, at the socket's own contacts, with the sense wires at the same contacts."""
    at = {pin: node(net) for pin, net in circuit["J3"].pins.items()}
    lines = [f"rs{pin} {at[pin]} {at[f'{pin}s']} 0.05" for pin in ("87", "87a", "30")]
    lines.append(f"vload t30_c {at['30']} 0")
    if state.socket == "relay":
        coil = (at["86"], at["85"])
        return [
            *lines,
            f"rpart {coil[0]} part_l {state.coil_ohm}",
            f"vcoil part_l {coil[1]} 0",
            _contact("bno", at["87"], "t30_c", coil),
            _contact("bnc", at["87a"], "t30_c", coil, -1),
        ]
    closed = {"link": at["87"], "link_nc": at["87a"]}.get(state.socket, "")
    link = f"rlink {closed} t30_c 0.2m" if closed else "rlink t30_c 0 1g"
    return [*lines, link, f"vcoil {at['86']} coil_x 0", f"rnone coil_x {at['85']} 1g"]


def _nano(circuit: Circuit, state: State) -> list[str]:
    lines = [f"vusb usb 0 {state.usb_v}", "dusb usb v5 m_schottky"] if state.usb_v else []
    lines.append(f"bnano v5 0 i={NANO_A}*min(max((v(v5)-1.8)/3.2, 0), 1.1)")
    nets = circuit["U2"].pins.values()
    for pin in OUTPUTS:
        if pin in nets:
            where = "v5" if pin in state.high else "0"
            lines += [f"rpin_{pin} {where} {pin} {PIN_OHM}"] if state.pins else [f"ipin_{pin} 0 {pin} {LEAK_A}"]
    lines += [f"rpin_{pin} {node(circuit['U2'].net(pin))} 0 100meg" for pin in ("A0", "A1", "A6", "A7")]
    return [*lines, "rled lamp lamp_led 1k", "dled lamp_led 0 m_led"]


def _main_relay(circuit: Circuit) -> list[str]:
    pin = {name: node(net) for name, net in circuit["K1"].pins.items()}
    return [
        f"rk1 {pin['86']} {pin['85']} {circuit['K1'].type.number('coil_ohm')}",
        _contact("bk1", pin["30"], pin["87"], (pin["86"], pin["85"])),
    ]


def whole(
    circuit: Circuit,
    state: State,
    more: tuple[str, ...] = (),
    values: Mapping[str, float] | None = None,
    out: tuple[str, ...] = (),
) -> str:
    """The deck of a state. `more`: further lines; `values` as in `deck`; `out`: parts that are not in their sockets."""
    skip = ("connector", "relay")
    refs = [ref for ref, part in circuit.parts.items() if part.type.kind not in skip and ref not in ("U2", "U7", *out)]
    if state.stop:
        refs.remove("S1")
    gone = [f"ropen_{n} {node(net)} 0 100g" for n, net in enumerate(sorted(circuit.nets())) if net.endswith("_off")]
    u5 = {name: node(net) for name, net in circuit["U5"].pins.items()}
    reads = {
        name: told.format(ina_gnd=u5["GND"], ina_plus=u5["IN+"], ina_minus=u5["IN-"]) for name, told in READS.items()
    }
    extra = [
        *(
            _nano(circuit, state)
            if "U2" not in out
            else ["rout v5 0 1g", *(f"rout_{pin} {pin} 0 1g" for pin in OUTPUTS)]
        ),
        *_part(circuit, state),
        *_main_relay(circuit),
        f"vbat load_in load_minus {state.battery_v}" if state.battery_v else "rbat load_in load_minus 1g",
        *(f"rads_{n} {node(circuit['U7'].net(pin))} 0 {ADS_OHM}" for n, pin in enumerate(ANALOG) if "U7" not in out),
        *gone,
        *more,
        ".tran 20u 4m",
        *(f".meas tran {name} find par('{told.replace('v(0)', '0')}') at=3.9m" for name, told in reads.items()),
        ".meas tran coil_a find i(vcoil) at=3.9m",
        ".meas tran load_a find i(vload) at=3.9m",
        f".meas tran k1_v find par('v({node(circuit['K1'].net('86'))})-v({node(circuit['K1'].net('85'))})') at=3.9m",
        ".meas tran v5_v find v(v5) at=3.9m",
        ".meas tran home_v find v(load_minus) at=3.9m",
    ]
    told = dict(values or {}) | {"S4": float(state.knob is None)}
    if state.knob is not None:
        told["P1"] = state.knob
    return deck(circuit, f"evening build: {state.name}", refs, extra, told)


def seen(circuit: Circuit, state: State, values: Mapping[str, float] | None = None) -> dict[str, float]:
    """What is read and what flows in a state."""
    return run(whole(circuit, state, values=values))


def at(name: str, **changes: object) -> State:
    """A state of STATES, changed."""
    return replace(next(state for state in STATES if state.name == name), **changes)  # type: ignore[arg-type]
