"""A board on the terminal: who it is, how it stands, and the checks of its self-test."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import Progress
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.answers import BoardAnswer, KeptCalibration
from pulldrop.jobs.flash import Flashed
from pulldrop.measure.self_test.check import Check
from pulldrop.model.bench.abilities import Build
from pulldrop.model.bench.identity import Identity

SLOW_MS = 8.0
LOADERS = {
    False: "clears the causes of a reset, or has none to clear",
    True: "OLD, or none: a watchdog reset may hang the board for good; put the newer one on it (hardware/guide.md)",
}


def _about_kept(kept: KeptCalibration, board: Identity) -> str:
    if board.kind == "virtual":
        return "none: a virtual board keeps nothing; see those of the store: pulldrop calibrate show"
    if not kept.memory:
        return "this board has no memory for one"
    if kept.taken_at is None or kept.good_until is None:
        return kept.trouble or "none; make one: pulldrop calibrate"
    until = f"good until {kept.good_until:%Y-%m-%d}"
    if kept.old:
        until = f"TOO OLD since {kept.good_until:%Y-%m-%d}; calibrate again: pulldrop calibrate"
    without = f"; without {', '.join(kept.left_out)}" if kept.left_out else ""
    return f"of {kept.taken_at:%Y-%m-%d}{without}, {until}"


def show_list(out: Console, found: tuple[Identity, ...]) -> None:
    """A line for each board that answers."""
    table = screen.table("port", "kind", "build", "number", "firmware", "load supply")
    for one in found:
        table.add_row(one.port, one.kind, one.build, str(one.serial), one.firmware, "yes" if one.load_supply else "no")
    out.print(table)


BUILDS: dict[Build, str] = {
    "full": "full",
    "bare": "bare: no coil supply, no load; coil, resting contacts, insulation only",
    "evening": "evening: one supply of 12 V, its volts at the coil turned by hand; a load of 10 A; no insulation",
}


def show_info(out: Console, answer: BoardAnswer) -> None:
    """One board."""
    who, status = answer.board, answer.status
    if who.simulated:
        screen.simulated(out, who.kind)
    load = "connected" if who.load_supply else "not connected: contacts cannot be tested under load"
    build = BUILDS[who.build]
    line = "slow: its USB bridge holds answers back" if who.round_trip_ms > SLOW_MS else "quick"
    if who.round_trip_ms:
        line = f"{who.round_trip_ms:g} ms there and back, {line}"
    rows = [
        ("board", f"{who.kind}, number {who.serial}" + (f", at {who.port}" if who.port else "")),
        ("firmware", f"{who.firmware}, message schema {who.schema_hash:08x}"),
        ("last reset", who.reset_cause),
        ("boot loader", LOADERS[who.old_loader]),
        ("line", line),
        ("build", build),
        ("load supply", load),
        *([("coil converter", f"MCP4725 at {who.dac_address}")] if who.dac_address else []),
        ("emergency stop", "pressed" if status.emergency_stop else "released"),
        ("latched trip", status.trip.name.lower().replace("_", " ")),
        ("outputs", "something is energised" if status.on else "all off"),
        ("bad frames", str(status.bad_frames)),
        ("up for", f"{status.uptime_ms / 1000:.1f} s"),
    ]
    if answer.calibration:
        rows.append(("calibration kept", _about_kept(answer.calibration, who)))
    table = screen.table("", "")
    table.show_header = False
    for row in rows:
        table.add_row(*row)
    out.print(table)


@contextmanager
def writing(out: Console) -> Iterator[Callable[[int, int], None]]:
    """A bar of the pages that were written and read back; nothing where no line may be redrawn."""
    with Progress(console=out, transient=True, disable=not screen.lively(out)) as bar:
        task = bar.add_task("writing the firmware; leave the cable alone", start=True)
        yield lambda done, of: bar.update(task, completed=done, total=of)


def show_flashed(out: Console, done: Flashed) -> None:
    """A board whose firmware was just written."""
    who = done.board
    if who.simulated:
        screen.simulated(out, who.kind)
    out.print(f"Firmware {who.firmware} is written at {who.port} and verified: {done.length} bytes, and it answers.")
    if done.kept:
        out.print(f"Its number ({who.serial}) and the calibration that it keeps are as before.")
    else:
        out.print("What was on it before did not answer, so number and calibration could not be compared.")
    if not who.serial:
        out.print("It has no number yet: pulldrop board name NUMBER")
    if who.old_loader:
        out.print(f"boot loader: {LOADERS[True]}", style="bold")


def show_check(out: Console, check: Check) -> None:
    """One check of a self-test."""
    shapes = {"ok": "[+]", "wrong": "[X]", "noted": "[.]", "not done": "[ ]"}
    tones = {"ok": "bold bright_blue", "wrong": "bold dark_orange"}
    said = Text(f"{check.title}: {check.found}\n")
    said.append(f"expected: {check.expected}", style="dim")
    word = f"{shapes[check.state]} {check.state}"
    out.print(screen.beside(word, said, width=12, style=tones.get(check.state, "bold")))
