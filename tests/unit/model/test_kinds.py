"""Switches and parts of two terminals: their files are read and checked, and each goes to its own command."""

from pathlib import Path

import pytest

from pulldrop.cli.main import main
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.specimens import UnknownSpecimen
from pulldrop.model.part.kinds.switch import SwitchRating
from pulldrop.model.part.pair import PairTable
from pulldrop.protocol.errors import DoesNotFit
from pulldrop.protocol.ratings.files import check_rating, load_relay
from pulldrop.text.problem import BadText

SWITCH = """\
rating: depot-light-switch
title: invented light switch of a town bus
source: "assumed: invented for this test"
kind: switch
positions:
  "off": []
  park: [30-58]
  head: [30-58, 30-56]
contact: 8 A
"""
FUSE = """\
rating: depot-fuse-10a
title: invented blade fuse
source: "assumed: invented for this test"
kind: two-terminal
component: fuse
current: 10 A
"""
BULB = "title: a lamp\nkind: two-terminal\ncomponent: lamp\nohm: 2.3\n"


def written(folder: Path, text: str) -> Path:
    file = folder / "file.yaml"
    file.write_text(text)
    return file


def test_a_switch_is_its_table_of_pairs_by_position(tmp_path: Path) -> None:
    found = check_rating(written(tmp_path, SWITCH))
    assert isinstance(found, SwitchRating)
    assert str(PairTable(found.positions).at("park")) == "30-56 open, 30-58 closed"


@pytest.mark.parametrize(
    "text, changed, complaint",
    [
        (SWITCH, ("[30-58]", "[30-30]"), "names one terminal twice"),
        (SWITCH, ("[30-58]", "[park]"), "expected two joined by a hyphen"),
        (SWITCH, ("[30-58]", "[]"), ""),
        (SWITCH, ('  park: [30-58]\n  head: [30-58, 30-56]\n', "  on: []\n"), "no position closes a pair"),
        (SWITCH, ("kind: switch", "kind: swich"), "did you mean 'switch'?"),
        (SWITCH, ("contact: 8 A", "contact: 8"), "has no unit"),
        (FUSE, ("current: 10 A\n", ""), "'current' is missing"),
        (FUSE, ("current: 10 A", "current: 10 A\ndrop: {most: 1 V, at: 1 A}"), "'drop' is no figure of a fuse"),
        (FUSE, ("component: fuse", "component: fuze"), "expected 'fuse', 'lamp', 'diode' or 'resistor'"),
    ],
)  # fmt: skip
def test_a_mistake_in_such_a_rating_is_told_at_its_place(
    text: str, changed: tuple[str, str], complaint: str, tmp_path: Path
) -> None:
    found = check_rating(written(tmp_path, text.replace(*changed)))
    told = [str(one) for one in found] if isinstance(found, list) else []
    assert any(complaint in one and "file.yaml:" in one for one in told) if complaint else not told, told


def test_no_test_of_a_relay_is_made_of_a_switch(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(DoesNotFit, match="is for switch of 3 positions"):
        load_relay(written(tmp_path, SWITCH))
    assert main(["test", "--board", "virtual", "--rating", str(tmp_path / "file.yaml"), "--store", ":memory:"]) == 2
    assert "is for a switch. Test it: pulldrop switch --rating" in " ".join(capsys.readouterr().err.split())


def test_a_lamp_is_shown_and_not_tested_as_a_relay(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = str(written(tmp_path, BULB))
    assert not main(["specimen", "show", file]) and "component: lamp" in capsys.readouterr().out
    with pytest.raises(UnknownSpecimen, match="Test it: pulldrop pair"):
        specimens.find(file)
    assert main(["test", "--board", "virtual", "--specimen", file, "--store", ":memory:"])
    assert "is a two-terminal part. Test it: pulldrop pair --specimen" in " ".join(capsys.readouterr().err.split())


@pytest.mark.parametrize(
    "changed", [("kind: two-terminal", "kind: lamp"), ("ohm: 2.3", "ohm: -1"), ("lamp\n", "bulb\n")]
)
def test_a_mistake_in_such_a_specimen_is_told(changed: tuple[str, str], tmp_path: Path) -> None:
    with pytest.raises(BadText, match=r"file\.yaml:\d"):
        specimens.any_kind(str(written(tmp_path, BULB.replace(*changed))))


def test_a_rating_of_another_kind_is_well_formed_on_the_screen(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert not main(["protocol", "check", str(written(tmp_path, SWITCH))])
    assert "switch of 3 positions" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            SWITCH,
            ("light switch of a town bus", "park: 30-58; head: 30-58 and 30-56", "rated current of its contacts 8 A"),
        ),
        (
            FUSE,
            ("a rating: invented blade fuse (fuse)", "what it takes at nominal 10 A", "pulldrop pair --rating"),
        ),
        ("", ("Form B, 12 V", "coil resistance at 20 degC 60 ohm .. 120 ohm", "12 V coils take 100 to 180 mA")),
    ],
)
def test_a_rating_of_any_kind_is_shown_in_plain_words(
    text: str,
    words: tuple[str, ...],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "160")
    name = str(written(tmp_path, text)) if text else "class-mini-12v-form-b"
    assert not main(["protocol", "show", name])
    shown = " ".join(capsys.readouterr().out.split())
    assert all(one in shown for one in words), shown
