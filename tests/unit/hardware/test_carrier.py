"""The printed board of the evening build joins what its circuit joins, with room between nets; without KiCad."""

from itertools import combinations, pairwise
from math import hypot

import pytest
from making import circuit
from making.copper import carrier, onboard

WHOLE = circuit.load("evening")
BOARD = onboard.build(circuit.listed("evening/board.yaml"))
PADS = carrier.pads(WHOLE, BOARD)
TRACKS = [*carrier.below(WHOLE, BOARD), *carrier.above(WHOLE, BOARD)]
NETS = onboard.nets_of(WHOLE, BOARD)
VIAS = [(hole, NETS[BOARD.segment(hole)]) for hole in carrier.vias(BOARD)]
Line = tuple[tuple[float, float], tuple[float, float]]


def pieces(above: bool) -> list[tuple[str, Line, float]]:
    return [(t.net, line, t.width_mm) for t in TRACKS if t.above == above for line in pairwise(t.points)]


def apart(one: Line, other: Line) -> float:
    """Least distance of two lines along the axes, mm."""
    gaps = []
    for axis in (0, 1):
        a, b = sorted(point[axis] for point in one), sorted(point[axis] for point in other)
        gaps.append(max(a[0] - b[1], b[0] - a[1], 0.0))
    return hypot(*gaps)


def round_places() -> list[tuple[str, Line, float]]:
    held = [(pad.net or f"{pad.ref}.{pad.pin}", (pad.at_mm, pad.at_mm), pad.size_mm) for pad in PADS]
    mm = carrier.PITCH_MM
    return held + [(net, ((x * mm, y * mm), (x * mm, y * mm)), 1.4) for (y, x), net in VIAS]


def test_every_leg_and_every_wire_that_leaves_has_one_hole() -> None:
    holes = [pad.hole for pad in PADS] + [hole for hole, _ in VIAS]
    assert len(holes) == len(set(holes))
    assert {(pad.ref, pad.hole) for pad in PADS} >= {(ref, hole) for (ref, _), hole in BOARD.legs.items()}
    leaving = [wire for wire in BOARD.wires if sum(isinstance(end[0], int) for end in wire.ends) == 1]
    assert {pad.ref for pad in PADS if pad.ref.startswith("W")} == {f"W{wire.number}" for wire in leaving}


@pytest.mark.parametrize("above", [True, False])
def test_copper_of_two_nets_keeps_the_gap_that_every_maker_keeps(above: bool) -> None:
    copper = [*pieces(above), *round_places()]
    close = [
        (one[0], other[0])
        for one, other in combinations(copper, 2)
        if one[0] != other[0] and apart(one[1], other[1]) - (one[2] + other[2]) / 2 < carrier.CLEAR_MM - 1e-9
    ]
    assert close == []


def test_copper_joins_every_pad_of_a_net_on_the_board() -> None:
    copper = [(net, line, (above, n)) for above in (True, False) for n, (net, line, _) in enumerate(pieces(above))]
    groups = onboard.Groups()
    places = round_places()
    for n, (net, spot, _) in enumerate(places):
        for other, line, key in copper:
            if net == other and apart(spot, line) < 0.01:
                groups.join(("place", n), key)
    for one, other in combinations(copper, 2):
        if one[0] == other[0] and one[2][0] == other[2][0] and apart(one[1], other[1]) < 0.01:
            groups.join(one[2], other[2])
    heads: dict[str, set[object]] = {}
    for n, (net, _, _) in enumerate(places):
        heads.setdefault(net, set()).add(groups.of(("place", n)))
    inside = {net for net, found in heads.items() if len(found) > 1}
    assert inside <= {"load_minus"}, "two pieces of a net that only a wire beside the board joins"


def test_no_name_on_the_silk_screen_lies_on_a_pad_or_on_another_name() -> None:
    names = carrier.names(PADS)
    assert set(names) == {pad.ref for pad in PADS}
    mm = carrier.NAME_MM
    half = {ref: mm * (len(ref) - 1) / 2 for ref in names}
    lines = {ref: ((x - half[ref], y), (x + half[ref], y)) for ref, (x, y) in names.items()}
    on_pad = [(ref, pad.ref) for ref, line in lines.items() for pad in PADS
              if apart(line, (pad.at_mm, pad.at_mm)) < mm / 2 + pad.size_mm / 2]  # fmt: skip
    assert on_pad == []
    assert [pair for pair in combinations(lines, 2) if apart(lines[pair[0]], lines[pair[1]]) < mm] == []


def test_a_wire_that_finds_no_way_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wall of big pads between the two sides of the Nano."""
    wall = [carrier.Pad((strip, 38), "X", str(strip), "", *carrier.BIG) for strip in range(23)]
    monkeypatch.setattr(carrier, "pads", lambda *_: [*PADS, *wall])
    with pytest.raises(circuit.CircuitError, match="no way on the parts' side for the wire of gnd"):
        carrier.above(WHOLE, BOARD)


def test_the_board_is_not_bigger_than_100_by_170_mm_and_its_screws_meet_no_copper() -> None:
    left, top, right, bottom = carrier.outline(BOARD)
    assert right - left < 170 and bottom - top < 100
    for x, y in carrier.screws(BOARD):
        spot = ((x, y), (x, y))
        for _, line, width in (*pieces(True), *pieces(False), *round_places()):
            assert apart(spot, line) - width / 2 - carrier.SCREW_MM / 2 > 1.0
