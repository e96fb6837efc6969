"""Parts of every kind are kept, found, shown, carried to another store and back."""

import json
from pathlib import Path

import pytest
from records import record

from pulldrop.cli.main import main
from pulldrop.jobs.parts.page_source import StoreSource
from pulldrop.model.part.kinds import PARTS, TESTED
from pulldrop.model.part.kinds.switch import Switch
from pulldrop.model.part.kinds.two_terminal import TwoTerminal
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.part import Part
from pulldrop.model.part.rating import IN_SI
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.store import PartRefused, Store

OF_KIND = (
    Relay(id="23Y", form="twin", label="horn"),
    Switch(id="24X", positions={"off": (), "park": (Pair("30", "58"),)}, donor="town bus 12"),
    TwoTerminal(id="25W", component="fuse"),
)
FUSE = """\
rating: depot-fuse-10a
title: invented blade fuse
source: "assumed: invented for this test"
kind: two-terminal
component: fuse
current: 10 A
"""


def test_every_kind_is_here() -> None:
    assert {one.kind for one in OF_KIND} == set(PARTS)


@pytest.mark.parametrize("part", OF_KIND, ids=lambda one: one.kind)
def test_a_part_of_any_kind_is_read_back_as_it_was_kept(part: Part, tmp_path: Path) -> None:
    place = str(tmp_path / "kept.db")
    with Store.open(place) as store:
        kept = store.new_part(part, simulated=True)
    with Store.open(place) as store:
        (line,) = store.parts()
        assert line.part == kept == part.model_copy(update={"births": kept.births}) and type(kept) is type(part)
        assert store.search(part.label or part.donor or part.id) == (line,)
        assert not store.verify().findings


@pytest.mark.parametrize("part", OF_KIND, ids=lambda one: one.kind)
def test_a_part_of_any_kind_goes_to_another_store_and_into_json(part: Part, tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "cabin.db")) as cabin:
        there = cabin.new_part(part, simulated=True)
    assert main(["store", "import", str(tmp_path / "cabin.db"), "--store", str(tmp_path / "kept.db")]) == 0
    with Store.open(str(tmp_path / "kept.db")) as store:
        assert store.part(part.id).part == there
    read = RunRecord.model_validate_json(record().model_copy(update={"part": there}).model_dump_json(), context=IN_SI)
    assert read.part == there


def test_no_run_of_a_relay_is_kept_under_the_id_of_a_fuse(tmp_path: Path) -> None:
    with Store.open(str(tmp_path / "kept.db")) as store:
        store.new_part(OF_KIND[2], simulated=True)
        with pytest.raises(PartRefused, match="25W is a two-terminal part, not a relay"):
            store.new_part(Relay(id="25W", form="C"), simulated=True)


def test_a_fuse_is_kept_by_its_rating_and_its_page_says_what_tests_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "fuse.yaml").write_text(FUSE)
    kept = ["--store", str(tmp_path / "kept.db")]
    assert main(["parts", "new", "--rating", str(tmp_path / "fuse.yaml"), "--id", "25W", "--json", *kept]) == 0
    assert json.loads(capsys.readouterr().out)["part"] | {"births": []} == {
        "id": "25W", "kind": "two-terminal", "component": "fuse", "label": "", "donor": "", "notes": "", "births": [],
    }  # fmt: skip
    assert main(["parts", "show", "25W", *kept]) == 0 and "fuse" in capsys.readouterr().out
    with Store.open(kept[1]) as store:
        health = StoreSource(store).health("25W")
    assert health.kind == "fuse"
    assert health.says == ("Never tested. Test it: pulldrop pair --part 25W",)


@pytest.mark.parametrize("part", OF_KIND, ids=lambda one: one.kind)
@pytest.mark.parametrize("asked", [("health", "{id}"), ("report", "part", "{id}", "--out", "part.json"),
                                   ("parts", "find", "--like", "{id}"), ("parts", "show", "{id}")])  # fmt: skip
def test_a_part_without_a_run_is_sent_to_its_test(
    asked: tuple[str, ...], part: Part, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    with Store.open("kept.db") as store:
        store.new_part(part, simulated=False)
    main([one.format(id=part.id) for one in asked] + ["--store", "kept.db"])
    said = " ".join(" ".join(capsys.readouterr()).split())
    assert part.kind in TESTED
    assert f"Test it: pulldrop {part.command} --part {part.id}" in said, said


@pytest.mark.parametrize("part", OF_KIND[1:], ids=lambda one: one.kind)
def test_a_part_of_which_nothing_is_noted_is_told_by_its_sort(
    part: Part, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "160")
    with Store.open(place := str(tmp_path / "kept.db")) as store:
        store.new_part(part.model_copy(update={"donor": ""}), simulated=False)
    assert main(["parts", "list", "--store", place]) == 0
    assert str(part) in capsys.readouterr().out
    assert main(["parts", "show", part.id, "--store", place]) == 0
    assert capsys.readouterr().out.startswith(f"Part {part.id}: {part}\n")


def test_parts_of_each_kind_have_a_plural() -> None:
    assert [one.plural for one in PARTS.values()] == ["relays", "switches", "two-terminal parts"]


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ([], "Name --form"),
        (["--form", "A", "--rating", "class-mini-12v-form-a"], "but not both"),
        (["--form", "c"], "did you mean 'C'?"),
        (["--form", "twim"], "did you mean 'twin'?"),
    ],
)
def test_what_sort_of_part_it_is_must_be_said_once(
    said: list[str], answer: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["parts", "new", *said, "--store", str(tmp_path / "kept.db")]) == 2
    assert answer in " ".join(capsys.readouterr().err.split())
