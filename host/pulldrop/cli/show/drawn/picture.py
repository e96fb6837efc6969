"""The coil current of one make as a few lines of plain ASCII, the armature's start and strike marked, contacts below.

Rule: no colour and no letter outside ASCII: it must read the same on paper and on the oldest terminal.
"""

from collections.abc import Sequence

from pulldrop.model.part.relay import FORMS, Form
from pulldrop.model.raw import TICKS_PER_S, Capture, Contact
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord

LANES = {Contact.NO: "87", Contact.NC: "87a"}
COLUMNS, ROWS = 60, 6
SHOWN_MS = 15.0
LEFT = 8


def lines(record: RunRecord) -> list[str]:
    """The picture with its words; empty when the armature's motion was not measured."""
    found = {one.id: one.finding for one in record.judged}
    seat, start = found.get("armature_seat_time"), found.get("armature_start_time")
    if not isinstance(seat, Reading) or not isinstance(start, Reading):
        return []
    captures = [one for one in seat.raw if isinstance(one, Capture)]
    if not captures:
        return []
    index = _middle(seat)
    amps = [1000 * record.calibration.coil_fast.value(count) for count in captures[index].samples]
    marks = []
    if seat.makes and start.makes:
        marks = [("A", 1000 * start.makes[index]), ("S", 1000 * seat.makes[index])]
    drawn = _curve(amps, captures[index]) + _marks(marks) + _contacts(captures[index], record.plan.relay.form)
    axis = " " * LEFT + "0" + f"{SHOWN_MS:g} ms".rjust(COLUMNS - 1)
    return [f"coil current, make {index + 1} of {len(captures)}:", *drawn, axis, in_words(marks)]


def in_words(marks: Sequence[tuple[str, float]]) -> str:
    """What the picture says."""
    if not marks:
        return "The current rises without a dip: the armature does not move."
    (_, start), (_, seat) = marks
    return f"A: the armature starts, {start:.1f} ms. S: it strikes the core, {seat:.1f} ms: the dip ends there."


def _middle(reading: Reading) -> int:
    """The make nearest to the reading."""
    value = reading.value or 0.0
    return min(range(len(reading.makes)), key=lambda n: abs(reading.makes[n] - value)) if reading.makes else 0


def _column(at_ms: float) -> int:
    return int(at_ms / SHOWN_MS * COLUMNS)


def _curve(milliamps: Sequence[float], capture: Capture) -> list[str]:
    """The samples of the shown time, one for each column."""
    sample_ms = 1000 * capture.sample_ticks / TICKS_PER_S
    last = len(milliamps) - 1
    return curve([milliamps[min(round(c * SHOWN_MS / COLUMNS / sample_ms), last)] for c in range(COLUMNS)], ROWS)


def curve(milliamps: Sequence[float], rows: int) -> list[str]:
    """That many lines, one `*` a column, the highest current at the top, where it is written."""
    most = max(*milliamps, 1.0)
    heights = [round(max(value, 0.0) / most * (rows - 1)) for value in milliamps]
    drawn = []
    for row in range(rows - 1, -1, -1):
        label = f"{most:.0f} mA" if row == rows - 1 else "0" if row == 0 else ""
        drawn.append(label.rjust(LEFT - 1) + "|" + "".join("*" if r == row else " " for r in heights).rstrip())
    return drawn


def _marks(marks: Sequence[tuple[str, float]]) -> list[str]:
    if not marks:
        return []
    line = [" "] * COLUMNS
    for letter, at_ms in marks:
        if at_ms < SHOWN_MS:
            line[_column(at_ms)] = letter
    return [" " * LEFT + "".join(line).rstrip()]


def _contacts(capture: Capture, form: Form) -> list[str]:
    """One line a throw: `=` closed, `.` open."""
    return [LANES[throw].rjust(LEFT - 1) + " " + _lane(capture, throw) for throw in FORMS[form].throws]


def _lane(capture: Capture, throw: Contact) -> str:
    edges = [(1000 * e.tick / TICKS_PER_S, e.closed) for e in capture.edges if e.contact == throw]
    closed = bool(capture.contacts_before & throw)
    drawn = []
    for column in range(COLUMNS):
        until = (column + 1) * SHOWN_MS / COLUMNS
        while edges and edges[0][0] < until:
            closed = edges.pop(0)[1]
        drawn.append("=" if closed else ".")
    return "".join(drawn)
