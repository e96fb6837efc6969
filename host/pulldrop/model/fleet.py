"""What is told of all parts together; each line names what it rests on."""

from datetime import datetime

from pulldrop.model.raw import Frozen


class Group(Frozen):
    """Parts of one type, position or donor. `share_a_year`: of the way to the limit, the mean of its parts; `wearing`:
    how many have a trend towards a limit that is not decades away; `by`: the measurement that leads most of them."""

    grouping: str
    name: str
    parts: int
    wearing: int
    share_a_year: float
    by: str


class Due(Frozen):
    """A part to be tested or exchanged, and why; `soonest` in years, below zero when it is overdue."""

    part: str
    place: str
    last: datetime
    soonest: float
    reasons: tuple[str, ...]


class Stranger(Frozen):
    """A last reading outside those of the siblings; `score` in robust standard deviations."""

    part: str
    type: str
    measurement: str
    value: float
    median: float
    score: float
    siblings: int
    says: str


class Room(Frozen):
    """Cpk of one measurement over the parts of a type: below 1 some of such parts are beyond the limit."""

    type: str
    measurement: str
    title: str
    parts: int
    cpk: float


class Fleet(Frozen):
    """`groups` of each grouping fastest first, `due` soonest first, `strangers` farthest first, `rooms` tightest."""

    simulated: bool
    now: datetime
    parts: int
    every_months: float
    groups: tuple[Group, ...]
    due: tuple[Due, ...]
    strangers: tuple[Stranger, ...]
    rooms: tuple[Room, ...]
