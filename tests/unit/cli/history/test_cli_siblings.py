"""What one bench learned of a type is a file, and another bench names a fault by it; it holds no ids of parts."""

import json
from pathlib import Path

import pytest

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.main import main
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.relay import Relay
from pulldrop.protocol.load import plan
from pulldrop.protocol.ratings.reference import load_reference, written
from pulldrop.store import Store

CLASS = "class-mini-12v-form-c"
WEAK = ("test", "--board", "virtual", "--specimen", "weak-spring", "--seed", "4", "--protocol", "relay-diagnose")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[str]]:
    """A store in which three sound parts of one type were tested, and their ids."""
    place = tmp_path_factory.mktemp("bench") / "store.db"
    at, ids = plan("relay-diagnose", CLASS), []
    with Store.open(str(place)) as store:
        for seed in (5, 6, 7):
            with VirtualBoard(find("good-12v-changeover").specimen, seed) as board:
                made = run_one(Task(plan=at, part=Relay(id="", form="C")), board, store, lambda _: None)
                ids.append(made.part.id)
    return place, ids


def learn(bench: tuple[Path, list[str]], file: Path, rating: str = CLASS) -> int:
    place, ids = bench
    named = [word for id in ids for word in ("--beside", id)] if rating == CLASS else []
    return main(["store", "learned", str(file), "--rating", rating, "--simulated", "--store", str(place), *named])


def test_another_bench_names_by_the_file_what_it_cannot_name_alone(
    bench: tuple[Path, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "type.yaml"
    assert learn(bench, file) == 0
    there = ["--store", str(tmp_path / "there.db"), "--json", "--rating", CLASS]
    found = []
    for words in ((), ("--siblings", str(file))):
        capsys.readouterr()
        main([*WEAK, *there, *words])
        found.append([one["id"] for one in json.loads(capsys.readouterr().out)["faults"]][:1])
    assert found == [[], ["weak_spring"]]


def test_a_part_is_tested_beside_those_that_a_person_names_and_beside_no_others(
    bench: tuple[Path, list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    place, ids = bench
    found = []
    for named in ((), ids):
        capsys.readouterr()
        beside = [word for id in named for word in ("--beside", id)]
        main([*WEAK, "--store", str(place), "--json", "--rating", CLASS, *beside])
        found.append([one["id"] for one in json.loads(capsys.readouterr().out)["faults"]][:1])
    assert found == [[], ["weak_spring"]]


def test_the_file_says_how_many_parts_were_tested_how_where_and_when_and_not_which(
    bench: tuple[Path, list[str]], tmp_path: Path
) -> None:
    file = tmp_path / "type.yaml"
    learn(bench, file)
    made, text = load_reference(file), file.read_text()
    assert (made.parts, made.protocol, made.nominal_v, made.form) == (3, "relay-diagnose", 12.0, "C")
    assert (made.simulated, made.clamp, made.siblings) == (True, "bench", CLASS)
    assert made.bench.count("virtual") == 3
    assert made.figures["pull_in_current"].parts == 3
    assert not any(id in text for id in bench[1])
    again = tmp_path / "again.yaml"
    again.write_text(written(made))
    assert load_reference(again) == made


def test_a_file_of_another_test_is_refused_before_the_run(
    bench: tuple[Path, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "type.yaml"
    learn(bench, file)
    file.write_text(written(load_reference(file).model_copy(update={"nominal_v": 24.0})))
    capsys.readouterr()
    assert main([*WEAK, "--rating", CLASS, "--siblings", str(file), "--store", str(tmp_path / "s.db")]) == 2
    assert "nominal voltage of the siblings is 24 V; 12 V was expected" in capsys.readouterr().err


def test_what_is_wrong_with_a_file_is_said_with_its_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "type.yaml"
    file.write_text("siblings: some-type\nparts: 2\n")
    assert main([*WEAK, "--rating", CLASS, "--siblings", str(file), "--store", str(tmp_path / "s.db")]) == 2
    assert "type.yaml:2:" in capsys.readouterr().err


def test_of_a_class_the_parts_must_be_named(
    bench: tuple[Path, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["store", "learned", str(tmp_path / "type.yaml"), "--rating", CLASS, "--store", str(bench[0])]
    assert main(words) == 2
    assert "is a class whoever made its parts" in capsys.readouterr().err
