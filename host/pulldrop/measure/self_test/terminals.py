"""The self-test's look at the terminals of an empty socket: no two are joined, and every line drives.

Rule: only a few mA flow, at 5 V: a part left in the socket comes to no harm, and is reported.
"""

from collections.abc import Iterator

from pulldrop.board.request_types import Scan
from pulldrop.measure.rig.counts.channels import FULL_SCALE, LOOK_V, driven_a, sunk_a
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.rig.scan_read import BARE_FULL
from pulldrop.measure.self_test.check import Check, checked
from pulldrop.model.part.relay import TERMINALS
from pulldrop.model.raw import Line

BARE_SHARE = 0.02
"""An empty terminal of a bare board is driven to within this of 5 V and of 0 V: 0.1 V."""
LIT_V = {Line.T85: 3.0, Line.T86: 0.6, Line.T87: 3.0, Line.T87A: 3.0}
"""What an empty terminal of a full build comes to at least; 86 is loaded by the coil supply."""
APART_A = 50e-6
"""Into a terminal of a full build flow at most the 20 uA of its own pull-up, when nothing joins it to another."""
TO_30_A = 0.6e-3
"""Out of a terminal flow at most 0.4 mA into the bench itself, when it is not joined to 30."""


def terminals(rig: Rig) -> Iterator[Check]:
    """Two lines of the self-test, the second only when the first is well: on a full build a part in the socket holds a
    driven line down, on a bare one a line that does not drive seems joined. Raises Refused when a part does not answer.
    """
    bare = rig.bare
    lines = tuple(TERMINALS) if bare else tuple(LIT_V)
    first, second = (_driven, _apart) if bare else (_apart, _driven)
    check = first(rig, lines, bare)
    yield check
    if check.state == "ok":
        yield second(rig, lines, bare)


def _driven(rig: Rig, lines: tuple[Line, ...], bare: bool) -> Check:
    wrong = [TERMINALS[line] for line in lines if not (_bare_drives if bare else _full_drives)(rig, line)]
    found = f"not so: {', '.join(wrong)}; look at its resistors and wires" if wrong else f"all {len(lines)}"
    expected = "each comes up when driven" + (", and down" if bare else "")
    return checked("scan lines", expected, found, not wrong)


def _bare_drives(rig: Rig, line: Line) -> bool:
    high, low = rig.board.scan(Scan(line, Line.NONE)).source, rig.board.scan(Scan(Line.NONE, line)).sink
    return high > (1 - BARE_SHARE) * BARE_FULL and low < BARE_SHARE * BARE_FULL


def _full_drives(rig: Rig, line: Line) -> bool:
    return rig.board.scan(Scan(line, Line.NONE)).source * LOOK_V / FULL_SCALE > LIT_V[line]


def _apart(rig: Rig, lines: tuple[Line, ...], bare: bool) -> Check:
    pairs = [(a, b) for index, a in enumerate(lines) for b in lines[index + 1 :]]
    if not bare:
        pairs += [(a, Line.T30) for a in lines if a is not Line.T86]
    joined = [f"{TERMINALS[a]}-{TERMINALS[b]}" for a, b in pairs if (_bare_joined if bare else _full_joined)(rig, a, b)]
    found = (
        f"joined: {', '.join(joined)}; a part is in it, or leads touch" if joined else f"{len(pairs)} pairs, all apart"
    )
    return checked("terminals", "an empty socket: no two joined", found, not joined)


def _bare_joined(rig: Rig, one: Line, other: Line) -> bool:
    counts = rig.board.scan(Scan(one, other))
    return counts.source < (1 - BARE_SHARE) * BARE_FULL or counts.sink > BARE_SHARE * BARE_FULL


def _full_joined(rig: Rig, one: Line, other: Line) -> bool:
    counts = rig.board.scan(Scan(one, other))
    if other is Line.T30:
        return driven_a(counts) > TO_30_A
    return sunk_a(counts) > APART_A
