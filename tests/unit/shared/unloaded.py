"""A virtual board on a bench whose load supply was never connected."""

from typing import Any

from pulldrop.board.request_types import Analog
from pulldrop.board.virtual.board import VirtualBoard


class Unloaded(VirtualBoard):
    """Opened without its load supply, and says so."""

    def __init__(self, *given: Any) -> None:
        super().__init__(*given)
        self.identity = self.identity.model_copy(update={"load_supply": False})

    def sense_analog(self, channel: Analog) -> int:
        return 0 if channel is Analog.LOAD_SUPPLY else super().sense_analog(channel)
