"""One part of a fresh design through the whole virtual bench: drawn, measured, judged, diagnosed, held against truth.

No sheet stands behind a part: it is tested against its class, as one that came from an unknown vehicle; siblings may.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

import faulty
import specimens
import truth
from calibrated import calibrate_virtual

from designs import draw, faults, first
from designs.part import SecondPart
from designs.second import figures
from pulldrop.board.errors import BoardError
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs.run.boards import virtual_hand
from pulldrop.jobs.run.test_one import by_the_part
from pulldrop.judge import judge_finding, verdict
from pulldrop.judge.diagnosis import diagnose, learned
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.abilities import OF_BUILD, Build
from pulldrop.model.part.reference import Sibling
from pulldrop.model.reading import Finding, Reading
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

Plant = Literal["first", "second"]
SUPPRESSION = ("none", "none", "none", "resistor", "diode", "diode_zener")
LOAD_A = 10.0
PROTOCOL = "relay-diagnose"
FAULTY, MORE_SOUND = 6, 3
"""Parts of a lot that have a fault; sound ones beyond those that one of them is held beside."""
OTHER_DESIGN = 10_000
"""Added to the number of a design whose coil volts a bench does not give."""
NOT_HELD = ("bounce_time_no", "bounce_time_nc")
"""The part itself differs from make to make by more than U; the coverage campaign holds these make by make."""


@dataclass(frozen=True)
class Case:
    """One part; `fault` empty: sound. `member`: of a lot, whose other sound parts are its siblings; `exchanged`: it has
    another suppressor than they."""

    plant: Plant
    width: float
    number: int
    fault: str = ""
    severity: int = 0
    member: int = field(default=0, repr=False)  # the same case by its text is drawn the same
    exchanged: bool = field(default=False, repr=False)

    @property
    def right(self) -> set[str]:
        """Names that are true of this part."""
        return {self.fault, faulty.ALSO_TRUE.get(self.fault, self.fault)} - {""}


@dataclass(frozen=True)
class Inside:
    """One reading beside its truth, and its U."""

    id: str
    true: float
    value: float
    expanded: float

    @property
    def inside(self) -> bool:
        return abs(self.value - self.true) <= self.expanded


@dataclass(frozen=True)
class Result:
    """What was named, with the probability stated of each; `passed`: without the mark "light duty".

    `unlike`: what a part that is unlike its class was said to have, perhaps; None where it is like its class. `alone`:
    whether a fault is named, or it is unlike its class, without the siblings; None of a part that has none.
    """

    case: Case
    named: tuple[tuple[str, float], ...]
    passed: bool
    failed: tuple[str, ...]
    readings: tuple[Inside, ...] = ()
    trouble: str = ""
    unlike: tuple[str, ...] | None = None
    alone: tuple[bool, bool] | None = None

    @property
    def first(self) -> str:
        """The most probable cause; empty: none was named."""
        return self.named[0][0] if self.named else ""


def drawn(case: Case, seed: int) -> tuple[Specimen, str, dict[str, float]]:
    """The part, its rating, and what is true of it if it is the sound first one of its design."""
    chance = random.Random(f"sibling {case.member}:{seed}:{case}" if case.member else f"{seed}:{case}")
    return (_of_first if case.plant == "first" else _of_second)(case, seed, chance)


def _of_first(case: Case, seed: int, chance: random.Random) -> tuple[Specimen, str, dict[str, float]]:
    base, specimen = first.specimen(seed, case.number, case.width, case.fault in faulty.NEEDS_NC, case.member)
    if case.fault:
        specimen = faulty.planted(specimen, base, (case.fault,), case.severity, chance)
        if case.fault == "held_operated":
            specimen = first.held(specimen)
        return specimen, specimens.RATINGS[base], {}
    if case.member:
        return specimen, specimens.RATINGS[base], {}
    nominal_v = specimen.nominal_v
    true = truth.coil(specimen, nominal_v) | truth.thresholds(specimen, nominal_v) | truth.times(specimen, nominal_v)
    return specimen, specimens.RATINGS[base], true | truth.drops(specimen, nominal_v * 13.5 / 12, LOAD_A)


def _of_second(case: Case, seed: int, chance: random.Random) -> tuple[Specimen, str, dict[str, float]]:
    design = draw.design(seed, case.number, case.width, "C" if case.fault in faults.NEEDS_NC else "")
    sound = draw.part_of(design, chance)
    factor = 4 if sound.nominal_v == 24 else 1
    kind = chance.choice(SUPPRESSION)
    given = {
        "title": "invented, of a design that nobody fitted",
        "form": "C" if sound.design.changeover else "A",
        "nominal_v": sound.nominal_v,
        "temperature_c": chance.uniform(15, 30),
        "suppression": {"kind": kind, "resistor_ohm": 680.0 * factor},
    }
    if case.fault:
        part = faults.planted(sound, case.fault, case.severity, chance)
        given |= faults.beside(case.fault, case.severity, chance, factor)
        return SecondPart.model_validate(given | {"design": part.design}), sound.rating, {}
    made = SecondPart.model_validate(given | {"design": sound.design})
    if case.member:
        return made, sound.rating, {}
    assert made.temperature_c is not None
    true = figures.truths(sound.design, made.suppression, made.temperature_c, sound.nominal_v, sound.test_v, LOAD_A)
    return made, sound.rating, true


@dataclass(frozen=True)
class Measured:
    """What the bench read of one part; `error`: what ended the run."""

    at: Plan
    found: tuple[Finding, ...]
    error: BoardError | None = None


def measured(specimen: Specimen, rating: str, bench: int, build: Build = "full") -> Measured:
    """One part by the whole protocol, on a calibrated bench; a drawn person turns the knob of an evening one."""
    at, found, ended = plan(PROTOCOL, rating), list[Finding](), None
    evening = build == "evening"
    try:
        with (EveningBoard if evening else VirtualBoard)(specimen, bench) as board:
            at = at.fitted(board.identity.able, True)
            hand = virtual_hand(board.exchange_leads, board.plant if isinstance(board, EveningBoard) else None)
            steps = perform(at, board, calibrate_virtual(bench, evening=evening), hand=hand)
            found.extend(one for one in steps if not isinstance(one, StepStarted))
    except BoardError as error:
        ended = error
    return Measured(at, tuple(found), ended)


@dataclass(frozen=True)
class Lot:
    """Parts of one design, all on one bench: sound ones, more than siblings, each held beside the first of the others;
    a sound one with another suppressor; and faulty ones, which have the suppressor of the lot."""

    sound: Case
    siblings: int
    faulty: tuple[Case, ...]

    @property
    def cases(self) -> tuple[Case, ...]:
        """The sound ones first."""
        like = (replace(self.sound, member=n) for n in range(self.siblings + MORE_SOUND))
        others = (replace(self.sound, exchanged=True), *self.faulty)
        return (*like, *(replace(one, member=self.siblings + MORE_SOUND + n) for n, one in enumerate(others)))


OTHER_SUPPRESSOR = {"none": "resistor", "resistor": "none", "diode": "none", "diode_zener": "resistor"}


def measured_lot(lot: Lot, seed: int) -> dict[Case, tuple[Measured, dict[str, float]]]:
    """Each part of a lot as measured, and what is true of the first."""
    bench = random.Random(f"bench:{seed}:{lot.sound}").getrandbits(40)
    across = drawn(lot.sound, seed)[0].suppression
    exchanged = across.model_copy(update={"kind": OTHER_SUPPRESSOR[across.kind]})
    made = {}
    for case in lot.cases:
        specimen, rating, true = drawn(case, seed)
        worn = specimen.model_copy(update={"suppression": exchanged if case.exchanged else across})
        made[case] = measured(worn, rating, bench), true
    return made


def one_lot(lot: Lot, seed: int) -> list[Result]:
    """Draw, measure, judge and diagnose the parts of a lot, each beside sound ones."""
    made = measured_lot(lot, seed)
    return [
        result(case, part, true, [made[one][0] for one in lot.cases if one != case][: lot.siblings])
        for case, (part, true) in made.items()
    ]


def _good(one: Measured) -> bool:
    """Whether a sibling went through with nothing named, as those that a store gives."""
    return not one.error and not diagnose(one.at, one.found).faults


def as_sibling(one: Measured) -> Sibling:
    """A part as a store gives it to others."""
    return Sibling(found=one.found, bench="virtual", simulated=True, tested=date(2026, 11, 30))


def result(case: Case, part: Measured, true: dict[str, float], siblings: Sequence[Measured] = ()) -> Result:
    """Judge and diagnose a part, with what its siblings read as reference."""
    at, found, error = part.at, part.found, part.error
    reference = learned(at, [as_sibling(one) for one in siblings if _good(one)]) if siblings else None
    told = diagnose(at, found, by_the_part(error), reference)
    by_itself = diagnose(at, found, by_the_part(error)) if siblings and not case.fault else None
    alone = (bool(by_itself.faults), by_itself.unlike is not None) if by_itself else None
    named = tuple((one.id, one.weight) for one in told.faults)
    if error:
        return Result(case, named, False, (), (), str(error))
    judged = [judge_finding(at, one) for one in found]
    word = verdict(at, judged, "complete", faults=told.faults, unlike=told.unlike)
    unlike = told.unlike.may_be if told.unlike else None
    passed = word.overall is Overall.PASS and word.mark is None
    failed = tuple(one.finding.id for one in judged if one.outcome == "fail")
    return Result(case, named, passed, failed, _held(found, true), unlike=unlike, alone=alone)


def one_part(case: Case, seed: int, build: Build = "full") -> Result:
    """Draw, measure, judge and diagnose one part on a calibrated bench of its own; an evening one gets 12 V parts."""
    specimen, rating, true = drawn(case, seed)
    while not OF_BUILD[build].feeds(specimen.nominal_v):
        case = replace(case, number=case.number + OTHER_DESIGN)
        specimen, rating, true = drawn(case, seed)
    bench = random.Random(f"bench:{seed}:{case}").getrandbits(40)
    return result(case, measured(specimen, rating, bench, build), true)


def _held(found: Sequence[Finding], true: dict[str, float]) -> tuple[Inside, ...]:
    return tuple(
        Inside(one.id, true[one.id], one.value, one.expanded_uncertainty)
        for one in found
        if isinstance(one, Reading) and one.value is not None and one.bound == "=" and one.id in true
        if one.id not in NOT_HELD
    )


def cases(plants: Sequence[Plant], width: float, parts: int, faulty_by: Sequence[str] = ()) -> list[Case]:
    """Half of them sound, the other half with faults in turn, each plant as many; every number a design of its own."""
    made = []
    for plant in plants:
        share = parts // len(plants)
        made += [Case(plant, width, n) for n in range(share // 2)]
        names = [n for n in faulty_by or faults.CHANGES if plant == "second" or n in faulty.FAULTS]
        for n in range(share // 2, share):
            turn = n - share // 2
            made.append(Case(plant, width, n, names[turn % len(names)], turn // len(names) % 3))
    return made


def lots(plants: Sequence[Plant], width: float, parts: int, siblings: int, faulty_by: Sequence[str]) -> list[Lot]:
    """So many parts in lots, FAULTY of each with faults in turn."""
    made = []
    for plant in plants:
        names = [n for n in faulty_by if plant == "second" or n in faulty.FAULTS]
        for number in range(parts // len(plants) // (siblings + MORE_SOUND + 1 + FAULTY)):
            turns = range(number * FAULTY, (number + 1) * FAULTY)
            worn = (Case(plant, width, number, names[t % len(names)], t // len(names) % 3) for t in turns)
            made.append(Lot(Case(plant, width, number), siblings, tuple(worn)))
    return made
