"""Where the parts of the evening build stand on its sheets; connections are checked."""

from collections.abc import Callable

from making.circuit import Circuit
from making.drawn import place_contact
from making.drawn.sheet import Sheet


def feed(s: Sheet) -> None:
    """Battery, main relay, stop, thermostat, lock-out."""
    s.box("J9", (-3, 1), 2, 3, right=["plus", "minus"], name="12 V battery")
    s.tag("J9.minus", "right")
    s.two("F2", (1, 0), "right")
    s.wire("J9.plus", "F2.1")
    s.two("K1", (7, 0), "right", "30", "87", "contact")
    s.wire("F2.2", "K1.30")
    s.tag("F2.2", "up", 0.5, at=(3.6, 0))
    s.tag("K1.87", "right", 0.8)
    s.two("F5", (5, 0))
    s.two("S1", (5, -2), "down", "b1", "b2", "closed")
    s.two("TS1", (5, -4), symbol="closed")
    s.two("D41", (5, -6))
    s.two("K1", (5, -8), "down", "86", "85", "coil", side="left")
    s.two("D40", (8, -10), "up")
    s.wire("D41.k", "D40.k")
    s.wire("K1.85", "D40.a")
    s.bjt("Q10", (3.5, -13))
    s.wire("K1.85", "Q10.c")
    s.two("R134", (0, -13), "right")
    s.wire("R134.2", "Q10.b")
    s.tag("R134.1", "left")
    s.two("R135", (2.6, -13), side="left")
    s.tag("R135.2", "down", 0.5)
    s.tag("Q10.e", "down")
    s.tag("Q10.b", "up", 0.6, at=(3.1, -13))
    s.wire("D40.a", (11, -10))
    s.two("Z1", (11, -10), first="k")
    s.two("R51", "Z1.a", first="1")
    s.two("R52", "R51.2", first="1")
    s.tag("R52.2", "down")
    s.bjt("Q11", (13, -14))
    s.wire("R51.2", "Q11.b")
    s.tag("Q11.c", "up")
    s.tag("Q11.e", "down")
    s.two("S1", (11, -3), "right", "c1", "c2", "closed")
    s.tag("S1.c1", "left")
    s.tag("S1.c2", "right")
    s.note(
        "K1 feeds coil and load, and only while the lamp is lit: a second means for both. Z1 sees the battery at the\n"
        "open end of its coil: above 15 to 17 V Q11 holds Q10 off. D41 keeps a reversed battery from closing K1.",
        (-3, -18.5),
    )


def logic(s: Sheet) -> None:
    """Nano, stop, temperature, load supply, 5 V."""
    left = ["D2", "D7", "D8", "D9", "D10", "D11", "D12", "D13"]
    right = ["5V", "A0", "A1", "A2", "A3", "A4", "A5", "A6", "A7", "", "GND", "GND2"]
    s.box("U2", (0, 0), 4, 13, left=left, right=right, name="ATmega328P Nano")
    s.tag_each("U2", left, "left")
    s.tag_each("U2", right, "right")
    for upper, lower, x, net in (("R6", "R7", 11, "stop"), ("R8", "TH1", 17, "temperature"), ("R77", "R78", 23, "")):
        s.two(upper, (x, 0))
        s.two(lower, (x, -2))
        s.tag(f"{upper}.1", "up")
        s.tag(f"{upper}.2", "left", 0.5 if net else 0.0)
    s.tag("R7.2", "down")
    s.tag("TH1.2")
    s.tag("R78.2")
    s.two("C5", (13, -2))
    s.wire("R6.2", "C5.1")
    s.tag("C5.2")
    s.two("C41", (25, -2))
    s.two("D48", (27, -2), "up")
    s.two("D67", (29, -4), "up")
    s.wire("R77.2", "C41.1", "D48.a", "D67.k")
    s.tag("C41.2")
    s.tag("D67.a")
    s.tag("D48.k", "up")
    for ref, x in (("R3", 11), ("R4", 14)):
        s.two(ref, (x, -8))
        s.tag(f"{ref}.1", "up")
        s.tag(f"{ref}.2", "down")
    s.two("C3", (18, -8))
    s.two("R9", (21, -8))
    s.two("R24", "R9.2", first="1")
    s.box("U9", (24, -9), 2, 2, left=["R"], top=["K"], bottom=["A"], name="TL431A")
    s.wire("R9.2", "U9.R")
    s.wire("C3.1", "R9.1", "U9.K")
    s.tag("C3.1", "up", 0.5, at=(19.5, -8))
    for pin in ("C3.2", "R24.2", "U9.A"):
        s.tag(pin)
    s.note(
        "5 V come from USB through the Nano. U9 takes what the input clamps push into them, from 5.5 V on.", (0, -15.5)
    )


def coil(s: Sheet) -> None:
    """Coil feed, knob, current, look."""
    s.two("F1", (-3, 0), "right")
    s.tag("F1.1", "left")
    s.two("R136", (0, 0), "right")
    s.wire("F1.2", "R136.1")
    s.two("D1", (3, 0), "right")
    s.wire("R136.2", "D1.a")
    s.wire("D1.k", (17, 0))
    s.box("P1", (6.5, -2), 2, 2, right=["2"], top=["3"], bottom=["1"], name="knob")
    s.wire("P1.3", (7.5, 0))
    s.two("R13", (10, -3), "right")
    s.wire("P1.2", "R13.1")
    s.two("C12", (12.6, -3))
    s.bjt("Q1", (13.5, -3))
    s.wire("R13.2", "Q1.b")
    s.wire("Q1.c", (15, 0))
    s.two("R16", (15, -5), side="left")
    s.wire("Q1.e", "R16.1")
    for pin in ("P1.1", "C12.2", "R16.2"):
        s.tag(pin, "down")
    s.box("S4", (19, 1), 2.5, 4, left=["1", "", "3"], right=["", "2"], name="supply / knob")
    s.wire((17, 0), "S4.1")
    s.wire("R16.1", (18, -5), "S4.3")
    s.two("D11", (24, -3), "up", side="left")
    s.tag("D11.a", "down")
    s.two("R131", (26, 1), first="1")
    s.two("D66", (26, 3), first="a")
    s.tag("D66.a", "up")
    s.box("U5", (30, 0), 4, 6, left=["IN+", "", "SDA", "SCL"], right=["IN-", "VBUS", "", "VCC", "GND"], name="INA226")
    s.wire("S4.2", "U5.IN+")
    s.tag_each("U5", ["SDA", "SCL"], "left")
    s.tag_each("U5", ["VCC", "GND"], "right")
    s.two("R27", (38, -1), first="1")
    s.wire("U5.IN-", (40, -1))
    s.tag("R27.1", "right", at=(40, -1))
    s.wire("U5.VBUS", (36, -2), (36, -3), "R27.2")
    s.note(
        "S4 gives the coil the supply itself or the knob's volts. With K1 open D10 of the Nano looks at the coil with\n"
        "13 mA. D11 carries the coil's current when stop or K1 opens first. The 0.1 ohm is the module's own.",
        (0, -9.5),
    )


def coil_switch(s: Sheet) -> None:
    """Coil switch, clamp, fast current, flyback."""
    s.two("R19", (0, 0), "right")
    s.tag("R19.1", "left")
    s.fet("Q3", (3.5, 0))
    s.wire("R19.2", "Q3.g")
    s.two("R20", (2.6, 0), side="left")
    s.wire("R20.2", (5, -2))
    s.wire("Q3.s", (5, -2.5))
    s.two("R18", (5, -2.5), side="left")
    s.tag("R18.2", "down")
    s.wire("Q3.d", (5, 3), (12, 3))
    s.tag("Q3.d", "up", 0.5, at=(5, 3))
    s.two("D12", (9, 1), "up")
    s.tag("D12.a", "down")
    s.two("R22", (12, 3))
    s.two("R23", "R22.2", first="1")
    s.tag("R22.2", "right", 0.6)
    s.tag("R23.2")
    left, right = ["+", "", "-", "", "+b", "-b"], ["", "out", "", "", "outb"]
    s.box("U6", (17, -1.5), 3.5, 7, left=left, right=right, top=["v+"], bottom=["", "v-"], name="MCP617")
    s.wire("R18.1", "U6.+")
    s.two("R133", (13, -4.5), first="1")
    s.wire("R133.1", "U6.-")
    s.tag("R133.2", "down")
    s.tag("R133.1", "left", 0.5)
    s.tag("U6.+b", "left")
    s.tag("U6.-b", "left")
    s.tag("U6.outb", "right")
    s.tag("U6.v+", "up")
    s.tag("U6.v-")
    s.two("R132", (23, -3.5), first="1")
    s.tag("R132.2", "down")
    s.two("R21", (25, -3.5), "right")
    s.wire("U6.out", "R21.1")
    s.tag("R21.2", "right")
    s.two("C14", (23, 2))
    s.tag("C14.1", "up")
    s.tag("C14.2")


def contact(s: Sheet) -> None:
    """Socket, contact sense, dry sources, edges."""
    pins = ["86", "85", "", "87", "87s", "", "87a", "87as", "", "30", "30s"]
    s.box("J3", (0, 0), 3, 12, right=pins, name="socket")
    s.tag_each("J3", pins, "right")
    _sense(s, ("R31", "D30", "D35", "R44", "R32"), 0.0)
    _sense(s, ("R33", "D31", "D36", "R45", "R34"), -7.0)
    _sense(s, ("R35", "D32", "D37", "R46", "R36"), -14.0)
    s.two("R30", (2, -16), "down", "I+", "I-")
    s.tag("R30.I+", "up")
    s.tag("R30.I-", "down")
    s.tap("R30", "V+", (2, -16.4), (4.5, -16.4))
    s.tap("R30", "V-", (2, -17.6), (4.5, -17.6))
    s.two("R37", (5.5, -16.4), "right")
    s.wire("R30.V+", "R37.1")
    s.tag("R37.2", "right")
    s.tag("R30.V-", "right")
    left, right = ["A0", "A1", "A2", "A3"], ["VDD", "GND", "SCL", "SDA", "ADDR"]
    s.box("U7", (25, 1), 3.5, 6, left=left, right=right, name="ADS1115, 0x4B")
    s.tag_each("U7", left, "left")
    s.tag_each("U7", right, "right")
    for diode, ohm, y in (("D33", "R38", -9.0), ("D34", "R39", -11.0)):
        s.two(diode, (25, y), "right")
        s.two(ohm, (27, y), "right")
        s.tag(f"{diode}.a", "left")
        s.tag(f"{ohm}.2", "right")
    for series, pull, y in (("R40", "R41", -15.5), ("R42", "R43", -19.0)):
        s.two(series, (25, y), "right")
        s.two(pull, (28, y + 2), first="1")
        s.wire(f"{series}.2", f"{pull}.2")
        s.tag(f"{series}.1", "left")
        s.tag(f"{pull}.1", "up")
        s.tag(f"{pull}.2", "right", 0.6)
    s.note(
        "R31, R33, R35, R38 to R40 and R42 stand at the socket: no thin wire is fed by the load without a resistor.\n"
        "gnd and load_minus meet in the shunt and nowhere else.",
        (0, -22.5),
    )


def _sense(s: Sheet, refs: tuple[str, str, str, str, str], y: float) -> None:
    """One sense wire: series resistor, clamps to 5 V and ground, what shows that it is open, the converter."""
    series, up, down, shows, last = refs
    x = 11.0
    s.two(series, (x, y), "right")
    s.tag(f"{series}.1", "left")
    s.two(up, (x + 3, y), "up", first="a")
    s.two(down, (x + 3, y - 2), "up", first="a")
    s.two(shows, (x + 6, y + 2), first="1")
    s.two(last, (x + 7, y), "right")
    s.wire(f"{series}.2", f"{last}.1")
    s.tag(f"{up}.k", "up")
    s.tag(f"{down}.a")
    s.tag(f"{shows}.1", "up")
    s.tag(f"{last}.2", "right")


def load(s: Sheet) -> None:
    """Load resistor and throw switches."""
    s.two("R56", (0, 0), "right")
    s.tag("R56.1", "left")
    s.wire("R56.2", (16.5, 0))
    for fet, gate, hold, x in (("Q16", "R71", "R79", 6.0), ("Q17", "R73", "R96", 15.0)):
        s.fet(fet, (x, -3))
        s.wire(f"{fet}.d", (x + 1.5, 0))
        s.two(gate, (x - 3, -3), "right")
        s.wire(f"{gate}.2", f"{fet}.g")
        s.tag(f"{gate}.1", "left")
        s.two(hold, (x - 0.6, -3), side="left")
        s.tag(f"{hold}.2", "down")
        s.tag(f"{fet}.s", "down")
    s.note(
        "The gates get 5 V while the sources stand near ground: a contact that drops more than some 2.5 V turns its\n"
        "own switch down. With K1 open their body diodes lead a dry source's current back to coil_rail, where R16 and\n"
        "P1 take little of it.",
        (0, -8),
    )


SHEETS: tuple[tuple[str, Callable[[Sheet], None]], ...] = (
    ("feed", feed),
    ("logic", logic),
    ("coil", coil),
    ("coil_switch", coil_switch),
    ("contact", contact),
    ("load", load),
    ("pulse_limit", place_contact.pulse_limit),
)


def drawn(circuit: Circuit) -> list[Sheet]:
    """All sheets, drawn; one a block."""
    found = []
    for number, (block, draw) in enumerate(SHEETS, 1):
        sheet = Sheet(circuit, f"{number}_{block}", f"{number}. {circuit.titles[block]}")
        draw(sheet)
        found.append(sheet)
    return found
