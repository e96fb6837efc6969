"""JSON Schemas of the files that people write, for editors that complete and check them."""

from typing import Any

from pydantic import BaseModel, TypeAdapter

from pulldrop.protocol.crate import CrateProtocol
from pulldrop.protocol.ratings import AnyRating
from pulldrop.protocol.shape import Protocol

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def protocol_schema() -> dict[str, Any]:
    """Of a protocol file."""
    return _schema(Protocol, "pulldrop protocol")


def crate_schema() -> dict[str, Any]:
    """Of a crate's protocol."""
    return _schema(CrateProtocol, "pulldrop crate")


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
