"""What every screen that moves has in common: on a terminal it begins and ends, elsewhere lines are printed instead."""

from typing import Generic, Protocol, Self, TypeVar


class Moving(Protocol):
    """What `rich` redraws by itself."""

    def start(self) -> None:
        """Begin to redraw."""

    def stop(self) -> None:
        """Leave the terminal as it was."""


M = TypeVar("M", bound=Moving)


class Lively(Generic[M]):
    """Use as a context manager. `_moving` is None where nothing may be redrawn."""

    _moving: M | None

    def __enter__(self) -> Self:
        if self._moving:
            self._moving.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._moving:
            self._moving.stop()
