"""The protocol of a crate: its shape as written, its checks, and the way to a `Sorting` in which limits are numbers."""

import hashlib
from collections.abc import Iterator
from difflib import get_close_matches
from pathlib import Path

from pydantic import Field

from pulldrop.model.crate.crate import Bin
from pulldrop.model.crate.sorting import Rule, Sorting
from pulldrop.model.limit import Limit, Source
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.kinds import UNSAID
from pulldrop.model.part.rating import KindRating, Name
from pulldrop.model.raw import Frozen
from pulldrop.model.run.plan import Plan
from pulldrop.protocol import load
from pulldrop.protocol.errors import DoesNotFit, UnknownName
from pulldrop.protocol.expression import BadLimit, parse
from pulldrop.protocol.limits import NoFigure, apply
from pulldrop.protocol.limits import check as check_limit
from pulldrop.protocol.ratings.classes import classes_of
from pulldrop.protocol.ratings.files import load_rating
from pulldrop.protocol.shipped import library
from pulldrop.protocol.shipped.heads import heads
from pulldrop.protocol.shipped.purposes import shipped
from pulldrop.protocol.system import for_system
from pulldrop.text.document import Document, Steps, read
from pulldrop.text.problem import BadText, Problem
from pulldrop.text.shape import try_fit

PLAN_FAULTS = (UnknownName, DoesNotFit)


class When(Frozen):
    """What must hold for a bin, all of it together."""

    passes: bool = Field(default=False, description="true: every limit of the protocol is met")
    fails: tuple[str, ...] = Field(
        default=(), description="one of these fails: measurements, or a pair, such as '30-87a'; 'any' for any at all"
    )
    but_for: tuple[str, ...] = Field(
        default=(), description="every limit is met, those of these aside: measurements, or a pair, such as '30-87a'"
    )
    within: dict[str, str] = Field(default_factory=dict, description="limits that are surely met, by measurement")
    found: tuple[str, ...] = Field(default=(), description="the diagnosis names one of these first")


class RuleLine(Frozen):
    """One rule as written."""

    bin: Bin = Field(description="keep, light duty, scrap or look again")
    why: str = Field(min_length=1, max_length=160, description="in words, for the person who sorts")
    when: When = Field(description="what must hold, all of it together")


class CrateProtocol(Frozen):
    """How a crate is sorted, as written: two protocols, and rules from the top; where none holds: look again."""

    crate: Name = Field(description="name of the crate's protocol, the same as the file's")
    version: int = Field(ge=1, description="whole number, raised with every change that can change a bin")
    title: str = Field(min_length=1, max_length=120, description="what kind of crate it is for, in a line")
    screen: Name = Field(description="protocol that ends as soon as the bin is certain")
    full: Name = Field(description="protocol that decides where the screen cannot")
    golden_every: int = Field(ge=0, le=1000, description="parts between two golden parts, such as 25; 0 for none")
    source: Source = Field(description="where the rules come from")
    rules: tuple[RuleLine, ...] = Field(min_length=1, description="from the top; the first that holds gives the bin")


def sorting(name_or_path: str, rating: KindRating | str) -> Sorting:
    """The crate's protocol of a name or path for parts of a rating. Raises UnknownName, DoesNotFit, or BadText."""
    path = library.find_crate(name_or_path)
    rated = load_rating(library.find_rating(rating)) if isinstance(rating, str) else rating
    found = _for_rating(read(path), rated)
    if isinstance(found, list):
        raise BadText(found)
    return found


def usual_for(rating: str) -> str:
    """Name of the shipped crate's protocol for parts of a rating. Raises UnknownName, DoesNotFit, or BadText."""
    kind = load_rating(library.find_rating(rating)).kind
    for one in heads():
        if (one.kind, one.purpose) == (kind, "crate"):
            return one.name
    raise UnknownName(f"no protocol for a crate of such parts ({kind}) is shipped; name one with --protocol")


def is_crate(path: Path) -> bool:
    """Whether a file is a crate's protocol rather than a part's: it begins with `crate`."""
    try:
        value = read(path).value
    except BadText:
        return False
    return isinstance(value, dict) and "crate" in value and "protocol" not in value


def check(path: Path) -> list[Problem] | tuple[Sorting, ...]:
    """Every problem of a crate's protocol, or what it makes for each class of parts."""
    try:
        document = read(path)
    except BadText as bad:
        return bad.problems
    written = document.value if isinstance(document.value, dict) else {}
    kind = next((one.kind for one in shipped() if one.name == written.get("screen")), UNSAID)
    made = [_for_rating(document, rating) for rating in classes_of(kind)]
    problems = [problem for one in made if isinstance(one, list) for problem in one]
    return BadText(problems).problems or tuple(one for one in made if isinstance(one, Sorting))


def _for_rating(document: Document, rating: KindRating) -> list[Problem] | Sorting:
    document = for_system(document, rating.system_v).document
    problems, written = try_fit(document, CrateProtocol)
    if written is None:
        return problems
    plans: dict[str, Plan] = {}
    for key, name in (("screen", written.screen), ("full", written.full)):
        try:
            plans[key] = load.plan(name, rating)
        except BadText as bad:
            problems.append(document.problem((key,), f"the protocol '{name}' is not well formed: {bad.problems[0]}"))
        except PLAN_FAULTS as fault:
            problems.append(document.problem((key,), str(fault)))
    if len(plans) == 2:
        problems += _problems(document, written, plans["screen"], plans["full"])
    return problems or _bound(written, plans["screen"], plans["full"], document.text)


def _problems(document: Document, written: CrateProtocol, screen: Plan, full: Plan) -> Iterator[Problem]:
    """What the shape cannot say."""
    for index, rule in enumerate(written.rules):
        at: Steps = ("rules", index, "when")
        when = rule.when
        if when == When():
            yield document.problem(at, "nothing is asked here; expected passes, but_for, fails, within or found")
        if rule.bin in (Bin.KEEP, Bin.LIGHT_DUTY) and not (when.passes or when.but_for):
            says = f"'{rule.bin}' needs 'passes: true' or 'but_for': a part that was not tested in full stays out"
            yield document.problem(at, says)
        for key in ("fails", "but_for"):
            for place, id in enumerate(getattr(when, key)):
                if not (_of_pair(id) or (key == "fails" and id == "any")):
                    yield from _unknown(document, (*at, key, place), id, screen, full)
        for id, limit in when.within.items():
            found = list(_unknown(document, (*at, "within", id), id, screen, full))
            yield from found or _limit_problems(document, (*at, "within", id), id, limit, screen)


def _unknown(document: Document, at: Steps, id: str, screen: Plan, full: Plan) -> Iterator[Problem]:
    given = {plan.protocol: {id for step in plan.steps for id in step.asked} for plan in (screen, full)}
    lacking = [protocol for protocol, ids in given.items() if id not in ids]
    if lacking:
        near = get_close_matches(id, screen.wanted, 1)
        hint = f"; did you mean '{near[0]}'?" if near and id not in MEASUREMENTS else ""
        yield document.problem(at, f"'{id[:60]}' is not measured by {' and '.join(lacking)}{hint}")


def _limit_problems(document: Document, at: Steps, id: str, limit: str, screen: Plan) -> Iterator[Problem]:
    try:
        check_limit(parse(limit), id, screen.load_a)
        apply(parse(limit), id, screen.rating, screen.load_a)
    except BadLimit as bad:
        yield document.problem(at, f"'{id}': {bad}", offset=bad.offset)
    except NoFigure as lack:
        yield document.problem(at, f"'{id}': {lack}")


def _bound(written: CrateProtocol, screen: Plan, full: Plan, text: str) -> Sorting:
    return Sorting(
        name=written.crate,
        version=written.version,
        title=written.title,
        screen=screen,
        full=full,
        golden_every=written.golden_every,
        rules=tuple(rule for line in written.rules if (rule := _rule(line, written.source, screen, full))),
        text=text,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
    )


def _of_pair(name: str) -> list[str]:
    """Ids of all that is measured of the pair of this name; none where it names no pair."""
    return [id for id, one in MEASUREMENTS.items() if one.pair and str(one.pair) == name]


def _rule(line: RuleLine, source: Source, screen: Plan, full: Plan) -> Rule | None:
    """Without what the part lacks, such as NC; None where nothing is left of one of its conditions."""
    when, either = line.when, {*screen.wanted, *full.wanted}

    def listed(names: tuple[str, ...]) -> tuple[str, ...]:
        meant = {*names}.union(*(_of_pair(name) for name in names))
        return tuple(id for id in MEASUREMENTS if id in either and ("any" in names or id in meant))

    fails, but_for = listed(when.fails), listed(when.but_for)
    within = {id: _limit(limit, id, source, screen) for id, limit in when.within.items() if id in either}
    for asked, left in ((when.fails, fails), (when.but_for, but_for), (when.within, within)):
        if asked and not left:
            return None
    return Rule(
        bin=line.bin, why=line.why, passes=when.passes, fails=fails, but_for=but_for, within=within, found=when.found
    )


def _limit(text: str, id: str, source: Source, plan: Plan) -> Limit:
    applied = apply(parse(text), id, plan.rating, plan.load_a)
    return Limit(
        text=applied.text, source=applied.source or source, unit=MEASUREMENTS[id].unit, low=applied.low,
        high=applied.high, state=applied.state,
    )  # fmt: skip
