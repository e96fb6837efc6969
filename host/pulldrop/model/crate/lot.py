"""A sorted crate as it is reported: what went where, why, and how each measurement is spread over its parts."""

from datetime import datetime

from pulldrop.model.crate.crate import Bin, CrateHead, Placed
from pulldrop.model.limit import Limit
from pulldrop.model.raw import Frozen


class Value(Frozen):
    """One reading of the part `number`, in SI; `usable`: the part went into a bin from which it is used again."""

    number: int
    value: float
    usable: bool


class ValueSpread(Frozen):
    """One measurement over the crate. `mean`, `sd` and `cpk` are of the usable parts alone.

    `cpk` is None where it makes no sense, and `no_cpk` says why.
    """

    id: str
    title: str
    unit: str
    values: tuple[Value, ...]
    limit: Limit | None
    mean: float | None
    sd: float | None
    cpk: float | None
    no_cpk: str = ""


class LotCause(Frozen):
    """Why parts were not kept: by the first of their reasons, with the parts' numbers."""

    bin: Bin
    text: str
    numbers: tuple[int, ...]


class Lot(Frozen):
    """`parts` by their numbers, `causes` the most frequent first, `spreads` in order of their ids' list.

    protocols, benches, operators: each once, in words, as the runs have them.
    """

    head: CrateHead
    ended: datetime
    parts: tuple[Placed, ...]
    tally: tuple[tuple[Bin, int], ...]
    causes: tuple[LotCause, ...]
    spreads: tuple[ValueSpread, ...]
    protocols: tuple[str, ...]
    benches: tuple[str, ...]
    operators: tuple[str, ...]
