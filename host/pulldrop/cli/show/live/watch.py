"""What is seen and heard while wires are watched: for each a large word, its volts, the last changes; loud at each one.

Rule: word, place and sound say the same, and colour nothing alone. Silence of the board shows as STALE within a second,
whoever is blocked: the screen redraws itself.
"""

import time
from collections import deque
from collections.abc import Callable

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.cli.show.live.lively import Lively
from pulldrop.jobs.vehicle.watch import Watched
from pulldrop.judge.socket.levels import Change
from pulldrop.judge.socket.losses import Loss
from pulldrop.model.bench.identity import Identity
from pulldrop.model.vehicle.lead import COLOURS, Clip

STALE_S, FLASH_S, REDRAWS, KEPT = 0.7, 0.4, 12, 8
SHAPES = {"ON": big.TICK, "LOW": big.HALF, "WEAK": big.QUESTION, "OFF": big.HOLLOW, "PULSED": big.BROKEN}
STYLES = {"ON": "bold bright_blue", "OFF": "bold", "STALE": "bold reverse"}
UNSURE = "bold yellow"
BLANK = (".......",) * 5


class WatchScreen(Lively[Live]):
    """Use as a context manager. `place`: what is moved now, for a wiggle."""

    def __init__(
        self,
        out: Console,
        board: Identity,
        place: Callable[[], str] | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._out, self._board, self._place, self._clock = out, board, place, clock
        self._seen: Watched | None = None
        self._heard_s, self._known = clock(), 0
        self._flash: dict[Clip, float] = {}
        self._last: deque[str] = deque(maxlen=KEPT)
        self._moving = None
        if screen.lively(out):
            self._moving = Live(console=out, get_renderable=self.drawn, screen=True, refresh_per_second=REDRAWS)
        if board.simulated:
            screen.simulated(out, board.kind)

    def __call__(self, seen: Watched, clip: Clip | None, what: Change | Loss | None) -> None:
        """Show it; ring once for ON, twice for any other word, three times for a loss."""
        if seen.readings != self._known:
            self._known, self._heard_s = seen.readings, self._clock()
        self._seen = seen
        if clip is None or what is None:
            return
        text = said(seen, clip, what)
        self._last.append(text)
        self._flash[clip] = self._clock()
        if not self._moving:
            self._out.print(text, soft_wrap=True)
        if self._out.is_terminal:
            rings = 3 if isinstance(what, Loss) else 1 if what.word == "ON" and not what.blink_s else 2
            for _ in range(rings):
                self._out.bell()

    @property
    def stale(self) -> bool:
        """Whether nothing new came for too long."""
        return self._clock() - self._heard_s > STALE_S or bool(self._seen and self._seen.stale)

    def drawn(self) -> RenderableType:
        """The screen of this moment."""
        parts: list[RenderableType] = []
        if self._board.simulated:
            parts.append(
                Text(f" SIMULATED ({self._board.kind} board): no real vehicle is watched.", style="bold reverse")
            )
        seen, coloured = self._seen, self._out.color_system is not None
        if seen is None:
            return Group(*parts, Text("Waiting for the first reading."))
        if self.stale:
            parts += [big.painted(row, STYLES["STALE"], coloured) for row in self._large("STALE", big.ALARM)]
            parts.append(Text(seen.stale or "Nothing new comes from the board. Look at its USB cable."))
        parts.append(Text(f"battery {seen.battery:.1f} V   {seen.at_s:.0f} s   {seen.lost} readings lost"))
        for clip, name in seen.names.items():
            parts += self._of(seen, clip, name, coloured)
        if self._place:
            parts.append(Text(quiet(seen) or f"Move: {self._place()}   (Space: the next place)", style="bold"))
        parts += [Text(line) for line in self._last]
        parts.append(Text("Space: mark this moment   q: end", style="dim"))
        return Group(*parts)

    def _of(self, seen: Watched, clip: Clip, name: str, coloured: bool) -> list[RenderableType]:
        line = seen.lines[clip]
        word = line.live
        style = STYLES.get(word, UNSURE)
        if self._clock() - self._flash.get(clip, -FLASH_S) < FLASH_S:
            style += " reverse"
        rate = f"   {line.hz:.1f} Hz, on for {100 * line.duty:.0f} %" if word == "PULSED" else ""
        volts = round(seen.volts.get(clip, 0.0), 1) + 0.0  # never -0.0
        head = Text(f"{name} ({clip}, {COLOURS[clip]})   {word}   {volts:.1f} V{rate}", style="bold")
        return [head, *(big.painted(row, style, coloured) for row in self._large(word, SHAPES[word]))]

    def _large(self, word: str, shape: tuple[str, ...]) -> list[str]:
        return list(big.large(word, shape, "left", self._out.width))


def quiet(seen: Watched) -> str:
    """What to do while nobody may move anything, or nothing."""
    left = max((one.quiet_left(seen.at_s) for one in seen.wiggles.values()), default=0.0)
    return f"Hands off: {left:.0f} s of quiet first." if left > 0 else ""


def said(seen: Watched, clip: Clip, what: Change | Loss) -> str:
    """One line for what happened."""
    name = seen.names[clip]
    if isinstance(what, Loss):
        where = f"at {what.place}" if what.place else "in the quiet time, with no hand on it"
        return f"{what.at_s:9.3f} s  {name}  LOSS of {100 * what.depth:.0f} % for {1000 * what.seconds:.1f} ms {where}"
    volts = max(what.share, 0.0) * seen.battery
    if what.blink_s:
        blink = f"blinked for {1000 * what.blink_s:.0f} ms to {volts:.1f} V"
        return f"{what.at_s:9.3f} s  {name}  {blink}, and is {what.word} again"
    rate = f" {what.hz:.1f} Hz, on for {100 * what.duty:.0f} %" if what.word == "PULSED" else f" {volts:.1f} V"
    return f"{what.at_s:9.3f} s  {name}  {what.word}{rate} of {seen.battery:.1f} V"
