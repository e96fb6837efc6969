"""Does every part in stock get the same verdict from the compiled firmware as from the virtual board, and the same
named fault? Each is tested on both: all that the quick protocol judges, and what the diagnosis names.
"""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from report import Goal, close, options
from stock_faults import NAMED, WITHOUT_PROTOCOL, plan_for

from pulldrop.jobs.run.boards import open_socket, virtual_hand
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import RunOptions, Task, run_one
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.record import RunRecord
from pulldrop.model.steps.coil.motion import MotionStep
from pulldrop.model.steps.contacts.film import FilmStep
from pulldrop.model.steps.contacts.hot import HotStep
from pulldrop.model.steps.contacts.rise import RiseStep
from pulldrop.model.steps.contacts.sticking import StickingStep
from pulldrop.model.steps.contacts.timing import TimingStep
from pulldrop.model.verdict import Outcome
from pulldrop.plant import stock
from pulldrop.store import Store

SEED = 2
FEWEST = {
    MotionStep: {"makes": 3},
    FilmStep: {"makes": 6},
    TimingStep: {"makes": 3},
    StickingStep: {"makes": 3},
    RiseStep: {"pulses": 4},
    HotStep: {"makes": 2},
}
"""So few loads that the board's duty limit makes nobody wait, for the emulated board takes its time."""
PARTS = tuple(sorted({*stock.names()} - {*WITHOUT_PROTOCOL}))


def shortened(at: Plan) -> Plan:
    """The same steps with few makes."""
    return at.model_copy(update={"steps": tuple(s.model_copy(update=FEWEST.get(type(s), {})) for s in at.steps)})


def record(board_kind: str, name: str, at: Plan, seed: int) -> RunRecord:
    """One part in stock, tested on one kind of board."""
    part = find(name)
    task = Task(at, Relay(id="", form=at.form), specimen=part.text, seed=seed)
    with open_socket(board_kind, part, seed) as opened, Store.open(":memory:") as store:
        assert opened.leads
        return run_one(task, opened.board, store, lambda event: None, RunOptions(hand=virtual_hand(opened.leads)))


@dataclass
class Both:
    """One part on both boards by one plan: how their overall verdicts, their lines and their faults differ."""

    name: str
    emulated: RunRecord
    virtual: RunRecord
    wanted: list[str] = field(default_factory=list)

    @property
    def verdicts(self) -> list[str]:
        """Scatter from make to make may carry one of two medians near a limit into "unsure"; nothing else differs."""
        ours, theirs = self.emulated, self.virtual
        wrong = [] if ours.verdict.overall == theirs.verdict.overall else [f"{self.name}: {ours.verdict.found}"]
        if [one.id for one in ours.judged] != [one.id for one in theirs.judged]:
            return [*wrong, f"{self.name}: other lines are judged"]
        pairs = zip(ours.judged, theirs.judged, strict=True)
        apart = [one.id for one, other in pairs if one.outcome != other.outcome
                 and Outcome.UNSURE not in (one.outcome, other.outcome)]  # fmt: skip
        return wrong + [f"{self.name}: {id}" for id in apart]

    @property
    def faults(self) -> list[str]:
        """The fault that a board leads to, where it is not what is wrong."""
        firsts = [[one.id for one in record.faults][:1] for record in (self.emulated, self.virtual)]
        return [f"{self.name}: named {named}, wanted {self.wanted}" for named in firsts if named != self.wanted]


def on_both(name: str, at: Plan, seed: int, wanted: Sequence[str] = ()) -> Both:
    """The part on the emulated board and on the virtual one."""
    return Both(name, record("emulated", name, at, seed), record("virtual", name, at, seed), [*wanted])


def quick(name: str, seed: int = SEED) -> Both:
    """By the quick protocol as it is."""
    return on_both(name, plan_for_specimen(find(name).specimen), seed)


def diagnosis(name: str, seed: int = SEED) -> Both:
    """By the protocol that finds out what is wrong, its makes few."""
    at = shortened(plan_for(name, find(name).specimen))
    return on_both(name, at, seed, [NAMED[name]] if name in NAMED else [])


def main() -> int:
    """The campaign as a command."""
    given = options(__doc__.splitlines()[0], len(PARTS))
    names = PARTS[: given.parts]
    tested: dict[str, Callable[[str, int], Both]] = {"quick": quick, "diagnosis": diagnosis}
    goals = []
    for depth, run in tested.items():
        done = [run(name, given.seed) for name in names]
        told = {"verdicts that differ": [line for one in done for line in one.verdicts]}
        if depth == "diagnosis":
            told["faults named wrongly"] = [line for one in done for line in one.faults]
        for what, lines in told.items():
            print(f"{depth}: {len(done)} parts, {what}: {', '.join(lines) or 'none'}")
            goals.append(Goal(f"{depth}: {what}", len(lines), high=0))
    return close("verdicts", given, goals)


if __name__ == "__main__":
    sys.exit(main())
