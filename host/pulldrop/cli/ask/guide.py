"""One screen after the other for a person who builds: what to do, and one key when it is done.

Rule: a simulated board is always ready, so nobody is asked there.
"""

from typing import Literal

from rich.console import Console

from pulldrop.board.errors import BoardError
from pulldrop.cli.ask import propose
from pulldrop.cli.input_error import InputError
from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn.evening import WIDTH, Screen

BACK, FLASH, BARE, EVENING, WIRING = "b", "f", "n", "e", "w"


class Guide:
    """`asks`: whether a person is asked at each step; `wired`: the board that was found needs no wiring any more."""

    on = propose.GO
    """Keys that go on."""

    def __init__(self, out: Console, board: str, asks: bool) -> None:
        self._out, self._board, self.asks, self.wired = out, board, asks, False

    def say(self, text: str) -> None:
        """A heading."""
        self._out.print(text, style="bold")

    def show(self, line: str, style: str = "") -> None:
        """A line as it is."""
        self._out.print(line, highlight=False, soft_wrap=line.startswith("  "), style=style)

    def screen(self, number: str, one: Screen) -> None:
        """One screen, below an empty line."""
        self.say(f"\n{number} {one.title}")
        for line in one.lines(min(self._out.width - 1, WIDTH)):
            self.show(line)

    def goes_on(self, text: str, flashes: bool = False) -> bool:
        """Whether a person goes on."""
        self.say(text)
        return self.turn(back=False, flashes=flashes) == 1

    def turn(self, back: bool, flashes: bool = False) -> Literal[1, 0, -1]:
        """On, leave, or back. `flashes`: or the firmware is written first."""
        if not self.asks:
            return 1
        words = [("b: back", BACK)] * back + [("f: write the firmware", FLASH)] * flashes
        prompt = "   ".join(["Space: done, go on", *(word for word, _ in words), "Esc: leave"])
        while (said := self.key(prompt, "".join(key for _, key in words))) == FLASH:
            self._flash()
        return 1 if said in propose.GO else -1 if said == BACK else 0

    def _flash(self) -> None:
        from pulldrop.cli.testing import board as boards

        try:
            boards.flash(board=self._board)
        except InputError as error:
            self.say(str(error))

    def which(self) -> Literal["bare", "evening"] | None:
        """Which build it is: by what answers, or by what a person says; None if they leave.

        Raises InputError for a full bench.
        """
        from pulldrop.jobs.run.boards import open_board

        try:
            with open_board(self._board, None, None) as found:
                if found.identity.simulated:
                    screen.simulated(self._out, found.identity.kind)
                build, name = found.identity.build, f"{found.identity.kind} board {found.identity.serial}"
        except BoardError:
            build, name = "bare", ""
        if build == "full":
            raise InputError(
                f"A full bench answers ({name}): run 'pulldrop board self-test', then 'pulldrop test'. Its guide is"
                " hardware/guide.md."
            )
        if build == "evening":
            self.say(f"An evening build answers ({name}).")
            said = self.key("Space: check it   w: its wiring and first power-up   Esc: leave", WIRING)
            self.wired = said in propose.GO
            return None if said in propose.LEAVE else "evening"
        self.say(
            f"A Nano answers ({name}), and no module." if name else "No board answers yet. That is right before step 2."
        )
        self._out.print("Which one do you build?")
        self._out.print("  n: the bare Nano: eleven resistors, half an hour; checks a relay at a few mA")
        self._out.print("  e: the evening build: two modules, 43 wires, a 12 V battery; pulls it in and loads it")
        said = self.key("n or e   Esc: leave", BARE + EVENING)
        return "bare" if said == BARE else "evening" if said == EVENING else None

    def key(self, prompt: str, more: str) -> str:
        """The key that was pressed: one of `more`, one that leaves, or one that goes on if the prompt has Space."""
        self._out.print(prompt)
        with propose.one_key() as key:
            while (said := key()) not in (*more, *propose.LEAVE, *(propose.GO if "Space" in prompt else ())):
                pass
        return said
