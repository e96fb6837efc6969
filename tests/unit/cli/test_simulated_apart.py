"""Simulated runs have a store of their own, looking makes none, and the truth of virtual parts can be seen."""

import re
from pathlib import Path

import pytest

from pulldrop.cli.main import main
from pulldrop.jobs.run.specimens import in_stock
from pulldrop.jobs.run.truth import revealed, score, unlike_its_class
from pulldrop.model.crate.crate import Bin
from pulldrop.store import Store

VIRTUAL = ("test", "--board", "virtual")


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return tmp_path / "pulldrop"


def test_a_virtual_part_never_comes_into_the_usual_store(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*VIRTUAL, "--part", "K7", "--json"]) == 0
    assert [file.name for file in data.glob("*.db")] == ["simulated.db"]
    assert main(["parts", "show", "K7", "--store", "simulated", "--json"]) == 0
    capsys.readouterr()
    assert main(["parts", "list"]) == 2
    assert "--store simulated" in " ".join(capsys.readouterr().err.split())
    assert not (data / "store.db").exists()


def test_a_store_that_is_named_takes_virtual_parts_too(data: Path, tmp_path: Path) -> None:
    mine = tmp_path / "mine.db"
    assert main([*VIRTUAL, "--part", "K7", "--store", str(mine), "--json"]) == 0
    with Store.look(str(mine)) as store:
        assert store.part("K7").simulated
    assert not data.exists() or not list(data.glob("*.db"))


def test_the_store_of_the_settings_is_that_of_real_boards_and_both_answers_say_so(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    (tmp_path / "pulldrop").mkdir(exist_ok=True)
    (tmp_path / "pulldrop" / "config.yaml").write_text(f"board: virtual\nstore: {tmp_path / 'mine.db'}\n")
    assert main(["test", "--part", "K7", "--json"]) == 0
    assert not (tmp_path / "mine.db").exists() and (data / "simulated.db").exists()
    capsys.readouterr()
    main(["config", "show"])
    shown = " ".join(capsys.readouterr().out.split())
    assert "simulated: the board" in shown and "never into the one that is set here" in shown
    main(["doctor"])
    looked = " ".join(capsys.readouterr().out.split())
    assert "simulated.db" in looked and "never into the store of the settings" in looked and "mine.db" not in looked


@pytest.mark.parametrize(
    "command",
    [
        ("parts", "list"),
        ("parts", "find", "north shed 12"),
        ("parts", "edit", "K7", "--notes", "chipped"),
        ("parts", "event", "K7", "moved"),
        ("health", "north shed 12"),
        ("fleet",),
        ("calibrate", "golden", "K7"),
        ("calibrate", "study", "--part", "K7", "--part", "K8"),
        ("identify", "--board", "virtual"),
    ],
)
def test_looking_something_up_makes_no_store(data: Path, command: tuple[str, ...]) -> None:
    main([*command])
    assert not data.exists() or not list(data.iterdir())


def test_what_is_not_found_may_be_in_the_store_of_simulated_boards_and_that_is_said(
    capsys: pytest.CaptureFixture[str],
) -> None:
    for before in (True, False):
        for command in ("parts show K7M", "health K7M", "report labels shed --out l.pdf", "parts find K7"):
            main(command.split())
            assert ("--store simulated" not in "".join(capsys.readouterr())) is before, command
        main([*VIRTUAL])
        Store.open(None).close()
        capsys.readouterr()


def test_after_a_virtual_part_its_truth_is_shown_if_it_is_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    main([*VIRTUAL, "--specimen", "opens-hot", "--reveal"])
    told = " ".join(capsys.readouterr().out.split())
    (command,) = re.findall(r"or pulldrop (parts show \w+ --store simulated)", told)
    assert main(command.split()) == 0, "the line leads to the part"
    assert "In truth: " in told and "faults.coil_opens_above_c 27" in told
    assert main(["test", "--reveal"]) == 2


def test_every_sound_part_in_stock_is_one_of_its_class_and_every_other_is_not() -> None:
    for name, specimen in in_stock():
        sound = name.startswith("good") or name in ("normally-closed", "twin-87", "lost-diode")
        assert bool(unlike_its_class(specimen)) is not sound, name
        assert specimen.title in revealed(specimen)


def test_a_virtual_crate_ends_with_a_score(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    for name in ("good-12v-changeover", "opens-hot", "open-coil"):
        specimen = next(one for other, one in in_stock() if other == name)
        (tmp_path / f"{name}.yaml").write_text(specimen.model_dump_json(), encoding="utf-8")
    assert main(["sort", "shed", "--board", "virtual", "--specimens", str(tmp_path), "--plain"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "keep 2: 1 sound, 1 not" in told and "scrap 1: 0 sound, 1 not" in told
    assert "kept, and not sound number 3" in told and "crate.html --store simulated" in told


@pytest.mark.parametrize("rating", ["fuse-regular-10a", "lamp-bus-12v-21w"])
def test_a_virtual_box_of_fuses_or_lamps_has_such_parts_and_needs_no_more_than_their_rating(
    rating: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sort", "box", "--board", "virtual", "--rating", rating, "--plain"]) == 0
    told = capsys.readouterr().out
    assert "Take care with the number" not in told, "of no fuse is more known"
    assert "relay" not in told and "kept, and not sound" not in told and "sound, and scrapped" not in told
    assert re.search(r"keep +[34]: [34] sound, 0 not", told)


def test_a_score_names_what_went_amiss_either_way() -> None:
    stock = dict(in_stock())
    good, welded = stock["good-12v-changeover"], stock["welded-no"]
    found = score([(good, 1, Bin.SCRAP), (welded, 2, Bin.KEEP), (good, 3, Bin.KEEP)])
    assert found.lost == ((1, good.title),) and found.kept_bad == ((2, welded.title),)
    assert found.bins[0] == (Bin.KEEP, 1, 1)
