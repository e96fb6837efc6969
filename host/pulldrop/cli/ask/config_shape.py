"""What the file of a person's settings may hold."""

from pydantic import Field

from pulldrop.model.raw import Frozen, OneLine


class Config(Frozen):
    """Each stands where the option of its name is left out; None where the file sets nothing."""

    board: OneLine | None = Field(default=None, description="as --board", examples=["/dev/ttyUSB0", "COM3", "virtual"])
    store: OneLine | None = Field(default=None, description="as --store", examples=["~/depot.db"])
    operator: OneLine | None = Field(default=None, description="as --operator", examples=["Kim"])
