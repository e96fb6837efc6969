"""A gauge study from runs: the same parts tested again and again, by one or several operators.

Rule: only whole runs of one protocol on one board count, and the table is balanced by leaving out the oldest.
"""

from collections.abc import Callable, Sequence

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.calibrate.virtual import calibrate_board
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.choose import plan_for_specimen
from pulldrop.jobs.run.events import Event
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.judge.study import Components, TooSmall, analyse, by_ranges, in_words, meaning
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.raw import Frozen
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import SAYS_NOTHING, numbers
from pulldrop.plant.bench import instruments
from pulldrop.plant.noise import Chance
from pulldrop.plant.specimen import Specimen
from pulldrop.store import Store

BASE = "good-12v-changeover"


class StudyLine(Frozen):
    """One measurement of a study. `paper`: the same by average and range, where the form has constants for it."""

    measurement: str
    unit: str
    anova: Components
    paper: Components | None
    words: str
    means: str


class Study(Frozen):
    """Of `calibrate study`."""

    simulated: bool
    board_serial: int
    calibrated: bool
    parts: tuple[str, ...]
    operators: tuple[str, ...]
    runs: int
    lines: tuple[StudyLine, ...]


def from_store(store: Store, parts: Sequence[str], most_runs: int | None = None) -> Study:
    """The study that the runs in the store allow. Raises NotKept, and TooSmall with what is missing."""
    if len(set(parts)) < 2:
        raise TooSmall("a study needs at least two different parts; name each with --part")
    whole = {part: _whole_runs(store, part) for part in dict.fromkeys(parts)}
    latest = max((runs[-1] for runs in whole.values()), key=lambda one: one.started)
    cells = {part: _by_operator(runs, latest) for part, runs in whole.items()}
    operators = tuple(sorted(set.intersection(*(set(one) for one in cells.values()))))
    runs = min((len(cells[part][o]) for part in cells for o in operators), default=0)
    runs = min(runs, most_runs or runs)
    if runs < 2:
        had = "; ".join(f"{part}: {sum(map(len, one.values()))} runs" for part, one in cells.items())
        raise TooSmall(
            f"each part needs at least two whole runs with {latest.plan.protocol} on board {latest.board.serial} by the"
            f" same operator ({had}). Test them again, the part taken out in between."
        )
    table = [[cells[part][o][-runs:] for o in operators] for part in cells]
    return Study(
        simulated=latest.simulated,
        board_serial=latest.board.serial,
        calibrated=latest.calibration.calibrated,
        parts=tuple(cells),
        operators=operators,
        runs=runs,
        lines=_lines(table),
    )


def virtual(seed: int, parts: int, runs: int, operators: int, show: Callable[[Event], None]) -> Study:
    """The same live, on a virtual bench that is calibrated first, with invented parts that differ as in a crate."""
    ids = [f"V{number:04d}" for number in range(1, parts + 1)]
    with Store.open(":memory:") as store, VirtualBoard(instruments.empty(), seed) as board:
        store.add_calibration(calibrate_board(board, seed))
        for operator in range(operators):
            for _ in range(runs):
                for number, id in enumerate(ids):
                    part = _varied(seed, number)
                    board.insert(part)
                    plan, text = plan_for_specimen(part), part.model_dump_json()
                    about = plan.rating.part(id).model_copy(update={"label": part.title})
                    task = Task(plan, about, operator=f"hand {operator + 1}", specimen=text, seed=seed)
                    run_one(task, board, store, show)
        return from_store(store, ids)


def _varied(seed: int, number: int) -> Specimen:
    """One of a crate of like relays (invented): coil 5 %, spring 10 %, contacts worn differently."""
    chance, base = Chance(seed * 1009 + number), specimens.find(BASE).specimen
    given = base.model_dump()
    given["title"] = f"invented relay {number + 1} of a crate"
    given["faults"].update(coil_ohm_percent=chance.within(5.0), return_spring_percent=100 + chance.within(10.0))
    for throw in ("contact_no", "contact_nc"):
        given[throw]["pitting_mohm"] = 0.5 + 4.0 * chance.uniform()
    return Specimen.model_validate(given)


def _whole_runs(store: Store, part: str) -> list[RunRecord]:
    runs = [store.record(line.run) for line in store.runs(part) if line.overall not in SAYS_NOTHING]
    if not runs:
        raise TooSmall(f"part {part} has no finished run. Test it first.")
    return runs


def _by_operator(runs: list[RunRecord], like: RunRecord) -> dict[str, list[RunRecord]]:
    found: dict[str, list[RunRecord]] = {}
    for run in runs:
        same = run.plan.sha256 == like.plan.sha256 and run.plan.rating == like.plan.rating
        if same and (run.board.kind, run.board.serial) == (like.board.kind, like.board.serial):
            found.setdefault(run.operator, []).append(run)
    return found


def _lines(table: list[list[list[RunRecord]]]) -> tuple[StudyLine, ...]:
    """Every measurement that has a number in all of the runs."""
    values = [[[numbers(run.judged) for run in cell] for cell in part] for part in table]
    common = set.intersection(*(set(run) for part in values for cell in part for run in cell))
    lines = []
    for id in MEASUREMENTS:
        if id in common:
            of_id = [[[run[id].number for run in cell] for cell in part] for part in values]
            anova = analyse(of_id)
            unit = MEASUREMENTS[id].unit
            told = dict(words=in_words(anova), means=meaning(anova))
            lines.append(StudyLine(measurement=id, unit=unit, anova=anova, paper=by_ranges(of_id), **told))
    return tuple(lines)
