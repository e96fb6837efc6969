"""The evening build can be built: one board whose copper, legs and wires are its circuit, 45 wires, 40 euros."""

import re
from collections import Counter
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from making import circuit, lists
from making.copper import onboard, onboard_lists
from making.drawn import around, legible, one_board, place_evening, sheet
from test_hardware_drawn import words

WHOLE, FULL = circuit.load("evening"), circuit.load()
LAYOUT = circuit.listed("evening/board.yaml")
BOARD = onboard.build(LAYOUT)


def test_copper_legs_and_wires_join_what_the_circuit_joins_and_nothing_else() -> None:
    assert onboard.slips(WHOLE, BOARD) == []


@pytest.mark.parametrize("number", [wire.number for wire in BOARD.wires])
def test_every_wire_is_needed(number: int) -> None:
    """Without it a net is in two pieces; but for the one that joins the two grounds of the Nano beside the Nano."""
    without = replace(BOARD, wires=tuple(wire for wire in BOARD.wires if wire.number != number))
    found = [slip for slip in onboard.slips(WHOLE, without) if "pieces" in slip]
    assert len(found) == 1 and f"net {onboard_lists.net_of(WHOLE, BOARD, BOARD.wires[number - 1])} " in found[0]


@pytest.mark.parametrize("strip", sorted(BOARD.cuts))
def test_every_cut_is_needed_or_keeps_a_strip_away(strip: int) -> None:
    """Uncut, two nets meet, or a net lies beside or at a pin where it has no business."""
    for hole in BOARD.cuts[strip]:
        cuts = {**BOARD.cuts, strip: tuple(one for one in BOARD.cuts[strip] if one != hole)}
        longer = onboard.nets_of(WHOLE, replace(BOARD, cuts=cuts))
        joined = any("joined" in slip for slip in onboard.slips(WHOLE, replace(BOARD, cuts=cuts)))
        before = {BOARD.span(piece) for piece in onboard.nets_of(WHOLE, BOARD) if piece[0] == strip}
        after = {replace(BOARD, cuts=cuts).span(piece) for piece in longer if piece[0] == strip}
        assert joined or before != after, (strip, hole)


def spoilt(**changes: object) -> list[str]:
    return onboard.slips(WHOLE, onboard.build({**LAYOUT, **changes}))


def test_a_leg_in_the_wrong_strip_is_found() -> None:
    found = spoilt(legs={**LAYOUT["legs"], "R3": {1: "15-16", 2: "12-16"}})
    assert "sda and scl are joined" in found or any("net sda is in 2 pieces" in slip for slip in found)


def test_a_forgotten_cut_is_found() -> None:
    found = spoilt(cuts={**LAYOUT["cuts"], 7: [hole for hole in LAYOUT["cuts"][7] if hole not in (16, 17)]})
    assert any(slip in ("coil_reg and ain_nc are joined", "ain_nc and coil_reg are joined") for slip in found)


def test_two_legs_in_a_hole_and_a_leg_under_a_part_are_found() -> None:
    found = spoilt(legs={**LAYOUT["legs"], "R3": {1: "15-23", 2: "11-23"}})
    assert any("share the hole 15-23" in slip for slip in found)
    found = spoilt(legs={**LAYOUT["legs"], "R46": {1: "15-9", 2: "16-10"}})
    assert any("R46.2 in 16-10 is under D30" in slip for slip in found)


def test_a_hole_off_the_board_in_a_cut_and_an_unknown_pin_are_found() -> None:
    legs = {**LAYOUT["legs"], "R3": {1: "15-16", 2: "11-63"}, "R4": {1: "15-23", 2: "11-42", 3: "1-1"}}
    found = spoilt(legs=legs)
    assert "R3.2 in 11-63 is off the board" in found
    assert "R4.2 stands in the cut 11-42" in found
    assert "R4.3 is placed, but circuit.yaml has no such pin" in found


def test_there_are_45_wires_at_most_each_on_the_list_once_with_its_number() -> None:
    assert len(BOARD.wires) <= 45
    rows = [*onboard_lists.wires(WHOLE, BOARD)]
    assert [row[1] for row in rows] == [str(n) for n in range(1, len(BOARD.wires) + 1)]


def test_every_part_is_in_holes_at_a_pin_or_has_its_wires() -> None:
    """Beside the board only what is screwed down, and then a wire or a leg leads to each of its pins."""
    held = {*BOARD.legs, *BOARD.joints, *BOARD.joints.values()}
    held |= {end for wire in BOARD.wires for end in wire.ends}  # type: ignore[misc]
    loose = {(ref, pin) for ref, part in WHOLE.parts.items() for pin in part.pins} - held
    assert loose == set()


def test_three_modules_at_most_are_bought_and_nothing_needs_an_adapter() -> None:
    kinds = [part.type for part in WHOLE.parts.values()]
    assert sum(kind.figures.get("package") == "module" for kind in kinds) <= 3
    small = re.compile(r"SOT|(?<!\d)(0603|0805|1206|2010|2512)(?!\d)")
    assert [kind.name for kind in kinds if small.search(kind.rating + " ".join(kind.makers))] == []


def test_the_parts_cost_25_to_40_euros_from_a_marketplace() -> None:
    assert 25 <= lists.bench_cost(WHOLE, 0) <= 40


def test_every_part_can_be_ordered_from_two_makers_and_is_on_the_bill_once() -> None:
    for part in WHOLE.parts.values():
        assert len(set(part.type.makers)) >= 2 and "{" not in "".join(part.type.makers), part.ref
    listed = [ref for row in lists.bill_csv(WHOLE).splitlines()[1:] for ref in row.split(",")[1].split() if ref != "-"]
    assert sorted(listed) == sorted(WHOLE.parts)


OTHERS = {
    "C12",
    "D30",
    "D31",
    "D32",
    "F1",
    "F2",
    "F5",
    "Q1",
    "Q10",
    "Q16",
    "Q17",
    "R13",
    "R16",
    "R30",
    "R3",
    "R4",
    "R56",
}
OTHERS |= {"S1", "U5", "U6", "U7"}
"""Parts of another type on the full bench; the page says what becomes of each."""


def test_a_part_of_both_builds_has_one_reference() -> None:
    both = set(WHOLE.parts) & set(FULL.parts)
    other = {ref for ref in both if WHOLE[ref].type.name != FULL[ref].type.name}
    assert other == OTHERS
    assert len(both - other) > 60


GROWN = {
    "ads1115_plain": "ads1115", "ina226_own": "ina226", "q_darlington_clip": "q_darlington", "panel_shunt": "r_5m",
    "r_1r2_100w": "r_1r2_50w", "stop_two_poles": "stop_switch",
}  # fmt: skip
"""Types that do the full bench's work as they are, or with a shunt, a heatsink or a pole changed."""
LEFT = {
    "q_fet_10a": "Q16 and Q17", "ptc_500m": "F1 and F5", "pot_10k": "P1", "slide_switch": "S4", "r_2r2_7w": "R136",
    "r_19k1": "R132", "opamp_low": "U6", "fuse_15a": "F2's blade", "c_1u": "C12", "d_signal": "two 1N4148",
    "d_schottky_small": "a BAT46", "r_2k7": "R4",
}  # fmt: skip


def test_what_the_full_bench_has_no_place_for_is_on_the_page_and_all_else_is_used_there() -> None:
    """By types, wherever the full bench has them: at most two of a type come off and find no other place."""
    asked = Counter(GROWN.get(part.type.name, part.type.name) for part in WHOLE.parts.values())
    left = asked - Counter(part.type.name for part in FULL.parts.values())
    told = " ".join(
        (circuit.FOLDER / "evening/README.md").read_text("utf-8").partition("Left over in the end:")[2].split()
    )
    assert set(left) == set(LEFT) and max(left.values()) == 2
    assert [name for name in LEFT.values() if name not in told.partition("Of other types")[0]] == []


@pytest.mark.parametrize("picture", [one_board.picture(WHOLE, BOARD, "board"), around.picture(WHOLE, BOARD)])
def test_no_words_of_a_picture_stand_on_other_words(picture: str) -> None:
    said = words(ElementTree.fromstring(picture))
    assert len(said) > 100
    on = [
        (one[0], other[0])
        for n, one in enumerate(said)
        for other in said[n + 1 :]
        if one[1] < other[3] and other[1] < one[3] and one[2] < other[4] and other[2] < one[4]
    ]
    assert on == []


def test_no_part_is_drawn_over_words_of_the_board() -> None:
    """Q10 read as Q1, a leg of its neighbour on its last letter."""
    drawn = one_board.picture(WHOLE, BOARD, "board").splitlines()
    shapes, said = ([n for n, line in enumerate(drawn) if line.startswith(kinds)] for kinds in (
        ("<path", "<circle", "<rect", "<polyline"), "<text",
    ))  # fmt: skip
    assert len(said) > 200 and max(shapes) < min(said)


def test_every_wire_and_every_part_of_the_board_is_in_its_picture() -> None:
    shown = re.findall(r">([^<>]+)</text>", one_board.picture(WHOLE, BOARD, "board"))
    assert {ref for ref, _ in BOARD.legs} <= {word for text in shown for word in text.split()}
    ends = [wire.number for wire in BOARD.wires for end in wire.ends if isinstance(end[0], int)]
    rings = one_board.picture(WHOLE, replace(BOARD, legs={}, unused={}), "board").count('r="8.5"')
    assert rings == len(ends)


def test_the_schematic_is_the_circuit_and_can_be_read() -> None:
    sheets = place_evening.drawn(WHOLE)
    sheet.check(WHOLE, sheets)
    for each in sheets:
        assert legible.collisions(each) == [], each.name
