"""Which part a number is that a crate gave it: crate and number name one part, as its id does.

Rule: a number alone is another part in every crate, so it is asked about and never taken for an id.
"""

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from pulldrop.judge.crate.ledger import Ledger
from pulldrop.model.crate.crate import Placed
from pulldrop.store import Store

OF_A_CRATE = re.compile(r"(?:crate\s+)?(?P<crate>.*?\S)[\s#,:/]+(?:number\s+|no\.?\s*)?(?P<number>\d{1,6})", re.I)
ALONE = re.compile(r"(?:number\s+|no\.?\s*|#\s*)?(?P<number>\d{1,6})", re.I)
MOST = 5
FEW = 500
"""So many ids go into one question to the store; of more parts every crate is read."""


@dataclass(frozen=True, slots=True)
class Numbered:
    """A part as it stands in a crate."""

    crate: str
    placed: Placed

    def __str__(self) -> str:
        return f"{self.crate} {self.placed.number}"


def part_of(store: Store, text: str) -> str | None:
    """The id of the part that `north shed 12` names; None where there is no such crate or number, or it has no id."""
    written = OF_A_CRATE.fullmatch(text.strip())
    if written is None:
        return None
    found = _standing(store, _crates(store, written["crate"]), int(written["number"]))
    return next((one.placed.part for one in found if one.placed.part), None)


def not_in(store: Store, text: str) -> str:
    """Why crate and number name no part with an id, where there is such a crate; empty where there is none."""
    written = OF_A_CRATE.fullmatch(text.strip())
    crate = next(iter(_crates(store, written["crate"])), None) if written else None
    if written is None or crate is None:
        return ""
    known = [one.number for one in Ledger(store.crate_events(crate)).parts]
    number = int(written["number"])
    if number in known:
        return f"Number {number} of the crate '{crate}' was never tested, so that it has no id."
    told = f"; its numbers: {min(known)} to {max(known)}" if known else ""
    return f"The crate '{crate}' has no part number {number}{told}."


def alone(store: Store, text: str) -> tuple[Numbered, ...] | None:
    """What a number alone may mean, by crate; None where the text is no number alone."""
    written = ALONE.fullmatch(text.strip())
    if written is None:
        return None
    number = int(written["number"])
    return tuple(_standing(store, store.crates_with(number), number))


def of_crate(store: Store, text: str) -> tuple[str, ...]:
    """Ids of the parts of the crate of this name, by number; none where there is no such crate."""
    name = re.sub(r"^crate\s+", "", text.strip(), flags=re.I)
    parts = (one for crate in _crates(store, name) for one in Ledger(store.crate_events(crate)).parts)
    return tuple(dict.fromkeys(one.part for one in parts if one.part))


def of_parts(store: Store, ids: Collection[str]) -> dict[str, tuple[Numbered, ...]]:
    """By id: crate and number of each part that stands in one."""
    found: dict[str, tuple[Numbered, ...]] = {}
    few = len(ids) <= FEW
    for crate in store.crates_of(ids) if few else [one.name for one in store.all_crates()]:
        for one in Ledger(store.crate_events(crate)).parts:
            if one.part in ids:
                found[one.part] = (*found.get(one.part, ()), Numbered(crate, one))
    return found


def asked(number: str, found: Collection[Numbered]) -> str:
    """The question that a number alone raises."""
    told = [f"{one} ({one.placed.part or 'never tested'}, {one.placed.bin})" for one in found]
    more = f", and in {len(told) - MOST} more crates" if told[MOST:] else ""
    if not told:
        return f"'{number}' is a number alone, and no crate here has it. Give the part's id, or crate and number."
    return f"'{number}' is a number alone. Which part is meant: {', or '.join(told[:MOST])}{more}?"


def _crates(store: Store, name: str) -> list[str]:
    """Crates of this name, by whatever capitals; as it is written, if there is one."""
    names = [head.name for head in store.all_crates()]
    return [name] if name in names else [one for one in names if one.casefold() == name.casefold()]


def _standing(store: Store, crates: Collection[str], number: int) -> Iterator[Numbered]:
    for crate in crates:
        placed = Ledger(store.crate_events(crate)).placed(number)
        if placed:
            yield Numbered(crate, placed)
