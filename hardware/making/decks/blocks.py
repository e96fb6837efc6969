"""The simulation decks of the analogue blocks, one function each: what is driven, what is measured."""

from collections.abc import Iterable, Mapping

from making.circuit import Circuit
from making.decks.spice import deck, opened, run

COIL = ["U4", "C10", "R10", "R11", "R12", "C11", "R13", "Q1", "R14", "R15", "Q2", "D10", "R16", "C12", "R17", "D11"]
COIL += ["R25", "R26", "R27", "R97"]
HOLD = ["Q6", "R98", "Q7", "R99"]
SWITCH = ["R19", "R20", "Q3", "R18", "D12", "D13", "R22", "R23"]
BRANCHES = ["R53", "R54", "R55", "R56", "R57", "R58", "Q12", "Q13", "Q14", "Q15", "Q16", "Q17"]
BRANCHES += ["R60", "R61", "R62", "R63", "R71", "R73", "Z2", "Z3", "Z4", "Z5", "Z6", "Z7", "R30"]
BRANCHES += ["R48", "R49", "R59", "R74", "R79", "R96"]
SENSE = ["R31", "D30", "R44", "R32", "R35", "D32", "R46", "R36", "R37"]
PULSE = ["R70", "R72", "R68", "R69", "D42", "D43", "D45", "D46", "R75", "R76", "D47", "C40", "U8", "R71", "R73"]
LOCK = ["TS1", "D41", "D40", "Q10", "R50", "Z1", "R51", "R52", "Q11", "K1"]
LIMITER = ["U9", "R9", "R24", "R28"]
LEAD_OHM = 0.02
"""From a terminal of the socket to the blade of the part (assumed)."""
ADS_OHM = 710e3
"""Differential input of the ADS1115 at +-256 mV (data sheet, typical)."""


def coil_range(circuit: Circuit, supply_v: float, coil_ohm: float) -> str:
    """The set value runs from 0 to 5 V in a second: how far the output follows."""
    extra = [
        f"vs coil_rail 0 {supply_v}",
        "vd dac 0 pwl(0 0 1 5)",
        f"rcoil coil_plus 0 {coil_ohm}",
        ".tran 2m 1 0 2m",
        ".meas tran half_v find v(coil_reg) at=0.3",
        ".meas tran tenth_v find v(coil_reg) at=0.05",
        ".meas tran zero_v find v(coil_plus) at=1m",
        ".meas tran most_v max v(coil_plus)",
    ]
    return deck(circuit, "coil supply, operating range", COIL, extra)


def coil_idle(circuit: Circuit, dac_v: float, supply_v: float = 18.0) -> str:
    """Nothing in the socket, `dac` held at some volts: where the amplifier, the base and the output stand."""
    extra = [
        f"vs coil_rail 0 {supply_v}",
        f"vd dac 0 {dac_v}",
        "rnone coil_plus 0 10meg",
        ".tran 10u 20m 0 10u",
        *(f".meas tran {net} find v({net}) at=19m" for net in ("drive", "base", "coil_reg")),
    ]
    return deck(circuit, "coil supply at rest", COIL, extra)


def coil_held(circuit: Circuit, dac_v: float, vcc: float = 5.0, high_v: float = 4.2, joint: str = "") -> str:
    """`dac` rises at 4.8 ms, the lamp is lit at 5 ms and dark at 25 ms, `dac` stays; `joint` is open from the start."""
    told, held = opened(circuit, joint, 1e-6) if joint else (circuit, [])
    extra = [
        *held,
        "vs coil_rail 0 32",
        f"v5s v5 0 {vcc}",
        f"vd dac 0 pwl(0 0 4.8m 0 4.806m {dac_v})",
        f"vlamp lamp_pin 0 pwl(0 0 5m 0 5.001m {high_v} 25m {high_v} 25.001m 0)",
        "rlamp lamp_pin lamp 30",
        "rnone coil_plus 0 10meg",
        ".tran 4u 50m 0 4u",
        ".meas tran before_v max v(coil_reg) from=4.9m to=4.99m",
        ".meas tran settled_v find v(coil_reg) at=8m",
        ".meas tran most_v max v(coil_reg)",
        ".meas tran soon_v find v(coil_reg) at=30m",
        ".meas tran held_v max v(coil_reg) from=40m to=50m",
    ]
    return deck(told, "coil supply, held at 0 by the lamp", [*COIL, *HOLD], extra)


def coil_step(circuit: Circuit, from_v: float, to_v: float, coil_ohm: float | None = 90.0) -> str:
    """A step of the set value at 1 ms; the output 0.5, 3 and 17 ms later, and how far it swings over."""
    load = f"lc coil_plus lx 0.3\nrc lx 0 {coil_ohm}" if coil_ohm else "rnone coil_plus 0 10meg"
    extra = [
        "vs coil_rail 0 32",
        f"vd dac 0 pwl(0 {from_v / 6} 1m {from_v / 6} 1.006m {to_v / 6})",
        load,
        ".tran 4u 20m 0 4u",
        ".meas tran soon_v find v(coil_plus) at=1.5m",
        ".meas tran later_v find v(coil_plus) at=4m",
        ".meas tran settled_v find v(coil_plus) at=18m",
        ".meas tran swing_v pp v(coil_reg) from=18m to=20m",
        ".meas tran most_v max v(coil_reg)",
        ".meas tran least_v min v(coil_reg)",
        ".meas tran reverse_v min par('v(base)-v(emitter)')",
    ]
    return deck(circuit, "coil supply, step", COIL, extra)


def coil_limit(circuit: Circuit, values: Mapping[str, float] | None = None) -> str:
    """The load falls to a short: the current that is left, and the watts of the follower."""
    extra = [
        "vs coil_rail 0 32",
        "vd dac 0 4.5",
        "vload coil_plus 0 pwl(0 27 1 0)",
        ".tran 2m 1 0 2m",
        ".meas tran short_a find i(vload) at=0.999",
        ".meas tran half_a find i(vload) at=0.5",
        ".meas tran follower_w max par('(v(coil_rail)-v(emitter))*i(vload)')",
    ]
    return deck(circuit, "coil supply, current limit", COIL, extra, values)


def flyback(circuit: Circuit, coil_v: float, coil_ohm: float, henry: float, diode: bool) -> str:
    """The coil is switched off at 20 ms: the peak at the switch, when the current is gone, what the reed bears."""
    refs = [*COIL, *SWITCH, "K2"]
    extra = [
        "vs coil_rail 0 32",
        f"vd dac 0 {coil_v / 6}",
        "vg coil_switch 0 pwl(0 5 20m 5 20.001m 0)",
        f"lc coil_plus lx {henry} ic={coil_v / coil_ohm:.5g}",
        f"rc lx coil_minus {coil_ohm}",
        f"vclamp clamp_diode 0 {5 if diode else 0}",
        ".tran 5u 60m 0 5u",
        ".meas tran before_a find i(lc) at=19.9m",
        ".meas tran peak_v max v(coil_minus)",
        f".meas tran gone_s when i(lc)={coil_v / coil_ohm * 0.05:.4g} fall=last",
        ".meas tran sense_v max v(coil_low_side)",
    ]
    return deck(circuit, "coil switch-off", refs, extra, closed=["K2"] if diode else [])


def supply_lost(circuit: Circuit) -> str:
    """The set value falls to 0 with the coil switch closed: how far below ground the coil's + goes."""
    extra = [
        "vs coil_rail 0 32",
        "vd dac 0 pwl(0 2.25 20m 2.25 20.01m 0)",
        "vg coil_switch 0 5",
        "lc coil_plus lx 0.5",
        "rc lx coil_minus 60",
        ".tran 50u 40m 0 50u",
        ".meas tran least_v min v(coil_plus)",
    ]
    return deck(circuit, "coil supply lost under current", [*COIL, *SWITCH], extra)


def branch(circuit: Circuit, pins: Iterable[str], contact_ohm: float, battery_v: float = 12.0, vcc: float = 5.0) -> str:
    """Some branches through the NO throw into a contact: amps, drop at the contact and as sensed, switch watts."""
    chosen = set(pins)
    drive = [
        f"v_{pin} {pin} 0 {vcc if pin in chosen else 0}"
        for pin in ("branch_1a", "branch_5a", "branch_10a", "branch_20a", "gate_no", "gate_nc")
    ]
    extra = [
        f"vbat load load_x {battery_v}",
        "rneg load_x load_minus 0.01",
        f"v5s v5 0 {vcc}",
        *drive,
        f"rcontact blade87 blade30 {contact_ohm}",
        f"rl1 t87 blade87 {LEAD_OHM}",
        f"rl2 blade30 t30 {LEAD_OHM}",
        "rs1 blade87 t87_sense 0.05",
        "rs2 blade30 t30_sense 0.05",
        "rnc t87a 0 100k",
        f"rads ain_no ain_30 {ADS_OHM}",
        f"rads2 ain_shunt 0 {ADS_OHM}",
        ".tran 10u 2m 0 10u",
        ".meas tran load_a find par('(v(t30)-v(load_minus))/0.005') at=1.9m",
        ".meas tran drop_v find par('v(blade87)-v(blade30)') at=1.9m",
        ".meas tran sensed_v find par('v(ain_no)-v(ain_30)') at=1.9m",
        ".meas tran shunt_v find v(ain_shunt) at=1.9m",
        ".meas tran throw_v find v(t87) at=1.9m",
        ".meas tran bus_v find v(load_bus) at=1.9m",
        ".meas tran q15_w find par('(v(b20)-v(load_bus))*(v(load)-v(b20))/0.6') at=1.9m",
    ]
    return deck(circuit, "load branch", [*BRANCHES, *SENSE], extra)


def pulse_limit(circuit: Circuit, values: Mapping[str, float] | None = None, vcc: float = 5.0) -> str:
    """A throw pin stays high for 2 s: when its gate is cut; then 0.4 s low, and high again."""
    extra = [
        f"v5s v5 0 {vcc}",
        f"vno throw_no 0 pwl(0 0 0.1 0 0.1001 {vcc} 2.1 {vcc} 2.1001 0 2.5 0 2.5001 {vcc})",
        "vnc throw_nc 0 0",
        "cg1 g_no 0 10n",
        "cg2 g_nc 0 10n",
        ".tran 1m 3 0 1m",
        ".meas tran on_v find v(g_no) at=0.4",
        ".meas tran cut_s when v(g_no)=1 fall=1",
        ".meas tran held_v max v(g_no) from=1.2 to=2.05",
        ".meas tran again_v find v(g_no) at=2.7",
    ]
    return deck(circuit, "pulse limit", PULSE, extra, values)


def second_pulse(circuit: Circuit, values: Mapping[str, float], vcc: float, rest_s: float) -> float:
    """Seconds after which a throw's gate is cut that has had 503 ms of load, and `rest_s` before it is loaded again."""
    off_s = 0.1 + 0.503
    on_s = off_s + rest_s
    extra = [
        f"v5s v5 0 {vcc}",
        f"vno throw_no 0 pwl(0 0 0.1 0 0.1001 {vcc} {off_s} {vcc} {off_s + 1e-4} 0 {on_s} 0 {on_s + 1e-4} {vcc})",
        "vnc throw_nc 0 0",
        "cg1 g_no 0 10n",
        "cg2 g_nc 0 10n",
        f".tran 1m {on_s + 1} 0 1m",
        ".meas tran cut_s when v(g_no)=1 fall=2",
    ]
    return run(deck(circuit, "pulse limit, second pulse", PULSE, extra, values))["cut_s"] - on_s


def lock_out(circuit: Circuit) -> str:
    """The battery runs from -15 to 30 V: where the main relay has its coil volts, and where it loses them."""
    extra = [
        "vbat k1_feed load_minus pwl(0 -15 0.001 -15 45 30)",
        "rstar load_minus 0 1u",
        "rx load_fused 0 1k",
        "ry load 0 1k",
        ".tran 50m 45 0 50m",
        ".meas tran reversed_a find par('-i(vbat)') at=1",
        ".meas tran at12_v find par('v(k1_plus)-v(k1_minus)') at=27",
        ".meas tran open_s when par('v(k1_plus)-v(k1_minus)')=6 fall=1",
        ".meas tran at24_v find par('v(k1_plus)-v(k1_minus)') at=39",
    ]
    return deck(circuit, "load supply lock-out", LOCK, extra)


def vehicle_input(circuit: Circuit, volts: float, values: Mapping[str, float] | None = None) -> str:
    """A pulse of 0.2 s on vehicle input 1, the converter's own input diodes included."""
    extra = [
        "v5s v5 0 5",
        f"vin src 0 pwl(0 0 1m {volts} 200m {volts})",
        "rsrc src vin1 0.5",
        "dhi m1 v5 m_signal",
        "dlo 0 m1 m_signal",
        ".tran 0.2m 200m 0 0.2m",
        ".meas tran pin_v find v(m1) at=190m",
        ".meas tran most_v max v(m1)",
        ".meas tran least_v min v(m1)",
        ".meas tran pin_a find par('(v(vin1)-v(m1))/120k - v(m1)/15k') at=190m",
    ]
    return deck(circuit, "vehicle input", ["R111", "R115", "C61"], extra, values)


def rail_limit(circuit: Circuit, values: Mapping[str, float] | None = None) -> str:
    """The 5 V rail is pushed from 4.5 to 6 V: what its limiter takes at 5 V and 5.25 V, and where it takes 100 mA."""
    extra = [
        "v5s v5 0 pwl(0 4.5 1 6)",
        ".tran 1m 1 0 1m",
        ".meas tran at5_a find par('-i(v5s)') at=0.3333",
        ".meas tran most_a find par('-i(v5s)') at=0.5",
        ".meas tran held_s when i(v5s)=-0.1",
        ".meas tran held_v find v(v5) when i(v5s)=-0.1",
    ]
    return deck(circuit, "limiter of the 5 V rail", LIMITER, extra, values)


def scan_relay_stuck(circuit: Circuit) -> str:
    """A coil at the hardware limit is let go with K3 stuck: what the line of terminal 85 and the 5 V rail bear."""
    refs = [*COIL, *SWITCH, "K3", "R80", "D51", "R95", "R101", *LIMITER, "C3"]
    extra = [
        "vs coil_rail 0 32",
        "vd dac 0 4.8",
        "vg coil_switch 0 pwl(0 5 20m 5 20.001m 0)",
        "lc coil_plus lx 0.5 ic=0.31",
        "rc lx coil_minus 85",
        "rs coil_minus t85_sense 0.05",
        "v5s v5x 0 5",
        "d5 v5x v5 m_ideal",
        "iload v5 0 10m",
        "vr scan_low v5 0",
        "dpin p1 v5 m_signal",
        "du11 s1 v5 m_signal",
        "du12 s1 v5 m_signal",
        ".tran 5u 60m 0 5u uic",
        ".meas tran peak_v max v(x85) from=20m to=60m",
        ".meas tran line_a max par('(v(x85)-v(l1))/1k') from=20m to=60m",
        ".meas tran drive_a max par('(v(l1)-v(s1))/100') from=20m to=60m",
        ".meas tran look_a max par('(v(x85)-v(p1))/10k') from=20m to=60m",
        ".meas tran rail_v max v(v5) from=20m to=60m",
        ".meas tran long_s trig v(x85) val=40 rise=1 td=20m targ v(x85) val=40 fall=1 td=20m",
    ]
    return deck(circuit, "K3 stuck as the coil lets go", refs, extra, closed=["K3"])


def opening(circuit: Circuit, henry: float = 2e-6) -> str:
    """The contact opens while 20 A flow: how far terminal 87 rises until its switch has turned itself down.

    As it parts the contact arcs: 13 V and 0.3 ohm (silver and its alloys need about 12 V, from memory).
    """
    extra = [
        "vbat load_l load_x 14.8",
        f"lbat load_l load {henry}",
        "rneg load_x load_minus 0.01",
        "v5s v5x 0 5",
        "d5 v5x v5 m_ideal",
        "iload v5 0 20m",
        *(f"v_{pin} {pin} 0 0" for pin in ("branch_1a", "branch_5a", "branch_10a", "gate_nc")),
        "v_branch_20a branch_20a 0 5",
        "v_gate_no gate_no 0 5",
        "vopen open 0 pwl(0 5 2m 5 2.001m 0)",
        ".model m_opens sw(vt=2.5 vh=0.1 ron=5m roff=1meg)",
        "scontact t87 t30 open 0 m_opens",
        "darc t30 t87 m_arc",
        ".model m_arc d(is=1f bv=13 ibv=1m rs=0.3)",
        "cstray t87 0 1n",
        "rs1 t87 t87_sense 0.05",
        "rs2 t30 t30_sense 0.05",
        "rnc t87a 0 100k",
        "dads ain_no v5 m_signal",
        "cads ain_no 0 10p",
        ".tran 0.1u 2.3m 1.9m 0.1u",
        ".meas tran before_v find v(t87) at=1.99m",
        ".meas tran peak_v max v(t87) from=2m to=2.3m",
        ".meas tran after_v find v(t87) at=2.29m",
        ".meas tran pin_v max v(ain_no) from=2m to=2.3m",
        ".meas tran pin_a max par('(v(s87)-v(ain_no))/100') from=2m to=2.3m",
        ".meas tran long_s trig v(t87) val=6 rise=1 td=2m targ v(t87) val=6 fall=last td=2m",
    ]
    return deck(circuit, "contact opens under 20 A", [*BRANCHES, *SENSE, *LIMITER, "C3"], extra)


def wrong_part(circuit: Circuit) -> str:
    """Coil supply on terminal 87a, as by a part with 30 and 86 exchanged: what reaches the 5 V rail and the pins."""
    refs = [
        "R33",
        "D31",
        "R45",
        "R34",
        "R83",
        "D54",
        "R42",
        "R43",
        "D34",
        "R39",
        *LIMITER,
        "Q17",
        "Z7",
        "R73",
        "Q15",
        "Z5",
        "R63",
        "R57",
    ]
    extra = [
        "vcoil t87a 0 29",
        "rj t87a t87a_sense 0.05",
        "iload v5 0 5m",
        "v5s v5x 0 5",
        "d5 v5x v5 m_ideal",
        "vg1 gate_nc 0 0",
        "vg2 branch_20a 0 0",
        "vdry dry_nc 0 0",
        "dpin edge_nc v5 m_signal",
        "dads ain_nc v5 m_signal",
        "rrail load 0 100k",
        "rno l4 0 1g",
        ".tran 10u 5m 0 10u",
        ".meas tran rail_v find v(v5) at=4m",
        ".meas tran ads_a find par('(v(s87a)-v(ain_nc))/100') at=4m",
        ".meas tran edge_a find par('(v(t87a)-v(edge_nc))/27k') at=4m",
        ".meas tran gate_a find par('-i(vg1)') at=4m",
        ".meas tran gate_v find par('v(g_nc)-v(t87a)') at=4m",
        ".meas tran bus_v find v(load_bus) at=4m",
        ".meas tran dry_a find i(vdry) at=4m",
    ]
    return deck(circuit, "coil supply on 87a", refs, extra)
