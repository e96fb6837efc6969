"""A record with any of its fields edited, alone and in pairs, and given to an import: does anything read as measured
here?

Half of the edits are of a record that calls itself real. Every field takes every value alone; pairs of fields, with
values, are drawn, `--parts` of them.
"""

import json
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import islice
from pathlib import Path
from typing import Any

from report import Goal, close, options

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.parts.imports import import_from
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.origin import Origin
from pulldrop.model.run.record import RunRecord
from pulldrop.store import Store, StoreError

CHANGES: tuple[Any, ...] = (
    None, True, False, -1, 2, 0.5, 1e300, "", "real", "pass", "measured here", "\x1b[2J", [], {},
)  # fmt: skip
Edits = list[tuple[tuple[Any, ...], Any]]
"""Ways to fields, and what they hold now."""


def measured(name: str) -> RunRecord:
    """A run of a part in stock on the virtual board."""
    thing = find(name)
    plan = plan_for_specimen(thing.specimen)
    with Store.open(":memory:") as store, VirtualBoard(thing.specimen, seed=5) as board:
        return run_one(Task(plan, plan.rating.part(""), specimen=thing.text), board, store, lambda _: None)


def as_real(record: RunRecord) -> RunRecord:
    """As a forger would write it."""
    return record.model_copy(update={"board": record.board.model_copy(update={"kind": "real"})})


def leaves(value: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Where the plain values of a JSON text are; of a list the first and the last entry stand for all."""
    if isinstance(value, dict):
        for name, one in value.items():
            yield from leaves(one, (*at, name))
    elif isinstance(value, list):
        for place in sorted({0, len(value) - 1} if value else ()):
            yield from leaves(value[place], (*at, place))
    else:
        yield at


def edited(record: dict[str, Any], edits: Edits) -> dict[str, Any]:
    """The record with these fields changed."""
    made = json.loads(json.dumps(record))
    for (*way, last), new in edits:
        inside = made
        for step in way:
            inside = inside[step]
        inside[last] = new
    return made


def every_field(fields: list[tuple[Any, ...]]) -> Iterator[Edits]:
    """Each field alone, with each value."""
    for at in fields:
        for new in CHANGES:
            yield [(at, new)]


def pairs(fields: list[tuple[Any, ...]], count: int, chance: random.Random) -> Iterator[Edits]:
    """Two fields, each with some value."""
    for _ in range(count):
        yield [(at, chance.choice(CHANGES)) for at in chance.sample(fields, 2)]


def tried(records: list[dict[str, Any]], all_edits: Iterable[Edits], folder: Path) -> tuple[Counter[str], list[str]]:
    """What became of the edits, and what read as measured here or hurt the store."""
    seen, wrong = Counter[str](), list[str]()
    for number, edits in enumerate(all_edits):
        file = folder / "record.json"
        file.write_text(json.dumps(edited(records[number % len(records)], edits)))
        with Store.open(":memory:") as store:
            with suppress(StoreError):
                import_from(store, str(file))
            runs = [run for line in store.parts() for run in islice(store.runs(line.part.id), 2)]
            seen["taken" if runs else "refused"] += 1
            for run in runs:
                if {run.origin, store.record(run.run).origin} - {Origin.OUTSIDE, Origin.SIMULATED}:
                    wrong.append(f"{edits}: {run.run} reads {run.origin}")
            wrong += [f"{edits}: {one}" for one in store.verify().findings]
    return seen, wrong


def main() -> int:
    """The campaign as a command."""
    given = options(__doc__ or "", parts=2000)
    record = measured("good-12v-changeover")
    records = [json.loads(one.model_dump_json()) for one in (record, as_real(record))]
    fields, chance = list(leaves(records[0])), random.Random(given.seed)
    with tempfile.TemporaryDirectory() as folder:
        alone, wrong = tried(records[1:], every_field(fields), Path(folder))
        drawn, more = tried(records, pairs(fields, given.parts, chance), Path(folder))
    for line in (wrong + more)[:50]:
        print(f"- {line[:300]}")
    print(f"{len(fields)} fields; alone {dict(alone)}; in pairs {dict(drawn)}.")
    goals = [
        Goal("read as measured here, or hurt the store", len(wrong) + len(more), high=0),
        Goal("taken, so that it can read as anything", alone["taken"] + drawn["taken"], low=100),
    ]
    return close("edits", given, goals)


if __name__ == "__main__":
    sys.exit(main())
