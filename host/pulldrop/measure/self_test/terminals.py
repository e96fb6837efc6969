"""The self-test's look at the terminals of an empty socket: no two are joined, and both ends of the scan reach each.

Rule: only a few mA flow to a terminal, at 5 V: a part left in the socket comes to no harm, and is reported.
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
DARK_V = 0.3
"""85, to ground by the sink and driven by nothing, stands at zero."""
THROUGH = 0.95 * FULL_SCALE
"""Both ends of a full build on one line: 8 to 19 mA, over the ranges of both; over range, less the converter's gain."""
LOOK_LEAST_V, LOOK_MOST_A = 3.7, 1e-3
"""4.5 V of the USB port less a diode; the INA226's zero."""
APART_A = 50e-6
"""Into a terminal of a full build flow at most the 20 uA of its own pull-up, when nothing joins it to another."""
TO_30_A = 0.6e-3
"""Out of a terminal flow at most 0.4 mA into the bench itself, when it is not joined to 30."""


def terminals(rig: Rig) -> Iterator[Check]:
    """Two lines of the self-test, the second only when the first is well: on a full build a part in the socket holds a
    driven line down, on a bare one a line that does not drive seems joined. Raises Refused when a part does not answer.
    """
    if rig.able.looks == "coil":
        yield _coil_look(rig)
        return
    bare = rig.bare
    lines = tuple(TERMINALS) if bare else tuple(LIT_V)
    first, second = (_driven, _apart) if bare else (_apart, _driven)
    check = first(rig, lines, bare)
    yield check
    if check.state == "ok":
        yield second(rig, lines, bare)


def _coil_look(rig: Rig) -> Check:
    """The one look of such a build: its volts stand at 86, and nothing flows."""
    counts = rig.board.scan(Scan(Line.T86, Line.T85))
    volts, amps = rig.calibration.coil_bus.value(counts.source), rig.calibration.coil_shunt.value(counts.driven)
    right = volts > LOOK_LEAST_V and abs(amps) < LOOK_MOST_A
    expected = f"an empty socket: more than {LOOK_LEAST_V:g} V at 86, 0 mA +-{1e3 * LOOK_MOST_A:g}"
    return checked("look at the coil", expected, f"{volts:.2f} V, {1e3 * amps:.2f} mA", right)


def _driven(rig: Rig, lines: tuple[Line, ...], bare: bool) -> Check:
    wrong = [TERMINALS[line] for line in lines if not (_bare_drives if bare else _full_drives)(rig, line)]
    found = f"not so: {', '.join(wrong)}; look at its resistors and wires" if wrong else f"all {len(lines)}"
    if not wrong and not bare and (ends := _ends(rig, lines)):
        wrong, found = [ends], ends
    expected = "each comes up when driven, and " + ("down" if bare else "both ends of the scan reach it")
    return checked("scan lines", expected, found, not wrong)


def _ends(rig: Rig, lines: tuple[Line, ...]) -> str:
    """What is wrong with the ends of the scan: nothing flows while no line is driven, and over range from one end to
    the other on each line."""
    resting, name = rig.board.scan(Scan(Line.NONE, lines[0])), TERMINALS[lines[0]]
    drive_a, sink_a, volts = driven_a(resting), sunk_a(resting), resting.sink * LOOK_V / FULL_SCALE
    if max(abs(drive_a), abs(sink_a)) > APART_A or volts > DARK_V:
        return (
            f"{1e3 * drive_a:.2f} mA driven, {1e3 * sink_a:.2f} mA sunk, {volts:.2f} V at {name}, while nothing is"
            " driven; look at INH of U11 and at U14"
        )
    through = {line: rig.board.scan(Scan(line, line)) for line in lines}
    bad = [TERMINALS[line] for line, one in through.items() if min(-one.driven, one.sunk) < THROUGH]
    return f"no way from R88 to R89 by {', '.join(bad)}; look at U11 (drive), U12 (sink) and U14" if bad else ""


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
