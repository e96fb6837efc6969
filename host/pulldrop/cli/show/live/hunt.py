"""A hunt on the terminal: the one move to make now in large words, the wire, and what can be pressed."""

from collections.abc import Sequence
from typing import Self

from rich.console import Console, Group, RenderableType
from rich.live import Live
from rich.text import Text

from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import big
from pulldrop.model.hunt.view import DONE, LEAVE, HuntView

BLANK = (".......",) * 5
ESC = "\x1b"
NAMES = {DONE: "space", ESC: "Esc", LEAVE: "Esc"}


class HuntScreen:
    """Use as a context manager; call it with every view. `kind`: of a simulated board, empty for a real one."""

    def __init__(self, out: Console, kind: str) -> None:
        self._out, self._kind = out, kind
        self._live = Live(console=out, auto_refresh=False, screen=True) if screen.lively(out) else None
        self._shown: HuntView | None = None
        if kind:
            screen.simulated(out, kind)

    def __enter__(self) -> Self:
        if self._live:
            self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._live:
            self._live.stop()

    def __call__(self, view: HuntView) -> None:
        """Show it; a bell where there is something new to hear."""
        before, self._shown = self._shown, view
        if self._out.is_terminal and (before is None or before.moment != view.moment):
            self._out.bell()
        if self._live:
            self._live.update(self._drawn(view), refresh=True)
            return
        if before is None or before.about != view.about:
            self._out.print(f"{view.step}. {view.now}{f' ({view.why})' if view.why and not view.at else ''}")
        if before is None or before.level != view.level:
            self._out.print(f"   wire {view.level}, {view.wire_v:.1f} of {view.battery_v:.1f} V")
        if view.stale and (before is None or before.stale != view.stale):
            self._out.print(f"   STALE: {view.stale}")

    def _drawn(self, view: HuntView) -> RenderableType:
        parts: list[RenderableType] = []
        if self._kind:
            parts.append(Text(f" SIMULATED ({self._kind} board): no real vehicle is measured.", style="bold reverse"))
        wire = f"STALE: {view.stale}" if view.stale else f"{view.level}   {view.wire_v:.1f} of {view.battery_v:.1f} V"
        parts += [Text(f"{view.wire}: {wire}", style="bold"), Text(""), Text(f"{view.step}.  {view.now}", style="bold")]
        parts += [Text(""), *self._large(view.word)]
        if view.why:
            parts += [Text(""), Text(view.why)]
        if len(view.steps) > 1:
            parts.append(Text(""))
            parts += [Text(f"  {'>' if i == view.at else ' '} {one}") for i, one in enumerate(view.steps)]
        parts += [Text(f"  {one}") for one in view.typed]
        told = "   ".join(f"{NAMES.get(one.key, one.key)}: {one.says}" for one in view.choices)
        waits = f"watching {view.waits_s:.0f} s" if view.waits_s >= 1 else told
        return Group(*parts, Text(""), Text(waits, style="bold"))

    def _large(self, word: str) -> Sequence[Text]:
        """In letters where they have it and it fits."""
        if any(one not in big.LETTERS for one in word.upper()):
            return []
        coloured = self._out.color_system is not None
        return [big.painted(row, "bold", coloured) for row in big.large(word.upper(), BLANK, "left", self._out.width)]
