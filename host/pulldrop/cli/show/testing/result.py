"""The result of a run as a person reads it: the table, where the limits come from, and the verdict."""

import math
from collections.abc import Iterator

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big, picture
from pulldrop.cli.show.testing import switch
from pulldrop.model.limit import Limit, Source
from pulldrop.model.quantity import show
from pulldrop.model.reading import NotTested, Reading
from pulldrop.model.run.fault import NamedFault, likely
from pulldrop.model.run.record import RunRecord
from pulldrop.model.steps import STEPS
from pulldrop.model.verdict import Judged, Outcome
from pulldrop.model.wording import words
from pulldrop.model.wording.cautions import after_run

LEAST_TABLE = 64
"""Columns below which the table of a result would cut its limits."""
LEAST_SHARE = 0.005
"""Terms with less of the combined variance than this are shown together, in one line."""


def show_result(out: Console, record: RunRecord) -> None:
    """Everything about one run, the verdict last, so that it stays in sight."""
    switch.show(out, record)
    show_outcomes(out, record.judged)
    _show_reasons(out, record)
    _show_bench(out, record)
    for line in picture.lines(record):
        out.print(Text(line, style="dim" if not line.startswith("  ") else ""))
    show_faults(out, record)
    show_verdict(out, record)


def show_outcomes(out: Console, judged: tuple[Judged, ...]) -> None:
    """What was measured, its limits, and under them where these come from."""
    notes = Footnotes()
    if out.width >= LEAST_TABLE:
        out.print(_table(judged, notes))
    else:
        _show_stacked(out, judged, notes)
    notes.show(out)


def show_verdict(out: Console, record: RunRecord) -> None:
    """The verdict: found, means, next; then the word, big and plain, last, so that it stays in sight below them."""
    verdict, style = record.verdict, screen.tone(record.verdict.overall)
    width = min(out.width - 1, 79)
    rule = "=" * width
    shape = words.badge(verdict.overall).sign
    out.print(Text(rule, style=style))
    for name, sentence in (("found", verdict.found), ("means", verdict.means), ("next", verdict.next)):
        out.print(screen.beside(name, sentence, width=6))
    out.print(screen.beside("mind", " ".join(after_run(record)), width=6))
    big.show(out, verdict.overall, width, verdict.mark)
    out.print(Text(f"  {shape} {verdict.word.upper()}   part {record.part.id}", style=style))
    screen.of_run(out, record)
    out.print(Text(rule, style=style))


def show_faults(out: Console, record: RunRecord) -> None:
    """The named faults, each with its evidence, its advice, and similar faults that it may be mistaken for."""
    done = {one.id for one in likely(record.faults)}
    for number, one in enumerate(record.faults, start=1):
        share = f"{100 * min(one.weight, 0.99):.0f} %"
        out.print(screen.beside(f"({number})", Text(f"{one.title}  [{share}]", style="bold"), width=6))
        for line in _evidence(record, one):
            out.print(screen.beside("", line, width=6))
        if one.rivals:
            out.print(screen.beside("", f"it could also be: {'; '.join(one.rival_titles)}", width=6))
        if one.further:
            out.print(screen.beside("", f"further test: {one.further}", width=6))
        if one.id in done and one.advice not in record.verdict.next:  # else the verdict says it, a few lines below
            out.print(screen.beside("do", one.advice, width=6))
    if unlike := record.verdict.unlike:
        out.print(screen.beside("(-)", Text(f"{unlike.text}: no fault, as far as this tells", style="bold"), width=6))
        for said in unlike.evidence:
            out.print(screen.beside("", f"unusual: {said.text}", width=6))


def _evidence(record: RunRecord, fault: NamedFault) -> Iterator[str]:
    """Each reading that has a say, and in one line all that could not be measured."""
    read = {one.id for one in record.judged if isinstance(one.finding, Reading)}
    asked = {one.id for one in record.judged} - read
    for said in fault.evidence:
        if said.id not in asked:
            yield f"{said.speaks}: {said.text}"
    for speaks in ("for", "against"):
        lost = [words.title(said.id) for said in fault.evidence if said.id in asked and said.speaks == speaks]
        if lost:
            yield f"{speaks}: could not be measured: {', '.join(lost)}"


class Footnotes:
    """Where limits come from, each source once, under the table that names it by its number."""

    def __init__(self) -> None:
        self._sources: list[Source] = []

    def limit(self, limit: Limit | None) -> str:
        """The limit with the number of its source, `none` without one."""
        if limit is None:
            return "none"
        if limit.source not in self._sources:
            self._sources.append(limit.source)
        return f"{limit.text} ({self._sources.index(limit.source) + 1})"

    def show(self, out: Console) -> None:
        """The sources, in order of their numbers."""
        for number, source in enumerate(self._sources, start=1):
            out.print(screen.beside(f"  ({number})", f"{source.text} [{source.known}]", width=5, style="dim"))


def _table(judged: tuple[Judged, ...], notes: Footnotes) -> Table:
    table = screen.table("outcome", "measurement", "value +- U", "limit (source)")
    outcome, measurement, value, limit = table.columns
    outcome.no_wrap, outcome.min_width = True, 9  # never squeezed out by long words in another column
    measurement.max_width, value.max_width, limit.min_width = 28, 20, 12
    for one in judged:
        word = Text(f"{words.badge(one.outcome).sign} {one.outcome}", style=screen.tone(one.outcome))
        table.add_row(word, words.title(one.id), words.value(one.finding) or "-", _limit(one, notes))
    return table


def _limit(one: Judged, notes: Footnotes) -> str:
    """The limit with the number of its source, and the grade of a contact drop beside it."""
    return notes.limit(one.limit) + (f"; used contacts: {one.grade}" if one.grade else "")


def _show_stacked(out: Console, judged: tuple[Judged, ...], notes: Footnotes) -> None:
    """The same for a narrow terminal: name, value and limit under each other, so that none is cut."""
    for one in judged:
        tone = screen.tone(one.outcome)
        out.print(Text(f"{words.badge(one.outcome).sign} {one.outcome}  {words.title(one.id)}", style=tone))
        out.print(screen.beside("", words.value(one.finding) or "-", width=3))
        out.print(screen.beside("", f"limit {_limit(one, notes)}", width=3))


def _show_reasons(out: Console, record: RunRecord) -> None:
    """Why something was not tested or has no limit, each reason once; what failed or is unsure is in the verdict."""
    reasons: dict[tuple[Outcome, str], list[str]] = {}
    for one in record.judged:
        if one.outcome is Outcome.NOT_TESTED:
            reasons.setdefault((one.outcome, one.reason), []).append(words.title(one.id))
        elif why := record.plan.unlimited.get(one.id):
            reasons.setdefault((Outcome.NOTED, why), []).append(words.title(one.id))
    for kind, why in record.plan.left_out.items():
        reasons.setdefault((Outcome.NOT_TESTED, why), []).append(STEPS[kind].title)
    for (outcome, reason), titles in reasons.items():
        out.print(screen.beside(words.badge(outcome).sign, f"{', '.join(titles)}: {reason}", width=3))


def _show_bench(out: Console, record: RunRecord) -> None:
    calibration = record.calibration
    state = f"calibrated {calibration.taken_at:%Y-%m-%d}" if calibration.taken_at else "uncalibrated, so U is wide"
    text = (
        f"bench: {record.board.kind} board {record.board.serial}, firmware {record.board.firmware}, {state};"
        f" protocol {record.plan.protocol} version {record.plan.version}; {record.bench_s:.1f} s of bench time;"
        f" run {record.run}. U is the expanded uncertainty, about 95 %."
    )
    out.print(Text(text, style="dim"))


def show_budget(out: Console, measurement: str, judged: tuple[Judged, ...]) -> None:
    """Where the uncertainty of one measurement comes from, the largest term first."""
    found = next((one.finding for one in judged if one.id == measurement), None)
    out.print(Text(f"Uncertainty of {words.title(measurement)}", style="bold"))
    if not isinstance(found, Reading) or not found.budget:
        why = found.reason if isinstance(found, NotTested) else "it has no number, so it has no uncertainty"
        out.print(f"  nothing to explain: {why}")
        return
    out.print(_budget_table(found))
    k = found.coverage_factor
    u = show(found.standard_uncertainty, found.unit)
    out.print(f"  combined u = {u};  U = {k:.2f} u: {words.value(found)}")


def _budget_table(reading: Reading) -> Table:
    """The terms that count, and what all the others make together; `--json` has each of them."""
    whole = reading.standard_uncertainty**2
    table = screen.table("term", "u", "share", "shape", "why")
    for column in table.columns[1:3]:
        column.justify, column.no_wrap = "right", True
    ordered = sorted(reading.budget, key=lambda one: one.u, reverse=True)
    small = [term for term in ordered if term.u**2 < LEAST_SHARE * whole]
    for term in ordered if len(small) < 2 else ordered[: -len(small)]:
        freedom = f" ({term.freedom:g} degrees of freedom)" if term.freedom is not None else ""
        table.add_row(term.name, *_size(term.u, reading.unit, whole), term.shape, term.why + freedom)
    if len(small) > 1:
        together = _size(math.hypot(*(term.u for term in small)), reading.unit, whole)
        table.add_row(f"{len(small)} more", *together, "", f"each less than {100 * LEAST_SHARE:g} %")
    return table


def _size(u: float, unit: str, whole: float) -> tuple[str, str]:
    """A term's standard uncertainty, and its share of the combined variance."""
    return show(u, unit), f"{100 * u**2 / whole if whole else 0.0:.0f} %"
