"""What is seen and heard while a switch is learnt: a redrawn screen with large words, or a plain line for each word.

Rule: every word also rings, once for the next position and twice for all else, so that nobody need look.
"""

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.cli.show.live.lively import Lively
from pulldrop.cli.show.testing.switch import grid
from pulldrop.model.bench.identity import Identity
from pulldrop.model.part.switch_table import Progress, Say

LARGE = {Say.NEXT: "NEXT", Say.LET_GO: "LET GO", Say.HURRY: "SLOWER", Say.SLOWLY: "SLOWLY", Say.DONE: "DONE"}
SAID = {
    Say.NEXT: "Next position: turn it, and rest there until the tone.",
    Say.LET_GO: "Take your hand off: does it spring back?",
    Say.HURRY: "Slower: rest on each position until the tone.",
    Say.SLOWLY: "Now once slowly through all positions and back, three seconds from one to the next.",
    Say.DONE: "Done.",
}
BLANK = (".......",) * 5


class SwitchScreen(Lively[Live]):
    """Shows progress. Use as a context manager. `wires`: each terminal, and the line that it goes to."""

    def __init__(self, out: Console, board: Identity, wires: tuple[tuple[str, str], ...]) -> None:
        self._out, self._board = out, board
        self._moving = Live(console=out, auto_refresh=False, screen=True) if screen.lively(out) else None
        self._said: Say | None = None
        if board.simulated:
            screen.simulated(out, board.kind)
        for terminal, line in wires:
            out.print(screen.beside(f"  {terminal}", f"to {line} of the bench", width=10))
        out.print(
            "Rest on the first position until the tone; then turn it, in any order. No key is needed; Esc leaves."
        )

    def __call__(self, progress: Progress) -> None:
        """Show it, and ring where there is a new word."""
        if progress.said is not None:
            self._said = progress.said
        if self._moving:
            self._moving.update(self._drawn(progress), refresh=True)
        elif progress.said is not None:
            count = len(progress.table.positions)
            self._out.print(f"{SAID[progress.said]} ({count} position{'s' if count != 1 else ''} so far)")
        if progress.said is not None and self._out.is_terminal:
            for _ in range(1 if progress.said is Say.NEXT else 2):
                self._out.bell()

    def _drawn(self, progress: Progress) -> RenderableType:
        parts: list[RenderableType] = []
        if self._board.simulated:
            parts.append(
                Text(f" SIMULATED ({self._board.kind} board): no real part is measured.", style="bold reverse")
            )
        if self._said is not None:
            coloured = self._out.color_system is not None
            rows = big.large(LARGE[self._said], BLANK, "left", self._out.width)
            parts += [Text(""), *(big.painted(row, "bold", coloured) for row in rows), Text("")]
            parts.append(Text(SAID[self._said], style="bold"))
        parts.append(grid(progress.table, {}, progress.at))
        return Group(*parts)
