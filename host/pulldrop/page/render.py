"""A view as HTML. It repeats what the view says, and adds shape, place and the name of a rhythm; every word escaped."""

from dataclasses import dataclass
from pathlib import Path

import segno
from markupsafe import Markup

from pulldrop.model.crate.crate import Bin, Control, CrateView, Stage, Word
from pulldrop.model.hunt.view import HuntView
from pulldrop.model.run.single import SingleView
from pulldrop.model.vehicle.view import WatchView
from pulldrop.model.verdict import Overall
from pulldrop.model.wording import words
from pulldrop.page.draw import drawing
from pulldrop.report.frame import templates

PLACES = tuple(Bin)
"""From left to right on every screen, so that the place alone shows the bin."""
NUMBERED = (Stage.INSERT, Stage.TESTING, Stage.RESULT, Stage.QUESTION)
"""Stages in which the number is that of a part in hand."""
SHOWN_LAST = 8
LONGEST_WORD = 12

BUTTONS = {
    Control.UNDO: "Undo last",
    Control.RETEST: "Test again",
    Control.SKIP: "Skip",
    Control.NOTE: "Note",
    Control.RATING: "Rating",
    Control.END: "End crate",
}
"""In the order in which they stand. GO and NO stand apart, under the word."""


@dataclass(frozen=True, slots=True)
class Appearance:
    """How a view looks and sounds: `shape` names a drawing, `tone` a set of colours, `cue` a rhythm or none."""

    shape: str
    tone: str
    cue: str = ""


BIN_LOOKS = {
    Bin.KEEP: Appearance("tick", "keep", "keep"),
    Bin.LIGHT_DUTY: Appearance("half", "light", "light duty"),
    Bin.LOOK_AGAIN: Appearance("question", "again", "look again"),
    Bin.SCRAP: Appearance("cross", "scrap", "scrap"),
}
STAGE_LOOKS = {
    Stage.CHECK: Appearance("ring", "plain"),
    Stage.INSERT: Appearance("down", "plain"),
    Stage.STILL: Appearance("hourglass", "plain", "beat"),
    Stage.TESTING: Appearance("dots", "plain"),
    Stage.QUESTION: Appearance("ask", "ask", "question"),
    Stage.STOPPED: Appearance("alarm", "alarm", "stopped"),
    Stage.ENDED: Appearance("flag", "plain"),
}
WORD_LOOKS = {
    Word.VOID: Appearance("ring", "plain", "void"),
    Word.UNDONE: Appearance("ring", "plain", "undone"),
    Word.WELL: Appearance("ring", "plain", "well"),
}
VERDICT_LOOKS = {
    Overall.PASS: BIN_LOOKS[Bin.KEEP],
    Overall.FAIL: BIN_LOOKS[Bin.SCRAP],
    Overall.UNSURE: BIN_LOOKS[Bin.LOOK_AGAIN],
    Overall.DO_NOT_ENERGISE: Appearance("stop", "alarm", "stopped"),
    Overall.ANOTHER_KIND: Appearance("aside", "again", "look again"),
    Overall.INCOMPLETE: Appearance("ring", "plain", "look again"),
    Overall.WITHOUT_LOAD: Appearance("ring", "plain", "look again"),
    Overall.INTERRUPTED: Appearance("gap", "plain", "void"),
    Overall.BENCH_TROUBLE: Appearance("alarm", "alarm", "stopped"),
}
"""Of a single test; a pass with a mark looks as its bin does."""

LINE_LOOKS = {
    "ON": Appearance("tick", "keep"),
    "LOW": Appearance("half", "light"),
    "WEAK": Appearance("question", "again"),
    "OFF": Appearance("ring", "plain"),
    "PULSED": Appearance("dots", "ask"),
}
"""Of a watched wire."""
WATCH_STALE_MS = 900
"""A watch lays down several views a second: without one for so long its screen is covered."""

View = CrateView | SingleView | WatchView | HuntView


def look(view: CrateView | SingleView) -> Appearance:
    """A bin or verdict has a look of its own, and so has a result without one; anything else has its stage's."""
    if view.stage is not Stage.RESULT:
        return STAGE_LOOKS[view.stage]
    if isinstance(view, SingleView):
        assert view.result is not None
        return BIN_LOOKS[Bin.LIGHT_DUTY] if view.result.mark else VERDICT_LOOKS[view.result.overall]
    return BIN_LOOKS[view.bin] if view.bin is not None else WORD_LOOKS[Word(view.word)]


def letters(word: str) -> int:
    """Letters of the longest word, within what the style sheet knows: the word is set as large as they allow."""
    return min(LONGEST_WORD, max((len(one) for one in word.split()), default=1))


PAGES = templates(Path(__file__).parent / "templates")
PAGES.globals.update(
    places=PLACES, bin_looks=BIN_LOOKS, buttons=BUTTONS, Control=Control, Stage=Stage, letters=letters, drawing=drawing,
    shown_last=SHOWN_LAST, numbered=NUMBERED, word_looks=LINE_LOOKS,
)  # fmt: skip


class Renderer:
    """Renders each view once, however many screens there are. `ways`: parts and fleet are served beside.

    `phone`: the address for other machines, shown as a code to scan; empty where they may not look.
    """

    def __init__(self, ways: bool = False, phone: str = "") -> None:
        self._ways, self._phone = ways, phone
        self._phone_code = Markup(segno.make(phone, error="m", micro=False).svg_inline(scale=5)) if phone else ""
        self._kept: dict[bool, tuple[View, dict[str, object]]] = {}

    def shell(self, view: View | None, controller: bool, controllable: bool) -> str:
        """The page before its first event: nothing of the view but SIMULATED, which no screen is ever without."""
        template = PAGES.get_template("shell.jinja")
        return template.render(
            view=view, controller=controller, controllable=controllable, ways=self._ways, phone=self._phone,
            phone_code=self._phone_code,
        )  # fmt: skip

    def event(self, view: View, controller: bool) -> dict[str, object]:
        """What one event carries: HTML of the whole view, and what the script needs to know."""
        kept = self._kept.get(controller)
        if kept is None or kept[0] is not view:
            kept = (view, self._event(view, controller))
            self._kept[controller] = kept
        return kept[1]

    def _event(self, view: View, controller: bool) -> dict[str, object]:
        if isinstance(view, WatchView):
            return _of_watch(view)
        if isinstance(view, HuntView):
            return _of_hunt(view, controller)
        seen = look(view)
        single = isinstance(view, SingleView)
        template = PAGES.get_template("single.jinja" if single else "view.jinja")
        html = template.render(view=view, look=seen, controller=controller, ways=self._ways)
        return {
            "version": view.version,
            "title": f"{view.word} {_whose(view)}".rstrip() + f" {words.mark(view.origin)}".rstrip(),
            "cue": (view.cue if isinstance(view, SingleView) else "") or seen.cue,
            "moment": _moment(view),
            "final": not view.controls and view.stage in (Stage.ENDED, Stage.STOPPED),
            "html": html,
        }


def _of_watch(view: WatchView) -> dict[str, object]:
    words_now = ", ".join(f"{line.name} {line.word}" for line in view.lines)
    return {
        "version": view.version,
        "title": f"{words_now} {words.mark(view.origin)}".rstrip(),
        "cue": view.cue,
        "moment": view.moment,
        "final": False,
        "stale_ms": WATCH_STALE_MS,
        "html": PAGES.get_template("watch.jinja").render(view=view),
    }


def _of_hunt(view: HuntView, controller: bool) -> dict[str, object]:
    return {
        "version": view.version,
        "title": f"{view.word} {view.wire} {words.mark(view.origin)}".rstrip(),
        "cue": view.cue,
        "moment": view.moment,
        "final": view.over,
        "html": PAGES.get_template("hunt.jinja").render(view=view, controller=controller),
    }


def _whose(view: CrateView | SingleView) -> str:
    """What is written on the part that the view is about."""
    return view.part if isinstance(view, SingleView) else str(view.number)


def _moment(view: CrateView | SingleView) -> str:
    """Names what is to be heard once: each beat, and the same outcome with a note added to it is the same moment;
    and so is a knob's word, wherever it stands."""
    if isinstance(view, SingleView):
        return "|".join((view.stage, view.word, view.part) if view.cue else view.about)
    run = view.last[0].run if view.last else ""
    return "|".join((view.stage, str(view.number), view.word, run, str(view.beats)))
