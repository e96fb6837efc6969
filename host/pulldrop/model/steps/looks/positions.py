"""Settings of a switch's step: its table, learnt at a few mA while a person turns it."""

from typing import ClassVar, Literal

from pulldrop.model.step import Step


class PositionsStep(Step):
    """A switch on the lines of the scan; nobody asks in which order its positions come."""

    title: ClassVar[str] = "positions, turned by hand"
    gives: ClassVar[tuple[str, ...]] = ("switch_table", "joint_most")
    fed: ClassVar[bool] = False
    pairs: ClassVar[bool] = True
    kinds: ClassVar[tuple[str, ...]] = ("switch",)

    measure: Literal["positions"]
