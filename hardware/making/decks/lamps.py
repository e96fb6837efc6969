"""A filament lamp in the socket behind the load: its volts lift the source of the throw switch, which then bears volts.

The lamp is given as a table of its ohms and of what it gives off by kelvin, so that it warms in the deck.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from making.circuit import Circuit
from making.decks.blocks import BRANCHES
from making.decks.spice import deck

EVENING = ["R56", "Q16", "R71", "R79", "R30"]
FETS = {False: ("Q15", "Q16"), True: ("Q16",)}
"""By whether it is the evening build: what is in series with the lamp."""
LEADS_H = 4e-6
"""Of the leads and of the load resistor together (assumed)."""
AIR_K = 296.0


@dataclass(frozen=True)
class Lamp:
    """Ohms and watts by kelvin; `heat`: J/K. `opens_s`: when its filament breaks, 0: it does not."""

    kelvin: Sequence[float]
    ohm: Sequence[float]
    watts: Sequence[float]
    heat: float
    opens_s: float = 0.0


def with_thresholds(circuit: Circuit, **volts: float) -> Circuit:
    """The circuit with transistors of these gate thresholds."""
    parts = dict(circuit.parts)
    for ref, volt in volts.items():
        kind = parts[ref].type
        parts[ref] = replace(parts[ref], type=replace(kind, figures={**kind.figures, "vth": [volt, volt, volt]}))
    return replace(circuit, parts=parts)


def load(circuit: Circuit, lamp: Lamp, rail_v: float, seconds: float, battery_v: float = 14.8) -> str:
    """A pulse through a cold lamp at 87, of the 20 A branch or of an evening build's load.

    What breaks arcs at 13 V and 0.3 ohm, as a contact does; a transistor that is driven beyond its volts avalanches.
    Measured of each transistor: mean watts, and joules from the break on; of the lamp volts and amps at the end.
    """
    evening = "Q15" not in circuit.parts
    ohm, watts = (
        ",".join(f"{k:g},{x:.6g}" for k, x in zip(lamp.kelvin, of, strict=True)) for of in (lamp.ohm, lamp.watts)
    )
    pins = ["gate_no"] if evening else ["branch_1a", "branch_5a", "branch_10a", "branch_20a", "gate_no", "gate_nc"]
    opens = f"pwl(0 5 {lamp.opens_s} 5 {lamp.opens_s + 1e-6} 0)" if lamp.opens_s else "5"
    extra = [
        f"vbat load_l load_x {battery_v}",
        f"lbat load_l load {LEADS_H}",
        "rneg load_x load_minus 0.01",
        f"v5s v5 0 {rail_v}",
        *(f"v_{pin} {pin} 0 {rail_v if pin in ('branch_20a', 'gate_no') else 0}" for pin in pins),
        f"vopen open 0 {opens}",
        ".model m_opens sw(vt=2.5 vh=0.1 ron=1m roff=1meg)",
        "vload t87 socket 0",
        "slamp socket lamp_in open 0 m_opens",
        f"blamp lamp_in lamp_out i=v(lamp_in,lamp_out)/pwl(v(hot),{ohm})",
        "vlamp lamp_out t30 0",
        f"bheat 0 hot i=v(lamp_in,lamp_out)*i(vlamp)-pwl(v(hot),{watts})",
        f"cheat hot 0 {lamp.heat:.6g} ic={AIR_K}",
        "rheat hot 0 1e12",
        "cstray t87 0 1n",
        "rnc t87a 0 100k",
        "darc t30 socket m_arc",
        ".model m_arc d(is=1f bv=13 ibv=1m rs=0.3)",
        f".tran 200u {seconds} 0 200u uic" if not lamp.opens_s else f".tran 0.2u {seconds} 0 0.2u uic",
    ]
    for ref in FETS[evening]:
        d, s = circuit[ref].net("d"), circuit[ref].net("s")
        name = ref.lower()
        extra += [
            f"d{name}_av {s} {d} m_{name}_av",
            f".model m_{name}_av d(is=1p bv={circuit[ref].type.number('v')} ibv=1m rs=0.05)",
            f"bw_{name} {name}_w 0 v=v({d},{s})*i(vload)",
            f".meas tran {name}_w avg v({name}_w) from=0 to={seconds}",
            f".meas tran {name}_j integ v({name}_w) from={lamp.opens_s} to={seconds}",
        ]
    extra += [
        f".meas tran lamp_v find par('v(lamp_in)-v(lamp_out)') at={0.99 * seconds}",
        f".meas tran lamp_a find i(vlamp) at={0.99 * seconds}",
        f".meas tran throw_v max v(t87) from=0 to={seconds}",
    ]
    return deck(circuit, "lamp behind the load", EVENING if evening else BRANCHES, extra)
