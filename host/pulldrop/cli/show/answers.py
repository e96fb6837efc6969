"""What `--json` answers where the answer is not a noun of the model; `pulldrop schema` shows each of these."""

from datetime import datetime
from typing import Literal

from pulldrop.board.contract import Status
from pulldrop.model.bench.identity import Identity
from pulldrop.model.part.relay import Form
from pulldrop.model.raw import Frozen
from pulldrop.model.run.record import RunRecord


class ErrorAnswer(Frozen):
    """Instead of any other answer, when there is none; `exit_code` is also that of the command."""

    error: str
    exit_code: int


class DemoAnswer(Frozen):
    """Of `demo`. It never enters the history."""

    simulated: Literal[True] = True
    report: str
    records: tuple[RunRecord, ...]


class DemoYearsAnswer(Frozen):
    """Of `demo --years`: where the invented history lies."""

    simulated: Literal[True] = True
    store: str
    runs: int


class ProtocolLine(Frozen):
    """A protocol of `protocol list`, of a part or a crate: for which kind and purpose.

    `seconds`: the bench time of a sound part, from and to; empty where it is not known.
    """

    protocol: str
    title: str
    kind: str
    purpose: str
    seconds: tuple[float, ...] = ()


class RatingLine(Frozen):
    """A rating of `protocol list`."""

    rating: str
    title: str
    form: Form
    nominal_v: float
    any_maker: bool


class ProtocolsAnswer(Frozen):
    """Of `protocol list`. `ratings`: of relays; `others`: names of those of other kinds of part, by kind."""

    protocols: tuple[ProtocolLine, ...]
    ratings: tuple[RatingLine, ...]
    others: dict[str, tuple[str, ...]]


class SpecimenLine(Frozen):
    """Of `specimen list`, one of several; `specimen show` answers with the specimen itself."""

    specimen: str
    title: str
    form: Form
    nominal_v: float
    notes: str


class ConfigAnswer(Frozen):
    """Of `config show`: the file, whether it is `there`, and what it sets; None where it sets nothing."""

    file: str
    there: bool
    board: str | None
    store: str | None
    operator: str | None


class DoctorLine(Frozen):
    """One thing that `doctor` checked: `ok` None where it could not be; `do` what to do about it, else empty."""

    what: str
    ok: bool | None
    says: str
    do: str


class DoctorAnswer(Frozen):
    """Of `doctor`. `simulated`: of a virtual or emulated board."""

    simulated: bool
    lines: tuple[DoctorLine, ...]


class CheckAnswer(Frozen):
    """Of `protocol check`, for each file: what is wrong, with file, line and column; empty when nothing is."""

    file: str
    ok: bool
    problems: tuple[str, ...]


class KeptCalibration(Frozen):
    """The calibration in a board's own memory. No `taken_at`: none that can be used, and `trouble` says why if known.

    Another one may be in a store, and count instead when it is newer.
    """

    memory: bool
    taken_at: datetime | None = None
    good_until: datetime | None = None
    old: bool = False
    left_out: tuple[str, ...] = ()
    trouble: str = ""


class BoardAnswer(Frozen):
    """Of `board info`, and without `calibration` of `board name`."""

    board: Identity
    simulated: bool
    status: Status
    calibration: KeptCalibration | None = None


class BackupAnswer(Frozen):
    """Of `store backup` and `restore`: `head` of the chain; `moved_to` is where a store that was there is now.

    `lacks`: what could not be done beside it, a sentence each, such as photos that could not be copied.
    `vouched`: False of a restored backup that was compared with no head, neither one given nor one noted here.
    """

    file: str
    store: str
    head: str
    moved_to: str = ""
    lacks: tuple[str, ...] = ()
    vouched: bool = True
