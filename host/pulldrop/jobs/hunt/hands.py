"""A person at the controls, by single keys of a terminal or a page: each step becomes a view, each key an answer.

Rule: nothing is taken for granted. Positions are read control by control without saying what the program believes; Esc
goes back one thing; a key that was meant for another screen is refused.
"""

import time
from collections import deque
from collections.abc import Callable, Sequence
from queue import Empty, SimpleQueue

from pulldrop.hunt.session import Hunt
from pulldrop.jobs.hunt.loop import Answer, Done, Leave, Otherwise, Positions
from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.model.bench.identity import Identity
from pulldrop.model.crate.crate import Command, Control
from pulldrop.model.hunt.ask import AnyAsk, Move, PauseStep, ReadBackStep, SetStep
from pulldrop.model.hunt.control import CabinControl
from pulldrop.model.hunt.look import ACTS, WireLevel
from pulldrop.model.hunt.outcome import Grade, HuntOutcome
from pulldrop.model.hunt.view import DONE, LEAVE, HuntChoice, HuntView
from pulldrop.model.wording import hunt as words
from pulldrop.model.wording.cautions import DECIDE, NOBODY_NEAR
from pulldrop.model.wording.hunt import HuntWords

LETTERS = "abcdefghijklmnop"
"""One for each control."""
BACK, OTHERWISE = "\x1b", "o"
ALONE_S = 1800.0
"""After so long without a key nobody is there: the hunt is left, as by the key for it."""
TRACE_S = 600.0
"""From then on tracing by fuses is offered: what a practitioner puts up with."""
EVERY_S, KEPT = 0.2, 60
"""Between two views of a wire that stays as it is; views that a press may still be meant for."""
GO = HuntChoice(key=DONE, says="done")
STEP = (GO, HuntChoice(key=OTHERWISE, says="I did something else"), HuntChoice(key=LEAVE, says="leave, go on later"))
CHANGED = "Not taken: the screen had changed. Look, then press again."


class KeyHands:
    """`show` gets every view; keys come by `key`, or from a page by `press`, in any thread."""

    def __init__(
        self,
        board: Identity,
        wire: str,
        controls: Sequence[CabinControl],
        show: Callable[[HuntView], None],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._controls, self._show, self._clock = controls, show, clock
        self._words = HuntWords(controls)
        self._keys: SimpleQueue[str] = SimpleQueue()
        self._ask: AnyAsk | None = None
        self._read: list[int] = []
        self._picking: list[Move] | None = None
        self._letter: CabinControl | None = None
        self._taps: list[tuple[str, int]] = []
        self._level: WireLevel | None = None
        self._now_s, self._late = 0.0, ""
        self._before: dict[str, object] = {}
        self._laid_s = float("-inf")
        self._alone_s = clock()
        self._seen: deque[tuple[int, tuple[str, ...]]] = deque(maxlen=KEPT)
        self._view = HuntView(
            simulated=board.simulated, version=1, board=f"{board.kind} board {board.serial}, vehicle lead", wire=wire,
            step=0, word="WAIT", now="Looking at the wire.",
            cautions=(NOBODY_NEAR, DECIDE),
        )  # fmt: skip

    # what comes in

    def key(self, key: str) -> None:
        """One key of the terminal."""
        self._keys.put("\x1b" if key == "\x1b" else DONE if key in "\r\n" else key.lower())

    def press(self, command: Command) -> str:
        """One button of a page; a sentence where it is refused."""
        meant = next((about for version, about in self._seen if version == command.seen), None)
        if meant != self._view.about:
            return CHANGED
        keys = {Control.GO: DONE, Control.END: LEAVE, Control.CHOOSE: command.text}
        key = keys.get(command.control, "")
        if key not in [one.key for one in self._view.choices]:
            return f"'{command.control}' does nothing now."
        self._keys.put(key)
        return ""

    # what a hunt asks for

    def asks(self, hunt: Hunt, ask: AnyAsk, at: int) -> None:
        """Shows it."""
        self._ask, self._read, self._picking, self._letter = ask, [], None, None
        self._alone_s = self._clock()
        self._late = self._late or (words.TRACE if self._now_s >= TRACE_S else "")
        if isinstance(ask, ReadBackStep):
            self._lay(step=hunt.steps + 1, why=self._words.why(ask))
            self._show_reading()
        elif isinstance(ask, PauseStep):
            now = words.PAUSE.format(seconds=ask.seconds)
            self._lay(step=hunt.steps + 1, word="WAIT", now=now, why=self._words.why(ask), choices=STEP[::2])
        else:
            steps = tuple(map(self._words.move, ask.moves, self._words.held(ask.moves)))
            word = self._words.place(ask.moves[at].control, ask.moves[at].position) if ask.moves else "WAIT"
            self._lay(
                step=hunt.steps + 1, word=word, now=steps[at] if steps else words.STAY,
                why=f"{self._words.why(ask)} {self._late}".strip(),
                steps=steps, at=at, choices=STEP,
            )  # fmt: skip

    def answer(self) -> Answer | None:
        """What was pressed, once it is whole; Esc with nothing to go back to leaves, and so does nobody."""
        try:
            key = self._keys.get_nowait()
        except Empty:
            return Leave() if self._clock() - self._alone_s > ALONE_S else None
        self._alone_s = self._clock()
        if isinstance(self._ask, ReadBackStep):
            return self._reads(key)
        if self._picking is not None:
            return self._picks(key)
        if key == DONE:
            return Done()
        if key in (LEAVE, BACK):
            return Leave()
        if key == OTHERWISE and isinstance(self._ask, SetStep):
            self._picking = []
            self._show_picking()
        return None

    def sees(self, wire: HuntedWire, waits_s: float) -> None:
        """The wire as it is."""
        self._now_s = wire.now_s
        changed, known = wire.level is not self._level, self._level is not None
        self._level = wire.level
        if not changed and not self._view.stale and self._clock() < self._laid_s + EVERY_S:
            return
        acts = any(wire.level in levels for levels in ACTS.values()) and wire.level is not WireLevel.OPEN
        heard = {"moment": f"wire {wire.now_s:.2f}", "cue": "on" if acts else "off"} if changed and known else {}
        self._put(
            level=words.LEVELS[wire.level], acts=acts, wire_v=round(wire.wire_v, 1),
            battery_v=round(wire.battery_v, 1), waits_s=waits_s, stale="", **heard,
        )  # fmt: skip

    def lost(self, sentence: str) -> None:
        """Nothing comes from the board."""
        if sentence != self._view.stale:
            self._put(stale=sentence)

    def plays(self, seconds: float) -> None:
        """Free play begins."""
        self._ask, self._picking, self._letter = None, [], None
        self._lay(word="PLAY", now=f"For {seconds:.0f} s operate what you like, and tap at once what it was.")
        self._show_picking()

    def touches(self) -> Sequence[tuple[str, int]]:
        """What was tapped since."""
        taps, self._taps = self._taps, []
        return taps

    def ends(self, found: HuntOutcome) -> None:
        """The last view."""
        told = self._words.outcome(found)
        cue = "well" if found.grade is Grade.PROVED else "look again"
        self._lay(
            step=found.steps,
            word=words.HEADLINES[found.grade],
            now=" ".join(told[:2]),
            typed=told[2:],
            over=True,
            cue=cue,
        )

    # positions read, and what was done otherwise

    def _reads(self, key: str) -> Answer | None:
        control = self._controls[len(self._read)]
        if key == BACK and self._read:
            self._read.pop()
        elif key in (LEAVE, BACK):
            return Leave()
        elif key.isdigit() and int(key) - 1 in _stays(control):
            self._read.append(int(key) - 1)
        if len(self._read) == len(self._controls):
            return Positions(tuple(self._read))
        self._show_reading()
        return None

    def _show_reading(self) -> None:
        control = self._controls[len(self._read)]
        done = (f"{one.id}: {one.positions[at]}" for one, at in zip(self._controls, self._read, strict=False))
        places = (HuntChoice(key=f"{i + 1}", says=control.positions[i]) for i in _stays(control))
        back = (HuntChoice(key=BACK, says="the one before"),) if self._read else ()
        self._lay(
            word="READ", now=f"Where is it, as it is and not as it should be: {control.id}?", why=self._view.why,
            at=len(self._read), typed=tuple(done), choices=(*places, *back, STEP[-1]),
        )  # fmt: skip

    def _picks(self, key: str) -> Answer | None:
        assert self._picking is not None
        playing = self._ask is None
        if key == BACK:
            if self._letter is None and not self._picking and isinstance(self._ask, SetStep):
                self._picking = None
                self._lay(**self._before)
                return None
            self._picking = self._picking if self._letter else self._picking[:-1]
            self._letter = None
        elif key == DONE and (playing or self._picking):
            return Done() if playing else Otherwise(tuple(self._picking))
        elif self._letter is not None and key.isdigit() and 0 < int(key) <= len(self._letter.positions):
            self._tap(self._letter, int(key) - 1)
        elif (at := LETTERS.find(key)) in range(len(self._controls)):
            self._letter = self._controls[at]
            if len(self._letter.positions) == 2 and self._letter.springs:
                self._tap(self._letter, 1)
        self._show_picking()
        return None

    def _tap(self, control: CabinControl, position: int) -> None:
        self._letter = None
        if self._ask is None:
            self._taps.append((control.id, position))
            return
        assert self._picking is not None
        self._picking.append(Move(control=control.id, position=position))
        if position in control.springs:
            self._picking.append(Move(control=control.id, position=control.springs[position]))

    def _show_picking(self) -> None:
        if self._ask is not None and not self._view.typed and self._view.choices == STEP:
            self._before = {"word": self._view.word, "now": self._view.now, "why": self._view.why,
                            "steps": self._view.steps, "at": self._view.at, "choices": STEP}  # fmt: skip
        if self._letter is not None:
            choices = [HuntChoice(key=f"{i + 1}", says=name) for i, name in enumerate(self._letter.positions)]
        else:
            listed = zip(LETTERS, self._controls, strict=False)
            choices = [HuntChoice(key=letter, says=one.id) for letter, one in listed]
        enough = HuntChoice(key=DONE, says="that is all" if self._ask else "enough")
        if self._ask is None or self._picking:
            choices.append(enough)
        choices.append(HuntChoice(key=BACK, says="back"))
        made = (f"did: {self._words.moves(self._picking)}",) if self._picking else ("nothing picked yet",)
        word = self._view.word if self._ask is None else "WHAT DID YOU DO"
        now = f"{self._letter.id}: to which position?" if self._letter else "Which control?"
        self._lay(word=word, now=now, typed=made if self._ask else (), choices=tuple(choices), at=-1)

    # views

    def _lay(self, **what: object) -> None:
        """A step or what was pressed: all of it new but the wire."""
        blank = {"why": "", "steps": (), "at": 0, "typed": (), "choices": (), "over": False, "cue": "question"}
        self._put(**(blank | {"moment": f"step {self._view.version}"} | what))

    def _put(self, **what: object) -> None:
        self._view = self._view.model_copy(update={"version": self._view.version + 1, **what})
        self._seen.append((self._view.version, self._view.about))
        self._laid_s = self._clock()
        self._show(self._view)


def _stays(control: CabinControl) -> tuple[int, ...]:
    """Positions that it keeps by itself."""
    return tuple(i for i in range(len(control.positions)) if i not in control.springs)
