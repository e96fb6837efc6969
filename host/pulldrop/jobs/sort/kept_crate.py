"""A crate as the store keeps it, as a view to be looked at: nothing of it can be pressed."""

from datetime import UTC, datetime

from pulldrop.jobs.sort.ledger import Ledger
from pulldrop.model.cautions import DECIDE
from pulldrop.model.crate.crate import CrateEvent, CrateHead, CrateView, Stage
from pulldrop.store import Store


class NoCrate(Exception):
    """There is no such crate; the message says what there is."""


def kept_view(store: Store, name: str = "") -> CrateView:
    """The crate of this name, without one the crate in which something happened last. Raises NoCrate."""
    heads = store.all_crates()
    if not heads:
        raise NoCrate("No crate was sorted yet. Begin one with: pulldrop sort NAME")
    found = [head for head in heads if name in ("", head.name)]
    if not found:
        raise NoCrate(f"There is no crate '{name}'. There are: {', '.join(head.name for head in heads)}.")
    head, events = max(((head, store.crate_events(head.name)) for head in found), key=lambda one: _touched(*one))
    return _view(head, events)


def _touched(head: CrateHead, events: tuple[CrateEvent, ...]) -> datetime:
    return events[-1].at if events else head.begun


def _view(head: CrateHead, events: tuple[CrateEvent, ...]) -> CrateView:
    ledger = Ledger(events)
    count = len(ledger.parts)
    return CrateView(
        version=len(events) + 1,
        simulated=head.simulated,
        crate=head.name,
        protocol="",
        rating=ledger.rating,
        board="",
        stage=Stage.ENDED,
        number=ledger.next_number,
        word=f"{count} sorted",
        sentence=f"The crate as it is kept. Something happened to it last at {_when(_touched(head, events))}.",
        tally=ledger.tally,
        last=ledger.newest,
        cautions=(DECIDE,),
    )


def _when(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%H:%M:%S UTC on %d %B %Y}"
