"""What is seen while a wire is hunted: the one move to make now in large words, the wire, and what a key does.

Rule: it shows and asks for nothing; which keys there are comes from whoever takes them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Self

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.model.hunt.look import WireLevel
from pulldrop.model.wording import hunt as words

BLANK = (".......",) * 5
EVERY_S = 0.2
"""Between two drawings of a wire that stays as it is."""


@dataclass(frozen=True)
class Shown:
    """One step. `step`: its number; `now`: what to do now; `place`: its position, large; `why`: may be empty; `steps`:
    the whole step, `at` in it; `choices`: what can be pressed; `typed`: lines about what was pressed so far."""

    step: int
    now: str
    place: str = ""
    why: str = ""
    steps: tuple[str, ...] = ()
    at: int = 0
    choices: str = ""
    typed: tuple[str, ...] = field(default=())


class HuntScreen:
    """Use as a context manager. `kind`: of a simulated board, empty for a real one."""

    def __init__(self, out: Console, kind: str, wire: str) -> None:
        self._out, self._kind, self._wire = out, kind, wire
        self._live = Live(console=out, auto_refresh=False, screen=True) if screen.lively(out) else None
        self._shown: Shown | None = None
        self._level: WireLevel | None = None
        self._drawn_s = 0.0
        if kind:
            screen.simulated(out, kind)

    def __enter__(self) -> Self:
        if self._live:
            self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._live:
            self._live.stop()

    def show(self, shown: Shown) -> None:
        """A step, or what was pressed in it."""
        new = self._shown is None or (self._shown.step, self._shown.at, self._shown.now) != (
            shown.step, shown.at, shown.now,
        )  # fmt: skip
        self._shown = shown
        if self._live is None and new:
            self._out.print(f"{shown.step}. {shown.now}{f' ({shown.why})' if shown.why and not shown.at else ''}")
        self._drawn_s = -EVERY_S
        if new and self._out.is_terminal:
            self._out.bell()

    def wire(self, level: WireLevel, wire_v: float, battery_v: float, at_s: float, waits_s: float) -> None:
        """The wire as it is; a bell at every change."""
        changed = level is not self._level
        if changed and self._level is not None and self._out.is_terminal:
            self._out.bell()
        if self._live is None and changed:
            self._out.print(f"   wire {words.LEVELS[level]}, {wire_v:.1f} of {battery_v:.1f} V")
        self._level = level
        if self._live and (changed or at_s >= self._drawn_s + EVERY_S):
            self._drawn_s = at_s
            self._live.update(self._drawn(wire_v, battery_v, waits_s), refresh=True)

    def _drawn(self, wire_v: float, battery_v: float, waits_s: float) -> RenderableType:
        shown, level = self._shown, self._level
        parts: list[RenderableType] = []
        if self._kind:
            parts.append(Text(f" SIMULATED ({self._kind} board): no real vehicle is measured.", style="bold reverse"))
        said = words.LEVELS[level] if level is not None else ""
        parts.append(Text(f"{self._wire}: {said}   {wire_v:.1f} of {battery_v:.1f} V", style="bold"))
        if shown is None:
            return Group(*parts)
        parts += [Text(""), Text(f"{shown.step}.  {shown.now}", style="bold"), Text("")]
        parts += self._large(shown.place)
        if shown.why:
            parts += [Text(""), Text(shown.why)]
        if len(shown.steps) > 1:
            parts.append(Text(""))
            parts += [Text(f"  {'>' if i == shown.at else ' '} {one}") for i, one in enumerate(shown.steps)]
        parts += [Text(one) for one in shown.typed]
        waits = f"watching {waits_s:.0f} s" if waits_s >= 1 else shown.choices
        return Group(*parts, Text(""), Text(waits, style="bold"))

    def _large(self, place: str) -> Sequence[Text]:
        """In letters where they have it and it fits."""
        word = place.upper()
        if not word or any(one not in big.LETTERS for one in word):
            return []
        coloured = self._out.color_system is not None
        return [big.painted(row, "bold", coloured) for row in big.large(word, BLANK, "left", self._out.width)]
