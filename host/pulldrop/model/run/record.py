"""The record of one run: the only thing that a report, a page or a history sees."""

from datetime import datetime

from pulldrop.model.bench.calibration import Calibration
from pulldrop.model.bench.identity import Identity, OfBoard
from pulldrop.model.origin import Arrived
from pulldrop.model.part.kinds import AnyPart
from pulldrop.model.part.reference import TypeReference
from pulldrop.model.raw import OneLine
from pulldrop.model.run.fault import NamedFault
from pulldrop.model.run.plan import Plan
from pulldrop.model.verdict import Judged, Verdict


class RunRecord(OfBoard):
    """One run of one plan on one part; also the answer of every `--json` (see `pulldrop schema result`).

    `bench_s` is time on the bench, simulated time for a simulated board, 0 when the run never ended.
    `specimen` is the text of the virtual part, empty for a real one. `simulated` is repeated here so that
    no reader can miss it. `faults`: what the diagnosis names, the most probable first; empty for a sound part, and
    for a run that did not come to its end, unless the part's own coil ended it. `warnings`: how a golden part has
    drifted, in sentences; the store does not keep them, they follow from its runs and are worked out afresh.
    `siblings`: what sound parts of its type read, beside which it was judged; None where a person named none.
    `arrived`: how it came from outside; None for one that was measured here.
    """

    run: str
    part: AnyPart
    started: datetime
    ended: datetime | None
    plan: Plan
    board: Identity
    calibration: Calibration
    software: OneLine
    judged: tuple[Judged, ...]
    verdict: Verdict
    bench_s: float
    operator: OneLine = ""
    specimen: str = ""
    seed: int | None = None
    siblings: TypeReference | None = None
    faults: tuple[NamedFault, ...] = ()
    warnings: tuple[OneLine, ...] = ()
    arrived: Arrived | None = None
