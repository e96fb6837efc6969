"""Column types that the migrations share."""

from sqlalchemy import Column, ForeignKey, Integer, String

TEXT = String().with_variant(String(collation="C"), "postgresql")


def text(name: str) -> Column[str]:
    """Text that is always there."""
    return Column(name, TEXT, nullable=False)


def number() -> Column[int]:
    """A key that the store counts up by itself."""
    return Column("key", Integer, primary_key=True, autoincrement=False)


def run_key() -> Column[str]:
    """The run that a row belongs to, as part of its key."""
    return Column("run", TEXT, ForeignKey("run.id"), primary_key=True)
