"""What a person at a vehicle is asked at the terminal: to do things, how a bulb looks, to choose, to confirm."""

import sys

from rich.console import Console

from pulldrop.cli.input_error import InputError
from pulldrop.model.vehicle.lead import COLOURS, Glow, LeadPlace

GLOWS: dict[str, Glow] = {"b": "bright", "d": "dim", "n": "dark"}
SPOTS = {"plus": "the battery's plus post", "minus": "the battery's minus post"}


class AtVehicle:
    """Tells and waits. Raises InputError where nobody answers."""

    def __init__(self, out: Console) -> None:
        self._out = out

    def __call__(self, place: LeadPlace) -> Glow | None:
        """One thing to do."""
        tell(self._out, place)
        if place.bulb is None:
            self._typed("  Enter when it is done: ")
            return None
        while (typed := self._typed("  How is the bulb? b bright, d dim, n not at all: ").strip().lower()) not in GLOWS:
            self._out.print("  Type b, d or n.", style="bold")
        return GLOWS[typed]

    def choose(self, text: str, choices: tuple[str, ...]) -> str:
        """One of the choices, by its number."""
        self._out.print(text, style="bold")
        for number, choice in enumerate(choices, 1):
            self._out.print(f"  {number} {choice}")
        while True:
            typed = self._typed("  Number: ").strip()
            if typed.isdigit() and 1 <= int(typed) <= len(choices):
                return choices[int(typed) - 1]
            self._out.print(f"  Type a number from 1 to {len(choices)}.", style="bold")

    def confirm(self, text: str) -> bool:
        """Whether the person types yes."""
        self._out.print(text)
        return self._typed("  Type yes to go on: ").strip().lower() in ("yes", "y")

    def _typed(self, prompt: str) -> str:
        self._out.print(prompt, end="")
        line = sys.stdin.readline()
        if not line:
            raise InputError("the input ended before everything was answered. Begin again at a terminal.")
        return line


def tell(out: Console, place: LeadPlace) -> None:
    """What is to be done, and every clip with its colour."""
    out.print(place.says, style="bold")
    for clip, spot in place.clips.items():
        out.print(f"  {clip} ({COLOURS[clip]}) on {SPOTS.get(spot, f'cavity {spot}')}")
    if place.bulb:
        near, far = (SPOTS.get(spot, f"cavity {spot}") for spot in place.bulb)
        out.print(f"  the bulb's red clip on {near}, its black one on {far}")
