"""What is joined between the lines of the scan, pair by pair at a few mA, one cycle after the other.

Rule: terminals are compared with one of each group found so far, so that a cycle of few groups is short. A terminal on
30 of a full build, which is ground, comes first: what is joined with it is in its group and is never a source.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pulldrop.board.contract import Board
from pulldrop.board.request_types import Scan
from pulldrop.measure.rig.counts.channels import FULL_SCALE, LOOK_V, driven_a, sunk_a
from pulldrop.measure.rig.scan_read import BARE_FULL, BARE_HALF_COUNT, BARE_OHM, BARE_V, PIN_OHM
from pulldrop.model.part.switch_table import JoinedState, Through
from pulldrop.model.raw import Line, ScanCounts

CLOSED_OHM = 3.0
"""At most this is a contact: lines, converter and leads come to 0.5 ohm together, a cold pilot lamp is 4 and more."""
OPEN_OHM = 10e3
"""More than this is nothing: the bench's own dividers on 87 and 87a come to 13 kohm."""
LEAST_A = 60e-6
FULL_LINES = (
    Line.LEAD_1, Line.LEAD_2, Line.LEAD_3, Line.LEAD_4, Line.T87, Line.T87A, Line.T85, Line.T30,
)  # fmt: skip
BARE_LINES = (Line.T30, Line.T87, Line.T87A, Line.T85, Line.T86)
"""Where the terminals of a switch go, in this order. On a full build 30 is ground: only an eighth terminal goes there,
for a lamp from it to another one would hide what that one is joined with."""


@dataclass(frozen=True, slots=True)
class Cycle:
    """One look at all terminals, and when it began and ended."""

    began_s: float
    ended_s: float
    state: JoinedState


class Joints:
    """The terminals of one switch on the lines of one board. Raises ValueError for more terminals than lines."""

    def __init__(self, board: Board, terminals: Sequence[str]) -> None:
        self.board = board
        self._bare = board.identity.build == "bare"
        lines = BARE_LINES if self._bare else FULL_LINES
        if not 2 <= len(terminals) <= len(lines):
            raise ValueError(f"{len(terminals)} terminals; this bench takes 2 to {len(lines)}")
        self.lines = dict(zip(terminals, lines, strict=False))
        self.terminals = tuple(sorted(terminals, key=lambda one: self.lines[one] is not Line.T30))
        self._group: dict[str, str] = {}

    def ohm(self, a: str, b: str) -> float:
        """From one terminal to another; infinite where nothing to speak of flows. The first terminal may be ground."""
        source, sink = self.lines[a], self.lines[b]
        if source is Line.T30 and not self._bare:
            source, sink = sink, source
        counts = self.board.scan(Scan(source, sink))
        volts, amps = _bare(counts) if self._bare else _full(counts)
        found = max(volts, 0.0) / amps if amps > LEAST_A else float("inf")
        return found if found < OPEN_OHM else float("inf")

    def closed(self, a: str, b: str) -> bool:
        """Whether a contact joins two terminals now; where both are joined with ground no current shows it."""
        if self.ohm(a, b) <= CLOSED_OHM:
            return True
        ground = next((one for one, line in self.lines.items() if line is Line.T30 and not self._bare), None)
        if ground is None or ground in (a, b):
            return False
        return all(self.ohm(one, ground) <= CLOSED_OHM for one in (a, b))

    def cycle(self) -> Cycle:
        """All terminals once."""
        began_s = self.board.elapsed()
        heads: dict[str, list[str]] = {}
        through: list[Through] = []
        for terminal in self.terminals:
            apart = []
            for head in self._likely(terminal, heads):
                ohm = self.ohm(terminal, head)
                if ohm <= CLOSED_OHM:
                    heads[head].append(terminal)
                    self._group[terminal] = head
                    break
                if ohm < OPEN_OHM:
                    apart.append(Through(a=terminal, b=head, ohm=ohm))
            else:
                heads[terminal] = [terminal]
                through += apart
        groups = tuple(tuple(one) for one in heads.values() if len(one) > 1)
        state = JoinedState(groups=groups, through=tuple(through))
        return Cycle(began_s, self.board.elapsed(), state)

    def opened(self, state: JoinedState) -> Cycle | None:
        """The joints of a state alone, one quick look each: the state without the first that is open; None for none.

        An opening by a wiggle lasts some hundredths of a second, and a whole cycle takes some tenths.
        """
        for group in state.groups:
            for one in group[1:]:
                at_s = self.board.elapsed()
                if self.ohm(one, group[0]) > CLOSED_OHM:
                    left = tuple(name for name in group if name != one)
                    groups = tuple(left if each == group else each for each in state.groups)
                    without = JoinedState(groups=tuple(each for each in groups if len(each) > 1), through=state.through)
                    return Cycle(at_s, self.board.elapsed(), without)
        return None

    def both_ways(self, state: JoinedState) -> JoinedState:
        """The same with every path also looked at the other way round, and those found that conduct only that way."""
        heads = [one for one in self.terminals if state.group(one)[0] == one]
        forward = {(one.a, one.b): one for one in state.through}
        found = []
        for index, a in enumerate(heads):
            for b in heads[index + 1 :]:
                one = forward.get((b, a))
                if not self._bare and self.lines[a] is Line.T30:
                    found += [one] if one else []
                    continue
                back = self.ohm(a, b)
                if one is not None:
                    found.append(one.model_copy(update={"back_ohm": back}))
                elif back < OPEN_OHM:
                    found.append(Through(a=a, b=b, ohm=back, back_ohm=float("inf")))
        return JoinedState(groups=state.groups, through=tuple(found))

    def _likely(self, terminal: str, heads: dict[str, list[str]]) -> Iterator[str]:
        """Heads of the groups so far; the one that it was joined with before comes first."""
        before = self._group.get(terminal)
        if before in heads:
            yield before
        yield from [one for one in heads if one != before]


def _full(counts: ScanCounts) -> tuple[float, float]:
    grounded = counts.sink_line is Line.T30
    volts = (counts.source - (0 if grounded else counts.sink)) * LOOK_V / FULL_SCALE
    return volts, driven_a(counts) if grounded else sunk_a(counts)


def _bare(counts: ScanCounts) -> tuple[float, float]:
    source_v, sink_v = ((one + BARE_HALF_COUNT) / BARE_FULL * BARE_V for one in (counts.source, counts.sink))
    source_a = (BARE_V - source_v) / (BARE_OHM[counts.source_line] + PIN_OHM)
    return source_v - sink_v, (source_a + sink_v / (BARE_OHM[counts.sink_line] + PIN_OHM)) / 2
