"""Learn a switch on a board, compare it with the table that it should have, and keep its table as a part.

Rule: a simulated board has a simulated person, who hears what the bench says.
"""

import re
from collections.abc import Callable, Mapping

from pulldrop.board.contract import Board
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.run.test_one import switch_off
from pulldrop.judge.positions.compare import Comparison, compare
from pulldrop.judge.positions.meaning import Meaning, meaning
from pulldrop.measure.positions.joints import BARE_LINES, FULL_LINES
from pulldrop.measure.positions.learn import Live, Progress, learn
from pulldrop.model.bench.identity import Identity
from pulldrop.model.part.kinds.switch import Switch, SwitchRating
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.model.raw import Frozen, Line
from pulldrop.plant.inserted import Inserted
from pulldrop.plant.switch.person import Person
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.protocol.ratings.files import load_any_rating
from pulldrop.protocol.shipped.library import find_switch
from pulldrop.store import Store

TERMINAL = re.compile(r"[0-9A-Za-z]{1,8}")
NAMES = {Line.LEAD_1: "lead 1", Line.LEAD_2: "lead 2", Line.LEAD_3: "lead 3", Line.LEAD_4: "lead 4"}


class SwitchRefused(Exception):
    """A switch that is not learnt, or a table that is not kept; the message is a sentence for a person."""


class SwitchAnswer(Frozen):
    """What was found of a switch; also the answer of `switch --json`. `reference`: the table that it was compared with,
    empty without one; `part`: the id under which its table was kept, empty where it was not."""

    board: Identity
    simulated: bool
    table: SwitchTable
    meaning: Meaning
    reference: str = ""
    comparison: Comparison | None = None
    part: str = ""
    specimen: str = ""


def reference(name_or_path: str) -> SwitchRating:
    """A switch's table from the shipped ones or a file. Raises UnknownName, BadText and DoesNotFit."""
    found = load_any_rating(find_switch(name_or_path))
    if not isinstance(found, SwitchRating):
        raise DoesNotFit(f"'{found.rating}' is no table of a switch; it has the kind '{found.kind}'")
    return found


def terminals_of(positions: Mapping[str, tuple[Pair, ...]]) -> tuple[str, ...]:
    """Terminals in the order in which a table names them."""
    return tuple(dict.fromkeys(name for pairs in positions.values() for one in pairs for name in (one.a, one.b)))


def terminals_on(part: VirtualPart | None) -> tuple[str, ...]:
    """Those of a virtual switch; of a real one that nobody described, all lines without ground, by numbers."""
    if part is not None and isinstance(part.specimen, Inserted):
        return tuple(part.specimen.part.outside)
    return tuple(f"{number}" for number in range(1, len(BARE_LINES) + 1))


def heard_by(person: Person | None, board: Board, show: Callable[[Progress], None]) -> Callable[[Progress], None]:
    """What is shown, and what a simulated person hears of it."""

    def tell(progress: Progress) -> None:
        show(progress)
        if person is not None and progress.said is not None:
            person.hears(progress.said.name.lower().replace("_", " "), board.elapsed())

    return tell


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


def learn_switch(
    board: Board,
    terminals: tuple[str, ...],
    show: Callable[[Progress], None],
    expected: int | None = None,
) -> SwitchTable:
    """The table of the switch on the board's lines. Raises SwitchRefused for one that is live, and BoardError."""
    try:
        return learn(board, terminals, show, expected)
    except Live as live:
        raise SwitchRefused(str(live)) from live
    finally:
        switch_off(board)


def answered(board: Board, table: SwitchTable, should: SwitchRating | Switch | None, specimen: str) -> SwitchAnswer:
    """All that follows from a table; `should`: the one that it should have, or had before."""
    name = "" if should is None else should.rating if isinstance(should, SwitchRating) else should.id
    return SwitchAnswer(
        board=board.identity,
        simulated=board.identity.simulated,
        table=table,
        meaning=meaning(table),
        reference=name,
        comparison=compare(should.positions, table, should.springs) if should else None,
        specimen=specimen,
    )


def keep(store: Store, answer: SwitchAnswer, id: str, label: str) -> SwitchAnswer:
    """Keep the table as a part, or as a part's newer one. Raises SwitchRefused, PartRefused and StoreError."""
    if answer.table.doubts:
        raise SwitchRefused("the table was not kept, because it is in doubt; learn it again")
    known = answer.comparison.names if answer.comparison else {}
    positions = {
        known.get(number, f"{number + 1}"): tuple(
            Pair(group[0], other) for group in row.state.groups for other in group[1:]
        )
        for number, row in enumerate(answer.table.positions)
    }
    if len({frozenset(pairs) for pairs in positions.values()}) < 2:
        raise SwitchRefused("the table was not kept: positions that differ in ohms alone cannot be kept yet")
    names = list(positions)
    springs = {
        names[at]: names[row.springs_to] for at, row in enumerate(answer.table.positions) if row.springs_to is not None
    }
    kept = store.new_part(Switch(id=id, label=label, positions=positions, springs=springs), answer.simulated)
    return answer.model_copy(update={"part": kept.id})


def kept(store: Store, id: str) -> Switch:
    """A switch whose table was kept. Raises NotKept, and SwitchRefused for another kind of part."""
    found = store.part(id).part
    if not isinstance(found, Switch):
        raise SwitchRefused(f"{id} is {found.noun}, and no switch")
    return found
