"""Which runs a person means: those of one part, a run by its id, or all that the store holds; one after the other."""

from collections.abc import Iterator

from pulldrop.jobs.parts.golden import with_drift
from pulldrop.jobs.parts.keep import resolve
from pulldrop.model.part.kinds import how_to_test
from pulldrop.model.run.record import RunRecord
from pulldrop.store import NotKept, Store


def of_part(store: Store, text: str) -> tuple[RunRecord, ...]:
    """Every run of the part that `text` names, the oldest first. Raises NotKept, also when it was never tested."""
    part = resolve(store, text)
    found = tuple(store.record(line.run) for line in store.runs(part))
    if not found:
        how = how_to_test(store.part(part).part)
        raise NotKept(f"The part {part} was never tested, so there is nothing to report. {how}")
    return found


def one(store: Store, text: str) -> RunRecord:
    """The run of this id, or the last one of the part of this name. Raises NotKept."""
    try:
        return run(store, text)
    except NotKept:
        try:
            return with_drift(store, of_part(store, text)[-1])
        except NotKept as neither:
            raise NotKept(f"There is no run '{text[:40]}'. {neither}") from neither


def run(store: Store, id: str) -> RunRecord:
    """The run of this very id. Raises NotKept."""
    return with_drift(store, store.record(id))


def every(store: Store) -> Iterator[RunRecord]:
    """All runs, part by part."""
    for line in store.parts():
        for run in store.runs(line.part.id):
            yield store.record(run.run)
