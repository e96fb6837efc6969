"""A file that is written is there whole, or the one before it is."""

from pathlib import Path

import pytest

from pulldrop.whole import HALF, whole


def test_a_file_takes_its_place_at_the_end_and_not_before(tmp_path: Path) -> None:
    file = tmp_path / "bay 3.html"
    file.write_text("before")
    with whole(file) as half:
        half.write_text("after")
        assert file.read_text() == "before" and half.suffix == HALF
    assert file.read_text() == "after" and list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize("stopped", [OSError, KeyboardInterrupt])
def test_what_ends_in_the_middle_leaves_the_former_file_and_nothing_else(
    tmp_path: Path, stopped: type[BaseException]
) -> None:
    file = tmp_path / "depot.db"
    file.write_text("before")

    def write() -> None:
        with whole(file) as half:
            half.write_text("aft")
            half.with_name(half.name + "-wal").touch()
            raise stopped

    with pytest.raises(stopped):
        write()
    assert file.read_text() == "before" and list(tmp_path.iterdir()) == [file]
