"""One schematic sheet: parts stand where a person puts them, nets come from the circuit, and the lines are traced back.

Rule: a drawing never states a net. Tags print the circuit's own net name, and `check` follows the lines as drawn:
pins that touch must be on one net in the circuit, and pieces of one net that do not touch must carry its name.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import schemdraw
import schemdraw.elements as elm

from making.circuit import GROUND, Circuit, CircuitError, Part
from making.drawn.legible import Point, Segment, words_width

Align = Literal["left", "center", "right"]
SYMBOLS = {
    "resistor": elm.ResistorIEC,
    "shunt": elm.ResistorIEC,
    "ntc": elm.Thermistor,
    "capacitor": elm.Capacitor,
    "diode": elm.Diode,
    "schottky": elm.Schottky,
    "zener": elm.Zener,
    "tvs": elm.Zener,
    "tvs_both": elm.DiodeTVS,
    "led": elm.LED,
    "fuse": elm.FuseIEC,
    "switch": elm.Switch,
    "push": elm.Button,
    "closed": elm.Breaker,
    "coil": elm.RBox,
    "contact": elm.SwitchReed,
}
STEPS: dict[str, Point] = {"right": (1, 0), "left": (-1, 0), "up": (0, 1), "down": (0, -1)}
ALIGNED: dict[int, Align] = {1: "left", -1: "right", 0: "center"}
NET_COLOUR, NOTE_COLOUR = "#1b4f9c", "#555555"
NUMBER_SIZE = 7.5
UNIT_POINTS = 36
"""Points of type in a grid unit."""
schemdraw.use("svg")
schemdraw.svgconfig.text = "text"


@dataclass(frozen=True)
class Piece:
    """One drawn piece of a net: the pins that touch, and whether its name is printed."""

    sheet: str
    net: str
    pins: tuple[tuple[str, str], ...]
    named: bool


def _on(point: Point, line: Segment) -> bool:
    (x, y), ((ax, ay), (bx, by)) = point, line
    inside = min(ax, bx) - 1e-6 <= x <= max(ax, bx) + 1e-6 and min(ay, by) - 1e-6 <= y <= max(ay, by) + 1e-6
    return inside and abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) < 1e-6


class Sheet:
    """A sheet being drawn. Places are (x, y) in grid units, y upwards; a pin is written "R1.2"."""

    def __init__(self, circuit: Circuit, name: str, title: str) -> None:
        self.circuit, self.name, self.title = circuit, name, title
        self.pins: dict[tuple[str, str], Point] = {}
        self.lines: list[Segment] = []
        self.tags: list[tuple[Point, str]] = []
        self.bodies: list[tuple[str, Segment]] = []
        self.stubs: list[Segment] = []
        self.frames: list[tuple[str, Segment]] = []
        self.words: list[tuple[str, float, float, float, float]] = []
        self.drawing = schemdraw.Drawing(show=False)
        self.drawing.config(unit=2, fontsize=11, lw=1.3, bgcolor="white", margin=0.4)

    # --- places ---

    def at(self, place: str | Point, dx: float = 0, dy: float = 0) -> Point:
        """A place as (x, y), moved by (dx, dy)."""
        if isinstance(place, str):
            ref, _, pin = place.partition(".")
            if (ref, pin) not in self.pins:
                raise CircuitError(f"sheet {self.name}: {place} is not placed yet; place {ref} before you refer to it")
            place = self.pins[ref, pin]
        return (place[0] + dx, place[1] + dy)

    def _pin(self, ref: str, pin: str, point: Point) -> None:
        if pin not in self.circuit[ref].pins:
            raise CircuitError(
                f"sheet {self.name}: {ref} has no pin {pin}; its pins are {' '.join(self.circuit[ref].pins)}"
            )
        if (ref, pin) in self.pins:
            raise CircuitError(f"sheet {self.name}: {ref}.{pin} is placed twice; take one away")
        self.pins[ref, pin] = point

    def text(self, words: str, point: Point, align: Align = "left", size: float = 10, colour: str = "black") -> None:
        """Words on the sheet, standing on `point`."""
        label = (
            elm.Label()
            .at(point)
            .theta(0)
            .label(words, ofst=(0, 0), halign=align, valign="center", fontsize=size, color=colour)
        )
        self.drawing.add(label)
        width, height = words_width(words, size) / UNIT_POINTS, 0.8 * size / UNIT_POINTS
        left = point[0] - {"left": 0.0, "center": 0.5, "right": 1.0}[align] * width
        self.words.append((words, left, point[1] - height / 2, left + width, point[1] + height / 2))

    def note(self, words: str, point: Point) -> None:
        """A remark in grey."""
        for row, line in enumerate(words.split("\n")):
            self.text(line, (point[0], point[1] - 0.5 * row), size=9.5, colour=NOTE_COLOUR)

    def _stub(self, *points: Point) -> None:
        for a, b in pairwise(points):
            self.stubs.append((a, b))
            self.drawing.add(elm.Line().endpoints(a, b))

    # --- parts ---

    def two(
        self,
        ref: str,
        start: str | Point,
        way: str = "down",
        first: str = "",
        second: str = "",
        symbol: str = "",
        length: float = 2,
        side: str = "",
    ) -> None:
        """A part, or one half of a relay or switch, between two of its pins; `first` stands at `start`."""
        part = self.circuit[ref]
        names = list(part.pins)
        first = first or names[0]
        second = second or next(n for n in names if n != first)
        a = self.at(start)
        b = (a[0] + STEPS[way][0] * length, a[1] + STEPS[way][1] * length)
        self._pin(ref, first, a)
        self._pin(ref, second, b)
        ends = (a, b) if names.index(first) < names.index(second) else (b, a)
        kind = symbol or part.type.kind
        self.drawing.add(SYMBOLS[kind]().endpoints(*ends))
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        half = (STEPS[way][0] * 0.5, STEPS[way][1] * 0.5)
        body = ((middle[0] - half[0], middle[1] - half[1]), (middle[0] + half[0], middle[1] + half[1]))
        self.bodies.append((ref, body))
        self._label(part, a, b, side)

    def _label(self, part: Part, a: Point, b: Point, side: str) -> None:
        words = [part.ref] + ([part.type.value] if part.type.value else [])
        if part.type.kind == "relay" and a[1] == b[1]:
            words = [part.ref]
        x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        if a[1] == b[1]:
            self.text(" ".join(words), (x, y + (-0.55 if side == "below" else 0.55)), "center")
            return
        left = side == "left"
        for row, word in enumerate(words):
            offset = 0.22 - 0.44 * row if len(words) > 1 else 0
            room = 0.6 if part.type.kind in ("zener", "tvs") else 0.45
            self.text(word, (x + (-room if left else room), y + offset), "right" if left else "left")

    def tap(self, ref: str, pin: str, root: Point, tip: Point) -> None:
        """A further pin of a part already drawn, such as the sense end of a four-wire shunt."""
        self._stub(root, tip)
        self._pin(ref, pin, tip)

    def pair(self, ref: str, middle: Point) -> None:
        """Two diodes in series that clamp `middle` between the nets above and below, both named."""
        x, y = middle
        for pin, dy in (("m", 0.0), ("k", 1.5), ("a", -1.5)):
            self._pin(ref, pin, (x, y + dy))
        self.drawing.add(SYMBOLS["diode"]().endpoints((x, y), (x, y + 1.5)))
        self.drawing.add(SYMBOLS["diode"]().endpoints((x, y - 1.5), (x, y)))
        for row, word in enumerate((ref, self.circuit[ref].type.value)):
            self.text(word, (x + 0.4, y - 0.55 - 0.44 * row))
        self.tag(f"{ref}.k", "up")
        self.tag(f"{ref}.a")

    def fet(self, ref: str, gate: str | Point, mirror: bool = False) -> None:
        """N-channel MOSFET, gate at `gate`; drain and source 1.5 above and below, 1.5 beside it."""
        x, y = self.at(gate)
        sign = -1 if mirror else 1
        body = elm.NMos().at((x + 1.5 * sign, y + 1.17)).anchor("drain").theta(0)
        self.drawing.add(body.reverse() if mirror else body)
        drain, source = (x + 1.5 * sign, y + 1.5), (x + 1.5 * sign, y - 1.5)
        self._stub((x, y), (x + 0.67 * sign, y))
        self._stub(drain, (drain[0], y + 1.17))
        self._stub(source, (source[0], y - 0.5))
        for pin, point in (("g", (x, y)), ("d", drain), ("s", source)):
            self._pin(ref, pin, point)
        for row, word in enumerate((ref, self.circuit[ref].type.value)):
            self.text(word, (x + 1.75 * sign, y + 0.6 - 0.44 * row), "right" if mirror else "left")
        self._numbers(ref, "g", "d", "s", (x, y), sign)

    def _numbers(self, ref: str, gate: str, upper: str, lower: str, at: Point, sign: int) -> None:
        """Leg numbers of a transistor, beside its stubs."""
        beside: Align = "right" if sign < 0 else "left"
        for pin, dx, dy in ((gate, 0.35, 0.18), (upper, 1.65, 1.3), (lower, 1.65, -1.3)):
            place = (at[0] + dx * sign, at[1] + dy)
            self.text(self.circuit[ref].type.leg(pin), place, beside, NUMBER_SIZE, NOTE_COLOUR)

    def bjt(self, ref: str, base: str | Point, mirror: bool = False) -> None:
        """NPN transistor, base at `base`; collector and emitter 1.5 above and below, 1.5 beside it."""
        x, y = self.at(base)
        sign = -1 if mirror else 1
        body = elm.BjtNpn().at((x + 0.75 * sign, y)).anchor("base").theta(0)
        self.drawing.add(body.reverse() if mirror else body)
        self._stub((x, y), (x + 0.75 * sign, y))
        self._stub((x + 1.5 * sign, y + 1.5), (x + 1.5 * sign, y + 0.7))
        self._stub((x + 1.5 * sign, y - 1.5), (x + 1.5 * sign, y - 0.7))
        for pin, dy in (("b", 0.0), ("c", 1.5), ("e", -1.5)):
            self._pin(ref, pin, (x + (1.5 * sign if dy else 0), y + dy))
        for row, word in enumerate((ref, self.circuit[ref].type.value)):
            self.text(word, (x + 1.75 * sign, y + 0.22 - 0.44 * row), "right" if mirror else "left")
        self._numbers(ref, "b", "c", "e", (x, y), sign)

    def pnp(self, ref: str, base: str | Point) -> None:
        """PNP transistor, base at `base`; emitter and collector 1.5 above and below, 1.5 beside it."""
        x, y = self.at(base)
        self.drawing.add(elm.BjtPnp().at((x + 0.75, y)).anchor("base").theta(0))
        self._stub((x, y), (x + 0.75, y))
        self._stub((x + 1.5, y + 1.5), (x + 1.5, y + 0.7))
        self._stub((x + 1.5, y - 1.5), (x + 1.5, y - 0.7))
        for pin, dy in (("b", 0.0), ("e", 1.5), ("c", -1.5)):
            self._pin(ref, pin, (x + (1.5 if dy else 0), y + dy))
        for row, word in enumerate((ref, self.circuit[ref].type.value)):
            self.text(word, (x + 1.75, y + 0.22 - 0.44 * row))
        self._numbers(ref, "b", "e", "c", (x, y), 1)

    def thyristor(self, ref: str, anode: str | Point) -> None:
        """Thyristor from `anode` 2 down to its cathode; its gate 1 to the left, 0.525 above the cathode."""
        x, y = self.at(anode)
        gate, cathode = (x - 1, y - 1.475), (x, y - 2)
        self.drawing.add(elm.SCR().endpoints((x, y), cathode))
        self._stub(gate, (x - 0.5, gate[1]))
        self.bodies.append((ref, ((x, y - 0.7), (x, y - 1.3))))
        for pin, point in (("a", (x, y)), ("k", cathode), ("g", gate)):
            self._pin(ref, pin, point)
        for row, word in enumerate((ref, self.circuit[ref].type.value)):
            self.text(word, (x + 0.45, y - 0.78 - 0.44 * row))
        for pin, (dx, dy) in (("a", (0.15, -0.3)), ("k", (0.15, -1.75)), ("g", (-0.85, -1.3))):
            self.text(self.circuit[ref].type.leg(pin), (x + dx, y + dy), "left", NUMBER_SIZE, NOTE_COLOUR)

    def box(
        self,
        ref: str,
        corner: Point,
        width: float,
        height: float,
        left: Sequence[str] = (),
        right: Sequence[str] = (),
        top: Sequence[str] = (),
        bottom: Sequence[str] = (),
        name: str = "",
    ) -> None:
        """A circuit or connector as a box from its top left `corner`; pins a unit apart, "" leaves one place out."""
        x, y = corner
        self.frames.append((ref, ((x, y - height), (x + width, y))))
        self.drawing.add(elm.Rect(corner1=(0, 0), corner2=(width, -height), fill="#f6f4ec").at(corner).theta(0))
        sides: Iterable[tuple[Sequence[str], Point, Point, Point]] = (
            (left, (x, y - 1), (0, -1), (-1, 0)),
            (right, (x + width, y - 1), (0, -1), (1, 0)),
            (top, (x + 1, y), (1, 0), (0, 1)),
            (bottom, (x + 1, y - height), (1, 0), (0, -1)),
        )
        for pins, origin, step, out in sides:
            for row, pin in enumerate(pins):
                if pin:
                    root = (origin[0] + step[0] * row, origin[1] + step[1] * row)
                    self._boxed_pin(ref, pin, root, out)
        under = y - height - 0.35 if not bottom else y + 0.4
        self.text(f"{ref}  {name}".strip(), (x + 1.6 if top else x + width / 2, under), "left" if top else "center", 11)

    def _boxed_pin(self, ref: str, pin: str, root: Point, out: Point) -> None:
        tip = (root[0] + out[0], root[1] + out[1])
        self._stub(root, tip)
        self._pin(ref, pin, tip)
        align = ALIGNED[-int(out[0])]
        self.text(pin, (root[0] - 0.15 * out[0], root[1] - 0.3 * out[1]), align, 9)
        number = self.circuit[ref].type.leg(pin)
        if number != pin and self.circuit[ref].type.kind == "ic":
            dx, dy = (0.5 * out[0], 0.17) if out[0] else (0.1, 0.5 * out[1])
            across: Align = "center" if out[0] else "left"
            self.text(number, (root[0] + dx, root[1] + dy), across, NUMBER_SIZE, NOTE_COLOUR)

    # --- nets ---

    def wire(self, *places: str | Point) -> None:
        """A line from place to place; a bend goes sideways first."""
        points = [self.at(p) for p in places]
        for a, b in pairwise(points):
            corner = (b[0], a[1])
            for line in ((a, corner), (corner, b)):
                if line[0] != line[1]:
                    self.lines.append(line)
                    self._stub(*line)

    def tag(self, pin: str, way: str = "", length: float = 0.0, at: Point | None = None) -> None:
        """Print the net of a pin: ground symbol, or its name beside the pin (or beside `at`)."""
        ref, _, leg = pin.partition(".")
        net = self.circuit[ref].net(leg)
        here = self.at(at if at else pin)
        if length:
            step = STEPS[way or "down"]
            end = (here[0] + step[0] * length, here[1] + step[1] * length)
            self.wire(here, end)
            here = end
        self.tags.append((here, net))
        if net == GROUND and way in ("", "down"):
            self.drawing.add(elm.Ground().at(here).theta(0))
            return
        dx, dy = STEPS[way or "right"]
        self.drawing.add(elm.Dot(open=True, radius=0.06).at(here))
        align = ALIGNED[int(dx)]
        self.text(net, (here[0] + 0.25 * dx, here[1] + 0.35 * dy), align, 10, NET_COLOUR)

    def tag_each(self, ref: str, pins: Sequence[str], way: str) -> None:
        """Print the nets of several pins of a part; "" is a place left out, as in `box`."""
        for pin in filter(None, pins):
            self.tag(f"{ref}.{pin}", way)

    # --- what was drawn ---

    def pieces(self) -> list[Piece]:
        """Follow the lines: groups of touching pins, each on one net of the circuit, or a CircuitError."""
        groups: list[tuple[list[Segment], list[tuple[str, str]], list[str]]] = []
        for cluster in self._clusters():
            pins = [k for k, point in self.pins.items() if any(_on(point, line) for line in cluster)]
            tags = [net for point, net in self.tags if any(_on(point, line) for line in cluster)]
            groups.append((cluster, pins, tags))
        found = []
        for _, pins, tags in groups:
            nets = {self.circuit[ref].net(pin) for ref, pin in pins} | set(tags)
            if len(nets) > 1:
                names = " ".join(f"{r}.{p}={self.circuit[r].net(p)}" for r, p in pins)
                raise CircuitError(f"sheet {self.name}: a line joins different nets: {names} tags {tags}")
            if pins:
                found.append(Piece(self.name, nets.pop(), tuple(pins), bool(tags)))
        return found

    def _clusters(self) -> list[list[Segment]]:
        points = [*self.pins.values(), *(p for p, _ in self.tags)]
        lines = [*self.lines, *((p, p) for p in points)]
        clusters: list[list[Segment]] = []
        for line in lines:
            touching = [c for c in clusters if any(_touch(line, other) for other in c)]
            clusters = [c for c in clusters if c not in touching]
            clusters.append([line, *(each for c in touching for each in c)])
        return clusters

    def svg(self) -> str:
        """The sheet as SVG, with a dot where three or more lines meet."""
        ends: dict[Point, int] = {}
        for point in {p for line in self.lines for p in line} | set(self.pins.values()):
            key = (round(point[0], 3), round(point[1], 3))
            reach = sum(point in line for line in self.lines)
            reach += 2 * sum(_on(point, line) and point not in line for line in self.lines)
            ends[key] = reach + sum(point == pin for pin in self.pins.values())
        for point, reach in ends.items():
            if reach > 2:
                self.drawing.add(elm.Dot(radius=0.08).at(point))
        box = self.drawing.get_bbox()
        self.text(self.title, (box.xmin, box.ymax + 0.9), size=16)
        return self.drawing.get_imagedata("svg").decode()


def _touch(one: Segment, other: Segment) -> bool:
    return any(_on(p, other) for p in one) or any(_on(p, one) for p in other)


def check(circuit: Circuit, sheets: Sequence[Sheet]) -> None:
    """Every pin is drawn once; a net in several pieces carries its name on each."""
    pieces = [piece for sheet in sheets for piece in sheet.pieces()]
    drawn = [pin for piece in pieces for pin in piece.pins]
    wanted = [(ref, pin) for ref, part in circuit.parts.items() for pin in part.pins]
    missing, twice = set(wanted) - set(drawn), {p for p in drawn if drawn.count(p) > 1}
    if missing or twice:
        raise CircuitError(f"not drawn: {sorted(missing)}; drawn twice: {sorted(twice)}")
    for net in circuit.nets():
        own = [p for p in pieces if p.net == net]
        nameless = [p for p in own if len(own) > 1 and not p.named]
        if nameless:
            where = "; ".join(f"{p.sheet}: {' '.join('.'.join(x) for x in p.pins)}" for p in nameless)
            raise CircuitError(f"net {net} is drawn in {len(own)} pieces, and some lack its name: {where}")
