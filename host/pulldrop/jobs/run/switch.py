"""A run on a switch that a person turns: its plan, the table that it is held against, and whoever turns a virtual one.

Rule: a simulated board has a simulated person, who hears what the bench says.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from pulldrop.board.contract import Board
from pulldrop.jobs.run.choose import plan_rated
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.run.test_one import Void
from pulldrop.judge.positions.meaning import meaning
from pulldrop.measure.positions.joints import BARE_LINES, FULL_LINES
from pulldrop.model.limit import Source
from pulldrop.model.part.kinds.switch import SwitchRating
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.position_names import names
from pulldrop.model.part.switch_table import Progress, SwitchTable
from pulldrop.model.raw import Line
from pulldrop.model.reading import Reading
from pulldrop.model.run.hand import Hand, Request
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.plant.inserted import Inserted
from pulldrop.plant.switch.person import Person
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.protocol.ratings.files import load_any_rating
from pulldrop.protocol.shipped.library import find_rating
from pulldrop.store import Store

TERMINAL = re.compile(r"[0-9A-Za-z]{1,8}")
NAMES = {Line.LEAD_1: "lead 1", Line.LEAD_2: "lead 2", Line.LEAD_3: "lead 3", Line.LEAD_4: "lead 4"}
NOT_KNOWN = SwitchRating(
    rating="switch-not-known",
    title="a switch whose table is not known yet",
    source=Source(text="nothing is known of it", known="assumed"),
    kind="switch",
    positions={},
)
LEFT = "It was left by Esc."


@dataclass(frozen=True, slots=True)
class Learnt:
    """What a run found of a switch. `names`: of positions by number from 0; `means`: what was worked out, in words."""

    table: SwitchTable
    names: dict[int, str]
    means: str


def learnt(record: RunRecord) -> Learnt | None:
    """The table of a run; None where none was learnt, or the part is no switch."""
    rating = record.plan.rating
    table = next((one.finding.state for one in record.judged if isinstance(one.finding, Reading)), None)
    if not isinstance(rating, SwitchRating) or not isinstance(table, SwitchTable):
        return None
    return Learnt(table, names(rating.positions, table), str(meaning(table)))


def reference(name_or_path: str) -> SwitchRating:
    """A switch's table from the shipped ones or a file. Raises UnknownName, BadText and DoesNotFit."""
    found = load_any_rating(find_rating(name_or_path))
    if not isinstance(found, SwitchRating):
        raise DoesNotFit(f"'{found.rating}' is no table of a switch; it has the kind '{found.kind}'")
    return found


def last_time(store: Store, part: str | None) -> SwitchRating:
    """The table that a part was held against last; else the one that it had when it was first learnt without a doubt.
    NOT_KNOWN where there is neither, or no such part. Raises StoreError."""
    if part is None:
        return NOT_KNOWN
    first = NOT_KNOWN
    for line in reversed(store.runs(part)):
        record = store.record(line.run)
        if isinstance(record.plan.rating, SwitchRating) and record.plan.rating.positions:
            return record.plan.rating
        first = _as_learnt(record) or first
    return first


def _as_learnt(record: RunRecord) -> SwitchRating | None:
    """A run's table as one to compare with; None for a doubtful one, and for positions that differ in ohms alone."""
    found = learnt(record)
    if found is None or found.table.doubts or record.ended is None:
        return None
    rows = found.table.positions
    positions = {
        f"{number}": tuple(Pair(group[0], other) for group in row.state.groups for other in group[1:])
        for number, row in enumerate(rows, 1)
    }
    if len({frozenset(pairs) for pairs in positions.values()}) < len(positions):
        return None
    return SwitchRating(
        rating="as-first-learnt",
        title=f"its own table of {record.started:%Y-%m-%d}",
        source=Source(text=f"its own run {record.run}", known="read"),
        kind="switch",
        positions=positions,
        springs={f"{at + 1}": f"{row.springs_to + 1}" for at, row in enumerate(rows) if row.springs_to is not None},
    )


def plan_of(protocol: str, rating: SwitchRating, terminals: tuple[str, ...], count: int | None) -> Plan:
    """The plan; `terminals` in the order of the bench's lines, `count`: of positions, if a person counted them."""
    return plan_rated(protocol, rating.model_copy(update={"terminals": terminals, "count": count}))


def terminals_on(part: VirtualPart | None) -> tuple[str, ...]:
    """Those of a virtual switch; of a real one that nobody described, all lines without ground, by numbers."""
    if part is not None and isinstance(part.specimen, Inserted):
        return tuple(part.specimen.part.outside)
    return tuple(f"{number}" for number in range(1, len(BARE_LINES) + 1))


def turned_by(person: Person | None, board: Board, show: Callable[[Progress], None], left: Callable[[], bool]) -> Hand:
    """Whoever turns it by what is said, which is also shown; `left`: whether a person wants no more of it."""

    def do(request: Request) -> bool:
        progress = request.learning
        if left():
            raise Void(LEFT)
        if progress is None:
            return False
        show(progress)
        if person is not None and progress.said is not None:
            person.hears(progress.said.name.lower().replace("_", " "), board.elapsed())
        return True

    return do


def checked(terminals: tuple[str, ...]) -> tuple[str, ...]:
    """The same names, if pairs can be written of them. Raises ValueError with a sentence."""
    for name in terminals:
        if not TERMINAL.fullmatch(name):
            raise ValueError(f"'{name[:20]}' is no terminal; expected 1 to 8 letters or digits, such as 56a")
    if len(set(terminals)) < len(terminals):
        raise ValueError("a terminal is named twice")
    return terminals


def wiring(terminals: tuple[str, ...], bare: bool) -> tuple[tuple[str, str], ...]:
    """Each terminal, and the bench's line that it goes to. Raises ValueError for more than there are lines."""
    lines = BARE_LINES if bare else FULL_LINES
    if not 2 <= len(terminals) <= len(lines):
        raise ValueError(f"{len(terminals)} terminals were named; this build takes 2 to {len(lines)}")
    ends = (NAMES.get(line, f"terminal {line.name[1:].lower()} of the socket") for line in lines)
    return tuple(zip(terminals, ends, strict=False))
