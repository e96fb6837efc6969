"""Version 9: events may withdraw others, and say that two parts are one; a program from before would not know them."""

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Nothing of the records changes."""
