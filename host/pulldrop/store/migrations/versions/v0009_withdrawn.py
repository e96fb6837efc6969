"""Version 9: events may withdraw events before them; a program from before would not know what such a row says."""

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Nothing of the records changes."""
