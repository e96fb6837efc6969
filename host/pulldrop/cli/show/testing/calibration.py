"""Calibrations and gauge studies on the terminal."""

from rich.console import Console

from pulldrop.cli.show import screen
from pulldrop.jobs.calibrate.study import Study
from pulldrop.measure.calibrate.reach import reach
from pulldrop.model.bench.calibration import GOOD_FOR, nominal
from pulldrop.model.bench.kit import CalibrationRecord, Golden, Observed
from pulldrop.model.quantity import show as quantity
from pulldrop.model.run.record import RunRecord
from pulldrop.model.wording import words


def show_records(out: Console, records: tuple[CalibrationRecord, ...]) -> None:
    """Every calibration of a store."""
    if not records:
        out.print("No board was calibrated yet. Begin with: pulldrop calibrate")
    for record in records:
        show_record(out, record)


def show_golden(out: Console, marked: Golden, record: RunRecord) -> None:
    """That a part is golden now, by this run."""
    screen.of_run(out, record)
    out.print(f"{marked.part} is golden, by its run {marked.run}. Test it again every month, or after 25 parts.")


def show_record(out: Console, record: CalibrationRecord) -> None:
    """One calibration: what it leaves uncertain, beside what was so without it."""
    calibration = record.calibration
    assert calibration.taken_at is not None
    screen.of_run(out, record)
    by = f" by {record.operator}" if record.operator else ""
    until = calibration.taken_at + GOOD_FOR
    out.print(f"\nBoard {record.board.serial} ({record.board.kind}), {calibration.taken_at:%Y-%m-%d}{by}", style="bold")
    table = screen.table("reading", "without it", "now")
    for before, now in zip(reach(nominal(record.board.serial, record.board.build)), reach(calibration), strict=True):
        table.add_row(now.title, *(quantity(one.at, one.unit, one.expanded) for one in (before, now)))
    out.print(table)
    if record.observed.cut_ms:
        out.print(_safety(record.observed))
    for line in record.left_out:
        out.print(screen.beside("[ ]", f"left out, {line}", width=3))
    out.print(f"Good until {until:%Y-%m-%d}; +- is what is left uncertain of such a reading, 95 %.", style="dim")


def _safety(observed: Observed) -> str:
    cuts = " and ".join(f"{ms} ms" for ms in observed.cut_ms or ())
    stop = "both supplies died with the emergency stop" if observed.stopped else "the emergency stop was not tried"
    return f"Checked that day: load transistors; the pulse limit cut after {cuts}; {stop}."


def show_study(out: Console, found: Study) -> None:
    """How much of what is seen is the bench."""
    if found.simulated:
        screen.simulated(out, "virtual")
    who = ", ".join(one or "nobody named" for one in found.operators)
    state = "calibrated" if found.calibrated else "uncalibrated"
    out.print(f"{len(found.parts)} parts, {found.runs} runs each by {who}, board {found.board_serial}, {state}")
    table = screen.table("reading", "bench", "operator", "parts", "%GRR", "ndc", "bench explains")
    for line in found.lines:
        one = line.anova
        sizes = (quantity(sigma, line.unit) for sigma in (one.ev, one.av, one.pv))
        groups = "-" if one.categories is None else str(one.categories)
        share = "< 1 %" if one.percent_of_variance < 1 else f"{one.percent_of_variance:.0f} %"
        table.add_row(words.title(line.measurement), *sizes, f"{one.percent_grr:.1f}", groups, share)
    out.print(table)
    out.print("Standard deviations by ANOVA. %GRR: below 10 good, below 30 usable, ndc 5 or more (AIAG).", style="dim")
    for means in dict.fromkeys(line.means for line in found.lines):
        titles = ", ".join(words.title(line.measurement) for line in found.lines if line.means == means)
        out.print(screen.beside("-", f"{titles}: {means}.", width=1))
