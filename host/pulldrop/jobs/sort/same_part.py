"""The values by which the parts of a crate are distinguished, kept by number while the crate is sorted.

Rule: they come from the store, or from a run that is in it; nothing is remembered that a new start would not know.
"""

from collections.abc import Iterable, Sequence

from pulldrop.judge.crate.same import USUAL_SPREAD, Values, in_words, likeliest, tells, told_apart_by
from pulldrop.model.crate.crate import Placed
from pulldrop.model.verdict import Judged, numbers
from pulldrop.store import Store

NOT_KNOWN_AGAIN = "Take care with the number: too little was measured to recognise this part later."


class Prints:
    """One crate's fingerprints."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.differ = True
        """Whether parts of this kind can be told apart by what is measured of them; fuses and lamps cannot."""
        self._by_run: dict[str, Values] = {}
        self._by_number: dict[int, Values] = {}

    def follow(self, parts: Iterable[Placed]) -> None:
        """Bring it to the parts that are placed now."""
        listed = [one for one in parts if one.run]
        new = [one.run for one in listed if one.run not in self._by_run]
        for run, values in self._store.values(new).items() if new else ():
            self._by_run[run] = told_apart_by(values)
        self._by_number = {one.number: self._by_run[one.run] for one in listed}

    def warning(self, number: int) -> str:
        """What is to be said of a part that could not be known if it came again; empty for any other."""
        return "" if not self.differ or tells(self._by_number.get(number, {})) else f" {NOT_KNOWN_AGAIN}"

    def likely(self, judged: Sequence[Judged]) -> tuple[int, str] | None:
        """The number that these readings look like, and how much, in words."""
        read = numbers(one for one in judged if one.id in USUAL_SPREAD)
        now = told_apart_by({id: (one.number, one.expanded_uncertainty) for id, one in read.items()})
        found = likeliest(now, self._by_number)
        return (found[0], f"It looks like number {found[0]}: odds {in_words(found[1])}.") if found else None


def nothing(_judged: Sequence[Judged]) -> None:
    """Stands for `likely` where nobody asks whether a part was here before."""
    return None
