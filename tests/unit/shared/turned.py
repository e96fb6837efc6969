"""A virtual switch on a board, turned by a simulated person who hears what the bench says."""

import json
from collections.abc import Callable
from typing import Any

from pulldrop.board.contract import Board
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure.positions.learn import learn
from pulldrop.model.part.switch_table import Progress, SwitchTable
from pulldrop.plant.bench.bench import Bench
from pulldrop.plant.inserted import Bystander
from pulldrop.plant.parts.switch import SwitchSpecimen
from pulldrop.plant.switch.person import Habits, Person

NEVER_S = 600.0


def switch(**given: Any) -> SwitchSpecimen:
    """An invented switch, checked as a file is."""
    return SwitchSpecimen.model_validate_json(json.dumps({"kind": "switch", "title": "invented", **given}), strict=True)


def person(bench: Bench, seed: int, habits: Habits, of: type[Person] = Person) -> Person:
    """Whoever turns the switch that is on this bench."""
    assert isinstance(bench.relay, Bystander)
    wired = bench.relay.wired
    return of(wired.knob, wired.positions, wired.springs, seed, habits)


def turned(
    specimen: SwitchSpecimen,
    board: Board,
    bench: Bench,
    seed: int,
    habits: Habits,
    expected: int | None = None,
    of: type[Person] = Person,
) -> SwitchTable:
    """The table that the board learns of it."""
    who = person(bench, seed, habits, of)
    if habits.deaf:
        who.begin(NEVER_S)

    def tell(progress: Progress) -> None:
        if progress.said is not None and not habits.deaf:
            who.hears(progress.said.name.lower().replace("_", " "), board.elapsed())

    return learn(board, specimen.outside, tell, expected)


def learnt(
    specimen: SwitchSpecimen,
    seed: int = 3,
    habits: Habits | None = None,
    bare: bool = False,
    expected: int | None = None,
    before: Callable[[Bench], None] = lambda _: None,
    of: type[Person] = Person,
) -> SwitchTable:
    """The same on a virtual board of its own."""
    inserted = specimen.in_socket()
    with VirtualBoard(inserted.on_bare() if bare else inserted, seed, bare) as board:
        before(board.plant)
        return turned(specimen, board, board.plant, seed, habits or Habits(), expected, of)


def groups(table: SwitchTable) -> set[frozenset[frozenset[str]]]:
    """What each position joins."""
    return {frozenset(frozenset(one) for one in row.state.groups) for row in table.positions}
