"""How contacts go over from one position to its neighbour, from looks at single pairs while the knob is turned slowly.

Rule: a pair that is left and one that is come to are looked at in turn, and only of neighbours: where another position
that joins something was passed nothing is told. The new one closed and the old one closed after it: make before break.
The old one open and the new one open after it: break before make. Neither: too fast to tell. A pair that is closed in
both and open on the way has a dead spot there.
"""

from collections.abc import Iterable, Sequence
from itertools import combinations

from pulldrop.model.part.switch_table import Between, JoinedState, Passage

RESTS_S = 1.4
"""A place counts as reached when all looks have suited it for so long: a slow turn passes a gap between two positions
sooner, which may look like a position that joins nothing."""


def watched(terminals: Sequence[str], states: Sequence[JoinedState]) -> tuple[tuple[str, str], ...]:
    """Few pairs that tell all states apart: of every group its first terminal with each other one, if some state has
    them apart."""
    pairs = [(group[0], other) for state in states for group in state.groups for other in group[1:]]
    order = {name: at for at, name in enumerate(terminals)}
    some = {(a, b) if order[a] < order[b] else (b, a) for a, b in pairs}
    return tuple(sorted(one for one in some if len({state.joined(*one) for state in states}) == 2))


def tell_apart(pairs: Iterable[tuple[str, str]], states: Sequence[JoinedState]) -> bool:
    """Whether these pairs are different in any two states."""
    looks = [tuple(state.joined(*one) for one in pairs) for state in states]
    return all(one != other for one, other in combinations(looks, 2))


class Passages:
    """Takes looks at watched pairs in the order of time, and finds passages between the states."""

    def __init__(self, pairs: Sequence[tuple[str, str]], states: Sequence[JoinedState]) -> None:
        self.pairs = tuple(pairs)
        self._wanted = [{one: state.joined(*one) for one in self.pairs} for state in states]
        self._now: dict[tuple[str, str], bool] = {}
        self._at: int | None = None
        self._looks: list[tuple[tuple[str, str], bool]] = []
        self._suits_s: tuple[int, float] | None = None
        self._passed: set[int] = set()
        self.found: dict[tuple[int, int], set[Between]] = {}
        self.opens: dict[tuple[int, int], set[str]] = {}
        self.moved_s: float | None = None

    def take(self, time_s: float, pair: tuple[str, str], closed: bool) -> None:
        """One look."""
        if self._now.get(pair, closed) != closed:
            self.moved_s = time_s
        self._now[pair] = closed
        self._looks.append((pair, closed))
        place = self._place()
        if place is None:
            self._suits_s = None
            return
        if any(self._now.values()):
            self._passed.add(place)
        if self._suits_s is None or self._suits_s[0] != place:
            self._suits_s = (place, time_s)
        if time_s - self._suits_s[1] >= RESTS_S and place != self._at:
            if self._at is not None and self._passed <= {self._at, place}:
                self._tell(self._at, place)
            self._at = place
        if place == self._at:
            del self._looks[: -len(self.pairs)]
            self._passed.clear()

    def _tell(self, start: int, end: int) -> None:
        """What the looks on the way from one place to another show."""
        here, there = self._wanted[start], self._wanted[end]
        told = between(here, there, self._looks)
        if told is not None:
            self.found.setdefault((start, end), set()).add(told)
        opened = {"-".join(one) for one, shut in self._looks if here[one] and there[one] and not shut}
        self.opens.setdefault((start, end), set()).update(opened)

    def _place(self) -> int | None:
        if len(self._now) < len(self.pairs):
            return None
        return next((i for i, wanted in enumerate(self._wanted) if wanted == self._now), None)

    def passages(self) -> tuple[Passage, ...]:
        """Those that were seen, and never two ways."""
        found = []
        for start, end in sorted({*self.found, *self.opens}):
            told, opens = self.found.get((start, end), set()), self.opens.get((start, end), set())
            if len(told) == 1 or opens:
                sure = next(iter(told)) if len(told) == 1 else None
                found.append(Passage(start=start, end=end, between=sure, opens=tuple(sorted(opens))))
        return tuple(found)


def between(
    start: dict[tuple[str, str], bool],
    end: dict[tuple[str, str], bool],
    looks: Sequence[tuple[tuple[str, str], bool]],
) -> Between | None:
    """What the looks from one place to another show; None where they show neither, or both."""
    left = {one for one in start if start[one] and not end[one]}
    come = {one for one in start if end[one] and not start[one]}
    opened = closed = False
    gap = overlap = False
    for pair, shut in looks:
        if pair in left:
            overlap |= closed and shut
            opened |= not shut
        if pair in come:
            gap |= opened and not shut
            closed |= shut
    if gap == overlap:
        return None
    return "make before break" if overlap else "break before make"
