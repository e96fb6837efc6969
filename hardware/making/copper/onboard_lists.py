"""Lists of a build on one stripboard: every wire by its number, every leg in its hole, every cut; pure functions."""

from collections.abc import Iterator

from making.circuit import Circuit, CircuitError
from making.copper.onboard import Board, End, Wire
from making.lists import MADE, markdown_table

WIRES = ("done", "wire", "net", "from", "to", "mm2")
LEGS = ("done", "part", "value", "legs: strip-hole")
JOINTS = ("done", "part", "value", "leg", "soldered to")


def net_of(circuit: Circuit, board: Board, wire: Wire) -> str:
    """The net of a wire, by a pin at one of its ends or by a leg on the copper of one."""
    for end in wire.ends:
        if isinstance(end[0], str):
            return circuit[end[0]].net(str(end[1]))
    piece = board.segment(wire.ends[0])  # type: ignore[arg-type]
    leg = next(leg for leg, hole in board.legs.items() if board.segment(hole) == piece)
    return circuit[leg[0]].net(leg[1])


def place(circuit: Circuit, end: End) -> str:
    """Where an end is, in words: strip and hole, or part and pin with its number."""
    one, other = end
    if isinstance(one, int):
        return f"{one}-{other}"
    number = circuit[one].type.leg(str(other))
    return f"{one} {other}" + ("" if number == other else f" (leg {number})")


def wires(circuit: Circuit, board: Board) -> Iterator[tuple[str, ...]]:
    """A row a wire."""
    for wire in board.wires:
        one, other = (place(circuit, end) for end in wire.ends)
        yield ("[ ]", str(wire.number), net_of(circuit, board, wire), one, other, f"{wire.mm2:g}")


def legs(circuit: Circuit, board: Board) -> Iterator[tuple[str, ...]]:
    """A row a part on the board."""
    for ref in dict.fromkeys(ref for ref, _ in board.legs):
        told = []
        for (one, pin), (strip, hole) in board.legs.items():
            if one == ref:
                number = circuit[ref].type.leg(pin)
                told.append(f"{pin if pin == number or ref == 'U2' else f'{pin} ({number})'}: {strip}-{hole}")
        yield ("[ ]", ref, circuit[ref].type.value or circuit[ref].type.name.replace("_", " "), ", ".join(told))


def joints(circuit: Circuit, board: Board) -> Iterator[tuple[str, ...]]:
    """A row a leg that stands at a pin beside the board."""
    for (ref, pin), (other, at) in board.joints.items():
        yield ("[ ]", ref, circuit[ref].type.value, circuit[ref].type.leg(pin), place(circuit, (other, at)))


def cuts(board: Board) -> str:
    """The cuts, strip by strip."""
    count = sum(len(holes) for holes in board.cuts.values())
    rows = [(str(strip), " ".join(map(str, holes))) for strip, holes in sorted(board.cuts.items())]
    return f"**{count} cuts**\n\n" + markdown_table(("strip", "holes"), rows)


def wiring(circuit: Circuit, board: Board) -> str:
    """Every wire, and every leg that stands at a pin beside the board."""
    wired = markdown_table(WIRES, wires(circuit, board))
    return f"**{len(board.wires)} wires**\n\n{wired}\n**Legs at pins beside the board**\n\n" + markdown_table(
        JOINTS, joints(circuit, board)
    )


def ticks(circuit: Circuit, board: Board) -> str:
    """legs.md of the build."""
    return "\n".join(
        [
            "# Every leg in its hole",
            f"<!-- {MADE.replace('circuit.yaml', 'circuit.yaml, board.yaml')} -->",
            "",
            "A place is strip-hole, as in the picture, seen from the parts. Tick a part when its legs are there.",
            "",
            markdown_table(LEGS, legs(circuit, board)),
        ]
    )


def filled(page: str, made: dict[str, str]) -> str:
    """A page with what is made put between its marks, such as <!-- made: wires --> and <!-- /made -->."""
    for name, text in made.items():
        mark = f"<!-- made: {name} -->"
        if page.count(mark) != 1:
            raise CircuitError(f"README.md: the mark '{mark}' must be there once")
        head, _, rest = page.partition(mark)
        _, end, tail = rest.partition("<!-- /made -->")
        page = f"{head}{mark}\n{text.strip()}\n{end}{tail}"
    return page
