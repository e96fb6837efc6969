"""What a person at a vehicle is asked at the terminal: to do things, how a bulb looks, to choose, to confirm."""

from rich.console import Console

from pulldrop.cli.ask import answered
from pulldrop.model.vehicle.lead import COLOURS, Glow, LeadPlace

GLOWS: dict[str, Glow] = {"b": "bright", "d": "dim", "n": "dark"}
SPOTS = {"plus": "the battery's plus post", "minus": "the battery's minus post"}


class AtVehicle:
    """Says what to do and waits, each time with the `job` that it is for. Raises Unanswered where nobody answers."""

    def __init__(self, out: Console, job: str) -> None:
        self._out, self._job = out, job

    def __call__(self, place: LeadPlace) -> Glow | None:
        """One thing to do."""
        tell(self._out, place, self._job)
        if place.bulb is None:
            answered.key(self._out, {" ": "it is done"})
            return None
        return GLOWS[answered.key(self._out, {"b": "bright", "d": "dim", "n": "not at all"})]

    def choose(self, text: str, choices: tuple[str, ...]) -> str:
        """One of the choices, by its number."""
        self._out.print(f"{self._job}: {text}", style="bold")
        for number, choice in enumerate(choices, 1):
            self._out.print(f"  {number} {choice}")
        while True:
            typed = answered.line(self._out, "  Number:").strip()
            if typed.isdigit() and 1 <= int(typed) <= len(choices):
                return choices[int(typed) - 1]
            self._out.print(f"  Type a number from 1 to {len(choices)}.", style="bold")

    def confirm(self, text: str) -> bool:
        """Whether the person says yes; who leaves it does not."""
        return answered.yes(self._out, f"{self._job}: {text}")


def tell(out: Console, place: LeadPlace, job: str) -> None:
    """What is to be done and for which job, and every clip with its colour."""
    out.print(f"{job}: {place.says}", style="bold")
    for clip, spot in place.clips.items():
        out.print(f"  {clip} ({COLOURS[clip]}) on {SPOTS.get(spot, f'cavity {spot}')}")
    if place.bulb:
        near, far = (SPOTS.get(spot, f"cavity {spot}") for spot in place.bulb)
        out.print(f"  the bulb's red clip on {near}, its black one on {far}")
