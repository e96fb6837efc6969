"""Before a fuse or a lamp is loaded, the screen says what it can do to a person."""

from pathlib import Path

import pytest

from pulldrop.cli.main import main
from pulldrop.model.steps.pairs.fuse import FuseStep
from pulldrop.model.steps.pairs.lamp import LampStep

FUSE, LAMP = FuseStep(measure="fuse").caution, LampStep(measure="lamp").caution


@pytest.mark.parametrize(
    ("rating", "told", "other"),
    [
        ("lamp-bus-12v-55w", LAMP, FUSE),
        ("fuse-regular-10a", FUSE, LAMP),
    ],
)
def test_its_own_caution_stands_on_the_screen_before_it_is_loaded(
    rating: str, told: str, other: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["pair", "--board", "virtual-evening", "--rating", rating, "--store", str(tmp_path / "store")])
    out = " ".join(capsys.readouterr().out.split())
    loaded = out.index("lamp, cold and warm" if "lamp" in rating else "fuse, cold and under load")
    assert 0 <= out.find(told) < loaded, out
    assert other not in out
