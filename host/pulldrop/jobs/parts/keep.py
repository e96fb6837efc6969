"""Parts as a person keeps them: made, described, looked up by what is written on them, by text, or by their readings.

Rule: an id that no part has is never guessed at silently; the answer names what was probably meant.
"""

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pulldrop.jobs.parts import numbers
from pulldrop.judge.crate import same
from pulldrop.model.part.event import WITHDRAWABLE, Card, PartEvent, PartEventKind, card_of, place_of
from pulldrop.model.part.kinds import how_to_test
from pulldrop.model.part.part import Part
from pulldrop.model.part.part_id import as_known, meant, spellings, typed, well_formed
from pulldrop.model.part.parts_page import PartView
from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import words
from pulldrop.store import AT, NotKept, PartLine, Store
from pulldrop.store.views.overview import FOUND_MOST

TO_FIND = "what you know of it: pulldrop parts find TEXT"


@dataclass(frozen=True, slots=True)
class PartLikeness:
    """A part whose last readings look like those of another; `odds` that both are one, `beside` so many other parts."""

    part: PartView
    odds: float
    beside: int


def resolve(store: Store, text: str) -> str:
    """The id of the part that was written, typed or scanned. Raises NotKept with what was probably meant."""
    known = find_id(store, text)
    if known is None and (may_be := numbers.alone(store, text)):
        raise NotKept(numbers.asked(text, may_be), store.name)
    if known is None and (why := numbers.not_in(store, text)):
        raise NotKept(why, store.name)
    if known is None:
        raise NotKept(unknown(text, probably(store, text), f" in the store{AT}", TO_FIND), store.name)
    return known


def find_id(store: Store, text: str) -> str | None:
    """As it was written first, which needs no list of all parts; then by crate and number, or its ids elsewhere."""
    for written in dict.fromkeys((text.strip(), *spellings(text))):
        with suppress(NotKept):
            return store.part(written).part.id
    known = as_known(text, store.spelt(spellings(text)))
    numbered = None if known else numbers.part_of(store, text)
    if numbered:
        return store.part(numbered).part.id
    return known or next(iter(_named(store, text)), None)


def _named(store: Store, text: str) -> tuple[str, ...]:
    """Parts that have this id in another store."""
    events = store.names()
    name = as_known(text, {one.name for one in events})
    return tuple(dict.fromkeys(one.part for one in events if name and one.name == name))


def mistakable(store: Store, id: str) -> str:
    """Which other part may still have this id on it, from another store, and what to do; empty when there is none."""
    others = [view(store, store.part(other)) for other in _named(store, id) if other != id]
    if not others:
        return ""
    others_named = " and ".join(f"{one.part.id} ({_about(one)})" for one in others)
    return f"{id} is also written on {others_named}, from another bench. If that is the part, use its new id."


def for_run(store: Store, text: str) -> str:
    """The id under which a run is kept: a known part's, or a new one. A slip beside a known part is refused.

    Only ids with a check character speak here: others, such as a house's own numbers, may well be neighbours.
    """
    known = find_id(store, text) if text else ""
    if known is not None:
        return known
    if (may_be := numbers.alone(store, text)) is not None:
        to_begin = f"To begin a new part under that very number: pulldrop parts new --id {text.strip()} --form FORM"
        raise NotKept(f"{numbers.asked(text, may_be)} {to_begin}", store.name)
    if why := numbers.not_in(store, text):
        raise NotKept(why, store.name)
    if not well_formed(typed(text)) and meant(text, filter(well_formed, store.part_ids())):
        slip = unknown(text, probably(store, text), f" in the store{AT}", TO_FIND)
        to_begin = f"To begin a new part under that very id: pulldrop parts new --id {text} --form FORM"
        raise NotKept(f"{slip} {to_begin}", store.name)
    return text


def last_rating(store: Store, text: str) -> str:
    """The rating by which a known part was tested last; empty where there is none."""
    known = find_id(store, text)
    last = store.part(known).last if known else None
    return last.rating if last else ""


def unknown(text: str, near: Iterable[PartView], where: str = "", look: str = "words that you know of it.") -> str:
    """Says that there is no such part, and which was probably meant; `where` it is not, and how to `look` it up."""
    told = [f"{one.part.id} ({_about(one)})" for one in near]
    if told:
        return f"There is no part '{text[:40]}'. Probably meant: {', or '.join(told)}."
    return f"There is no part '{text[:40]}'{where}, and none near it. Look it up by {look}"


def probably(store: Store, text: str) -> tuple[PartView, ...]:
    """The parts whose ids are a slip of the pen away."""
    return tuple(view(store, store.part(id)) for id in meant(text, store.part_ids()))


def _about(one: PartView) -> str:
    card = one.card
    about = ", ".join(text for text in (card.description or one.part.label, card.donor, card.position) if text)
    return words.marked(one.card_came, about) if about else str(one.part)


def view(store: Store, line: PartLine) -> PartView:
    """One part with its card."""
    return view_of(line, store.part_events(line.part.id))


def views(store: Store) -> tuple[PartView, ...]:
    """Every part, by its id."""
    return _views(store.parts(), store.part_events())


def _views(lines: Iterable[PartLine], events: Iterable[PartEvent]) -> tuple[PartView, ...]:
    of: dict[str, list[PartEvent]] = {}
    for event in events:
        of.setdefault(event.part, []).append(event)
    return tuple(view_of(line, of.get(line.part.id, [])) for line in lines)


def view_of(line: PartLine, events: Iterable[PartEvent]) -> PartView:
    """One part with its card; `events`: all that happened to it, in that order."""
    events = tuple(events)
    place, place_came = place_of(events)
    first = Card(description=line.part.label, donor=line.part.donor, notes=line.part.notes)
    card, card_came = card_of(events, first, line.described)
    return PartView(
        part=line.part,
        simulated=line.simulated,
        runs=line.runs,
        last=line.last,
        card=card,
        place=place,
        also=tuple(dict.fromkeys(event.name for event in events if event.name)),
        card_came=card_came,
        place_came=place_came,
    )


def new(store: Store, part: Part, card: Card, simulated: bool = False) -> PartView:
    """Keep a part before its first test."""
    id, known = part.id, store.part_ids()
    if id and as_known(id, known):
        raise NotKept(f"There is a part {as_known(id, known)} already. Change its card with: pulldrop parts edit {id}")
    kept = store.new_part(_in_short(part, card), simulated)
    describe(store, kept, card, simulated)
    return view(store, store.part(kept.id))


def describe(store: Store, part: Part, card: Card, simulated: bool, at: datetime | None = None) -> None:
    """Write a card again; the old ones stay. The store's own description follows, by which it searches."""
    when = at or datetime.now(UTC)
    store.part_event(PartEvent(part=part.id, at=when, kind=PartEventKind.DESCRIBED, card=card))
    store.new_part(_in_short(part, card), simulated)


def _in_short(part: Part, card: Card) -> Part:
    label = ", ".join(text for text in (card.description, card.position) if text)
    notes = "; ".join(text for text in (card.printed, card.sheet, card.notes) if text)
    return part.model_copy(update=dict(label=label, donor=card.donor, notes=notes))


def withdraw(store: Store, part: str, event: str, text: str = "", operator: str = "") -> PartEvent:
    """Say that an event was not so, and give that event. `event`: its id, or the end of it. Raises NotKept."""
    happened = [one for one in store.part_events(part) if one.kind in WITHDRAWABLE]
    meant = [one for one in happened if event and one.id.endswith(event)]
    if len(meant) != 1:
        told = ", ".join(f"{one.id[-EVENT_SHOWN:]} ({one.kind} {one.at:%Y-%m-%d})" for one in meant or happened)
        raise NotKept(
            f"'{event}' names {'more than one event' if meant else 'no event'} of part {part} that can be withdrawn."
            f" There {'are' if told else 'is'}: {told or 'none'}. A card is corrected with: pulldrop parts edit {part}"
        )
    at = datetime.now(UTC)
    store.part_event(
        PartEvent(part=part, at=at, kind=PartEventKind.WITHDRAWN, text=text, withdraws=meant[0].id, operator=operator)
    )
    return meant[0]


def join(store: Store, part: str, into: str, text: str = "", operator: str = "") -> tuple[str, str]:
    """Say that two parts of the store are one, which goes by the id `into`. Gives both ids. Raises NotKept."""
    one, other = (store.part(resolve(store, name)) for name in (part, into))
    id, goes_by = one.part.id, other.part.id
    if id == goes_by:
        raise NotKept(f"{part} and {into} are one part already: {goes_by}.")
    if not one.part.same_kind(other.part):
        raise NotKept(
            f"{id} is kept as {one.part}, and {goes_by} as {other.part}; they cannot be one. Look at what is written on"
            " the part in your hand: pulldrop parts show PART"
        )
    said = f"{id} is this part{f': {text}' if text else ''}"
    at = datetime.now(UTC)
    store.part_event(
        PartEvent(part=id, at=at, kind=PartEventKind.JOINED, text=said, name=id, into=goes_by, operator=operator)
    )
    return id, goes_by


def add_photo(store: Store, part: str, file: Path, text: str, operator: str = "") -> PartEvent:
    """Keep a photo of a part."""
    name = store.keep_photo(file)
    event = PartEvent(
        part=part, at=datetime.now(UTC), kind=PartEventKind.PHOTO, text=text, photo=name, operator=operator
    )
    return store.part_event(event)


def photos(store: Store, events: Iterable[PartEvent]) -> tuple[tuple[str, bytes, str], ...]:
    """Name, content and words of every photo; no content for one that lies elsewhere. StoreTrouble: it was changed."""
    return tuple(
        (one.photo, _content(store, one.photo), words.marked(one.came, one.text)) for one in events if one.photo
    )


def _content(store: Store, photo: str) -> bytes:
    try:
        return store.photo(photo).read_bytes()
    except NotKept:
        return b""


def find(store: Store, text: str) -> tuple[PartView, ...]:
    """Parts by their id or label scan, else those in whose card, or in what happened to them, every word stands.

    By an id also those that have it in another store.
    """
    known = find_id(store, text)
    return by_words(store, text) if known is None else by_id(store, text, known)


def numbered(store: Store, found: Iterable[PartView]) -> tuple[PartView, ...]:
    """The same parts, with crate and number of each."""
    listed = tuple(found)
    of = numbers.of_parts(store, {one.part.id for one in listed})
    return tuple(one.model_copy(update={"numbers": tuple(map(str, of.get(one.part.id, ())))}) for one in listed)


def by_id(store: Store, text: str, known: str) -> tuple[PartView, ...]:
    """The part of this id, and those that have it in another store."""
    return tuple(view(store, store.part(id)) for id in dict.fromkeys((known, *_named(store, text))))


def by_words(store: Store, text: str) -> tuple[PartView, ...]:
    """The parts of a crate of this name, or of every crate that has this number; else those in whose card, or in what
    happened to them, every word stands.
    """
    may_be = numbers.alone(store, text) or ()
    if ids := numbers.of_crate(store, text) or tuple(one.placed.part for one in may_be if one.placed.part):
        return tuple(view(store, store.part(id)) for id in ids[:FOUND_MOST])
    words = text.casefold().split()
    if not words:
        return ()
    found = {line.part.id: line for line in store.search(text)}
    more = store.told_of(words) - found.keys() if len(found) < FOUND_MOST else ()
    for id in sorted(more)[:MOST_READ]:
        said = " ".join(f"{event.text} {event.place}" for event in store.part_events(id)).casefold()
        if all(word in said for word in words):
            found[id] = store.part(id)
    return _views((found[id] for id in sorted(found)), store.events_of(found.keys()))


def looks_like(store: Store, part: str) -> PartLikeness | None:
    """The other part that the last readings of this one look most like; None when none is worth a look, or too few
    parts of its kind are here to show how parts differ.

    Virtual parts of one class are alike to the last digit, so there only runs of one specimen are of one part.
    """
    everything = {one.part.id: one for one in views(store)}
    own = everything[part]
    if own.last is None:
        how = how_to_test(own.part)
        raise NotKept(f"The part {part} was never tested, so it has no readings to recognise it by. {how}")
    others = [
        one
        for one in everything.values()
        if one.last and one.part.id != part and one.simulated == own.simulated and one.part.same_kind(own.part)
    ]
    runs = [own.last.run, *(one.last.run for one in others if one.last)]
    values = {run: same.told_apart_by(of) for run, of in store.values(runs).items()}
    prints = {number: values[one.last.run] for number, one in enumerate(others) if one.last}
    if (beside := len(prints)) < same.LEAST_LOT:
        return None
    while found := same.likeliest(values[own.last.run], prints):
        other = others[found[0]]
        if not own.simulated or _specimen(store, other) == _specimen(store, own):
            return PartLikeness(other, found[1], beside)
        del prints[found[0]]
    return None


def _specimen(store: Store, one: PartView) -> str:
    return store.record(one.last.run).specimen if one.last else ""


EVENT_SHOWN = 4
"""So many characters at the end of an event's id tell it from the others of its part."""
MOST_READ = 200
"""Parts whose events are read for a word that their cards do not have: what is found in more is no answer."""


def in_words(found: PartLikeness) -> str:
    """`part 4K7 (mini changeover, bus 12): odds 300 to 1 by the spread of 12 parts here`."""
    odds = f"odds {same.in_words(found.odds)} by the spread of {found.beside} parts here"
    return f"part {found.part.part.id} ({_about(found.part)}): {odds}"


def known_already(store: Store, record: RunRecord) -> str:
    """Which known part a new one may be, and what to do; empty when none looks like it."""
    if record.ended is None:
        return ""
    found = looks_like(store, record.part.id)
    if found is None:
        return ""
    return (
        f"Is this a part that is known already? It reads like {in_words(found)}. Look at what is written on both: only"
        " if they are one part, 'pulldrop parts join --help' says how its history goes on."
    )
