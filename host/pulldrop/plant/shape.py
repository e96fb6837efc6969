"""The base of every shape that a specimen file is made of; plain numbers, the unit in the name of the field."""

from pydantic import BaseModel, ConfigDict


class Shape(BaseModel):
    """Immutable, and no unknown, infinite or undefined value passes."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)
