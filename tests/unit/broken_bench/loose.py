"""Every wire of the bench that leads from a strip to one pin of a part, and what the plant makes of its coming off.

Rule: a pin is here with a fault of its own, with another of the list that is the same to the board, or with the reason
why a relay's test does not meet it. `tests/unit/plant/test_wires.py` holds the list against hardware/lists/wiring.csv.
"""

from broken_bench.effect import COIL_CURRENT, Effect

TERMINALS = ("85", "86", "87", "87a")


def _deaf(part: str) -> Effect:
    return Effect(deaf=frozenset({part}))


def _dark(*lines: str) -> Effect:
    return Effect(dark=frozenset(lines))


def _adrift(pin: int) -> Effect:
    return Effect(adrift=frozenset({pin}))


PINS: dict[str, Effect] = {
    "U1.in": Effect(usb=True),
    "R2.2": Effect(usb=True, no_supply=True),  # U1 gives all it can, and Q4 shorts what feeds it
    "U3.VDD": _deaf("dac"),
    "U4.v-": Effect(runaway=True),
    "D12.a": Effect(unclamped=True),
    "R98.1": Effect(unheld=True),
    "U5.VCC": _deaf("ina"),
    "U5.IN+": Effect(shunt_end=-1),
    "U5.IN-": Effect(shunt_end=1),
    "U5.VBUS": Effect(no_bus=True),
    "U6.IN+": Effect(low=frozenset({COIL_CURRENT})),
    "U6.IN-": Effect(high=frozenset({COIL_CURRENT})),
    "U2.A4": _deaf("bus"),
    "U7.A0": Effect(cut=frozenset({"ain_no"})),
    "U7.A1": Effect(cut=frozenset({"ain_nc"})),
    "U7.A3": Effect(cut=frozenset({"ain_30"})),
    "R57.1": Effect(half=frozenset({"branch_20a"})),
    "Q20.g": _dark("85", "86"),
    "U10.VDD": _deaf("ports"),
    "U10.GPA0": Effect(port_low=(0x01, 0)),
    "U10.GPA1": Effect(port_low=(0x02, 0)),
    "U10.GPA3": Effect(port_high=(0x08, 0)),
    "U10.GPA4": Effect(port_low=(0x10, 0)),
    "U10.GPA5": Effect(port_low=(0x20, 0)),
    "U10.GPA7": Effect(port_high=(0x80, 0)),
    "U10.GPB0": Effect(port_low=(0, 0x01)),
    "U10.GPB1": Effect(port_low=(0, 0x02)),
    "U11.INH": Effect(port_low=(0x08, 0)),
    "U12.INH": Effect(port_low=(0x80, 0)),
    "U11.X": _dark("drive"),
    "U12.X": _dark("sink"),
    "U13.INH": _dark("look"),
    **{f"U11.X{n}": _dark(f"drive.{terminal}") for n, terminal in enumerate(TERMINALS)},
    **{f"U12.X{n}": _dark(f"sink.{terminal}") for n, terminal in enumerate(TERMINALS)},
    "U14.VDD": _deaf("scan"),
    **{f"U14.A{n}": _adrift(n) for n in range(4)},
}
"""Faults of their own. An input that hangs free may go either way: the worse one was taken."""


def _each(ref: str, pins: str, said: str) -> dict[str, str]:
    return {f"{ref}.{pin}": said for pin in pins.split()}


SAME: dict[str, str] = {
    **_each("J1", "minus", "J1.plus"),
    **_each("F1", "2", "J1.plus"),
    **_each("S1", "a1 a2", "J1.plus"),
    **_each("S1", "b1 b2", "k1_feed"),
    **_each("S1", "c1 c2", "stop_n.B"),
    **_each("U1", "out", "U1.in"),
    **_each("Q1", "b c e", "J1.plus"),
    **_each("U3", "GND SDA SCL", "U3.VDD"),
    **_each("U3", "OUT", "J1.plus"),  # R10 holds the amplifier at 0 V
    **_each("R97", "1", "J1.plus"),
    **_each("U4", "- out v+", "J1.plus"),  # current flows out of both its inputs, so that an open one rises
    **_each("Q6", "s", "R98.1"),
    **_each("Q7", "g s", "J1.plus"),
    **_each("U2", "D13", "J1.plus"),
    **_each("U5", "GND SDA SCL", "U5.VCC"),
    **_each("U6", "VS", "U6.IN+"),
    **_each("U6", "GND", "U6.IN-"),
    **_each("U6", "OUT", "coil_current"),
    **_each("Q3", "g s", "coil_switch"),
    **_each("Q3", "d", "coil_minus"),
    **_each("K2", "A1 A2 11 14", "clamp_diode"),
    **_each("TH1", "1 2", "TH1"),
    **_each("U2", "D2", "stop_n.B"),
    **_each("U2", "D3", "branch_1a"),
    **_each("U2", "D4", "branch_5a"),
    **_each("U2", "D5", "branch_10a"),
    **_each("U2", "D6", "branch_20a"),
    **_each("U2", "D7", "edge_nc"),
    **_each("U2", "D8", "edge_no"),
    **_each("U2", "D9", "coil_switch"),
    **_each("U2", "D10", "clamp_diode"),
    **_each("U2", "D11", "throw_no"),
    **_each("U2", "D12", "throw_nc"),
    **_each("U2", "A0", "coil_current"),
    **_each("U2", "A1", "TH1"),
    **_each("U2", "A2", "dry_no"),
    **_each("U2", "A3", "dry_nc"),
    **_each("U2", "A5", "U2.A4"),
    **_each("U2", "A6", "load_supply"),
    **_each("U2", "A7", "coil_low_side"),
    **_each("U2", "5V", "v5.B"),
    **_each("U2", "GND", "gnd.B"),
    **_each("U2", "RST", "reset"),
    **_each("J9", "plus minus", "J2.minus"),
    **_each("J2", "plus", "J2.minus"),
    **_each("F2", "1 2", "J2.minus"),
    **_each("F5", "1 2", "k1_fused"),
    **_each("K1", "30 87 86 85", "J2.minus"),
    **_each("Q10", "g d s", "k1_feed"),
    **_each("TS1", "1 2", "k1_feed"),
    **_each("R30", "I+", "J3.30"),
    **_each("R31", "2", "J3.87s"),
    **_each("R33", "2", "J3.87as"),
    **_each("R35", "2", "J3.30s"),
    **_each("R38", "1", "R38"),
    **_each("R39", "1", "R39"),
    **_each("R40", "2", "R40"),
    **_each("R42", "2", "R42"),
    **_each("R77", "2", "load_supply"),
    **_each("U7", "VDD GND SDA SCL ADDR", "scl.C"),
    **_each("U7", "A2", "R30.V+"),
    **_each("R53", "1 2", "branch_1a"),
    **_each("R54", "1 2", "branch_5a"),
    **_each("R55", "1 2", "branch_5a"),
    **_each("R56", "1 2", "branch_10a"),
    **_each("R57", "2", "R57.1"),
    **_each("R58", "1 2", "R57.1"),
    **_each("R60", "1", "branch_1a"),
    **_each("R61", "1", "branch_5a"),
    **_each("R62", "1", "branch_10a"),
    **_each("R63", "1", "branch_20a"),
    **_each("Q12", "d s", "branch_1a"),
    **_each("Q13", "d s", "branch_5a"),
    **_each("Q14", "d s", "branch_10a"),
    **_each("Q15", "d s", "branch_20a"),
    **_each("Q16", "d s", "throw_no"),
    **_each("Q17", "d s", "throw_nc"),
    **_each("R71", "1", "throw_no"),
    **_each("R73", "1", "throw_nc"),
    **_each("K3", "A1 A2 11 14", "x85"),
    **_each("K4", "A1 A2 11 14", "x86"),
    **_each("Q20", "d s", "Q20.g"),
    **_each("U10", "VSS SDA SCL A0 A1 A2 RESET", "U10.VDD"),
    **_each("U10", "GPA2", "U11.X"),
    **_each("U10", "GPA6", "U12.X"),
    **_each("U10", "GPB2", "U13.INH"),
    **_each("U10", "GPB3", "Q20.g"),
    **_each("U11", "A", "U10.GPA0"),
    **_each("U11", "B", "U10.GPA1"),
    **_each("U11", "C VCC GND VEE", "U11.X"),
    **_each("U12", "A", "U10.GPA4"),
    **_each("U12", "B", "U10.GPA5"),
    **_each("U12", "C VCC GND VEE", "U12.X"),
    **_each("U13", "A", "U10.GPB0"),
    **_each("U13", "B", "U10.GPB1"),
    **_each("U13", "C VCC GND VEE", "U13.INH"),
    **_each("U13", "X", "U14.A2"),
    **_each("U13", "X0", "p1"),
    **_each("U13", "X1", "p2"),
    **_each("U13", "X2", "p3"),
    **_each("U13", "X3", "p4"),
    **_each("U14", "GND SDA SCL ADDR", "U14.VDD"),
    **_each("R82", "2", "l3"),
    **_each("R83", "2", "l4"),
    **_each("R103", "2", "p3"),
    **_each("R104", "2", "p4"),
}
"""Pins whose wire does what another wire of the list does."""

CLAMP = "a clamp: nothing flows in it while every wire is in its place"
PULL_DOWN = "holds a gate down that a second wire would have to leave alone"
LOOSE = "a loose lead, which hangs free while a relay is tested"
VEHICLE = "the vehicle's side, which is off while a relay is tested"
LIMIT = "the pulse limit is dead, which self-test --link finds, or no load flows, as without throw_no"
REASONS: dict[str, str] = {
    **_each("Q4", "a g k", CLAMP),
    **_each("Q5", "b c e", CLAMP),
    **{f"R{n}.2": PULL_DOWN for n in (48, 49, 59, 74, 79, 96)},
    **_each("Q2", "b c e", "the coil supply's limit in hardware is dead: the board's own and F1 are left"),
    **_each("U9", "K A R", CLAMP),
    **_each("D30", "a m k", CLAMP),
    **_each("D31", "a m k", CLAMP),
    **_each("D32", "a m k", CLAMP),
    **{pin: CLAMP for n in range(51, 59) for pin in _each(f"D{n}", "a m k", CLAMP)},
    **_each("U4", "+b -b outb", "the half of the amplifier that is not used"),
    **_each("D5", "a k", "the lamp stays dark; Q7 still sees its pin"),
    **_each("Q11", "b c e", "the lock-out above 15 V is dead: a yearly look of the guide finds it"),
    **_each("U8", "VCC GND TRIG THR RES CV DIS", LIMIT),
    **_each("S2", "1 2", "the button does not start a part; the host's key does"),
    **_each("U10", "GPB6", "the button may start a part by itself: nothing moves but by the host"),
    **_each("U10", "GPB4 GPB5", VEHICLE),
    **_each("U11", "X4 X5 X6 X7", LOOSE),
    **_each("U12", "X4 X5 X6 X7", LOOSE),
    **_each("U13", "X4 X5 X6 X7", LOOSE),
    **{f"R{n}.2": LOOSE for n in (84, 85, 86, 87, 105, 106, 107, 108)},
    **_each("J5", "1 2 3 4 5", LOOSE),
    **_each("J7", "1 2 3 4 5", VEHICLE),
    **_each("J8", "1 2", VEHICLE),
    **_each("F3", "2", VEHICLE),
    **_each("F4", "2", VEHICLE),
    **_each("K5", "A1 A2 11 14", VEHICLE),
    **_each("Q21", "g d s", VEHICLE),
    **_each("Q22", "b c e", VEHICLE),
    **_each("R100", "1 2", VEHICLE),
    **_each("S3", "1 2", VEHICLE),
    **{f"R{n}.2": VEHICLE for n in (111, 112, 113, 114)},
    **_each("U15", "VDD GND SDA SCL ADDR A0 A1 A2 A3", VEHICLE),
}
"""Pins whose wire no test of a relay meets, each with its reason."""
