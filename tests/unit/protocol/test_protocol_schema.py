"""The JSON Schemas for editors: they accept what ships and refuse a planted mistake."""

from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from pulldrop.protocol.schema import crate_schema, protocol_schema, rating_schema
from pulldrop.protocol.shipped import library
from pulldrop.text.document import read

FILES = [
    *map(library.find, library.names()),
    *map(library.find_rating, library.rating_names("relay")),
    *map(library.find_crate, library.crate_names()),
]
SCHEMAS = {"ratings": rating_schema, "crates": crate_schema}


def problems(path: Path, **changed: Any) -> list[str]:
    """What the schema says about a shipped file, as it is or with changed keys."""
    schema = next((SCHEMAS[one] for one in path.parts if one in SCHEMAS), protocol_schema)()
    value = read(path).value
    assert isinstance(value, dict)
    return [error.message for error in Draft202012Validator(schema).iter_errors({**value, **changed})]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_shipped_file_is_accepted(path: Path) -> None:
    assert problems(path) == []


@pytest.mark.parametrize(
    "schema", [protocol_schema(), rating_schema(), crate_schema()], ids=["protocol", "rating", "crate"]
)
def test_a_schema_is_sound_and_describes_every_key(schema: dict[str, Any]) -> None:
    Draft202012Validator.check_schema(schema)
    kinds = [schema["$defs"][one["$ref"].rpartition("/")[2]] for one in schema.get("oneOf", ())] or [schema]
    assert all("description" in field for kind in kinds for field in kind["properties"].values())


@pytest.mark.parametrize(
    "changed",
    [
        {"kind": "fuse"},
        {"form": "C"},
        {"verson": 1},
        {"version": "1"},
        {"version": 0},
        {"source": "somebody said so"},
        {"steps": []},
        {"steps": [{"measure": "clicks"}]},
        {"steps": [{"measure": "contact", "coil": "13.5 V"}]},
        {"steps": [{"measure": "contact", "coil": "13.5 V", "load": "10 A", "makes": 3}]},
        {"steps": [{"measure": "coil", "prob": "1 V"}]},
        {"steps": [{"measure": "timing", "coil": 12}]},
        {"steps": [{"measure": "timing", "coil": "12"}]},
        {"steps": [{"measure": "timing", "coil": "12 A"}]},
        {"steps": [{"measure": "timing", "coil": "-12 V"}]},
        {"steps": [{"measure": "timing", "coil": "nan V"}]},
        {"steps": [{"measure": "timing", "coil": "in servise"}]},
        {"steps": [{"measure": "timing", "coil": {"12 V": "13.5 A"}}]},
        {"steps": [{"measure": "timing", "coil": {"bus": "13.5 V"}}]},
        {"limits": {"contact_rest": "NO open"}},
        {"limits": {"operat_time": "<= 10 ms"}},
        {"limits": {"operate_time": 10}},
        {"limits": {"operate_time": "at most 10 ms"}},
        {"limits": {"operate_time": {"limt": "<= 10 ms"}}},
    ],
    ids=str,
)
def test_a_planted_mistake_in_a_protocol_is_refused(changed: dict[str, Any]) -> None:
    assert problems(library.find("relay-quick"), **changed)


@pytest.mark.parametrize(
    "changed",
    [
        {"coil_resistance": 90},
        {"coil_resistance": "90 V"},
        {"coil_resistance": "60 .. 120 ohm"},
        {"nominal": 12},
        {"nominal": "12"},
        {"nominal": "12 A"},
        {"nominal": "-12 V"},
        {"nominal": "nan V"},
        {"form": "D"},
        {"kind": "fuse"},
        {"pull_in": "8 V"},
        {"drop_no": "300 mV"},
        {"drop_no": {"most": "300 mV"}},
        {"coil_tolerance": "10"},
        {"figures": {"coil_resistance": "heard of"}},
    ],
    ids=str,
)
def test_a_planted_mistake_in_a_rating_is_refused(changed: dict[str, Any]) -> None:
    assert problems(library.find_rating("class-mini-12v-form-c"), **changed)


def test_an_editor_is_offered_no_default_without_its_unit() -> None:
    fields = protocol_schema()["$defs"]["ThresholdsStep"]["properties"]
    assert all("default" not in fields[key] for key in ("coarse", "fine", "dwell", "coarse_dwell"))
    assert protocol_schema()["$defs"]["TimingStep"]["properties"]["makes"]["default"] == 10
