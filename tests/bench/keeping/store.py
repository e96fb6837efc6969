"""How the store grows: from ten thousand runs to `--parts` (a million), what a history, a search, the view of the
fleet and a new run cost, and how much room it all takes. The fleet is what `pulldrop fleet` and its page show; it is
timed at one size more, where nearly as many whole histories are read as for any.

Every run is invented: 15 measurements, lean in budget and conditions, 20 runs to a part over three years. They are
written by the store's own chain and sums, from rows that are prepared once, so that a million take minutes. The speed
of writing is measured apart, on whole records. Reading is timed by the processor's clock, which a loaded machine does
not blur; the wall's is beside it. A durable run is timed by the wall, since it waits for the disk.
"""

import argparse
import json
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import records
from report import AnyGoal, Goal, close, options, share

from pulldrop.jobs.parts import fleet
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.part import Part
from pulldrop.model.part.relay import Relay
from pulldrop.model.raw import CoilCounts
from pulldrop.model.reading import Condition, Reading, Term
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Judged, Outcome, Overall
from pulldrop.store import RunHeader, Store
from pulldrop.store.database import chain, tables
from pulldrop.store.database.place import writing
from pulldrop.store.database.stamps import stamp
from pulldrop.store.exchange import merge, origins
from pulldrop.store.exchange.arrivals import Arrivals
from pulldrop.store.exchange.origins import ImportResult
from pulldrop.store.records import rows
from pulldrop.store.records.texts import Texts
from pulldrop.store.sums import summary

RUNS_A_PART = 20
SMALLEST = 10_000
HISTORIES = 600
"""Runs of 30 parts, of which 18 or so have a line that meets a limit."""
AT_ONCE = 1000
BEGAN = datetime(2023, 5, 1, 8, 0, tzinfo=UTC)
BETWEEN = timedelta(days=55)
SEEN = BEGAN + RUNS_A_PART * BETWEEN
RATINGS = [f"depot-{form}-{volts}v" for form in ("changeover", "micro", "opener") for volts in (6, 12, 24, 48)]
PLACES = ["horn", "indicator", "heater", "wiper", "door", "pump", "lamp", "starter"]
VALUES = {
    "coil_resistance": 90.0, "coil_resistance_20c": 89.5, "coil_current": 0.13, "pull_in_voltage": 6.9,
    "pull_in_voltage_20c": 6.8, "pull_in_current": 0.075, "drop_out_voltage": 2.8, "operate_time": 5e-3,
    "release_time": 2.6e-3, "bounce_time_no": 4e-4, "bounce_time_nc": 9e-4, "transfer_time": 8e-4,
    "contact_drop_no": 0.03, "contact_drop_nc": 0.035, "contact_dry_nc": 0.05,
}  # fmt: skip
LIMITS = {"contact_drop_no": records.DROP_LIMIT, "pull_in_voltage_20c": records.PULL_IN_LIMIT}
ORIGINS = origins.Origins("another bench", lambda _: origins.Checked())
GOALS_MS = {"history": 30.0, "search": 100.0, "fleet": 500.0}
"""Of 95 % of the calls, by the processor's clock."""


@dataclass(frozen=True)
class Timed:
    """Milliseconds of many calls, by the processor's clock and by the wall's."""

    cpu: tuple[float, ...]
    wall: tuple[float, ...]

    @property
    def cpu_ms(self) -> float:
        """95th percentile by the processor's clock."""
        return statistics.quantiles(self.cpu, n=20, method="inclusive")[-1]

    @property
    def wall_ms(self) -> float:
        """95th percentile by the wall's clock."""
        return statistics.quantiles(self.wall, n=20, method="inclusive")[-1]


def record(chance: random.Random, number: int, at: datetime) -> RunRecord:
    """One whole invented run of the `number`th part."""
    readings = tuple(_judged(chance, id, value) for id, value in VALUES.items())
    plain = records.record(judged=(), kind="virtual")
    plan = plain.plan.model_copy(
        update={"rating": plain.plan.rating.model_copy(update={"rating": RATINGS[number % 12]})}
    )
    return plain.model_copy(
        update=dict(
            run=f"{at:%Y%m%dT%H%M%S}-{chance.getrandbits(32):08x}",
            part=part(number),
            plan=plan,
            started=at,
            ended=at + timedelta(seconds=13),
            judged=readings,
            verdict=records.verdict(Overall.PASS if chance.random() < 0.9 else Overall.FAIL),
        )
    )


def part(number: int) -> Part:
    """An invented part."""
    place, bus = PLACES[number % len(PLACES)], number % 311
    return Relay(id=f"R{number}", form="C", label=f"{place} relay", donor=f"bus {bus}", notes=f"shelf {number % 97}")


def _judged(chance: random.Random, id: str, value: float) -> Judged:
    value *= 1 + chance.gauss(0, 0.02)
    finding = Reading(
        id=id,
        unit=MEASUREMENTS[id].unit,
        value=value,
        budget=(Term(name="all", u=value * 0.005, why="invented"),),
        conditions=(Condition(name="coil voltage", text="13.50 V", value=13.5, unit="V"),),
        raw=(CoilCounts(bus=9600, shunt=5333),) if id == "coil_resistance" else (),
    )
    limit = LIMITS.get(id)
    return Judged(id=id, outcome=Outcome.PASS if limit else Outcome.NOTED, reason="", finding=finding, limit=limit)


class Filler:
    """Writes many runs from the rows of a few."""

    def __init__(self, store: Store, seed: int) -> None:
        self.store, self._chance, self._parts = store, random.Random(seed), 0
        some = [record(self._chance, number, BEGAN) for number in range(96)]
        self._patterns = [(one, self._rows_of(one)) for one in some]

    def _rows_of(self, one: RunRecord) -> list[tuple[tables.Table, dict[str, object]]]:
        bundle = chain.Bundle(one.run)
        with writing(self.store.engine).begin() as connection:
            head = RunHeader(**{name: getattr(one, name) for name in RunHeader.model_fields})
            texts = chain.Bundle()
            run = rows.run_row(one.run, 0, head, Texts(connection), texts)
            if texts.rows:
                chain.append(connection, [texts])
        bundle.add(tables.run, run)
        known: set[str] = set()
        for seq, judged in enumerate(one.judged):
            rows.add_judged(bundle, one.run, seq, True, judged, known)
        rows.add_end(bundle, one)
        return [(table, dict(row)) for table, row in bundle.rows]

    def fill(self, runs: int) -> float:
        """Add runs of new parts, each part's over the years; gives the seconds it took."""
        begun = time.perf_counter()
        parts = range(self._parts, self._parts + runs // RUNS_A_PART)
        self._parts = parts.stop
        for first in range(parts.start, parts.stop, AT_ONCE):
            some = range(first, min(first + AT_ONCE, parts.stop))
            for turn in range(RUNS_A_PART):
                self._write(some, turn)
        return time.perf_counter() - begun

    def _write(self, parts: range, turn: int) -> None:
        with writing(self.store.engine).begin() as connection:
            sums = summary.load(connection, [part(number).id for number in parts])
            bundles = [self._run(number, turn, sums) for number in parts]
            chain.append(connection, bundles)
            sums.put(connection)

    def _run(self, number: int, turn: int, sums: summary.Sums) -> chain.Bundle:
        pattern, old = self._patterns[(number % 12) + 12 * self._chance.randrange(8)]
        at = BEGAN + turn * BETWEEN + timedelta(minutes=number)
        run = f"{at:%Y%m%dT%H%M%S}-{number:06x}{turn:02x}"
        worn = 1 + turn * (number % 50) / 500
        one = part(number)
        described = {**one.model_dump(exclude={"births", *one.own}), "own": json.dumps(one.own)}
        bundle, about = chain.Bundle(run), {"key": number + 1, "simulated": True, **described}
        if turn == 0:
            bundle.add(tables.part, about)
            bundle.add(tables.birth, {"birth": run, "part": about["id"]})
        for table, row in old:
            bundle.add(table, _moved(table, row, run, number, stamp(at), worn))
        new = [row for _, row in bundle.rows]
        sums.begin(next(row for table, row in bundle.rows if table is tables.run), about)
        readings = [row for table, row in bundle.rows if table is tables.measurement]
        sums.end(about["id"], dict(started=stamp(at), rating=pattern.plan.rating.rating), new[-1], readings)
        return bundle


def _moved(
    table: tables.Table, row: dict[str, object], run: str, number: int, at: str, worn: float
) -> dict[str, object]:
    """A row of another run of the `number`th part; its contacts `worn` so many times."""
    if table is tables.run:
        return {**row, "id": run, "part": number + 1, "started": at}
    if table is tables.run_end:
        return {**row, "run": run, "ended": at}
    if table is tables.measurement and row["id"] == "contact_drop_no":
        return {**row, "run": run, "value": row["value"] * worn}  # type: ignore[operator]
    return {**row, "run": run}


def timed(calls: Iterator[Callable[[], object]]) -> Timed:
    """What calls cost."""
    cpu, wall = [], []
    for call in calls:
        cpu_s, wall_s = time.process_time(), time.perf_counter()
        call()
        cpu.append(1000 * (time.process_time() - cpu_s))
        wall.append(1000 * (time.perf_counter() - wall_s))
    return Timed(tuple(cpu), tuple(wall))


def reading(store: Store, chance: random.Random, parts: int, fleets: int = 80) -> dict[str, Timed]:
    """What it costs to look; the fleet is slow, and looked at `fleets` times."""
    asked = ["horn", "bus 17", "pump bus 3", f"R{parts // 2}", "shelf 9 wiper", "nothing like it", "r1", "relay"]
    return {
        "history": timed((lambda: store.history(f"R{chance.randrange(parts)}")) for _ in range(200)),
        "search": timed((lambda text=text: store.search(text)) for text in asked * 10),
        "fleet": timed((lambda: fleet.fleet(store, 12, SEEN)) for _ in range(fleets)),
    }


def writing_speed(store: Store, chance: random.Random) -> tuple[float, float, Timed, Timed]:
    """Whole records a second (processor, wall), one record by itself, and one acknowledged step of a live run."""
    many = [record(chance, 10_000_000 + n // 4, BEGAN + timedelta(hours=n)) for n in range(2000)]
    cpu_s, wall_s = time.process_time(), time.perf_counter()
    merge.import_runs(store.engine, store.name, many, Arrivals("another bench"), ImportResult(), ORIGINS)
    bulk = (2000 / (time.process_time() - cpu_s), 2000 / (time.perf_counter() - wall_s))
    single = [record(chance, 20_000_000 + n, BEGAN + timedelta(hours=n)) for n in range(100)]
    one = timed(
        (lambda r=r: merge.import_runs(store.engine, store.name, [r], Arrivals(""), ImportResult(), ORIGINS))
        for r in single
    )
    header = RunHeader(**{name: getattr(single[0], name) for name in RunHeader.model_fields})
    with store.run(header.model_copy(update={"part": part(30_000_000)})) as run:
        step = timed((lambda j=j: run.add(j)) for j in single[1].judged * 4)
    return (*bulk, one, step)


def sizes(most: int) -> list[int]:
    """HISTORIES; then ten times each, up to `most`."""
    found = [HISTORIES] if most > HISTORIES else []
    size = min(SMALLEST, most)
    while size < most:
        found.append(size)
        size *= 10
    return [*found, most]


def campaign(given: argparse.Namespace, folder: Path) -> list[AnyGoal]:
    """Grow, look, write; print as it goes."""
    goals: list[AnyGoal] = []
    with Store.open(str(folder / "store.db")) as store:
        filler, chance, here = Filler(store, given.seed), random.Random(given.seed), 0
        for size in sizes(given.parts):
            took_s = filler.fill(size - here)
            print(f"{size} runs ({15 * size} measurements): filled at {(size - here) / took_s:.0f} runs/s, "
                  f"{store.info().bytes / 1e6:.0f} MB", flush=True)  # fmt: skip
            here = size
            for what, cost in reading(store, chance, size // RUNS_A_PART).items():
                print(f"  {what}: p95 {cost.cpu_ms:.1f} ms (wall {cost.wall_ms:.1f} ms)", flush=True)
                most = GOALS_MS[what]
                goals.append(share(f"{what} of {size} within {most:g} ms", (ms <= most for ms in cost.cpu), low=0.95))
        bulk, bulk_wall, one, step = writing_speed(store, chance)
    print(f"  in bulk {bulk:.0f} runs/s (wall {bulk_wall:.0f}); one durable run p95 {one.wall_ms:.1f} ms "
          f"(processor {one.cpu_ms:.1f}); one acknowledged step p95 {step.wall_ms:.1f} ms")  # fmt: skip
    return [
        *goals,
        Goal("runs a second in bulk", bulk, low=1000),
        share("durable runs within 10 ms by the wall", (ms <= 10 for ms in one.wall), low=0.95),
    ]


def main() -> int:
    """The campaign as a command."""
    given = options(__doc__ or "", parts=1_000_000)
    with tempfile.TemporaryDirectory(prefix="pulldrop-store-") as made:
        goals = campaign(given, Path(made))
    return close("store", given, goals)


if __name__ == "__main__":
    sys.exit(main())
