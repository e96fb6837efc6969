"""What a sorter is given: the crate and its protocol, and who is around the bench."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol

from pulldrop.board.contract import Board
from pulldrop.board.errors import Tripped
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.crate.crate import CrateView, Stage
from pulldrop.model.crate.sorting import Sorting
from pulldrop.model.part.relay import NC, NO, form_of
from pulldrop.protocol.errors import UnknownName
from pulldrop.protocol.ratings.classes import class_of


class Surroundings(Protocol):
    """What is around the bench: a person's hands, or a virtual hand; time passes here."""

    def wait(self, view: CrateView, seconds: float) -> None:
        """Let bench time pass; a virtual hand does here what the view asks of a person."""

    def specimen(self) -> tuple[str, int | None]:
        """Text of the virtual part in the socket, and the seed of the bench; empty and None for a real one."""


@dataclass(frozen=True, slots=True)
class Setup:
    """A crate to be sorted. `load`: its protocol for another rating, by name; `ratings`: what that may be."""

    crate: str
    sorting: Sorting
    load: Callable[[str], Sorting]
    ratings: tuple[str, ...] = ()
    operator: str = ""
    now: Callable[[], datetime] = lambda: datetime.now(UTC)

    def normally_closed(self, sorting: Sorting) -> Sorting | None:
        """The same for the normally closed parts of a crate of changeover ones; None where none is meant."""
        plan = sorting.screen
        if plan.form != form_of(NO, NC).form or plan.relay.any_maker is None:
            return None
        try:
            return self.load(class_of(form_of(NC).form, plan.relay.nominal).rating)
        except UnknownName:
            return None


def pass_time(rig: Rig, view: CrateView, seconds: float) -> None:
    """Let bench time pass; a board that has turned itself off does not wait, which is right while work is stopped."""
    try:
        rig.wait(seconds)
    except Tripped:
        if view.stage is not Stage.STOPPED:
            raise
        time.sleep(seconds)


class Person:
    """The hands of a person at a real board."""

    def __init__(self, board: Board) -> None:
        self._rig = Rig.uncalibrated(board)

    def wait(self, view: CrateView, seconds: float) -> None:
        """The person does what the view asks; only time passes here."""
        pass_time(self._rig, view, seconds)

    def specimen(self) -> tuple[str, int | None]:
        """A real part has no text."""
        return "", None
