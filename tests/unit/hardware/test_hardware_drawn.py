"""The pictures of the boards and of the legs can be read: no words stand on other words, on a ring or on a part."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from making import circuit
from making.drawn import boards, layout, legs, sheets
from making.drawn.legible import words_width

SVG = "{http://www.w3.org/2000/svg}"
Box = tuple[str, float, float, float, float]
WHOLE = circuit.load()


def words(tree: ElementTree.Element) -> list[Box]:
    """Every text with its box, by the widths of DejaVu Sans."""
    found = []
    for text in tree.iter(SVG + "text"):
        said, size = text.text or "", float(text.get("font-size", "11"))
        wide = words_width(said, size)
        left = (
            float(text.get("x", "0"))
            - {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")] * wide
        )
        base = float(text.get("y", "0"))
        found.append((said, left, base - 0.73 * size, left + wide, base))
    return found


def solids(tree: ElementTree.Element) -> list[Box]:
    """Rings and bodies."""
    found: list[Box] = []
    for ring in tree.iter(SVG + "circle"):
        x, y, r = (float(ring.get(name, "0")) for name in ("cx", "cy", "r"))
        found.append(("a ring", x - r, y - r, x + r, y + r))
    for line in tree.iter(SVG + "polyline"):
        points = [tuple(map(float, point.split(","))) for point in line.get("points", "").split()]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        found.append(("a part", min(xs) - 2.5, min(ys), max(xs) + 2.5, max(ys)))
    return found


def overlaps(picture: str) -> list[str]:
    tree = ElementTree.fromstring(picture)
    said, drawn = words(tree), solids(tree)
    return [
        f"'{one[0]}' on '{other[0]}'"
        for n, one in enumerate(said)
        for other in (*said[n + 1 :], *drawn)
        if one[1] < other[3] and other[1] < one[3] and one[2] < other[4] and other[2] < one[4]
    ]


@pytest.mark.parametrize("name", boards.BOARDS)
def test_no_words_of_a_board_stand_on_something_else(name: str) -> None:
    assert overlaps(boards.picture(WHOLE, name)) == []


def test_no_words_of_the_sketch_of_legs_stand_on_something_else() -> None:
    """Each sketch by itself: its place on the page is a translation."""
    for ref in ("Q12", "U1", "U2", "U6", "U10", "U11", "D30", "K2", "U7"):
        part = WHOLE[ref]
        lines = legs.sketch(part.type, ref, list(part.pins))
        assert overlaps(f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(lines)}</svg>') == [], ref
    shown = legs.picture(WHOLE)
    assert all(part.type.value in shown for part in WHOLE.parts.values() if part.type.kind in ("npn", "nmos"))


def test_no_words_of_the_layout_stand_on_each_other() -> None:
    assert overlaps(layout.picture()) == []
    assert all(ref in layout.picture() for ref in ("J9", "F2", "J2")), "the battery's lead, its fuse, where it ends"


def test_two_words_in_one_place_are_found() -> None:
    one = '<text x="10" y="20" font-size="8">U10.18 RESET</text><text x="40" y="20" font-size="8">U11.6</text>'
    assert overlaps(f'<svg xmlns="http://www.w3.org/2000/svg">{one}</svg>') == ["'U10.18 RESET' on 'U11.6'"]


def test_every_leg_of_a_circuit_and_of_a_transistor_has_its_number_on_the_sheets() -> None:
    shown = {each.name: {said for said, *_ in each.words} for each in sheets.drawn(WHOLE)}
    for ref, part in WHOLE.parts.items():
        if part.type.kind in ("ic", "npn", "pnp", "nmos", "thyristor"):
            sheet = next(words for name, words in shown.items() if name.endswith("_" + part.block))
            assert {part.type.leg(pin) for pin in part.pins} <= sheet, ref


def test_the_relays_and_the_socket_have_a_sketch_with_each_of_their_pins() -> None:
    sketched = legs.picture(WHOLE)
    for ref in ("K1", "K5", "J3"):
        at = sketched.index(f">{ref}<")
        own = sketched[at : sketched.index("</g>", at)]
        named = {word for found in re.findall(r">([^<>]+)</text>", own) for word in found.split(", ")}
        assert set(WHOLE[ref].pins) <= named, ref


PLACES = {"to220": 3, "to92": 3, "sot23": 3, "sot23_5": 5, "dip8": 8, "dip16": 16, "dip28": 28, "nano": 30, "sil": 7}


def test_every_circuit_and_transistor_has_its_legs_from_its_makers_sheet() -> None:
    """Numbers within the package, each once; modules go by the names printed on them."""
    for part in WHOLE.parts.values():
        kind = part.type
        if kind.kind not in ("ic", "npn", "pnp", "nmos", "thyristor", "diode_pair") and kind.name != "reed":
            continue
        legs = [kind.leg(pin) for pin in part.pins]
        assert len(set(legs)) == len(legs), part.ref
        package = kind.figures["package"]
        if package != "module":
            assert all(leg.isdigit() and 1 <= int(leg) <= PLACES[package] for leg in legs), part.ref


@pytest.mark.parametrize(
    ("type_", "pin", "leg"),
    [
        ("q_fet_load", "d", "2"),  # TO-220 MOSFET: 1 gate, 2 drain and tab, 3 source
        ("q_darlington", "c", "2"),
        ("lm317", "adj", "1"),
        ("q_npn", "b", "2"),  # BC547: flat towards you, C B E
        ("q_pnp", "b", "2"),  # BC327: the same
        ("thyristor", "g", "3"),  # BT151: K A G
        ("q_fet_small", "g", "2"),  # ZVN4206A: D G S
        ("timer", "THR", "6"),
        ("opamp", "v+", "8"),
        ("hc4051", "X", "3"),
        ("mcp23017", "RESET", "18"),
        ("nano", "RST", "28"),
        ("ina180", "OUT", "1"),
        ("d_lowleak", "m", "3"),
        ("d_signal", "k", "1"),
    ],
)
def test_leg_numbers_that_are_known_from_the_trade(type_: str, pin: str, leg: str) -> None:
    """From memory of the makers' sheets."""
    kind = next(part.type for part in WHOLE.parts.values() if part.type.name == type_)
    assert kind.leg(pin) == leg


def test_wiring_names_the_leg_of_every_pin() -> None:
    rows = (Path(circuit.FOLDER) / "lists/wiring.csv").read_text("utf-8").splitlines()
    assert rows[0] == "board,strip,column,net,ref,pin,leg,by"
    assert any(re.match(r"D,,,b20,Q15,d,2,", row) for row in rows)
