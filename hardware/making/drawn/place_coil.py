"""Where the parts of the supply, the Nano and the coil side stand on their sheets; connections are checked."""

from making.drawn.sheet import Sheet


def supply(s: Sheet) -> None:
    """Coil supply input, 5 V, emergency stop."""
    s.box("J1", (-2.5, 1), 2, 3, right=["plus", "minus"], name="18 to 32 V")
    s.tag("J1.minus", "down", 0.5)
    s.two("F1", (1, 0), "right")
    s.wire("J1.plus", "F1.1")
    s.two("D1", "F1.2", "right")
    s.two("D2", (6.5, 0), first="k")
    s.two("C1", (9, 0))
    s.wire("D1.k", (12, 0))
    s.two("S1", (12, 0), "right", "a1", "a2", "closed")
    s.tag("S1.a2", "right", 1)
    s.tag("D1.k", "up", at=(10.5, 0), length=0.5)
    for pin in ("D2.a", "C1.2"):
        s.tag(pin)
    s.two("S1", (12, -2), "right", "b1", "b2", "closed")
    s.two("S1", (12, -4), "right", "c1", "c2", "closed")
    s.tag("S1.b1", "left")
    s.tag("S1.b2", "right")
    s.tag("S1.c1", "left")
    s.tag("S1.c2", "right")
    s.note(
        "Three poles of one mushroom switch: coil supply,\nmain relay of the load, and the Nano.",
        (3, -3.8),
    )
    s.two("D3", (-1, -6.5), "right")
    s.tag("D3.a", "left")
    s.two("C2", (2, -6.5))
    s.tag("C2.2")
    s.box("U1", (4, -5.5), 2.5, 2, left=["in"], right=["out"], bottom=["adj"], name="LM317")
    s.wire("D3.k", "U1.in")
    s.two("R1", (9, -6.5))
    s.two("R2", "R1.2")
    s.wire("U1.adj", (5, -8.5), "R1.2")
    s.two("C3", (11, -6.5))
    s.two("R9", (13, -6.5))
    s.two("R24", "R9.2")
    s.box("U9", (15.5, -9.5), 2, 2, left=["R"], top=["K"], bottom=["A"], name="TL431A")
    s.wire("R9.2", (14.5, -8.5), "U9.R")
    for pin in ("R2.2", "C3.2", "R24.2", "U9.A"):
        s.tag(pin)
    _crowbar(s)
    s.note(
        "U9 takes what the input clamps push into 5 V, from 5.5 V on. Above 0.10 to 0.14 A U1 is at fault:\n"
        "Q5 fires Q4, which shorts the coil supply. R1 and R2 are soldered to the pins of U1. USB power passes\n"
        "the Nano's own diode and cannot reach the coil rail (D3).",
        (-1, -15.2),
    )


def _crowbar(s: Sheet) -> None:
    """What fires when U9 is asked for more than the clamps can push."""
    s.two("R28", (16.5, -6.5))
    s.wire("R28.2", "U9.K")
    s.wire("U9.K", (18.5, -8.5))
    s.pnp("Q5", (18.5, -8.5))
    s.wire("U1.out", (21.5, -6.5))
    s.wire("Q5.e", (20, -6.5))
    s.tag("U1.out", "right", at=(21.5, -6.5))
    s.two("R29", "Q5.c", length=2)
    s.two("R47", (20, -12))
    s.two("C7", (22, -12))
    s.wire("R29.2", "R47.1", "C7.1")
    s.thyristor("Q4", (25, -10.525))
    s.wire("C7.1", "Q4.g")
    s.tag("Q4.a", "up", 0.5)
    for pin in ("R47.2", "C7.2", "Q4.k"):
        s.tag(pin)


def logic(s: Sheet) -> None:
    """Nano, bus, stop, lamp, temperature."""
    left = ["D0", "D1", "D2", "D3", "D4", "D5", "D6", "D7", "D8", "D9", "D10", "D11", "D12", "D13"]
    right = ["5V", "RST", "A0", "A1", "A2", "A3", "A4", "A5", "A6", "A7", "", "", "GND"]
    s.box("U2", (0, 0), 4, 15, left=left, right=right, name="ATmega328P Nano")
    for pin in left[:2] + left[3:13]:
        s.tag(f"U2.{pin}", "left")
    for pin in ("RST", "A0", "A2", "A3", "A6", "A7"):
        s.tag(f"U2.{pin}", "right")
    s.tag("U2.GND", "down", 0.5)
    s.two("R6", (-5, 1))
    s.tag("R6.1", "up")
    s.wire("U2.D2", (-7, -3))
    s.wire("R6.2", (-5, -3))
    s.two("C5", (-7, -3))
    s.tag("C5.2")
    s.wire("C5.1", (-8, -3))
    s.two("R7", (-8, -3), "left")
    s.tag("R7.2", "left")
    s.two("R5", (-2, -14), "left")
    s.wire("U2.D13", "R5.1")
    s.tag("R5.1", "down", 0.5)
    s.two("D5", "R5.2", "left")
    s.tag("D5.k", "down", 0.5)
    s.wire("U2.5V", (14, -1))
    s.two("C4", (14, -1))
    s.tag("C4.2")
    s.tag("U2.5V", "up", at=(14, -1), length=0.5)
    s.two("R3", (9, -4.5))
    s.two("R4", (11, -4.5))
    s.wire("R3.1", (9, -1))
    s.wire("R4.1", (11, -1))
    s.wire("U2.A4", (13, -7))
    s.wire("U2.A5", (13, -8))
    s.wire("R3.2", (9, -7))
    s.wire("R4.2", (11, -8))
    s.tag("U2.A4", "right", at=(13, -7))
    s.tag("U2.A5", "right", at=(13, -8))
    s.two("R8", (9, -11.5), first="1")
    s.tag("R8.1", "up")
    s.two("TH1", (9, -13.5))
    s.two("C6", (11.5, -13.5))
    s.wire("R8.2", "C6.1")
    s.tag("R8.2", "right", at=(13, -13.5))
    s.wire("C6.1", (13, -13.5))
    s.tag("U2.A1", "right")
    s.tag("TH1.2")
    s.tag("C6.2")


def coil_supply(s: Sheet) -> None:
    """Set value, amplifier, follower with limit, output."""
    _set_value(s)
    _amplifier(s)
    _follower(s)
    _feedback(s)
    _output(s)
    _coil_sense(s)
    _spare_amplifier(s)
    s.note(
        "Gain (1 + R11/R12) R10/(R10 + R97) = 6.0. Q2 takes the base current away above 0.3 A through R14.\n"
        "R16 empties C12 when the set value falls; its current does not pass R17.",
        (-9, -12.5),
    )


def _set_value(s: Sheet) -> None:
    left = ["VDD", "SDA", "SCL", "GND"]
    s.box("U3", (-17, 1), 3.5, 5, left=left, right=["OUT"], name="MCP4725")
    s.tag_each("U3", left, "left")
    s.two("R97", (-11.5, 0), "right")
    s.wire("U3.OUT", "R97.1")
    s.two("R10", (-9, 0), side="left")
    s.wire("R97.2", "R10.1")
    s.tag("R10.2")
    s.fet("Q6", (-6.5, -3.2))
    s.wire("Q6.d", (-5, 0))
    s.tag("Q6.s")
    s.two("R98", (-7, -1.2), side="left")
    s.wire("R98.2", "Q6.g")
    s.tag("R98.1", "up", 0.5)
    s.fet("Q7", (-10.5, -7))
    s.wire("Q7.d", (-9, -3.2), "Q6.g")
    s.tag("Q7.s")
    s.two("R99", (-11, -7), side="left")
    s.wire("R99.1", "Q7.g")
    s.tag("R99.2")
    s.tag("Q7.g", "left", at=(-13, -7))
    s.wire("R99.1", (-13, -7))


def _amplifier(s: Sheet) -> None:
    s.box("U4", (-1.5, 1), 3, 4, left=["+", "", "-"], right=["", "out"], top=["v+"], bottom=["v-"], name="")
    s.wire("R97.2", "U4.+")
    s.tag("U4.v-", "down")
    s.wire("U4.v+", (-0.5, 3))
    s.tag("U4.v+", "left", at=(-0.5, 3))
    s.two("R13", (3.6, -1), "right")
    s.wire("U4.out", "R13.1")
    s.two("C11", (3.3, -1), length=4, side="left")
    s.wire("C11.2", (-2.5, -5))
    s.wire("U4.-", (-2.5, -5))


def _follower(s: Sheet) -> None:
    """Q1 with its current limit: Q2 across R14."""
    s.bjt("Q1", (8, -1))
    s.wire("R13.2", "Q1.b")
    s.wire("Q1.c", (9.5, 3), (11.5, 3))
    s.tag("Q1.c", "left", at=(9.5, 3))
    s.two("C10", (11.5, 3))
    s.tag("C10.2")
    s.two("R14", (9.5, -3), length=3)
    s.wire("Q1.e", "R14.1")
    s.bjt("Q2", (8.5, -4.5), mirror=True)
    s.two("R15", (8.5, -3), "down", length=1.5, side="left")
    s.wire("R14.1", "R15.1")
    s.wire("Q2.c", (7, -1))
    s.two("D10", (5.6, -6), "up", length=5, side="left")
    s.wire("D10.a", "Q2.e", "R14.2")


def _feedback(s: Sheet) -> None:
    s.two("R11", (3.3, -6), first="1", length=2, side="")
    s.wire("D10.a", "R11.1")
    s.wire("R11.2", (0, -8), (0, -5))
    s.two("R12", (0, -8))
    s.tag("R12.2")


def _output(s: Sheet) -> None:
    """Pull-down, capacitor, shunt, and a diode for the coil's current when the supply goes to 0."""
    s.two("R16", (12, -6))
    s.tag("R16.2")
    s.two("C12", (14, -6))
    s.tag("C12.2")
    s.tag("R16.1", "up", at=(12, -6), length=0.5)
    s.two("D11", (17, -6), first="k")
    s.tag("D11.a")
    s.two("R17", (20.5, -6), "right", side="below")
    s.wire("R14.2", "R17.1")
    s.wire("R17.2", (27.5, -6))
    s.tag("R17.2", "right", at=(27.5, -6))


def _coil_sense(s: Sheet) -> None:
    left, right, bottom = ["VCC", "GND"], ["SDA", "SCL"], ["IN+", "", "", "", "IN-", "", "VBUS"]
    s.box("U5", (17.5, 1.5), 8, 3, left=left, right=right, bottom=bottom, name="INA226")
    for resistor, pin, x in (("R25", "IN+", 18.5), ("R26", "IN-", 22.5), ("R27", "VBUS", 24.5)):
        s.two(resistor, (x, -3), first="2")
        s.wire(f"U5.{pin}", f"{resistor}.2")
        s.wire(f"{resistor}.1", (x, -6))
    s.tag_each("U5", left, "left")
    s.tag_each("U5", right, "right")


def _spare_amplifier(s: Sheet) -> None:
    s.box("U4", (-7.5, 6.5), 3, 3, left=["+b", "-b"], right=["", "outb"], name="spare half")
    s.tag("U4.+b", "left")
    s.wire("U4.-b", (-8.5, 2.5), (-3, 2.5), (-3, 4.5))
    s.wire("U4.outb", (-3, 4.5))


def coil_switch(s: Sheet) -> None:
    """Low-side switch, clamps, fast current, flyback sense."""
    _switch(s)
    _fast_current(s)
    _clamp_diode(s)
    s.note(
        "D12 ends the coil's current at about 68 V. K2 puts D13 across the coil, to imitate a driver with a diode.\n"
        "K2 is switched without current, 3 ms ahead. The sense of U6 goes to the legs of R18 by two wires.",
        (-3, -8.8),
    )


def _switch(s: Sheet) -> None:
    """With the clamp D12 and the divider that shows the spike."""
    s.two("R19", (0, 0), "right")
    s.tag("R19.1", "left", at=(-1.5, 0))
    s.wire("R19.1", (-1.5, 0))
    s.fet("Q3", (2.5, 0))
    s.two("R20", (2.2, 0), length=3, side="left")
    s.wire("R20.2", (4, -3))
    s.wire("R19.2", "Q3.g")
    s.wire("Q3.d", (4, 4), (13, 4))
    s.two("D12", (7, 4), first="k")
    s.tag("D12.a")
    s.two("R22", (11, 4))
    s.two("R23", "R22.2")
    s.tag("R23.2")
    s.tag("R22.2", "right", 1)
    s.tag("R22.1", "right", at=(13, 4))


def _fast_current(s: Sheet) -> None:
    s.two("R18", (4, -3))
    s.wire("Q3.s", "R18.1")
    s.tag("R18.2")
    s.box(
        "U6", (7, -2), 3, 4, left=["IN+", "IN-"], right=["OUT"], top=["VS"], bottom=["GND"], name="INA180A1, times 20"
    )
    s.wire("R18.1", "U6.IN+")
    s.wire("U6.IN-", (5.5, -4), (5.5, -5), "R18.2")
    s.tag("U6.GND")
    s.two("C14", (12, -5.5))
    s.tag("C14.1", "up")
    s.tag("C14.2")
    s.tag("U6.VS", "up")
    s.two("R21", (12, -3), "right")
    s.wire("U6.OUT", "R21.1")
    s.two("C13", (15, -3))
    s.wire("R21.2", (16.5, -3))
    s.tag("R21.2", "right", at=(16.5, -3))
    s.tag("C13.2")


def _clamp_diode(s: Sheet) -> None:
    """D13 by the contact of K2, and the coil of K2."""
    s.two("D13", (4, 4), "up")
    s.two("K2", (4, 6), "up", "11", "14", "contact")
    s.tag("K2.14", "up")
    s.two("K2", (-1, 7), "down", "A1", "A2", "coil", side="left")
    s.two("D14", (1, 7), "down", first="k")
    s.wire("K2.A1", "D14.k")
    s.tag("K2.A2")
    s.tag("D14.a")
    s.wire("K2.A1", (-2, 7))
    s.tag("K2.A1", "left", at=(-2, 7))
