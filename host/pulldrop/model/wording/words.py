"""How values, limits, verdicts and bins are written and marked: the same words on the terminal, the page and paper.

Rule: it repeats judgements and makes none. It writes ASCII, so that any terminal can show it; pages put `signs` on it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from pulldrop.model.bench.kit import CalibrationRecord
from pulldrop.model.crate.crate import Bin
from pulldrop.model.limit import Limit
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.origin import Origin, least_known
from pulldrop.model.part.event import PartEvent, PartEventKind
from pulldrop.model.part.identification import Identification
from pulldrop.model.part.relay import FORMS, forms_in_words
from pulldrop.model.quantity import show
from pulldrop.model.reading import Finding, NotTested, state_words
from pulldrop.model.run.fault import NamedFault, likely
from pulldrop.model.run.record import RunRecord
from pulldrop.model.steps import STEPS
from pulldrop.model.verdict import Judged, Outcome, Overall


@dataclass(frozen=True, slots=True)
class Badge:
    """What stands beside a word, so that nothing rests on colour: `sign` in ASCII, `shape` names a drawing.

    `place`: a pass stands left, an open word in the middle, a fail right.
    """

    sign: str
    shape: str
    place: str


BADGES: dict[Outcome | Overall | Bin, Badge] = {
    Outcome.NOT_TESTED: Badge("[ ]", "hollow", "open"),
    Outcome.NOTED: Badge("[.]", "dot", "open"),
    Overall.PASS: Badge("[+]", "tick", "pass"),
    Overall.FAIL: Badge("[X]", "cross", "fail"),
    Overall.UNSURE: Badge("[?]", "question", "open"),
    Overall.DO_NOT_ENERGISE: Badge("[-]", "stop", "open"),
    Overall.ANOTHER_KIND: Badge("[>]", "aside", "open"),
    Overall.INCOMPLETE: Badge("[ ]", "hollow", "open"),
    Overall.WITHOUT_LOAD: Badge("[ ]", "hollow", "open"),
    Overall.INTERRUPTED: Badge("[ ]", "gap", "open"),
    Overall.BENCH_TROUBLE: Badge("[!]", "alarm", "open"),
    Bin.KEEP: Badge("[+]", "tick", "pass"),
    Bin.LIGHT_DUTY: Badge("[/]", "slash", "open"),
    Bin.LOOK_AGAIN: Badge("[?]", "question", "open"),
    Bin.SCRAP: Badge("[X]", "cross", "fail"),
}
"""Keyed by the word: a measurement that passes has the badge of a part that passes."""
EVENT_LETTERS = {
    PartEventKind.FITTED: "F",
    PartEventKind.REMOVED: "R",
    PartEventKind.CLEANED: "C",
    PartEventKind.MOVED: "M",
    PartEventKind.NOTE: "N",
    PartEventKind.PHOTO: "P",
}
"""What marks an event beside a series; a card is no event of the part's life, and has none."""
EVENT_LEGEND = ", ".join(f"{letter} {kind}" for kind, letter in EVENT_LETTERS.items())
ALL = "nothing that this protocol asks for"


MARKS = {
    Origin.HERE: "",
    Origin.ANOTHER_BENCH: "FROM ANOTHER BENCH",
    Origin.BENCH_NOT_JUDGED: "FROM ANOTHER BENCH, NOT JUDGED AGAIN",
    Origin.OUTSIDE: "FROM OUTSIDE, UNVERIFIED",
    Origin.OUTSIDE_NOT_JUDGED: "FROM OUTSIDE, NOT JUDGED AGAIN",
    Origin.SIMULATED: "SIMULATED",
}
MEANINGS = {
    Origin.HERE: "",
    Origin.ANOTHER_BENCH: "Not measured here; the head noted at that bench vouches for it.",
    Origin.BENCH_NOT_JUDGED: "Not measured here; the head noted at that bench vouches for it. Other rules judged it.",
    Origin.OUTSIDE: "Not measured here, and nothing vouches for it.",
    Origin.OUTSIDE_NOT_JUDGED: "Not measured here, nothing vouches for it, and other rules judged it.",
    Origin.SIMULATED: "No real part was measured.",
}


def mark(origin: Origin) -> str:
    """What stands on every screen and paper of a record that was not measured here; empty for one that was."""
    return MARKS[origin]


def marked(origin: Origin, text: str, between: str = ": ") -> str:
    """A text behind the mark of its origin."""
    return between.join(one for one in (mark(origin), text) if one)


def meaning(origin: Origin) -> str:
    """What the mark means, in a sentence."""
    return MEANINGS[origin]


def apart(came: Origin, line: Origin) -> Origin:
    """Where a piece of a line came from, if the mark of the whole line does not say as much."""
    return Origin.HERE if least_known((came, line)) is line else came


def said(event: PartEvent) -> str:
    """What an event says, behind the mark of where it came from."""
    return marked(event.came, event.text or event.photo)


def banner(record: RunRecord | CalibrationRecord) -> str:
    """Mark and meaning of one record in one line."""
    if record.simulated:
        return f"{mark(record.origin)} ({record.board.kind} board): no real part was measured."
    return marked(record.origin, meaning(record.origin))


def of_these(origins: Sequence[Origin]) -> tuple[Origin, str]:
    """The mark that several runs have together, and what it means, or of how many of them; HERE for none."""
    worst = least_known(origins)
    count = sum(one is worst for one in origins)
    return worst, meaning(worst) if count == len(origins) else f"{count} of {len(origins)} runs; each is marked."


def badge(word: Outcome | Overall | Bin) -> Badge:
    """The badge of an outcome, a verdict or a bin."""
    return BADGES[word]


def longest(words: str) -> int:
    """Letters in the longest word: the verdict is set as large as that word allows."""
    return max(len(word) for word in words.split())


def title(id: str) -> str:
    """The words for a measurement id."""
    known = MEASUREMENTS.get(id)
    return known.title if known else id


def value(finding: Finding) -> str:
    """`7.32 V +-0.05`, `more than 10 kohm`, `30-87 open, 30-87a closed`; empty when nothing was measured."""
    if isinstance(finding, NotTested):
        return ""
    if finding.value is None:
        return state_words(finding.state)
    if finding.bound != "=":
        return f"{'more' if finding.bound == '>' else 'less'} than {show(finding.value, finding.unit)}"
    return show(finding.value, finding.unit, finding.expanded_uncertainty)


def grade(judged: Judged) -> str:
    """What a contact drop is on the scale of used contacts."""
    return f"used contacts: {judged.grade}" if judged.grade else ""


def conditions(judged: Judged) -> str:
    """Every condition in one line, and over how many makes."""
    listed = () if isinstance(judged.finding, NotTested) else judged.finding.conditions
    return "; ".join(f"{one.name} {one.text}" for one in listed)


def limit_of(record: RunRecord, judged: Judged) -> Limit | str:
    """The limit, or why there is none."""
    return judged.limit or record.plan.unlimited.get(judged.id, "no limit in this protocol")


def not_tested(record: RunRecord) -> dict[str, list[str]]:
    """Titles of all that was asked for and has no value, by reason; never reached ones and steps left out too."""
    reported = {judged.id for judged in record.judged}
    left = [(judged.id, judged.finding.reason) for judged in record.judged if isinstance(judged.finding, NotTested)]
    missed = [(id, "the run ended without it") for id in record.plan.wanted if id not in reported]
    reasons: dict[str, list[str]] = {}
    for id, reason in left + missed:
        reasons.setdefault(reason, []).append(title(id))
    for kind, reason in record.plan.left_out.items():
        reasons.setdefault(reason, []).append(STEPS[kind].title)
    return reasons


def advised(record: RunRecord, fault: NamedFault) -> bool:
    """Whether a fault's advice counts: one that stands in the place of a more probable one gives none."""
    return fault in likely(record.faults)


def rivals(record: RunRecord, fault: NamedFault) -> str:
    """Titles of the faults that this one may be mistaken for."""
    titles = {one.id: one.title for one in record.faults} | dict(zip(fault.rivals, fault.rival_titles, strict=False))
    return "; ".join(titles.get(id, id.replace("_", " ")) for id in fault.rivals)


def when(moment: datetime | None) -> str:
    """Date and time in UTC, which says so."""
    return f"{moment.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC" if moment else "never: the run was cut off"


def calibration(record: RunRecord) -> str:
    """Which calibration was used; an uncalibrated bench is said plainly."""
    used = record.calibration
    if used.taken_at is None:
        return "UNCALIBRATED: nominal part values, so the uncertainties are wide"
    return f"{used.name}, taken {when(used.taken_at)}, board {used.board_serial}"


def facts(record: RunRecord) -> tuple[tuple[str, str], ...]:
    """What a later reader needs to know about how the record came to be."""
    plan, board = record.plan, record.board
    rows = (
        ("part", " / ".join(t for t in (record.part.id, record.part.label, record.part.donor, record.part.notes) if t)),
        ("contact form", str(FORMS[record.plan.form]) if record.plan.form else ""),
        ("protocol", f"{plan.protocol}, version {plan.version} (sha256 {plan.sha256[:12]})"),
        ("rating", f"{plan.rating.title} ({plan.rating.source.known}: {plan.rating.source.text})"),
        ("calibration", calibration(record)),
        ("board", f"{board.kind}, number {board.serial}" + (f", at {board.port}" if board.port else "")),
        ("firmware", board.firmware),
        ("software", record.software),
        ("operator", record.operator or "not given"),
        ("started", when(record.started)),
        ("ended", when(record.ended)),
        ("bench time", f"{record.bench_s:.1f} s{' (simulated)' if record.simulated else ''}" if record.ended else "-"),
        ("run", record.run),
        ("origin", origin_in_words(record)),
        ("seed", "" if record.seed is None else str(record.seed)),
    )
    return tuple(row for row in rows if row[1])


def origin_in_words(record: RunRecord) -> str:
    """Where a record comes from: `measured here`, or from which source, when, and what vouches for it."""
    came = record.arrived
    if came is None:
        return str(record.origin)
    head = f", held to its head {came.head}" if came.head else ""
    rules = f", judged by {came.rules} and not judged again" if came.rules else ""
    return f"{record.origin}; came {when(came.at)} from {came.source}{head}{rules}"


def not_tested_in_short(record: RunRecord) -> str:
    """Each reason once, with all that it holds for; a protocol does not ask for everything."""
    return "; ".join(f"{', '.join(titles)}: {reason}" for reason, titles in not_tested(record).items()) or ALL


def origin(record: RunRecord) -> tuple[str, ...]:
    """How and by whom a run was made, in a few words."""
    plan, board = record.plan, record.board
    return (
        f"{plan.protocol}, version {plan.version}, rating {plan.rating.title}",
        f"{board.kind} board {board.serial}, firmware {board.firmware}, {record.software}",
        f"calibration: {calibration(record)}",
        f"operator: {record.operator or 'not given'}",
    )


def _beyond(finding: Finding | None) -> bool:
    """Whether the bench cannot measure it with such a contact form, which is no news."""
    return isinstance(finding, NotTested) and finding.because == "this form"


def telling(judged: tuple[Judged, ...]) -> Judged | None:
    """The one measurement that says most: the first failure, then unsure, then not tested, then the contact drop."""
    for outcome in (Outcome.FAIL, Outcome.UNSURE, Outcome.NOT_TESTED):
        for one in judged:
            if one.outcome is outcome and not _beyond(one.finding):
                return one
    return next((one for one in judged if one.id == "contact_drop_no"), judged[-1] if judged else None)


def in_short(identified: Identification) -> str:
    """What a part is, in a line."""
    volts = f"{identified.volts:g} V" if identified.volts else f"coil {identified.winding}"
    forms = forms_in_words(identified.forms[:2]) or "form unknown"
    across = identified.suppression.kind
    suppression = {"none": "no suppression", "unknown": "suppression unknown"}.get(across, f"with {across}")
    return f"{volts}, {forms}, {suppression} ({identified.sure})"
