"""Version 8: an index of its own for the lines that meet a limit. Working sums are made anew after every migration."""

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Nothing of the records changes."""
