"""What `parts show --json` answers; apart from the other answers, which need no store and start faster without it."""

from pulldrop.model.raw import Frozen
from pulldrop.model.record import RunRecord
from pulldrop.store import PartLine, RunLine


class PartAnswer(Frozen):
    """Of `parts show`: the part, its runs from the oldest on, and the whole of the last one."""

    part: PartLine
    runs: tuple[RunLine, ...]
    last: RunRecord
