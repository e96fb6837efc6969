"""`pulldrop pair`: a fuse and a lamp on the screen, kept, found, shown, on paper; refused where it must be."""

import json
from pathlib import Path

import pytest

from pulldrop.cli.main import main

LARGER = "title: 20 A in a housing that says 10\nkind: two-terminal\ncomponent: fuse\nrated_a: 20\n"


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> pytest.CaptureFixture[str]:
    monkeypatch.setenv("COLUMNS", "120")
    return capsys


def test_a_fuse_is_kept_found_shown_labelled_and_tested_again(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    store, file, paper = ["--store", str(tmp_path / "kept.db")], tmp_path / "larger.yaml", tmp_path / "run.pdf"
    file.write_text(LARGER, encoding="utf-8")
    fuse = ["pair", "--board", "virtual", "--part", "25T", *store]
    assert main([*fuse, "--rating", "fuse-regular-10a", "--label", "saloon lights"]) == 0
    assert "SIMULATED" in (shown := said.readouterr().out) and "PASS" in shown
    assert main([*fuse, "--specimen", str(file), "--report", str(paper)]) == 1
    assert "it is a larger fuse than it says" in said.readouterr().out and paper.read_bytes().startswith(b"%PDF")
    assert main(["parts", "find", "saloon", *store]) == 0 and "25T" in said.readouterr().out
    assert main(["parts", "show", "25T", *store]) == 0
    assert "pulldrop pair --part 25T" in (shown := said.readouterr().out) or "larger fuse" in shown
    assert main(["health", "25T", *store]) == 0 and "cold resistance" in said.readouterr().out
    assert main(["store", "verify", *store]) == 0


def test_a_bare_board_says_without_load(said: pytest.CaptureFixture[str]) -> None:
    lamp = ["pair", "--board", "virtual-bare", "--rating", "lamp-bus-24v-21w", "--store", ":memory:", "--json"]
    assert main(lamp) == 3
    answer = json.loads(said.readouterr().out)
    assert answer["verdict"]["overall"] == "checked without load" and answer["simulated"]


@pytest.mark.parametrize(
    ("command", "sentence"),
    [
        (["pair"], "What is printed on it?"),
        (["pair", "--rating", "class-mini-12v-form-c"], "is for a relay. Test it: pulldrop test --rating"),
        (["test", "--rating", "fuse-regular-10a"], "is for a fuse. Test it: pulldrop pair --rating"),
        (
            ["pair", "--rating", "fuse-regular-10a", "--specimen", "good-12v-changeover"],
            "is a relay. Test it: pulldrop test --specimen FILE",
        ),
    ],
)
def test_what_is_no_fuse_or_lamp_is_refused(
    command: list[str], sentence: str, said: pytest.CaptureFixture[str]
) -> None:
    assert main([*command, "--board", "virtual", "--store", ":memory:"]) == 2
    assert sentence in " ".join(said.readouterr().err.split())


def test_a_box_of_fuses_sorts_like_one_of_relays(tmp_path: Path, said: pytest.CaptureFixture[str]) -> None:
    box = tmp_path / "box"
    box.mkdir()
    for name, text in (
        ("a-good", LARGER.replace("rated_a: 20", "rated_a: 10")),
        ("b-larger", LARGER + "faults: {misprinted: true}\n"),
        ("c-good", LARGER.replace("rated_a: 20", "rated_a: 10")),
    ):
        (box / f"{name}.yaml").write_text(text, encoding="utf-8")
    crate = ["sort", "box", "--rating", "fuse-regular-10a", "--plain", "--board", "virtual"]
    assert main([*crate, "--specimens", str(box), "--store", str(tmp_path / "kept.db")]) == 0
    shown = said.readouterr().out
    assert "keep 2" in shown and "scrap 1" in shown and "It is a larger fuse than it says" in shown
    assert "2 sound, 0 not" in shown and "0 sound, 1 not" in shown
