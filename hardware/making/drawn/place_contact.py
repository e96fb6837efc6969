"""Where the parts of the contact and load side stand on their sheets; connections are checked."""

from making.drawn.sheet import Sheet


def contact(s: Sheet) -> None:
    """Socket, four-wire sense, dry sources, edges."""
    _socket(s)
    _sense_lines(s)
    _contact_converter(s)
    _dry_source(s, "D33", "R38", "R40", "R41", -13.5)
    _dry_source(s, "D34", "R39", "R42", "R43", -18.5)
    s.note(
        "Dry source: 5 V through about 1 kohm. The edge pin reads low while the throw is closed to 30.\n"
        "Series resistors keep every pin whole when a part with another layout puts the coil supply on a contact.",
        (10, -16),
    )


def _socket(s: Sheet) -> None:
    """With the load shunt below terminal 30."""
    right = ["87", "87s", "87a", "87as", "30", "30s"]
    s.box("J3", (-3, 0.5), 3, 9, right=right, left=["86", "86s", "", "85", "85s"], name="socket of the part under test")
    s.tag_each("J3", ["86", "86s", "85", "85s"], "left")
    s.tag_each("J3", [pin for pin in right if pin != "30"], "right")
    s.two("R30", (4.5, -6.5), first="I+", second="I-", length=3)
    s.wire("J3.30", (4.5, -4.5), "R30.I+")
    s.tag("J3.30", "right", at=(4.5, -4.5))
    s.tag("R30.I-", "down", 0.5)
    s.tap("R30", "V+", (4.5, -7.5), (3.5, -7.5))
    s.tap("R30", "V-", (4.5, -8.5), (3.5, -8.5))
    s.tag("R30.V+", "left", 0.5)
    s.tag("R30.V-", "left", 0.5)
    s.note("V- of R30 is the one star point of gnd.", (-2.5, -10.3))


def _sense_lines(s: Sheet) -> None:
    """Both throws and terminal 30 through two resistors with a clamp between, the shunt through one."""
    x = 10.0
    throws = (("R31", "D30", "R44", "R32", 0.0), ("R33", "D31", "R45", "R34", -4.5))
    for first, pair, bias, last, y in (*throws, ("R35", "D32", "R46", "R36", -9.0)):
        s.two(first, (x, y), "right")
        s.tag(f"{first}.1", "left")
        s.pair(pair, (x + 3, y))
        s.two(bias, (x + 4.2, y + 2))
        s.tag(f"{bias}.1", "up", 0.3)
        s.two(last, (x + 5, y), "right")
        s.wire(f"{first}.2", f"{last}.1")
    s.two("R37", (14.5, -12.5), "right")
    s.tag("R37.1", "left")


def _contact_converter(s: Sheet) -> None:
    left, right = ["A0", "", "A1", "", "A3", "", "A2"], ["VDD", "SDA", "SCL", "ADDR", "GND"]
    s.box("U7", (20, -1.5), 3.5, 9, left=left, right=right, name="ADS1115 at 0x48")
    s.wire("R32.2", (17.5, 0), (17.5, -2.5), "U7.A0")
    s.wire("R34.2", "U7.A1")
    s.wire("R36.2", (17.5, -9), (17.5, -6.5), "U7.A3")
    s.wire("R37.2", (18.3, -12.5), (18.3, -8.5), "U7.A2")
    s.tag_each("U7", right[1:4], "right")
    s.tag("U7.GND", "down", 0.5)
    s.two("C30", (27, -2.5))
    s.wire("U7.VDD", "C30.1")
    s.tag("C30.2")
    s.tag("C30.1", "up", 0.5)


def _dry_source(s: Sheet, diode: str, source: str, edge: str, pull: str, y: float) -> None:
    """Of one throw, and the resistors of its edge pin."""
    s.two(diode, (-3, y), "right")
    s.tag(f"{diode}.a", "left")
    s.two(source, (-1, y), "right")
    s.wire(f"{source}.2", (3, y))
    s.two(edge, (3, y), "right")
    s.tag(f"{source}.2", "down", at=(2, y), length=0.5)
    s.two(pull, (6, y + 2))
    s.tag(f"{pull}.1", "up")
    s.wire(f"{edge}.2", (7.5, y))
    s.tag(f"{edge}.2", "right", at=(7.5, y))


def load_supply(s: Sheet) -> None:
    """Battery, fuse, main relay, lock-out, supply sense."""
    s.box("J9", (-10, 1), 2.5, 3, right=["plus", "minus"], name="12 V battery")
    s.tag("J9.minus", "right")
    s.two("F2", (-6, 0), "right")
    s.wire("J9.plus", "F2.1")
    s.tag("F2.1", "up", at=(-7, 0), length=0.4)
    s.box("J2", (-2, 2), 3, 1.5, bottom=["plus", "minus"], name="studs")
    s.wire("J2.plus", (-1.25, 0))
    s.tag("J2.minus", "down", 0.3)
    s.wire("F2.2", (6, 0))
    s.two("K1", (6, 0), "right", "30", "87", "contact")
    s.tag("F2.2", "up", at=(4, 0), length=0.4)
    s.two("F5", (4.5, -2), "right")
    s.wire("F2.2", (4.5, 0), "F5.1")
    s.tag("F5.2", "right")
    s.wire("K1.87", (16, 0))
    s.tag("K1.87", "right", at=(16, 0))
    s.two("R77", (11, 0))
    s.two("R78", "R77.2")
    s.tag("R78.2")
    s.two("C41", (13, -2))
    s.wire("R77.2", (17.5, -2))
    s.tag("C41.2")
    s.two("D48", (15.8, -2), "down", length=2)
    s.tag("D48.k", "down", 0.3)
    s.tag("R77.2", "right", at=(17.5, -2))
    s.two("TS1", (-3, -7), "right", symbol="closed")
    s.tag("TS1.1", "left")
    s.two("D41", "TS1.2", "right")
    s.wire("D41.k", (15.5, -7))
    s.two("R50", (2.5, -7), length=3)
    s.two("Z1", (6.5, -7), first="k", length=2)
    s.two("R51", (6.5, -11))
    s.wire("Z1.a", "R51.1")
    s.two("R52", (6.5, -13))
    s.tag("R52.2", "down", 0.3)
    s.bjt("Q11", (5, -13), mirror=True)
    s.wire("Q11.b", "R52.1")
    s.wire("R50.2", (2.5, -10), (3.5, -10), "Q11.c")
    s.tag("Q11.e", "down", 0.3)
    s.two("K1", (12.5, -7), "down", "86", "85", "coil")
    s.two("D40", (15.5, -7), first="k", side="")
    s.wire("K1.85", "D40.a")
    s.fet("Q10", (11, -10.5))
    s.wire("K1.85", "Q10.d")
    s.wire("R50.2", (8.8, -10), (8.8, -10.5), "Q10.g")
    s.tag("Q10.s", "down", 0.3)
    s.note(
        "K1 closes only with the emergency stop closed (k1_feed), the plate below 80 degC (TS1), no reversal (D41),\n"
        "and less than 15 to 17 V (Z1, Q11): a 24 V supply is refused by hardware. F5 stands at the load_fused stud.",
        (-4, -17.5),
    )


def branches(s: Sheet) -> None:
    """Load resistors, branch switches, throw switches."""
    _branch(s, "R53", "Q12", "R60", "R64", "R48", "Z2", 0.0)
    _branch(s, "R54", "Q13", "R61", "R65", "R49", "Z3", 7.0)
    _branch(s, "R56", "Q14", "R62", "R66", "R59", "Z4", 14.0)
    _branch(s, "R57", "Q15", "R63", "R67", "R74", "Z5", 21.0)
    s.two("R58", (24.5, 0.5))
    s.wire("R58.2", (24.5, -1.5), (22.5, -1.5))
    s.wire((1.5, 2.5), (24.5, 2.5))
    for ref in ("R53", "R56", "R57", "R58"):
        s.wire(f"{ref}.1", (s.at(f"{ref}.1")[0], 2.5))
    s.tag("R53.1", "left", at=(0.5, 2.5))
    s.wire((0.5, 2.5), (1.5, 2.5))
    s.wire((-0.5, -8), (22.5, -8))
    s.tag("Q12.s", "left", at=(-1.5, -8))
    s.wire((-1.5, -8), (-0.5, -8))
    _throw(s, "Q16", "R71", "R79", "Z6", 5.0)
    _throw(s, "Q17", "R73", "R96", "Z7", 17.0)
    s.note(
        "Gates are driven with 5 V while the sources stand near ground: a contact that drops more than about 3 V\n"
        "turns its own switch down: at rest 87 and 87a stay below 4.3 V. One that opens under 20 A arcs, and they\n"
        "rise to some 20 V, for 11 us above 6 V. Z2 to Z7 save the gates when a part with another layout\n"
        "puts the coil supply on a contact.",
        (-3, -15.5),
    )


def _branch(s: Sheet, load: str, fet: str, gate: str, pull: str, hold: str, zener: str, x: float) -> None:
    """One load resistor, or R54 with R55 in series, and its switch."""
    s.fet(fet, (x, -5))
    s.two(load, (x + 1.5, 2.5 if load == "R54" else 0.5))
    if load == "R54":
        s.two("R55", (x + 1.5, 0.5))
    s.wire(f"{fet}.d", (x + 1.5, -1.5))
    s.two(gate, (x - 3, -5), "right")
    s.wire(f"{gate}.2", f"{fet}.g")
    s.two(pull, (x - 3, -5), side="left")
    s.tag(f"{pull}.2")
    s.tag(f"{gate}.1", "up", 0.9)
    _hold(s, hold, (x - 0.5, -5))
    s.two(zener, (x - 0.5, -5), side="left")
    s.wire(f"{zener}.2", (x - 0.5, -8))
    s.wire(f"{fet}.s", (x + 1.5, -8))


def _hold(s: Sheet, hold: str, gate: tuple[float, float]) -> None:
    """The resistor that stands at a gate and holds it down."""
    s.two(hold, gate, "up", first="1")
    s.tag(f"{hold}.2", "up")


def _throw(s: Sheet, fet: str, gate: str, hold: str, zener: str, x: float) -> None:
    """The switch from the load bus to one throw."""
    s.fet(fet, (x, -11))
    s.wire(f"{fet}.d", (x + 1.5, -8))
    s.two(gate, (x - 3, -11), "right")
    s.wire(f"{gate}.2", f"{fet}.g")
    s.tag(f"{gate}.1", "left")
    _hold(s, hold, (x - 0.5, -11))
    s.two(zener, (x - 0.5, -11), side="left")
    s.wire(f"{zener}.2", (x - 0.5, -13.5), (x + 1.5, -13.5))
    s.wire(f"{fet}.s", (x + 1.5, -13.5))
    s.wire((x + 1.5, -13.5), (x + 2.5, -13.5))
    s.tag(f"{fet}.s", "right", at=(x + 2.5, -13.5))


def pulse_limit(s: Sheet) -> None:
    """Both throw switches are cut after about 0.7 s, whatever the Nano does."""
    _gate_line(s, "R70", "D45", "D42", "R68", 0.0)
    _gate_line(s, "R72", "D46", "D43", "R69", -6.0)
    s.wire("D45.k", (3, -2), (3, -8))
    s.wire("D46.k", (3, -8))
    s.wire("D42.k", (10, -2), (10, -9))
    s.wire("D43.k", (10, -8))
    _pulse_time(s)
    _timer(s)
    s.note(
        "C40 charges through R76 while a throw is on. At 62 to 71 % of 5 V, after 0.54 to 0.88 s, U8 pulls both gates\n"
        "down and holds them until the pins have been low for about 0.1 s. The firmware ends a pulse after 0.5 s.",
        (-2, -17),
    )


def _gate_line(s: Sheet, gate: str, diode: str, dump: str, pull: str, y: float) -> None:
    """From the pin of one throw to its gate: `diode` charges C40, `dump` cuts."""
    s.two(gate, (4, y), "right")
    s.wire((-2, y), (4, y))
    s.tag(f"{gate}.1", "left", at=(-2, y))
    s.two(pull, (-1, y))
    s.tag(f"{pull}.2")
    s.two(diode, (1, y), "down", length=2)
    s.wire(f"{gate}.2", (8, y))
    s.tag(f"{gate}.2", "up", at=(7, y), length=0.5)
    s.two(dump, (8, y), "down", length=2)


def _pulse_time(s: Sheet) -> None:
    s.wire((3, -8), (3, -12))
    s.two("R75", (1, -12))
    s.tag("R75.2")
    s.wire("R75.1", (4, -12))
    s.two("R76", (4, -12), "right")
    s.two("D47", (6, -14), "left", length=2, side="below")
    s.wire("D47.k", (4, -12))
    s.wire("D47.a", (6, -12))
    s.wire("R76.2", (9, -12))
    s.two("C40", (8, -12))
    s.tag("C40.2")


def _timer(s: Sheet) -> None:
    left, right = ["DIS", "", "", "THR", "TRIG"], ["VCC", "RES", "", "CV"]
    s.box("U8", (12, -8), 3.5, 6, left=left, right=right, bottom=["", "GND"], name="CMOS 555")
    s.wire("U8.DIS", (10, -9))
    s.wire((9, -12), "U8.THR")
    s.wire("U8.TRIG", (11, -12))
    s.tag("U8.GND")
    s.wire("U8.RES", (16.5, -9))
    s.tag("U8.VCC", "right", 0.7)
    s.two("C42", (17.5, -12))
    s.wire("U8.CV", "C42.1")
    s.tag("C42.2")
    s.two("C43", (20, -10))
    s.wire("U8.RES", "C43.1")
    s.tag("C43.2")
