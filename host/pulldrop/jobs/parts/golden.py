"""Golden parts: parts that are kept to check the bench by, as a shop keeps a master gauge.

Rule: only readings that do not change with the temperature of the day are compared, and only beyond both uncertainties.
"""

import math
from datetime import datetime

from pulldrop.model.bench.kit import Golden
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.kinds import how_to_test
from pulldrop.model.quantity import show
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import numbers
from pulldrop.store import Store, StoreError

STEADY = (
    "coil_resistance_20c", "pull_in_voltage_20c", "pull_in_current", "contact_drop_no", "contact_drop_nc",
)  # fmt: skip
"""By the copper law the first two do not depend on temperature; between them volts, amps, ohms and drop are checked."""


class NoGolden(StoreError):
    """The part cannot be marked; the message says why and what to do."""


def mark(store: Store, part_id: str, now: datetime) -> tuple[Golden, RunRecord]:
    """Mark a part with the readings of its last run. Raises NotKept, and NoGolden when they will not do."""
    runs = store.runs(part_id)
    if not runs:
        how = how_to_test(store.part(part_id).part)
        raise NoGolden(f"{part_id} was never tested, so it has no readings to check the bench by. {how}")
    record = store.record(runs[-1].run)
    if record.ended is None or not _steady(record):
        wanted = "a finished run, with coil, pull-in or contact readings, was expected"
        raise NoGolden(f"The last run of {part_id} cannot be compared with later ones: {wanted}. Test the part again.")
    if not record.calibration.calibrated:
        raise NoGolden(
            f"The last run of {part_id} was made on an uncalibrated bench; a golden part must be measured right after a"
            " calibration. Calibrate, test the part, then mark it."
        )
    golden = Golden(part=part_id, run=record.run, marked=now)
    store.mark_golden(golden)
    return golden, record


def drift(store: Store, record: RunRecord) -> tuple[str, ...]:
    """Each reading of a golden part that moved by more than both uncertainties; empty for any other part."""
    golden = store.golden(record.part.id)
    if golden is None or golden.run == record.run:
        return ()
    before, now = _steady(store.record(golden.run)), _steady(record)
    moved = [_moved(before[id], now[id]) for id in STEADY if id in before and id in now]
    found = tuple(one for one in moved if one)
    if not found:
        return ()
    return (
        f"{record.part.id} is a golden part, and its readings differ from those of {golden.marked:%Y-%m-%d}. The bench"
        " has drifted, or the part was changed: check with another golden part, then calibrate again.",
        *found,
    )


def with_drift(store: Store, record: RunRecord) -> RunRecord:
    """The record with the warnings of a golden part in it, for whoever reads it next."""
    return record.model_copy(update={"warnings": drift(store, record)})


def _steady(record: RunRecord) -> dict[str, Reading]:
    return {id: one for id, one in numbers(record.judged).items() if id in STEADY}


def _moved(before: Reading, now: Reading) -> str:
    allowed = math.hypot(before.expanded_uncertainty, now.expanded_uncertainty)
    if abs(now.number - before.number) <= allowed:
        return ""
    was, reads = show(before.number, before.unit), show(now.number, now.unit)
    title = MEASUREMENTS[before.id].title
    return f"{title}: {was} then, {reads} now; at most {show(allowed, now.unit)} apart was expected."
