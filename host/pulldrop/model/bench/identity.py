"""Which board measured: what it says of itself in its greeting."""

from typing import TYPE_CHECKING, Literal

from pydantic import computed_field

from pulldrop.model.bench.abilities import OF_BUILD, Abilities, Build
from pulldrop.model.origin import Arrived, Origin, WithOrigin, is_simulated, origin_of
from pulldrop.model.raw import OneLine


class Identity(WithOrigin):
    """`kind` says what stands below the contract; `simulated` is true for all but a real board.

    `build` bare: the Nano and a few resistors only, without coil supply and load; evening: one supply, two modules.
    `old_loader`: the board may hang for good after a watchdog reset, because nothing before its firmware clears the
    causes of a reset. `round_trip_ms`: question and answer over its line when it was opened; 0 without a line.
    `dac_address`: of the coil supply's converter, such as "0x60"; empty when none answered, or without a bus.
    `schema_hash` is the hash of the message schema, `reset_cause` the board's own word for its last reset.
    """

    kind: Literal["real", "emulated", "virtual"]
    serial: int
    firmware: OneLine
    schema_hash: int
    reset_cause: OneLine
    port: OneLine = ""
    load_supply: bool = True
    build: Build = "full"
    old_loader: bool = False
    round_trip_ms: float = 0.0
    dac_address: OneLine = ""

    @computed_field  # type: ignore[prop-decorator]
    @property
    def simulated(self) -> bool:
        """Whether it measures no real part."""
        return is_simulated(self.kind)

    @property
    def able(self) -> Abilities:
        """What its build can do."""
        return OF_BUILD[self.build]


class OfBoard(WithOrigin):
    """What a board measured: its `board` and how it `arrived` say what it may be called."""

    if TYPE_CHECKING:
        board: Identity
        arrived: Arrived | None

    @computed_field  # type: ignore[prop-decorator]
    @property
    def simulated(self) -> bool:
        """Whether nothing real was measured."""
        return self.board.simulated

    @computed_field  # type: ignore[prop-decorator]
    @property
    def origin(self) -> Origin:
        """Measured here, simulated, or from outside."""
        return origin_of(self.simulated, self.arrived)
