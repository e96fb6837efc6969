"""The evening build's wiring and its first power-up as plain letters, screen by screen.

Rule: a test holds each path to the circuit, and each place and reading to the building page (hardware/evening).
"""

import textwrap
from dataclasses import dataclass

WIDTH = 78
PAGE = "hardware/evening/README.md"
Path = tuple[str, str]
"""What it is, and its hops: REF:IN>OUT VALUE, one after the other along the current; > or an end may be missing."""
Read = tuple[str, str, str]
"""Place, net and volts to expect; B is what the battery reads."""


@dataclass(frozen=True, slots=True)
class Screen:
    """One screen of at most 20 lines: what to do, what is joined, what the meter reads."""

    title: str
    about: tuple[str, ...] = ()
    paths: tuple[Path, ...] = ()
    reads: tuple[Read, ...] = ()
    step: int = 0
    """Of the page's first power-up."""
    flashes: bool = False
    """Whether the firmware is written here."""

    def lines(self, width: int = WIDTH) -> list[str]:
        """As they are shown, `width` columns at most."""
        drawn = [line for one in self.about for line in textwrap.wrap(one, width - 2, initial_indent="  ",
                                                                      subsequent_indent="  ")]  # fmt: skip
        if self.paths:
            wide = max(len(what) for what, _ in self.paths)
            for what, hops in self.paths:
                drawn += textwrap.wrap(
                    f"  {what:<{wide}}  {' -- '.join(map(hop, hops.split('; ')))}", width,
                    subsequent_indent=" " * (wide + 4), break_on_hyphens=False,
                )  # fmt: skip
        if self.reads:
            places = max(len(place) for place, _, _ in self.reads)
            nets = max(len(net) for _, net, _ in self.reads)
            drawn.append(f"  {'place':<{places}}  {'net':<{nets}}  reads")
            for place, net, volts in self.reads:
                drawn += textwrap.wrap(
                    f"  {place:<{places}}  {net:<{nets}}  {volts}", width, subsequent_indent=" " * (places + nets + 6)
                )
        return drawn


def hop(told: str) -> str:
    """One hop as it is shown: 'F2 15 A', 'K1 30>87', 'socket 87'."""
    part, _, value = told.partition(" ")
    ref, _, pins = part.partition(":")
    name = {"J9": "battery", "J3": "socket", "U2": "Nano", "U5": "INA226", "U7": "ADS1115"}.get(ref, ref)
    shown = "" if ref[0] in "RF" and pins.replace(">", "").isdigit() else pins.strip(">")
    return " ".join(filter(None, (name, shown, value)))


WIRING = (
    Screen(
        "What goes where: the load",
        (
            "-- is a joint; 30>87 is in at 30 and out at 87. F2: fuse at the battery. K1: main relay. R56: load"
            " resistor; Q16, Q17 switch it. R30: shunt. U8: pulse limit. The first three lines are wires of 2.5 mm2.",
        ),
        (
            ("to 87", "J9:plus; F2:1>2 15 A; K1:30>87; R56:1>2 1.2 ohm; Q16:d>s; J3:87"),
            ("to 87a", "R56:2; Q17:d>s; J3:87a"),
            ("home", "J3:30; R30:I+>I- 5 mohm; J9:minus"),
            ("gates", "U2:D11; R70:1>2 1 k; R71:1>2 4.7 k; Q16:g"),
            ("", "U2:D12; R72:1>2 1 k; R73:1>2 4.7 k; Q17:g"),
            ("limit", "R70:2; D42:a>k; U8:DIS"),
            ("", "R72:2; D43:a>k; U8:DIS"),
        ),
    ),
    Screen(
        "What goes where: K1, the stop, the lamp",
        ("K1 feeds load and coil, and closes only while the lamp of the Nano (D13) is lit.",),
        (
            ("K1's coil", "K1:30; F5:1>2 0.5 A; S1:b1>b2; TS1:1>2; D41:a>k; K1:86>85; Q10:c>e; R30:I-"),
            ("lamp", "U2:D13; R134:1>2 1 k; Q10:b"),
            ("stop", "U2:D2; R7:1>2 1 k; S1:c1>c2; R30:V-"),
            ("battery", "K1:30; R77:1>2 10 k; U2:A6"),
            ("24 V lock", "K1:85; Z1:k>a; R51:1>2 1 k; Q11:b"),
        ),
    ),
    Screen(
        "What goes where: the coil and its knob",
        ("S4 chooses: the battery's volts, or those of the knob P1. D: a>k, the ring is k.",),
        (
            ("supply", "K1:87; F1:1>2 0.5 A; R136:1>2 2.2 ohm; D1:a>k; S4:1>2; U5:IN+>IN-; J3:86"),
            ("knob", "D1:k; P1:3>2 10 k; R13:1>2 1 k; Q1:b>e; S4:3"),
            ("", "D1:k; Q1:c"),
            ("switch", "J3:85; Q3:d>s; R18:1>2 0.82 ohm; R30:I-"),
            ("", "U2:D9; R19:1>2 220; Q3:g"),
            ("clamp", "R30:I-; D12:a>k; J3:85"),
            ("few mA", "U2:D10; D66:a>k; R131:1>2 220; U5:IN+"),
            ("amps", "Q3:s; U6:+>out; R21:1>2 100; U2:A0"),
            ("spike", "J3:85; R22:1>2 100 k; U2:A7"),
        ),
    ),
    Screen(
        "What goes where: the contact",
        ("Sense wires sit on the clips of the socket, not on the lugs of the load wires.",),
        (
            ("87", "J3:87s; R31:1>2 470; R32:1>2 100; U7:A0"),
            ("87a", "J3:87as; R33:1>2 470; R34:1>2 100; U7:A1"),
            ("30", "J3:30s; R35:1>2 470; R36:1>2 100; U7:A3"),
            ("amps", "R30:V+; R37:1>2 100; U7:A2"),
            ("dry", "U2:A2; D33:a>k; R38:1>2 910; J3:87"),
            ("", "U2:A3; D34:a>k; R39:1>2 910; J3:87a"),
            ("edges", "J3:87; R40:1>2 27 k; U2:D8"),
            ("", "J3:87a; R42:1>2 27 k; U2:D7"),
        ),
    ),
    Screen(
        "What goes where: the two modules",
        (
            "ADDR of the ADS1115 goes to SCL: by that the firmware knows this build. Compare every name on your"
            " modules before you solder; the INA226 is the one marked R100.",
        ),
        (
            ("SDA", "U2:A4; U5:SDA; U7:SDA"),
            ("SCL", "U2:A5; U5:SCL; U7:SCL; U7:ADDR"),
            ("5 V", "U2:5V; U5:VCC; U7:VDD"),
            ("ground", "U2:GND; U5:GND; U7:GND; R30:V-"),
            ("sensor", "U2:5V; R8:1>2 10 k; U2:A1; TH1:1>2 10 k; U2:GND"),
        ),
    ),
)

FIRST_POWER = (
    Screen(
        "Without any supply: ohms",
        (
            "Modules, Nano, U6, U8 out. A place is strip-hole, as on the board's picture.",
            "15-1 to 17-1 (5 V to gnd): more than 500 ohm.",
            "17-1 to 2-1 (gnd to load_minus): below 1 ohm; with wire 21 off above 100 kohm.",
            "K1 30 (red lead) to battery minus: more than 5 kohm.",
            "Stop out: S1 b1 to b2 and c1 to c2 closed; pressed: open. TS1: closed.",
        ),
        step=1,
    ),
    Screen(
        "A lamp instead of the fuse",
        (
            "Take the 15 A blade out of F2 and put a bulb of 12 V 21 W across its holder. Stop out. Connect plus, then"
            " minus. The bulb stays dark; if it glows, take the clamp off and look for the short.",
            "All volts here are against load_minus (strip 2). B is what the battery reads.",
        ),
        reads=(
            ("K1 30", "load_fused", "B"),
            ("11-1", "coil_f", "0.0 to 0.1 V"),
            ("6-2", "coil_rail", "0.0 to 0.1 V"),
            ("13-30", "load_supply", "0.2 to 0.8 V"),
        ),
        step=2,
    ),
    Screen(
        "The clamps exchanged, for a moment",
        ("Plus and minus exchanged at the battery: bulb dark, K1 silent. Put them back.",),
        step=3,
    ),
    Screen(
        "K1 by hand",
        ("Hold 4.7 kohm from K1 30 to 4-33 (lamp). K1 clicks, the bulb stays dark. While you hold it:",),
        reads=(
            ("K1 86", "k1_plus", "B - 1.1 to B - 0.7 V"),
            ("11-1", "coil_f", "B - 0.2 to B + 0.1 V"),
            ("6-2", "coil_rail", "B - 0.4 to B + 0.0 V"),
            ("7-4, S4 on supply", "coil_reg", "B - 0.4 to B + 0.0 V"),
            ("7-4, S4 on knob, knob left", "coil_reg", "0.0 to 0.1 V"),
            ("7-4, S4 on knob, knob right", "coil_reg", "B - 1.9 to B - 0.8 V"),
            ("Q16 d", "load_bus", "B - 0.2 to B + 0.1 V"),
            ("J3 87", "t87", "0.0 to 0.5 V"),
        ),
        step=4,
    ),
    Screen(
        "K1 opens, in two ways",
        (
            "Still held: press the stop, K1 opens. Stop out again, warm TS1 with the side of an iron: K1 opens at 80"
            " degC. Let go. Take the clamps off.",
        ),
        step=4,
    ),
    Screen(
        "The pulse limit by hand",
        (
            "U8 in (notch to the USB end), Nano still out, no battery. Three fresh AA cells: plus to 15-1, minus to"
            " 17-1. Meter from 11-57 to gnd. Hold 1 kohm from 15-1 to 5-42: 4 V and more, and after 0.54 to 0.88 s"
            " below 0.7 V for as long as you hold it.",
            "The same from 15-1 to 4-42, with the meter at 10-57. Not cut: go no further. Cells off.",
        ),
        step=5,
    ),
    Screen(
        "USB alone",
        (
            "Nano and U6 in (notch!), no modules. Stop out, no battery. Plug in USB, and write the firmware: press f"
            " here. Then, against gnd:",
        ),
        reads=(
            ("15-1", "v5", "4.4 to 5.1 V"),
            ("18-25", "v5_ref", "1.9 to 2.4 V"),
            ("14-44, stop out", "stop", "0.3 to 0.6 V"),
            ("14-44, stop pressed", "stop", "4.2 to 5.1 V"),
            ("8-30, 20 to 25 degC", "temperature", "2.1 to 2.9 V"),
            ("7-33", "coil_current", "0.00 to 0.06 V"),
            ("8-53", "coil_gate", "0.00 to 0.05 V"),
            ("11-57", "gate_no", "0.00 to 0.05 V"),
            ("10-57", "gate_nc", "0.00 to 0.05 V"),
            ("4-33", "lamp", "0.00 to 0.05 V"),
        ),
        step=6,
        flashes=True,
    ),
    Screen(
        "The modules",
        (
            "Unplug. Push both modules in after comparing names. Plug in: 11-12 (SDA) reads as 15-1, 12-12 (SCL)"
            " 0.75 to 1.0 of it.",
            "Then the battery by the bulb, socket empty, S4 on supply, stop out: 13-30 reads 0.20 to 0.22 of B.",
        ),
        step=8,
    ),
)
FIRST_LOAD = Screen(
    "The first load, through the bulb",
    (
        "Only the first time. Push 15 A into F2. Take wire 37 off K1 87 and put the bulb between them. Put a relay that"
        " you know to be good into the socket. It is tested: it clicks, the bulb lights in pulses, 1.4 to 1.8 A flow,"
        " and the test says that this is no load. That is right.",
    ),
    step=9,
)
LOADED = Screen(
    "The load itself",
    (
        "Wire 37 back to K1 87. From now on 8.7 to 12 A flow in each pulse; a sound contact drops less than 50 mV. With"
        " a shorting link, in another window: pulldrop board self-test --link.",
    ),
    step=10,
)
CALIBRATED = Screen(
    "Calibrate, now or later",
    (
        "With a multimeter, a resistor of about 100 ohm and the link, in another window: pulldrop calibrate. Coil ohms"
        " are then right to about 0.2 % instead of 1 %. Values hold within wide limits until then.",
    ),
    step=11,
)
