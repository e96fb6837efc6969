"""What is seen while a hand turns the coil's volts: what to do in large letters, a bar, and the terminal's tone.

Rule: only what is new sounds; a terminal that cannot redraw gets a line for each thing to do.
"""

from rich.console import Console, Group
from rich.live import Live
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.cli.show.live.lively import Lively
from pulldrop.model.origin import Origin
from pulldrop.model.run.hand import Request
from pulldrop.model.wording import words

RIGHT = ("..#....", "..###..", "######.", "..###..", "..#....")
LEFT = tuple(row[::-1] for row in RIGHT)
SHAPES = {"up": RIGHT, "down": LEFT, "slower": big.ALARM, "done": big.TICK, "in": big.ASIDE, "out": big.ASIDE}
"""By turn; one that goes on keeps its own."""
MARKS = 6
"""At most, on the scale under the bar."""
KEYS = "s or Esc: leave pull-in and drop-out out"


class KnobScreen(Lively[Live]):
    """Shows requests as they come. Use as a context manager; nothing of it stays but a line."""

    def __init__(self, out: Console, simulated: bool) -> None:
        self._out, self._simulated = out, simulated
        self._request = Request("")
        self._at = Request("", turn="at")
        self._shape: tuple[str, ...] = big.ASIDE
        self._moving = Live(console=out, auto_refresh=False, transient=True) if screen.lively(out) else None

    def __call__(self, request: Request) -> None:
        """Show one request."""
        if request.turn == "at":
            news = request.text if request.text.partition(":")[2:] != self._at.text.partition(":")[2:] else ""
            self._at = request
        else:
            news, self._request = request.text, request
            self._shape = SHAPES.get(request.turn or "", self._shape)
        if self._moving:
            self._moving.update(self._drawn(), refresh=True)
        elif news:
            self._out.print(news)
        if news:
            self._out.bell()

    def _drawn(self) -> Group:
        width, coloured = self._out.width, self._out.color_system is not None
        rows = big.large(self._request.word, self._shape, "left", width - 1)
        mark = [Text(f" {words.mark(Origin.SIMULATED)} ".ljust(min(width, 79)), style="bold reverse")]
        return Group(
            *(mark if self._simulated else []),
            Text(""),
            *(big.painted(row, "bold", coloured) for row in rows),
            Text(""),
            Text(self._request.text, style="bold"),
            Text(""),
            *bar(self._at.volts, self._at.most_v, min(width, 79)),
            Text(f"! {self._at.text}" if self._at.text else "", style="bold reverse"),
            Text(KEYS if self._request.turn != "out" else "", style="dim"),
        )


def bar(volts: float, most_v: float, width: int) -> list[Text]:
    """Volts as a bar with its scale below, within `width` columns."""
    reads = f" {volts:5.2f} V"
    room = width - len(reads) - 2
    most_v = max(most_v, 1.0)
    filled = min(round(room * volts / most_v), room)
    scale = [" "] * (room + 2)
    for mark in range(0, int(most_v) + 1, max(1, round(most_v / MARKS))):
        at = 1 + round(room * mark / most_v)
        scale[at : at + len(f"{mark}")] = f"{mark}"
    return [Text(f"[{'#' * filled}{'.' * (room - filled)}]{reads}"), Text("".join(scale), style="dim")]
