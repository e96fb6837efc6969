"""One part, one answer: parts through `identify`, `test`, `demo` and `sort`, and every contradiction between the four.

Each way has a bench of its own. Parts are drawn with one fault, with two, with none, and of other kinds than the
crate's: other forms, volts and layouts, diodes the wrong way round. Seeds 1 to 9 were used while the rules were
written; from 1000 on held out.
"""

import random
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import faulty
import specimens
from crate import CLASSES
from report import AnyGoal, Goal, Share, close, options, share

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.demo.crate import as_it_comes
from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.identify import NotEnergised, look_first
from pulldrop.jobs.run.specimens import VirtualPart, empty_socket, in_stock
from pulldrop.jobs.sort.hand import Heap, SortingHand
from pulldrop.jobs.sort.setup import Setup
from pulldrop.jobs.sort.sorter import Sorter
from pulldrop.model.crate.crate import Bin, Placed
from pulldrop.model.part.identification import Identification
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.crate import sorting
from pulldrop.store import Store

LOAD = partial(sorting, "crate-relay")
RATING = "class-mini-12v-form-c"
ROOM_C = 21.0
"""One room for all ways: a cracked joint that a warm room opens is sound in a cold one, and either answer is right."""
ASIDE = (Overall.DO_NOT_ENERGISE, Overall.ANOTHER_KIND)
OTHER_KINDS = ("diode_reversed", "wrong_voltage", "normally_closed", "normally_open", "exchanged", "24 V", "twin")
"""Sound parts that are not what the crate is for, or that cannot be fed as they lie there."""


@dataclass(frozen=True)
class Drawn:
    """One part, what is wrong with it, and whether it is sound and only of another kind than the crate's."""

    name: str
    thing: VirtualPart
    other_kind: bool = False


@dataclass(frozen=True)
class Answers:
    """What each way says of one part; None where it saw no part at all."""

    identified: Identification
    tested: RunRecord | None
    demo: RunRecord | None
    placed: Placed | None


def of_stock() -> list[Drawn]:
    """Every part in stock."""
    found = []
    for name, one in in_stock():
        unlike = one.form != "C" or one.nominal_v != 12 or one.layout != "usual" or one.suppression.reversed
        sound = name.startswith("good") or name in ("exchanged-layout", "normally-closed", "reversed-diode", "twin-87")
        found.append(Drawn(name, as_text(one), unlike and sound))
    return found


def draw(count: int, seed: int) -> list[Drawn]:
    """A heap as nobody sorts it beforehand."""
    chance = random.Random(f"agree:{seed}")
    return [_one(chance) for _ in range(count)]


def _one(chance: random.Random) -> Drawn:
    what = chance.random()
    if what < 0.3:
        return _of_another_kind(chance.choice(OTHER_KINDS), chance)
    faults: tuple[str, ...] = ()
    if what < 0.7:
        faults = (chance.choice([one for one in faulty.FAULTS if one not in OTHER_KINDS]),)
    elif what < 0.75:
        faults = tuple(chance.choice(faulty.VISIBLE_TOGETHER))
    base = None
    while base not in CLASSES:
        base, specimen = faulty.draw(faults, chance.choice(faulty.SEVERITIES), chance)
    return Drawn(" and ".join(faults) or "sound", as_text(_in_one_room(specimen)))


def _in_one_room(specimen: Specimen) -> Specimen:
    """The part where the whole heap is tested; a joint that opens so many kelvin above its room still does."""
    assert specimen.temperature_c is not None
    faults, opens_c = specimen.faults, specimen.faults.coil_opens_above_c
    if opens_c is not None:
        faults = faults.model_copy(update={"coil_opens_above_c": opens_c + ROOM_C - specimen.temperature_c})
    return specimen.model_copy(update={"temperature_c": ROOM_C, "faults": faults})


def _of_another_kind(kind: str, chance: random.Random) -> Drawn:
    if kind in faulty.FAULTS:
        return Drawn(kind, as_text(_in_one_room(faulty.draw((kind,), 1, chance)[1])), other_kind=True)
    base = {"24 V": "mini_24v_changeover", "twin": "mini_12v_normally_open"}.get(kind, "mini_12v_changeover")
    given = specimens.specimen(base, chance).model_dump()  # type: ignore[arg-type]  # a class by its name
    given |= {"exchanged": {"layout": "exchanged"}, "twin": {"form": "twin"}}.get(kind, {})
    return Drawn(kind, as_text(_in_one_room(Specimen.model_validate(given))), other_kind=True)


def as_text(specimen: Specimen) -> VirtualPart:
    """A specimen with its text, as a file would give it."""
    return VirtualPart(specimen, specimen.model_dump_json())


def ask(heap: Sequence[Drawn], seed: int) -> list[Answers]:
    """The whole heap by all four ways."""
    placed = sort([one.thing for one in heap], seed)
    return [_answers(one.thing, placed.get(number), seed + number) for number, one in enumerate(heap, 1)]


def sort(things: Sequence[VirtualPart], seed: int) -> dict[int, Placed]:
    """The heap as one crate, by number."""
    room = empty_socket().specimen.model_copy(update={"temperature_c": ROOM_C})
    with Store.open(":memory:") as store, VirtualBoard(room, seed) as board:
        hand = SortingHand(board, Heap([*things]), board.insert, seed)
        sorter = Sorter(board, store, Setup("agree", LOAD(RATING), LOAD), hand, lambda _view: None)
        hand.press = sorter.press
        sorter.run()
        return {one.number: one for one in sorter.parts}


def _answers(thing: VirtualPart, placed: Placed | None, seed: int) -> Answers:
    with Store.open(":memory:") as store, open_board("virtual", thing, seed) as board:
        identified = look_first(board, store)
    return Answers(identified, _tested(thing, seed + 1000), _tested(thing, seed + 2000), placed)


def _tested(thing: VirtualPart, seed: int) -> RunRecord | None:
    with Store.open(":memory:") as store:
        try:
            return as_it_comes(thing, seed, store, lambda _event: None)
        except NotEnergised:
            return None


def contradictions(part: Drawn, said: Answers) -> list[str]:
    """Every two answers that cannot both be right of this part, in words."""
    records = [one for one in (said.tested, said.demo) if one is not None]
    found = [*_between(said, records), *(wrong for one in records for wrong in _within(one))]
    if said.placed:
        found += [wrong for one in records for wrong in _bin_and_verdict(said.placed, one)]
    if part.other_kind:
        found += _of_a_sound_one(part.thing.specimen, said, records)
    return [f"{part.name}: {one}" for one in dict.fromkeys(found)]


def _between(said: Answers, records: Sequence[RunRecord]) -> Iterator[str]:
    words = {one.verdict.overall for one in records}
    if said.placed is None:
        yield "the crate has no bin for it"
    if said.identified.empty and records:
        yield "the look saw nothing, and it was tested"
    if (Overall.DO_NOT_ENERGISE in words) != bool(said.identified.refuse and not said.identified.empty):
        yield f"identify: '{said.identified.refuse or 'may be energised'}'; tests: {', '.join(words)}"
    if {Overall.PASS, Overall.FAIL} <= words or (len(words) > 1 and words & {*ASIDE}):
        yield f"two tests say {' and '.join(sorted(words))}"


def _within(record: RunRecord) -> Iterator[str]:
    """Headline, cause and advice of one record."""
    verdict, word = record.verdict, record.verdict.overall
    first = verdict.next.split(".")[0]
    harsh, kind = verdict.next.startswith(("Scrap", "Do not fit")), verdict.next.startswith(("Keep", "Fit it", "Light"))
    if (word is Overall.PASS and harsh) or (word is Overall.FAIL and kind):
        yield f"{word}, next: {first}"
    if word in ASIDE and harsh and record.faults[0].id != "coil_shorted":
        yield f"{word}, next: {first}"
    if verdict.next.startswith("Scrap") and "test again" in verdict.next:
        yield f"scrap it, and test it again: {verdict.next}"
    if record.faults and word in (Overall.FAIL, *ASIDE) and record.faults[0].title not in verdict.means:
        yield f"the cause '{record.faults[0].title}' is not in '{verdict.means}'"


def _bin_and_verdict(placed: Placed, record: RunRecord) -> Iterator[str]:
    bin, verdict = placed.bin, record.verdict
    word, next = verdict.overall, verdict.next
    spared = "87a" in placed.reasons[0] and "87a" in next
    if bin is Bin.SCRAP and any("test again" in one for one in placed.reasons):
        yield f"scrapped in the crate, and to be tested again: {'; '.join(placed.reasons)}"
    wrong = {
        Bin.KEEP: word in (Overall.FAIL, *ASIDE) or verdict.mark is not None,
        Bin.LIGHT_DUTY: word in ASIDE or (word is Overall.FAIL and not spared),
        Bin.SCRAP: word in (Overall.PASS, Overall.ANOTHER_KIND) or (word in ASIDE and not next.startswith("Scrap")),
        Bin.LOOK_AGAIN: False,
    }
    mends = word is Overall.FAIL and "test again" in next.split(";")[0]
    if wrong[bin] or (bin is Bin.SCRAP and mends):
        yield f"in the crate {bin} ({placed.reasons[0]}), tested {verdict.word} ({verdict.found} {next[:90]})"


def _of_a_sound_one(specimen: Specimen, said: Answers, records: Sequence[RunRecord]) -> Iterator[str]:
    """A sound part of another kind is no bad part anywhere; where it is kept, by which form is said.

    One that fails by the limits of its own kind is not sound: a form drawn from another one's springs may pull in late.
    """
    failed = [one.plan for one in records if one.verdict.overall is Overall.FAIL]
    if any((one.form, one.rating.nominal) != (specimen.form, specimen.nominal_v) for one in failed):
        yield "failed for being different"
    if said.placed and said.placed.bin is Bin.SCRAP:
        yield f"scrapped for being different: {said.placed.reasons[0]}"
    if said.placed and said.placed.bin in (Bin.KEEP, Bin.LIGHT_DUTY) and "Form B" not in said.placed.reasons[0]:
        yield f"kept as {said.placed.reasons[0]}, and its form is not named"
    if said.placed and said.placed.bin is Bin.LOOK_AGAIN and "cannot tell" in said.placed.reasons[0]:
        yield f"to be looked at again, and not what it is: {said.placed.reasons[0]}"


def commonest(said: Iterable[Iterable[str]]) -> tuple[str, int, int]:
    """The sentence that follows most parts, how many of them, and how many parts there are."""
    parts = [set(one) for one in said]
    (sentence, often), *_ = Counter(text for one in parts for text in one).most_common(1) or [("", 0)]
    return sentence, often, len(parts)


def _of_scrap(answers: Sequence[Answers]) -> Iterator[Share]:
    """How often one sentence follows scrap, in the crate and in a test."""
    in_crate = [one.placed.reasons for one in answers if one.placed and one.placed.bin is Bin.SCRAP]
    tested = [one.tested.verdict.next for one in answers if one.tested and one.tested.verdict.overall is Overall.FAIL]
    for where, said in (("crate", in_crate), ("test", [next.split(". ") for next in tested])):
        sentence, often, of = commonest(said)
        print(f"commonest with scrap in the {where}: {often} of {of}: {sentence}")
        yield Share(f"one sentence with scrap, {where}", often, of, high=0.5)


def main() -> int:
    given = options("Parts through identify, test, demo and sort, and what contradicts.", 300)
    heap = draw(given.parts, given.seed)
    answers = ask(heap, given.seed)
    wrong = [one for part, said in zip(heap, answers, strict=True) for one in contradictions(part, said)]
    for one in wrong:
        print(one)
    bins = [said.placed.bin if said.placed else None for said in answers]
    for bin in Bin:
        print(f"{bin}: {bins.count(bin)}")
    open_ends = [said.placed and "cannot tell" in said.placed.reasons[0] for said in answers]
    goals: list[AnyGoal] = [
        Goal("contradictions", float(len(wrong)), high=0.0),
        share("of another kind, and sound", (one.other_kind for one in heap)),
        share("the crate could not tell", map(bool, open_ends)),
        *_of_scrap(answers),
    ]
    return close("agree", given, goals)


if __name__ == "__main__":
    sys.exit(main())
