"""A build on one stripboard as laid out by hand: its legs, cuts and numbered wires, followed and held to the circuit.

Rule: a layout states places, never nets. What strips, legs and wires join must be what the circuit joins, no less and
no more; a slip is a sentence that names the places.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from making.circuit import Circuit, CircuitError

Hole = tuple[int, int]
"""Strip and hole, both from 1."""
End = Hole | tuple[str, str]
"""A hole, or a pin of a part beside the board."""
LONGEST = 13
"""Rows that a two-legged part may span: its own leads reach 33 mm."""


@dataclass(frozen=True)
class Wire:
    """A wire with its number, ends and section."""

    number: int
    ends: tuple[End, End]
    mm2: float
    does: str


@dataclass(frozen=True)
class Board:
    """Strips and holes, cuts, legs in holes and unused pins of sockets, legs at pins beside the board, wires."""

    strips: int
    holes: int
    cuts: dict[int, tuple[int, ...]]
    legs: dict[tuple[str, str], Hole]
    unused: dict[tuple[str, str], Hole]
    joints: dict[tuple[str, str], tuple[str, str]]
    wires: tuple[Wire, ...]

    def segment(self, hole: Hole) -> tuple[int, int]:
        """The piece of copper of a hole: its strip, and how many cuts are left of it."""
        strip, column = hole
        return strip, sum(cut < column for cut in self.cuts.get(strip, ()))

    def span(self, segment: tuple[int, int]) -> tuple[int, int]:
        """First and last hole of a piece of copper."""
        strip, before = segment
        edges = [0, *self.cuts.get(strip, ()), self.holes + 1]
        return edges[before] + 1, edges[before + 1] - 1


def _end(words: str) -> End:
    one, dash, other = words.partition("-")
    if dash and one.isdigit():
        return int(one), int(other)
    ref, _, pin = words.partition(".")
    return ref, pin


def _hole(words: str) -> Hole:
    one, other = words.split("-")
    return int(one), int(other)


def build(data: dict[str, Any]) -> Board:
    """The layout in board.yaml as values."""
    legs, unused = (
        {(ref, str(pin)): _hole(place) for ref, pins in data[kind].items() for pin, place in pins.items()}
        for kind in ("legs", "unused")
    )
    at = {(ref, str(pin)): _end(place) for ref, pins in data["at"].items() for pin, place in pins.items()}
    joints = {one: (str(end[0]), str(end[1])) for one, end in at.items()}
    wires = tuple(
        Wire(number, (_end(row["from"]), _end(row["to"])), float(row["mm2"]), row.get("does", ""))
        for number, row in enumerate(data["wires"], 1)
    )
    cuts = {int(strip): tuple(sorted(holes)) for strip, holes in data["cuts"].items()}
    return Board(data["size"]["strips"], data["size"]["holes"], cuts, legs, unused, joints, wires)


class Groups:
    """What is joined to what."""

    def __init__(self) -> None:
        self.parent: dict[Any, Any] = {}

    def of(self, one: Any) -> Any:
        while self.parent.setdefault(one, one) != one:
            one = self.parent[one]
        return one

    def join(self, one: Any, other: Any) -> None:
        self.parent[self.of(one)] = self.of(other)


def _followed(circuit: Circuit, board: Board) -> Groups:
    groups = Groups()
    for leg, hole in board.legs.items():
        groups.join(leg, board.segment(hole))
    for leg, pin in board.joints.items():
        groups.join(leg, pin)
    for wire in board.wires:
        one, other = (board.segment(e) if isinstance(e[0], int) else e for e in wire.ends)  # type: ignore[arg-type]
        groups.join(one, other)
    return groups


def slips(circuit: Circuit, board: Board) -> list[str]:
    """Every way in which the layout is not the circuit, or cannot be built."""
    return [*_places(circuit, board), *_nets(circuit, board), *_idle(circuit, board)]


def _idle(circuit: Circuit, board: Board) -> Iterator[str]:
    """An unused pin has copper of its own."""
    carries = dict(nets_of(circuit, board))
    for (ref, pin), hole in board.unused.items():
        piece = board.segment(hole)
        if piece in carries:
            yield f"the unused pin {ref}.{pin} is joined to {carries[piece]}"
        carries[piece] = f"{ref}.{pin}"


def _nets(circuit: Circuit, board: Board) -> Iterator[str]:
    groups = _followed(circuit, board)
    carries: dict[Any, str] = {}
    for net, pins in circuit.nets().items():
        heads = {groups.of(pin): ".".join(pin) for pin in pins}
        if len(heads) > 1:
            yield f"net {net} is in {len(heads)} pieces: at {', '.join(heads.values())}"
        for head in heads:
            if head in carries:
                yield f"{carries[head]} and {net} are joined"
            carries[head] = net


def _places(circuit: Circuit, board: Board) -> Iterator[str]:
    pins = {(ref, pin) for ref, part in circuit.parts.items() for pin in part.pins}
    named = {*board.legs, *board.joints, *board.joints.values()}
    named |= {end for wire in board.wires for end in wire.ends if isinstance(end[0], str)}  # type: ignore[misc]
    yield from (f"{ref}.{pin} is placed, but circuit.yaml has no such pin" for ref, pin in sorted(named - pins))
    taken: dict[Hole, str] = {}
    for where, hole in _filled(board):
        strip, column = hole
        if not (1 <= strip <= board.strips and 1 <= column <= board.holes):
            yield f"{where} in {strip}-{column} is off the board"
        if column in board.cuts.get(strip, ()):
            yield f"{where} stands in the cut {strip}-{column}"
        if hole in taken:
            yield f"{where} and {taken[hole]} share the hole {strip}-{column}"
        taken[hole] = where
    under = {hole: ref for ref, holes in bodies(circuit, board).items() for hole in holes}
    for hole, where in taken.items():
        if hole in under and under[hole] != where.partition(".")[0]:
            yield f"{where} in {hole[0]}-{hole[1]} is under {under[hole]}"
    for ref, (first, last) in stretched(circuit, board).items():
        if last - first > LONGEST:
            yield f"{ref} spans {last - first} strips, more than its leads reach"


def _filled(board: Board) -> Iterator[tuple[str, Hole]]:
    for (ref, pin), hole in (*board.legs.items(), *board.unused.items()):
        yield f"{ref}.{pin}", hole
    for wire in board.wires:
        for end in wire.ends:
            if isinstance(end[0], int):
                yield f"wire {wire.number}", end  # type: ignore[misc]


def stretched(circuit: Circuit, board: Board) -> dict[str, tuple[int, int]]:
    """First and last strip of each part whose legs stand in one column."""
    found = {}
    for ref in dict.fromkeys(ref for ref, _ in board.legs):
        own = [hole for (one, _), hole in board.legs.items() if one == ref]
        if ref == "U9" or (len({column for _, column in own}) == 1 and circuit[ref].type.kind != "ic"):
            found[ref] = (min(strip for strip, _ in own), max(strip for strip, _ in own))
    return found


def bodies(circuit: Circuit, board: Board) -> dict[str, set[Hole]]:
    """Holes that a part's body or leads cover between its own."""
    found = {}
    for ref, (first, last) in stretched(circuit, board).items():
        own = {hole for (one, _), hole in board.legs.items() if one == ref}
        column = next(iter(own))[1]
        found[ref] = {(strip, column) for strip in range(first, last + 1)} - own
    return found


def nets_of(circuit: Circuit, board: Board) -> dict[tuple[int, int], str]:
    """The net of every piece of copper that carries one."""
    groups = _followed(circuit, board)
    by_head = {groups.of(pin): net for net, pins in circuit.nets().items() for pin in pins}
    pieces = {board.segment(hole) for hole in board.legs.values()}
    pieces |= {board.segment(end) for wire in board.wires for end in wire.ends if isinstance(end[0], int)}  # type: ignore[arg-type]
    return {piece: by_head[groups.of(piece)] for piece in sorted(pieces) if groups.of(piece) in by_head}


def checked(circuit: Circuit, data: dict[str, Any]) -> Board:
    """The layout, or a CircuitError with every slip."""
    board = build(data)
    if found := slips(circuit, board):
        raise CircuitError("board.yaml: " + "; ".join(found))
    return board


def without(circuit: Circuit, board: Board, number: int) -> Circuit:
    """The circuit with a wire off: the piece of its net that the Nano, or else the first pin, is not in has a name of
    its own, with _off."""
    lost = replace(board, wires=tuple(wire for wire in board.wires if wire.number != number))
    groups = _followed(circuit, lost)
    renamed: dict[tuple[str, str], str] = {}
    for net, pins in circuit.nets().items():
        heads = {groups.of(pin): pin for pin in reversed(pins)}
        if len(heads) > 1:
            kept = {groups.of(pin) for pin in pins if pin[0] == "U2"} or {groups.of(pins[0])}
            renamed |= {pin: f"{net}_off" for pin in pins if groups.of(pin) not in kept}
    parts = {
        ref: replace(part, pins={pin: renamed.get((ref, pin), net) for pin, net in part.pins.items()})
        for ref, part in circuit.parts.items()
    }
    return replace(circuit, parts=parts)
