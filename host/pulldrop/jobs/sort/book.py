"""The crate as it is written down: its events in the store, what they add up to, and by what its parts are known again.

Rule: an event is in the store before anybody sees it, so that whoever begins again goes on where it was.
"""

from pulldrop.jobs.sort.same_part import Prints
from pulldrop.jobs.sort.setup import Setup
from pulldrop.judge.crate.ledger import Ledger
from pulldrop.model.crate.crate import Bin, CrateEvent, Happened, Placed
from pulldrop.model.crate.sorting import Sorting
from pulldrop.store import Entry, Store


class Book:
    """One crate. Raises CrateRefused where it cannot be, and where another program writes into it as well."""

    def __init__(self, store: Store, setup: Setup, simulated: bool) -> None:
        self._store, self._setup, self._simulated = store, setup, simulated
        self.ledger = Ledger(store.crate(setup.crate, simulated, setup.now())[1])
        self.prints = Prints(store)
        self.prints.follow(self.ledger.parts)

    def keep(
        self, kind: Happened, number: int = 0, *, run: str = "", text: str = "", placed: Placed | None = None
    ) -> None:
        """Write an event, then count it."""
        event = CrateEvent(kind=kind, at=self._setup.now(), number=number, run=run, text=text, placed=placed)
        self._store.crate_event(Entry(self._setup.crate, self.ledger.seq + 1, event))
        self.add(event)

    def add(self, event: CrateEvent) -> None:
        """Count an event that was written with the end of a run."""
        self.ledger.add(event)
        self.prints.follow(self.ledger.parts)

    def untested(self, why: tuple[str, ...]) -> int:
        """A part that is not tested gets a number all the same, and is looked at again. Gives the number."""
        number, now = self.ledger.next_number, self._setup.now()
        placed = Placed(number=number, part="", run="", bin=Bin.LOOK_AGAIN, reasons=why, figures=(), at=now)
        self.keep(Happened.PLACED, number, placed=placed)
        return number

    def note(self, number: int, text: str) -> str:
        """Write a note to a part, or say why not."""
        if not self.ledger.placed(number):
            return f"Number {number} was undone meanwhile, so its note is not kept: {text}"
        self.keep(Happened.NOTED, number, text=text)
        return ""

    def undo(self) -> str:
        """Take the last placing back, and say what is to be done now."""
        last = self.ledger.newest[0]
        self.keep(Happened.UNDONE, last.number)
        return f"Number {last.number} ({last.bin}) is undone: take that part out of its bin and insert it again."

    def goldens(self, sorting: Sorting) -> list[str]:
        """Golden parts that fit this bench and this kind of crate, the last marked first."""
        like = sorting.screen.rating.part()
        lines = [self._store.part(one) for one in self._store.goldens()]
        return [one.part.id for one in lines if one.simulated == self._simulated and one.part.same_kind(like)]

    def golden_due(self, sorting: Sorting) -> str:
        """Id of the golden part that is to be tested now; empty when none is due."""
        every = sorting.golden_every
        return next(iter(self.goldens(sorting)), "") if every and self.ledger.since_golden >= every else ""
