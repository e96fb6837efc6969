"""`pulldrop specimen`: what is in stock can be listed, shown, and taken as the beginning of a part of one's own."""

import json
from pathlib import Path

import jsonschema
import pytest

from pulldrop.cli.main import main
from pulldrop.plant import stock


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["specimen", *arguments]) == 0
    return capsys.readouterr().out


def schema(capsys: pytest.CaptureFixture[str], subject: str) -> jsonschema.Draft202012Validator:
    assert main(["schema", subject]) == 0
    return jsonschema.Draft202012Validator(json.loads(capsys.readouterr().out))


def test_every_part_in_stock_is_listed_with_its_title(capsys: pytest.CaptureFixture[str]) -> None:
    lines = said(capsys, "list").splitlines()[1:]
    listed = {line.split()[0]: line for line in lines if not line.startswith(" ")}
    assert set(listed) == set(stock.names())
    assert listed["burnt-no"].split(maxsplit=1)[1].strip() == "12 V changeover relay with a burnt contact 87"


def test_the_list_in_json_keeps_its_schema(capsys: pytest.CaptureFixture[str]) -> None:
    lines = json.loads(said(capsys, "list", "--json"))
    schema(capsys, "specimens").validate(lines)
    assert [line["specimen"] for line in lines] == list(stock.names())
    found = {line["specimen"]: (line["form"], line["nominal_v"]) for line in lines}
    assert found["good-24v-normally-open"] == ("A", 24.0)


def test_what_is_shown_is_a_file_to_begin_from(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    text = said(capsys, "show", "burnt-no")
    assert text == stock.text("burnt-no")
    mine = tmp_path / "mine.yaml"
    mine.write_text(text.replace("with a burnt contact 87", "of our own"))
    assert "of our own" in said(capsys, "show", str(mine))
    assert main(["test", "--board", "virtual", "--store", ":memory:", "--specimen", str(mine)]) == 1


def test_the_whole_part_in_json_says_what_its_class_gives_it(capsys: pytest.CaptureFixture[str]) -> None:
    whole = json.loads(said(capsys, "show", "burnt-no", "--json"))
    schema(capsys, "specimen").validate(whole)
    assert whole["contact_no"]["crust_mohm"] == 35
    assert whole["coil"]["turns"] == 1943, "of its class"


@pytest.mark.parametrize(
    ("name", "hint"), [("burnt-on", "did you mean 'burnt-no'?"), ("zzz", "'pulldrop specimen list' shows")]
)
def test_a_wrong_name_says_the_near_one_or_where_the_list_is(
    capsys: pytest.CaptureFixture[str], name: str, hint: str
) -> None:
    assert main(["specimen", "show", name]) == 2
    assert hint in " ".join(capsys.readouterr().err.split())


@pytest.mark.parametrize("base", ["{a: 1}", "[x]", "7", "null", "none-such"])
def test_a_base_that_is_none_is_refused_in_a_sentence(
    base: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "odd.yaml"
    file.write_text(f"specimen: odd\nbase: {base}\n")
    assert main(["specimen", "show", str(file)]) == 2
    assert "odd.yaml" in capsys.readouterr().err
