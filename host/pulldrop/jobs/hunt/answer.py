"""What a hunt answers: its outcome beside that of the last time, and the log that holds the rest."""

from pathlib import Path

from pulldrop.hunt.compare import changes
from pulldrop.hunt.session import Hunt
from pulldrop.jobs.hunt.log import BadLog, LogHead, read_log
from pulldrop.model.bench.identity import Identity
from pulldrop.model.hunt.cabin import Cabin
from pulldrop.model.hunt.outcome import HuntOutcome, RuleChange
from pulldrop.model.raw import Frozen


class HuntAnswer(Frozen):
    """Also the answer of `hunt --json`. `changes`: since the last time, where a log of it was given."""

    board: Identity
    simulated: bool
    cabin: Cabin
    outcome: HuntOutcome
    changes: tuple[RuleChange, ...] = ()
    log: str = ""


def last_time(path: Path, cabin: Cabin) -> HuntOutcome:
    """The outcome that a log holds. Raises BadLog for another cabin's, and OSError."""
    head, entries = read_log(path)
    if head.cabin.cabin != cabin.cabin:
        raise BadLog(f"{path} is the log of a hunt in {head.cabin.cabin}, not in {cabin.cabin}.")
    return Hunt.replay(head.diary(entries)).result()


def answered(head: LogHead, board: Identity, outcome: HuntOutcome, last: HuntOutcome | None, log: Path) -> HuntAnswer:
    """All that is said of a hunt."""
    return HuntAnswer(
        board=board,
        simulated=head.simulated,
        cabin=head.cabin,
        outcome=outcome,
        changes=changes(last, outcome) if last is not None else (),
        log=str(log),
    )
