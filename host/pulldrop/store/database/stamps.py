"""How a moment is written, so that text order is time order."""

from datetime import UTC, datetime


def stamp(when: datetime) -> str:
    """UTC in ISO 8601 with six decimals. Refuses a time without a zone."""
    if when.tzinfo is None:
        raise ValueError("a time without a zone cannot be stored; use datetime.now(UTC)")
    return when.astimezone(UTC).isoformat(timespec="microseconds")
