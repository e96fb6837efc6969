"""How a moment is written, so that text order is time order."""

from datetime import UTC, datetime


def stamp(when: datetime) -> str:
    """UTC in ISO 8601 with six decimals. Raises ValueError for a time without a zone, or beyond the calendar."""
    if when.tzinfo is None:
        raise ValueError("a time without a zone cannot be stored; use datetime.now(UTC)")
    try:
        return when.astimezone(UTC).isoformat(timespec="microseconds")
    except OverflowError:
        raise ValueError(f"{when.isoformat()} cannot be reckoned with") from None
