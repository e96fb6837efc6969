"""What a crate's events add up to: parts by number, the tally, and what is still open. Pure arithmetic, no store.

Rule: everything that the sorter must know after a power cut follows from the events alone.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from pulldrop.model.crate.crate import Bin, CrateEvent, Happened, Placed


@dataclass(frozen=True, slots=True)
class Likeness:
    """A part that looks like one that was placed before, and nobody has said yet whether it is that one."""

    number: int
    like: int
    text: str


@dataclass(frozen=True, slots=True)
class _Stand:
    """All parts between two events: by number, the last one placed first, and how many are in each bin."""

    parts: tuple[Placed, ...]
    newest: tuple[Placed, ...]
    tally: tuple[tuple[Bin, int], ...]


class Ledger:
    """Fold events with `add`, in order."""

    def __init__(self, events: Iterable[CrateEvent] = ()) -> None:
        self.seq = 0
        self._placings: list[Placed] = []
        self._notes: dict[int, str] = {}
        self.rating = ""
        self.unpulled: int | None = None
        self.likeness: Likeness | None = None
        self.since_golden = 0
        self._stood: _Stand | None = None
        for event in events:
            self.add(event)

    def add(self, event: CrateEvent) -> None:
        """One event more."""
        self.seq += 1
        self._stood = None
        match event.kind:
            case Happened.PLACED:
                self._place(event)
            case Happened.PULLED:
                self.unpulled = None
            case Happened.UNDONE:
                self._undo()
            case Happened.NOTED:
                self._notes[event.number] = event.text
            case Happened.SAME:
                self._merge(event)
            case Happened.OTHER:
                self.likeness = None
            case Happened.RATING:
                self.rating = event.text
            case Happened.GOLDEN:
                self.since_golden = 0
            case Happened.CHECKED:
                pass

    def _place(self, event: CrateEvent) -> None:
        assert event.placed is not None
        if event.number not in self._by_number():
            self.since_golden += 1
        self._placings.append(event.placed)
        self.unpulled = event.number
        if event.like is not None:
            self.likeness = Likeness(event.number, event.like, event.text)

    def _undo(self) -> None:
        gone = self._placings.pop()
        if gone.number not in self._by_number():
            self._notes.pop(gone.number, None)
            self.unpulled = None
        self.likeness = None

    def _merge(self, event: CrateEvent) -> None:
        """The last part has another number already: it keeps that one, with what was found now."""
        assert event.placed is not None
        self._placings.pop()
        self._placings.append(event.placed)
        self.unpulled, self.likeness = event.placed.number, None

    def merged(self, likeness: Likeness) -> Placed:
        """The same part twice: it keeps its first number; two different answers are to be looked at again."""
        now, then = self.placed(likeness.number), self.placed(likeness.like)
        assert now is not None and then is not None
        kept: dict[str, object] = {"number": then.number, "part": then.part, "same_as": then.number}
        if now.bin is not then.bin:
            differs = f"the same part was {then.bin} before and {now.bin} now"
            kept |= {"bin": Bin.LOOK_AGAIN, "reasons": (differs, *now.reasons), "cause": None}
        return now.model_copy(update=kept)

    def _by_number(self) -> dict[int, Placed]:
        return {one.number: one for one in self._placings}

    def placed(self, number: int) -> Placed | None:
        """The part of this number, as it stands now."""
        found = self._by_number().get(number)
        return self._noted(found) if found else None

    def _noted(self, one: Placed) -> Placed:
        note = self._notes.get(one.number, one.note)
        return one if note == one.note else one.model_copy(update={"note": note})

    @property
    def parts(self) -> tuple[Placed, ...]:
        """Every part that is placed, by its number."""
        return self._stand().parts

    @property
    def newest(self) -> tuple[Placed, ...]:
        """The same, the last one placed first."""
        return self._stand().newest

    @property
    def next_number(self) -> int:
        """The number of the next part."""
        parts = self._stand().parts
        return parts[-1].number + 1 if parts else 1

    @property
    def tally(self) -> tuple[tuple[Bin, int], ...]:
        """Parts in each bin."""
        return self._stand().tally

    def _stand(self) -> _Stand:
        """Reckoned once after each event: a crate shows many views between two of them."""
        if self._stood is None:
            order: dict[int, Placed] = {}
            for one in reversed(self._placings):
                order.setdefault(one.number, self._noted(one))
            bins = [one.bin for one in order.values()]
            self._stood = _Stand(
                parts=tuple(order[number] for number in sorted(order)),
                newest=tuple(order.values()),
                tally=tuple((each, bins.count(each)) for each in Bin),
            )
        return self._stood
