"""What `parts show --json` answers; apart from the other answers, which need no store and start faster without it."""

from pulldrop.jobs.parts.keep import PartView
from pulldrop.model.part.event import PartEvent
from pulldrop.model.raw import Frozen
from pulldrop.model.run.record import RunRecord
from pulldrop.store import RunLine


class PartAnswer(Frozen):
    """Of `parts show`: the part, what happened to it, its runs from the oldest on, and the whole of the last one."""

    part: PartView
    events: tuple[PartEvent, ...]
    runs: tuple[RunLine, ...]
    last: RunRecord | None
