"""A small campaign of kills in the normal suite, with one crash of the server."""

import tempfile
from pathlib import Path

import kills


def test_nothing_acknowledged_is_lost_and_every_store_is_whole() -> None:
    with tempfile.TemporaryDirectory() as made:
        Path(made).chmod(0o755)
        seen = kills.campaign(7, [*range(1, 20), 50], Path(made))
    assert (seen.lost, seen.not_whole) == ([], [])
    assert seen.acknowledged > 20
    assert set(seen.kills) == {"writer", "new", "grow", "client", "server", "import", "backup", "photo"}
