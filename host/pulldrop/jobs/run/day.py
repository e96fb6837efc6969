"""Whether a bench was energised today already: what must be seen to once a day is said before the first run."""

from datetime import UTC, datetime

from pulldrop.model.bench.identity import Identity
from pulldrop.store import Store, StoreTrouble


def first_today(store: Store, board: Identity, now: datetime | None = None) -> bool:
    """True while the store holds no run of this board that energised a coil since midnight, by the computer's clock.

    True as well when the store cannot be read: the reminder matters more.
    """
    midnight = (now or datetime.now(UTC)).astimezone().replace(hour=0, minute=0, second=0, microsecond=0)
    try:
        return not store.energised_since(board, midnight.astimezone(UTC))
    except StoreTrouble:
        return True
