"""A crate as the store keeps it, as a view to be looked at: nothing of it can be pressed."""

from datetime import UTC, datetime

from pulldrop.jobs.sort.ledger import Ledger
from pulldrop.model.cautions import DECIDE
from pulldrop.model.crate.crate import CrateEvent, CrateHead, CrateView, Stage
from pulldrop.store import Store


class NoCrate(Exception):
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
        crate=head.name,
        protocol="",
        rating=ledger.rating,
        board="",
        stage=Stage.ENDED,
        number=ledger.next_number,
        word=f"{len(ledger.parts)} sorted",
        sentence=f"The crate as it is kept. Something happened to it last at {touched:%H:%M:%S UTC on %d %B %Y}.",
        tally=ledger.tally,
        last=ledger.newest,
        cautions=(DECIDE,),
    )
