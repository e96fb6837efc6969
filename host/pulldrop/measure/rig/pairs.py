"""What the closed throws of the bench say of a part of one form."""

from pulldrop.model.part.pair import ContactState
from pulldrop.model.part.relay import NC, NO, SEEN_BY, PairChange, RelayForm
from pulldrop.model.raw import Contact


def contact_state(form: RelayForm, closed: Contact) -> ContactState:
    """The form's pairs, and another closed throw where none of them is closed.

    Beside a closed 87 another one may be the second blade 87 of a twin part.
    """
    found = [pair for pair in form.pairs if closed & SEEN_BY[pair]]
    strays = [pair for pair in (NO, NC) if closed & SEEN_BY[pair] and not found]
    return ContactState.of([*form.pairs, *strays], [*found, *strays])


def watched(change: PairChange) -> tuple[Contact, Contact]:
    """The throw to watch, and what is wanted of it, for a staircase that ends at this change."""
    throw = SEEN_BY[change.pair]
    return throw, throw if change.closes else Contact.NONE


def happened(change: PairChange, closed: Contact) -> bool:
    """Whether the pair is as it is after this change."""
    return bool(closed & SEEN_BY[change.pair]) == change.closes
