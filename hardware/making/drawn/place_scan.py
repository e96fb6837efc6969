"""Where the parts of the scan and the vehicle side stand on their sheets; connections are checked."""

from making.drawn.sheet import Sheet


def scan(s: Sheet) -> None:
    """Port expander, three multiplexers, converter, scan relays, button."""
    _expander(s)
    _multiplexers(s)
    _scan_converter(s)
    s.two("D50", (9.0, -21.5), side="left")
    _scan_relays(s)
    _pull_ups_and_button(s)
    _capacitors(s)
    s.note(
        "Drive puts 5 V through R88 on one line, sink puts another to ground through R89, look reads the volts of\n"
        "any line without current: so any two lines, both ways round, at 2.5 mA at most. Terminal 30 is ground\n"
        "itself (through R30): only the sink, of 4.7 mA. K3 and K4 part the coil terminals from the scan.",
        (16, -21.5),
    )


def _expander(s: Sheet) -> None:
    left = ["VDD", "RESET", "", "SDA", "SCL", "", "A0", "A1", "A2", "VSS"]
    ports = [*(f"GPA{n}" for n in range(8)), *(f"GPB{n}" for n in range(7))]
    s.box("U10", (0, 0), 4, 16, left=left, right=ports, name="MCP23017 at 0x20")
    s.tag_each("U10", [pin for pin in left if pin != "RESET"], "left")
    s.two("R94", (-4.5, -2), "right")
    s.wire("R94.2", "U10.RESET")
    s.tag("R94.1", "left")
    s.tag_each("U10", ports, "right")


def _multiplexers(s: Sheet) -> None:
    left = ["X", "", "A", "B", "C", "INH", "", "VEE", "GND"]
    right = ["VCC", *(f"X{n}" for n in range(8))]
    for ref, x, what in (("U11", 11.0, "drive"), ("U12", 20.0, "sink"), ("U13", 29.0, "look")):
        s.box(ref, (x, 0), 3.5, 10, left=left, right=right, name=f"74HC4051 {what}")
        s.tag_each(ref, left, "left")
        s.tag_each(ref, right, "right")


def _scan_converter(s: Sheet) -> None:
    """It reads the volts across R88 and R89, which tell the current, and those of the look line."""
    left, right = ["A3", "", "A0", "", "A1", "", "A2"], ["VDD", "SDA", "SCL", "ADDR", "GND"]
    s.box("U14", (11, -13.5), 3.5, 8, left=left, right=right, name="ADS1115 at 0x4A")
    s.tag_each("U14", right, "right")
    s.two("R88", (8.5, -14.5))
    s.wire("U14.A3", "R88.1")
    s.tag("R88.1", "up")
    s.wire("U14.A0", "R88.2")
    s.tag("U14.A0", "left", at=(8, -16.5))
    s.wire("R88.2", (8, -16.5))
    s.two("R89", (7.5, -18.5), side="left")
    s.wire("U14.A1", "R89.1")
    s.tag("R89.2")
    s.tag("R89.1", "up", at=(8.5, -18.5))
    s.tag("U14.A2", "left")


def _scan_relays(s: Sheet) -> None:
    for ref, x in (("K3", 20.0), ("K4", 22.6)):
        s.two(ref, (x, -14), "down", "A1", "A2", "coil")
    s.two("D49", (25.4, -16), "up")
    s.wire("K3.A1", "D49.k")
    s.wire("K3.A2", "D49.a")
    s.tag("K4.A1", "up")
    s.fet("Q20", (18.5, -17.5))
    s.wire("Q20.d", "K3.A2")
    s.tag("Q20.s")
    s.two("R92", (18, -17.5), side="left")
    s.wire("R92.1", "Q20.g")
    s.tag("R92.1", "up", at=(18, -17.5))
    s.tag("R92.2")
    for ref, y in (("K3", -14.0), ("K4", -16.5)):
        s.two(ref, (29, y), "right", "11", "14", "contact")
        s.tag(f"{ref}.11", "left")
        s.tag(f"{ref}.14", "right")


def _pull_ups_and_button(s: Sheet) -> None:
    for ref, x in (("R90", 0.0), ("R91", 2.5), ("R93", 5.0)):
        s.two(ref, (x, -19))
        s.tag(f"{ref}.1", "up")
    s.tag("R90.2", "down")
    s.tag("R91.2", "down")
    s.two("S2", (5, -21), symbol="push")
    s.tag("S2.1", "right")
    s.tag("S2.2")


def _capacitors(s: Sheet) -> None:
    for ref, x in (("C50", 9.0), ("C51", 12.0), ("C52", 15.0), ("C53", 18.0)):
        s.two(ref, (x, -23.5))
        s.tag(f"{ref}.2")
    s.tag("D50.a", "up")
    s.tag("C50.1", "right")
    for ref in ("C51", "C52", "C53"):
        s.tag(f"{ref}.1", "up")


def scan_lines(s: Sheet) -> None:
    """Series resistor, clamp and look resistor of each line."""
    names = ("85", "86", "87", "87a", "loose 1", "loose 2", "loose 3", "loose 4")
    for n, what in enumerate(names):
        x, y = 11.0 * (n % 2), -5.8 * (n // 2)
        drive, look, pair = f"R{80 + n}", f"R{101 + n}", f"D{51 + n}"
        s.two(drive, (x, y), "right")
        s.wire((x - 1, y), (x, y))
        s.tag(f"{drive}.1", "left", at=(x - 1, y))
        s.pair(pair, (x + 3, y))
        s.wire(f"{drive}.2", (x + 5, y))
        if n:
            s.tag(f"{drive}.2", "right", at=(x + 5, y))
        else:
            s.two("R95", (x + 5, y), "right")
            s.tag("R95.2", "right")
        s.two(look, (x, y - 1.3), "right", side="below")
        s.wire(f"{look}.1", (x - 0.5, y - 1.3), (x - 0.5, y))
        s.wire(f"{look}.2", (x + 2.2, y - 1.3), (x + 2.2, y - 2.4))
        s.tag(f"{look}.2", "down", at=(x + 2.2, y - 2.4))
        s.note(f"line {n + 1}: {what}", (x - 1, y + 1.2))
    s.box("J5", (20.5, 0.5), 2.5, 6, left=["1", "2", "3", "4", "5"], name="loose leads")
    for pin in "12345":
        s.tag(f"J5.{pin}", "left")
    s.note(
        "1 kohm, 1 W: a line stays whole with the coil supply\nor a vehicle's battery on it.",
        (-1, -23),
    )


def vehicle(s: Sheet) -> None:
    """Four inputs and the dummy coil."""
    s.box("J7", (-3, 1), 2.5, 6, right=["1", "2", "3", "4", "5"], name="vehicle inputs")
    s.tag_each("J7", "12345", "right")
    for n in range(1, 5):
        _vehicle_input(s, n, 5.0, 1.0 - 4.5 * (n - 1))
    _vehicle_converter(s)
    _dummy_coil(s)
    s.note(
        "0 to 36 V reads as 0 to 4.0 V. The dummy coil is on input 1: 100 ohm,\n"
        "and its resistor bears 36 V for as long as it lasts.",
        (15, -15.5),
    )


def _vehicle_input(s: Sheet, n: int, x: float, y: float) -> None:
    """Divider and filter of input `n`."""
    s.two(f"R11{n}", (x + 2, y), "right")
    s.tag(f"R11{n}.1", "left")
    s.two(f"R11{n + 4}", (x + 4.5, y))
    s.two(f"C6{n}", (x + 6.5, y))
    s.wire(f"R11{n}.2", (x + 8.5, y))
    s.tag(f"R11{n}.2", "right", at=(x + 8.5, y))
    s.tag(f"R11{n + 4}.2")
    s.tag(f"C6{n}.2")


def _vehicle_converter(s: Sheet) -> None:
    left, right = ["A0", "A1", "A2", "A3"], ["VDD", "SDA", "SCL", "ADDR", "GND"]
    s.box("U15", (18, 2), 3.5, 6, left=left, right=right, name="ADS1115 at 0x49")
    s.tag_each("U15", left, "left")
    s.tag_each("U15", right[1:4], "right")
    s.tag("U15.GND", "down", 0.5)
    s.two("C65", (26, 1))
    s.wire("U15.VDD", "C65.1")
    s.tag("C65.1", "up", 0.4)
    s.tag("C65.2")


def _dummy_coil(s: Sheet) -> None:
    s.two("F3", (17, -7), "right")
    s.tag("F3.1", "left")
    s.two("R100", (21, -7))
    s.wire("F3.2", (23.5, -7))
    s.wire("R100.1", (23.5, -7))
    s.two("D61", (23.5, -7))
    s.tag("D61.2")
    s.fet("Q21", (19.5, -11))
    s.wire("R100.2", "Q21.d")
    s.tag("Q21.s")
    s.two("R121", (17, -11), "right")
    s.wire("R121.2", "Q21.g")
    s.two("R122", (16.5, -11), side="")
    s.wire("R122.1", "R121.1")
    s.tag("R122.1", "left", at=(15.8, -11))
    s.wire((15.8, -11), (16.5, -11))
    s.tag("R122.2")


def stand_in(s: Sheet) -> None:
    """Takes the relay's place in the vehicle's own socket, while a person holds the button."""
    s.box("J8", (-3, 1), 2.5, 3, right=["1", "2"], name="to the vehicle's socket")
    s.two("F4", (3, 0), "right")
    s.wire("J8.1", "F4.1")
    s.tag("J8.1", "up", at=(1.5, 0), length=0.4)
    s.wire("F4.2", (6, 0))
    s.two("K5", (6, 0), "right", "11", "14", "contact")
    s.wire("K5.14", (9, 0), (9, -2), (0.5, -2), "J8.2")
    s.tag("J8.2", "down", at=(3, -2), length=0.4)
    s.two("S3", (4, -6), "right", symbol="push")
    s.tag("S3.1", "left")
    s.wire("S3.2", (11, -6))
    s.two("K5", (8, -6), "down", "A1", "A2", "coil")
    s.two("D65", (11, -6), first="k")
    s.wire("K5.A2", "D65.a")
    s.bjt("Q22", (6.5, -9.5))
    s.wire("K5.A2", "Q22.c")
    s.two("R124", (4.5, -9.5), "right")
    s.two("R123", (4, -9.5))
    s.wire("R123.1", "R124.1")
    s.tag("R124.1", "left", at=(3, -9.5))
    s.wire((3, -9.5), (4, -9.5))
    s.tag("R123.2")
    s.tag("Q22.e", "down", 0.4)
    s.note(
        "Needs all of: S3 held by hand, the board's consent (stand_in), the emergency stop closed (stop_n).\n"
        "Never on starter, fuel pump, fan or door circuits.",
        (-3, -13.5),
    )
