"""A crate as the store keeps it: a view where nothing can be pressed, and what its report is made of."""

from collections.abc import Iterable
from datetime import UTC, datetime

from pulldrop.judge.crate.ledger import Ledger
from pulldrop.judge.crate.lot import USABLE, causes, spread
from pulldrop.model.crate.crate import CrateEvent, CrateHead, CrateView, Placed, Stage
from pulldrop.model.crate.lot import Lot, Value, ValueSpread
from pulldrop.model.limit import Limit
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.origin import least_known, origin_of
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import numbers
from pulldrop.model.wording.cautions import DECIDE
from pulldrop.store import NotKept, Store


class NoCrate(NotKept):
    """There is no such crate; the message says what there is."""


def heads(store: Store, name: str = "") -> list[CrateHead]:
    """The crate of this name, or every crate without one. Raises NoCrate."""
    every = store.all_crates()
    found = [head for head in every if name in ("", head.name)]
    if not every:
        raise NoCrate("No crate was sorted yet. Begin one with: pulldrop sort NAME")
    if not found:
        listed = ", ".join(head.name for head in every)
        raise NoCrate(f"There is no crate '{name[:40]}'. There are: {listed}.")
    return found


def kept_view(store: Store, name: str = "") -> CrateView:
    """The crate of this name, without one the crate in which something happened last. Raises NoCrate."""
    found = [(head, store.crate_events(head.name)) for head in heads(store, name)]
    head, events = max(found, key=lambda one: _touched(*one))
    return _view(head, events)


def _touched(head: CrateHead, events: tuple[CrateEvent, ...]) -> datetime:
    return events[-1].at if events else head.begun


def _view(head: CrateHead, events: tuple[CrateEvent, ...]) -> CrateView:
    ledger, touched = Ledger(events), _touched(head, events).astimezone(UTC)
    return CrateView(
        version=len(events) + 1,
        simulated=head.simulated,
        came=head.came,
        crate=head.name,
        protocol="",
        rating=ledger.rating,
        board="",
        stage=Stage.ENDED,
        number=ledger.next_number,
        word=f"{len(ledger.parts)} sorted",
        sentence=f"The crate as stored. Its last change was at {touched:%H:%M:%S UTC on %d %B %Y}.",
        tally=ledger.tally,
        last=ledger.newest,
        cautions=(DECIDE,),
    )


def lot(store: Store, name: str) -> Lot:
    """The crate of this name. Raises NoCrate, also when nothing was sorted into it."""
    (head,) = heads(store, name)
    events = store.crate_events(name)
    ledger = Ledger(events)
    if not ledger.parts:
        raise NoCrate(f"Nothing was sorted into the crate {name} yet. Continue with: pulldrop sort '{name}'")
    runs = {part.number: store.record(part.run) for part in ledger.parts if part.run}
    came = least_known([head.came, *(origin_of(False, run.arrived) for run in runs.values())])
    return Lot(
        head=head.model_copy(update={"came": came}),
        ended=events[-1].at,
        parts=ledger.parts,
        tally=ledger.tally,
        causes=causes(ledger.parts),
        spreads=_spreads(ledger.parts, runs),
        protocols=_once(f"{run.plan.protocol}, version {run.plan.version}" for run in runs.values()),
        benches=_once(_bench(run) for run in runs.values()),
        operators=_once(run.operator for run in runs.values() if run.operator),
    )


def _spreads(parts: tuple[Placed, ...], runs: dict[int, RunRecord]) -> tuple[ValueSpread, ...]:
    values: dict[str, list[Value]] = {}
    limits: dict[str, list[Limit | None]] = {}
    for part in parts:
        judged = runs[part.number].judged if part.number in runs else ()
        limited = {one.id: one.limit for one in judged}
        for id, found in numbers(judged).items():
            one = Value(number=part.number, value=found.number, usable=part.bin in USABLE)
            values.setdefault(id, []).append(one)
            limits.setdefault(id, []).append(limited[id])
    return tuple(spread(id, values[id], limits[id]) for id in MEASUREMENTS if id in values)


def _bench(run: RunRecord) -> str:
    used = run.calibration
    state = f"calibrated {used.taken_at:%Y-%m-%d}" if used.taken_at else "UNCALIBRATED"
    return f"{run.board.kind} board {run.board.serial}, firmware {run.board.firmware}, {run.software}, {state}"


def _once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))
