"""A printed board from the layout on stripboard: strips become tracks below, wires from hole to hole tracks above.

Rule: places come from board.yaml and nets from the circuit; here is only what a maker of boards needs: drills, pads,
widths, and a way for each wire between the pads of others.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot

from making.circuit import Circuit, CircuitError
from making.copper.onboard import Board, Hole, nets_of
from making.copper.onboard_lists import net_of

PITCH_MM, MARGIN_MM, SCREW_MM = 2.54, 6.0, 3.2
STRIP_MM, WIRE_MM, CLEAR_MM = 1.4, 0.4, 0.2
"""Tracks below and above, and the least gap that every maker of boards keeps."""
SMALL, BIG = (1.0, 1.6), (1.5, 2.3)
"""Drill and pad, mm."""
BIG_LEGS = {"d_schottky", "tvs_68", "slide_switch", "pot_10k"}
BIG_WIRE_MM2 = 0.7
NAME_MM, NAME_PEN_MM, NAME_GAP_MM, NAME_STEP_MM = 0.8, 0.12, 0.2, 0.635
"""Height of a reference on the silk screen, its stroke, its gap to pads and to others, and the steps it is moved by."""
Node = tuple[int, int]
"""A place in half holes: pads are at even ones, tracks above pass between them."""


@dataclass(frozen=True)
class Pad:
    """A hole with copper round it: which part's pin, or which wire, and its net; without one nothing is joined."""

    hole: Hole
    ref: str
    pin: str
    net: str
    drill_mm: float
    size_mm: float

    @property
    def at_mm(self) -> tuple[float, float]:
        return self.hole[1] * PITCH_MM, self.hole[0] * PITCH_MM


@dataclass(frozen=True)
class Track:
    """A piece of copper from point to point, mm; `above`: on the parts' side."""

    net: str
    above: bool
    points: tuple[tuple[float, float], ...]
    width_mm: float


def pads(circuit: Circuit, board: Board) -> list[Pad]:
    """Every hole."""
    found = []
    for (ref, pin), hole in board.legs.items():
        drill, size = BIG if circuit[ref].type.name in BIG_LEGS else SMALL
        found.append(Pad(hole, ref, circuit[ref].type.leg(pin), circuit[ref].net(pin), drill, size))
    for (ref, pin), hole in board.unused.items():
        found.append(Pad(hole, ref, pin, "", *SMALL))
    for wire in board.wires:
        for end in wire.ends:
            if isinstance(end[0], int) and any(isinstance(one[0], str) for one in wire.ends):
                drill, size = BIG if wire.mm2 > BIG_WIRE_MM2 else SMALL
                hole = (int(end[0]), int(end[1]))
                found.append(Pad(hole, f"W{wire.number}", "1", net_of(circuit, board, wire), drill, size))
    return found


def below(circuit: Circuit, board: Board) -> Iterator[Track]:
    """A track for each piece of strip, no longer than its holes, and those of its wires, ask."""
    used: dict[tuple[int, int], list[Hole]] = {}
    for hole in (*board.legs.values(), *(end for wire in board.wires for end in wire.ends if isinstance(end[0], int))):
        used.setdefault(board.segment(hole), []).append(hole)  # type: ignore[arg-type]
    for piece, net in nets_of(circuit, board).items():
        columns = [column for _, column in used[piece]]
        if len(set(columns)) > 1:
            y = piece[0] * PITCH_MM
            yield Track(net, False, ((min(columns) * PITCH_MM, y), (max(columns) * PITCH_MM, y)), STRIP_MM)


def above(circuit: Circuit, board: Board) -> list[Track]:
    """A track for each wire from hole to hole, the shortest first, past the pads of others; the holes become vias."""
    wires = [wire for wire in board.wires if all(isinstance(end[0], int) for end in wire.ends)]
    blocked = {node: net for pad in pads(circuit, board) for node, net in _around(pad)}
    found = []
    for wire in sorted(wires, key=lambda wire: _length(wire.ends)):
        net = net_of(circuit, board, wire)
        ends = [(2 * int(strip), 2 * int(hole)) for strip, hole in wire.ends]
        way = _way(ends[0], ends[1], net, blocked, board)
        blocked |= dict.fromkeys(way, net)
        points = tuple((x * PITCH_MM / 2, y * PITCH_MM / 2) for y, x in _corners(way))
        found.append(Track(net, True, points, WIRE_MM))
    return found


def vias(board: Board) -> list[Hole]:
    """Where a wire from hole to hole begins and ends."""
    wires = [wire for wire in board.wires if all(isinstance(end[0], int) for end in wire.ends)]
    return [(int(strip), int(hole)) for wire in wires for strip, hole in wire.ends]


def names(found: list[Pad]) -> dict[str, tuple[float, float]]:
    """Where each reference stands on the silk screen, the middle of its words, mm: as near to its part as it is clear
    of every pad and of those before it. Raises CircuitError where there is no room."""
    placed: dict[str, tuple[float, float]] = {}
    legs: dict[str, list[tuple[float, float]]] = {}
    for pad in found:
        legs.setdefault(pad.ref, []).append(pad.at_mm)
    for ref, at in legs.items():
        middle = tuple(sum(ways) / len(at) for ways in zip(*at, strict=True))
        steps = range(-12, 13)
        spots = ((middle[0] + dx * NAME_STEP_MM, middle[1] + dy * NAME_STEP_MM) for dx in steps for dy in steps)
        near = sorted(spots, key=lambda spot: min(hypot(spot[0] - x, spot[1] - y) for x, y in (*at, middle)))
        free = (spot for spot in near if _clear(ref, spot, found, placed))
        if (spot := next(free, None)) is None:
            raise CircuitError(f"no room for the name of {ref} on the printed board; make NAME_MM smaller")
        placed[ref] = spot
    return placed


def _clear(ref: str, spot: tuple[float, float], found: list[Pad], placed: dict[str, tuple[float, float]]) -> bool:
    wide, high = _half(ref)
    for pad in found:
        x, y = pad.at_mm
        beside = hypot(max(abs(x - spot[0]) - wide, 0.0), max(abs(y - spot[1]) - high, 0.0))
        if beside < pad.size_mm / 2 + NAME_GAP_MM:
            return False
    for other, (x, y) in placed.items():
        w, h = _half(other)
        if abs(x - spot[0]) < wide + w + NAME_GAP_MM and abs(y - spot[1]) < high + h + NAME_GAP_MM:
            return False
    return True


def _half(ref: str) -> tuple[float, float]:
    """Half the width and height of a name."""
    return NAME_MM * (len(ref) + 0.2) / 2, NAME_MM / 2 + NAME_PEN_MM


def _length(ends: tuple[object, object]) -> int:
    (a, b), (c, d) = ends  # type: ignore[misc]
    return abs(a - c) + abs(b - d)


def _around(pad: Pad) -> Iterator[tuple[Node, str]]:
    """Nodes that a track of another net may not use: the pad's own, and beside a big one its neighbours."""
    y, x = 2 * pad.hole[0], 2 * pad.hole[1]
    reach = 1 if PITCH_MM / 2 - pad.size_mm / 2 - WIRE_MM / 2 < CLEAR_MM else 0
    for dy in range(-reach, reach + 1):
        for dx in range(-reach, reach + 1):
            yield (y + dy, x + dx), pad.net or f"{pad.ref}.{pad.pin}"


def _way(start: Node, goal: Node, net: str, blocked: dict[Node, str], board: Board) -> list[Node]:
    """The shortest way by right angles over nodes that are free or of the same net."""
    came: dict[Node, Node] = {start: start}
    queue = deque([start])
    while queue and goal not in came:
        y, x = queue.popleft()
        for step in ((y, x + 1), (y, x - 1), (y + 1, x), (y - 1, x)):
            inside = 1 <= step[0] <= 2 * board.strips + 3 and 1 <= step[1] <= 2 * board.holes + 1
            if inside and step not in came and blocked.get(step, net) == net:
                came[step] = (y, x)
                queue.append(step)
    if goal not in came:
        raise CircuitError(f"board.yaml: no way on the parts' side for the wire of {net} from {start} to {goal}")
    way = [goal]
    while way[-1] != start:
        way.append(came[way[-1]])
    return way


def _corners(way: list[Node]) -> list[Node]:
    """A way without the nodes that lie on a straight line."""
    turns = [
        two
        for one, two, three in zip(way, way[1:], way[2:], strict=False)
        if (two[0] - one[0], two[1] - one[1]) != (three[0] - two[0], three[1] - two[1])
    ]
    return [way[0], *turns, way[-1]]


def outline(board: Board) -> tuple[float, float, float, float]:
    """Left, top, right, bottom, mm."""
    right, bottom = (board.holes + 1) * PITCH_MM, (board.strips + 1) * PITCH_MM
    return PITCH_MM - 2.0, PITCH_MM - 2.0, right + 0.5, bottom + MARGIN_MM + SCREW_MM


def screws(board: Board) -> list[tuple[float, float]]:
    """Middles of the four screw holes: two below the strips' ends, two in the free corner of the last strips."""
    left, _, right, bottom = outline(board)
    y = bottom - MARGIN_MM / 2 - 1.0
    return [(left + 5.0, y), (right - 5.0, y), ((left + right) / 3, y), (2 * (left + right) / 3, y)]
