"""The result of a run as a person reads it: the table, where the limits come from, and the verdict."""

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pulldrop.cli import screen, words
from pulldrop.model.limit import Source
from pulldrop.model.reading import NotTested, Reading
from pulldrop.model.record import RunRecord
from pulldrop.model.verdict import Judged, Outcome


def show_result(out: Console, record: RunRecord) -> None:
    """Everything about one run, the verdict last, so that it stays in sight."""
    sources = _sources(record.judged)
    out.print(_table(record.judged, sources))
    for number, source in enumerate(sources, start=1):
        out.print(Padding(Text(f"({number}) {source.text} [{source.known}]", style="dim"), (0, 0, 0, 2), expand=False))
    _show_reasons(out, record.judged)
    _show_bench(out, record)
    show_verdict(out, record)


def show_verdict(out: Console, record: RunRecord) -> None:
    """The verdict, big and plain: word, found, means, next."""
    verdict, style = record.verdict, words.tone(record.verdict.overall)
    rule = "=" * min(out.width - 1, 79)
    shape = words.SHAPES[verdict.overall]
    out.print(Text(rule, style=style))
    out.print(Text(f"  {shape} {verdict.overall.upper()}   part {record.part.id}", style=style))
    if record.simulated:
        screen.simulated(out, record.board.kind)
    for name, sentence in (("found", verdict.found), ("means", verdict.means), ("next", verdict.next)):
        out.print(screen.beside(name, sentence, width=6))
    out.print(Text(rule, style=style))


def _table(judged: tuple[Judged, ...], sources: list[Source]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("outcome", no_wrap=True)
    table.add_column("measurement", no_wrap=True)
    table.add_column("value +- U", no_wrap=True)
    table.add_column("limit (source)", overflow="fold")
    for one in judged:
        note = f" ({sources.index(one.limit.source) + 1})" if one.limit else ""
        table.add_row(
            Text(f"{words.SHAPES[one.outcome]} {one.outcome}", style=words.tone(one.outcome)),
            words.title(one.id),
            words.value(one.finding),
            words.limit(one.limit) + note,
        )
    return table


def _sources(judged: tuple[Judged, ...]) -> list[Source]:
    """Each source once, in order of first use."""
    return list(dict.fromkeys(one.limit.source for one in judged if one.limit))


def _show_reasons(out: Console, judged: tuple[Judged, ...]) -> None:
    """Why something was not tested, each reason once; what failed or is unsure stands in the verdict."""
    reasons: dict[str, list[str]] = {}
    for one in judged:
        if one.outcome is Outcome.NOT_TESTED:
            reasons.setdefault(one.reason, []).append(words.title(one.id))
    for reason, titles in reasons.items():
        out.print(screen.beside(words.SHAPES[Outcome.NOT_TESTED], f"{', '.join(titles)}: {reason}", width=3))


def _show_bench(out: Console, record: RunRecord) -> None:
    calibration = record.calibration
    state = f"calibrated {calibration.taken_at:%Y-%m-%d}" if calibration.taken_at else "uncalibrated, so U is wide"
    text = (
        f"bench: {record.board.kind} board {record.board.serial}, firmware {record.board.firmware}, {state};"
        f" protocol {record.plan.protocol} version {record.plan.version}; {record.bench_s:.1f} s of bench time;"
        f" run {record.run}. U is the expanded uncertainty, k = 2."
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
    out.print(f"  combined u = {found.standard_uncertainty:.3g} {found.unit};  U = 2 u: {words.value(found)}")


def _budget_table(reading: Reading) -> Table:
    whole = reading.standard_uncertainty**2
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("term", overflow="fold")
    table.add_column(f"u ({reading.unit})", justify="right", no_wrap=True)
    table.add_column("share", justify="right", no_wrap=True)
    table.add_column("why", overflow="fold")
    for term in sorted(reading.budget, key=lambda one: one.u, reverse=True):
        share = 100 * term.u**2 / whole if whole else 0.0
        freedom = f" ({term.freedom:g} degrees of freedom)" if term.freedom is not None else ""
        table.add_row(term.name, f"{term.u:.3g}", f"{share:.0f} %", term.why + freedom)
    return table
