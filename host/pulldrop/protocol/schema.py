"""JSON Schemas of the files that people write, for editors that complete and check them."""

from typing import Any

from pydantic import BaseModel, TypeAdapter

from pulldrop.model.part.kinds import AnyRating
from pulldrop.protocol.crate import CrateProtocol
from pulldrop.protocol.shape import Protocol
from pulldrop.protocol.system import IN_SERVICE, LEFT_OUT, NOMINAL

UNIT_V = "(V) *$"
"""How the pattern of volts ends."""
DRAFT = "https://json-schema.org/draft/2020-12/schema"


def protocol_schema() -> dict[str, Any]:
    """Of a protocol file."""
    schema = _schema(Protocol, "pulldrop protocol")
    for name, step in schema["$defs"].items():
        if name.endswith("Step"):
            settings = step["properties"]
            step["properties"] = {
                key: settings[key] if key == "measure" else _by_system(settings[key]) for key in settings
            }
            step["properties"][LEFT_OUT] = {
                "type": "string",
                "description": "why it is not for a system that lacks a setting",
            }
    return schema


def crate_schema() -> dict[str, Any]:
    """Of a crate's protocol."""
    schema = _schema(CrateProtocol, "pulldrop crate")
    rule, within = schema["$defs"]["RuleLine"]["properties"], schema["$defs"]["When"]["properties"]["within"]
    rule["why"], within["additionalProperties"] = _by_system(rule["why"]), _by_system(within["additionalProperties"])
    return schema


def rating_schema() -> dict[str, Any]:
    """Of a rating file."""
    return {"$schema": DRAFT, **_as_written(TypeAdapter(AnyRating).json_schema()), "title": "pulldrop rating"}


def _schema(shape: type[BaseModel], title: str) -> dict[str, Any]:
    schema: dict[str, Any] = _as_written(shape.model_json_schema(mode="validation"))
    return {"$schema": DRAFT, **schema, "title": title}


def _as_written(node: Any) -> Any:
    """Without the defaults of quantities: they are numbers in SI, and an editor would offer them without a unit."""
    if isinstance(node, list):
        return [_as_written(each) for each in node]
    if not isinstance(node, dict):
        return node
    bare = node.get("type") == "string" and isinstance(node.get("default"), float)
    return {key: _as_written(each) for key, each in node.items() if not (bare and key == "default")}


def _by_system(written: dict[str, Any]) -> dict[str, Any]:
    """The same, or a mapping of it by system; volts also in words."""
    about = {key: written.pop(key) for key in ("title", "description", "default") if key in written}
    keys = {"pattern": "^[0-9.]+ V$"}
    systems = {"type": "object", "minProperties": 1, "propertyNames": keys, "additionalProperties": written}
    words = [{"enum": [IN_SERVICE, NOMINAL]}] if UNIT_V in str(written) else []
    return about | {"anyOf": [written, *words, systems]}
