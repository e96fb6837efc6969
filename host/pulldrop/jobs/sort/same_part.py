"""The values by which the parts of a crate are told apart, kept by number while the crate is sorted.

Rule: they come from the store, or from a run that is in it; nothing is remembered that a new start would not know.
"""

from collections.abc import Iterable, Sequence

from pulldrop.judge.same import USUAL_SPREAD, Values, likeliest, tells
from pulldrop.model.crate.crate import Placed
from pulldrop.model.reading import Reading
from pulldrop.model.verdict import Judged
from pulldrop.store import Store

NOT_KNOWN_AGAIN = "Mind the number: too little was measured to know it again."
MOST_SHOWN = 1_000_000


class Prints:
    """One crate's fingerprints."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._by_run: dict[str, Values] = {}
        self._by_number: dict[int, Values] = {}

    def follow(self, parts: Iterable[Placed]) -> None:
        """Bring it to the parts that are placed now."""
        listed = [one for one in parts if one.run]
        new = [one.run for one in listed if one.run not in self._by_run]
        for run, values in self._store.values(new).items() if new else ():
            self._by_run[run] = {id: (value, wide / 2) for id, (value, wide) in values.items() if id in USUAL_SPREAD}
        self._by_number = {one.number: self._by_run[one.run] for one in listed}

    def warning(self, number: int) -> str:
        """What is to be said of a part that could not be known if it came again; empty for any other."""
        return "" if tells(self._by_number.get(number, {})) else f" {NOT_KNOWN_AGAIN}"

    def likely(self, judged: Sequence[Judged]) -> tuple[int, str] | None:
        """The number that these readings look like, and how much, in words."""
        found = likeliest(_values(judged), self._by_number)
        if found is None:
            return None
        number, odds = found
        shown = f"{float(f'{min(odds, MOST_SHOWN):.1g}'):,.0f}"
        more = "more than " if odds > MOST_SHOWN else ""
        return number, f"It looks like number {number}: odds {more}{shown} to 1."


def _values(judged: Sequence[Judged]) -> Values:
    found = (one.finding for one in judged if one.id in USUAL_SPREAD)
    return {
        one.id: (one.value, one.expanded_uncertainty / 2)
        for one in found
        if isinstance(one, Reading) and one.value is not None and one.bound == "="
    }


def nothing(_judged: Sequence[Judged]) -> None:
    """Where nobody asks whether a part was here before."""
    return None
