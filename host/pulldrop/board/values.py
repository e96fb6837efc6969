"""Requests of the contract as the field values of their messages, in the order of the schema (firmware/wire.yaml).

Rule: only an order; ranges are the codec's.
"""

from pulldrop.board.request_types import Drive, Load, Pulse, Scan, Stairs, Watch


def of_drive(drive: Drive) -> tuple[int, ...]:
    """Fields of HOLD_COIL, with which STEP_COIL and HOT_STEP begin."""
    return drive.dac, drive.on, drive.diode, drive.dry, drive.on_ms, drive.limit


def of_step(drive: Drive, window_ms: int, divider: int, low_side: bool) -> tuple[int, ...]:
    """Fields of STEP_COIL."""
    return *of_drive(drive), window_ms, divider, low_side


def of_hot_step(drive: Drive, load: Load, window_ms: int, divider: int) -> tuple[int, ...]:
    """Fields of HOT_STEP."""
    return *of_drive(drive), window_ms, divider, load.throw, load.branches, load.limit_ms, load.gain


def of_stairs(stairs: Stairs) -> tuple[int, ...]:
    """Fields of STAIRCASE."""
    drive = stairs.drive
    return (
        drive.dac, drive.diode, drive.dry, drive.on_ms, drive.limit,
        stairs.step, stairs.count, stairs.dwell_ms, stairs.watch, stairs.wanted,
    )  # fmt: skip


def of_pulse(pulse: Pulse) -> tuple[int, ...]:
    """Fields of LOAD_PULSE."""
    return pulse.throw, pulse.branches, pulse.settle_ms, pulse.samples, pulse.limit_ms, pulse.gain


def of_scan(scan: Scan) -> tuple[int, ...]:
    """Fields of SCAN."""
    return scan.source, scan.sink, scan.look, scan.weak


def of_watch(watch: Watch) -> tuple[int, ...]:
    """Fields of WATCH_LOAD."""
    return watch.throws, watch.branches, watch.watch_ms
