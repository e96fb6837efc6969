"""The demonstration: an invented crate from the heritage bus depot, part by part over the virtual board.

Rule: its records live in a store in memory only, so that invented data never enter anybody's history.
"""

from collections.abc import Callable

from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.by_look import examine, look
from pulldrop.jobs.run.events import Event
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.run.test_one import Task
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.store import Store

CRATE = (
    "good-12v-changeover",
    "burnt-no",
    "weak-spring",
    "wrong-coil-voltage",
    "welded-no",
    "reversed-diode",
    "good-with-diode",
    "open-coil",
    "long-unused",
    "good-12v-normally-open",
)
"""From stock, in the order in which somebody might take them out of the crate."""
SEED = 1
"""Seed of the first part; each further part has the next, so that no two are alike."""


def run_demo(show: Callable[[Event], None]) -> tuple[RunRecord, ...]:
    """Test the whole crate; events to the caller as they come. Ctrl-C ends it after the part that was interrupted."""
    records: list[RunRecord] = []
    with Store.open(":memory:") as store:
        for seed, name in enumerate(CRATE, SEED):
            records.append(as_it_comes(specimens.find(name), seed, store, show))
            if records[-1].verdict.overall is Overall.INTERRUPTED:
                break
    return tuple(records)


def as_it_comes(part: VirtualPart, seed: int, store: Store, show: Callable[[Event], None]) -> RunRecord:
    """A virtual part alone in a bench, looked at and tested as a real one would be."""
    of = part.specimen
    with open_board("virtual", part, seed) as board:
        looked = look(board, store, None, printed=of)
        assert looked.plan is not None
        about = looked.plan.rating.part().model_copy(update={"label": of.title, "donor": of.donor})
        return examine(Task(looked.plan, about, specimen=part.text, seed=seed), looked, board, store, show)
