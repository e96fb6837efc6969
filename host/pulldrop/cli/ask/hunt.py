"""A person at the terminal while a wire is hunted: keys into answers, and what a key may do now.

Rule: nothing is taken for granted. Positions are read control by control without saying what the program believes, and
Esc goes back one thing.
"""

from collections.abc import Sequence
from queue import Empty, SimpleQueue

from pulldrop.cli.ask.propose import GO
from pulldrop.cli.show.live.hunt import HuntScreen, Shown
from pulldrop.hunt.session import Hunt
from pulldrop.jobs.hunt.loop import Answer, Done, Leave, Otherwise, Positions
from pulldrop.jobs.hunt.wire import HuntedWire
from pulldrop.model.hunt.ask import AnyAsk, Move, PauseStep, ReadBackStep, SetStep
from pulldrop.model.hunt.control import CabinControl
from pulldrop.model.wording import hunt as words
from pulldrop.model.wording.hunt import HuntWords

LETTERS = "abcdefghijklmnop"
"""One for each control."""
ESCAPE = "\x1b"
OTHERWISE, LEAVE = "o", "q"
CHOICES = "space: done   o: I did something else   q: leave, and go on another day"
PICK = "a letter for the control, a digit for its position   space: that is all   Esc: back"
READS = "a digit for where it is   Esc: the one before"


class TerminalHands:
    """`keys`: single keys as they come."""

    def __init__(self, controls: Sequence[CabinControl], screen: HuntScreen, keys: "SimpleQueue[str]") -> None:
        self._controls, self._screen, self._keys = controls, screen, keys
        self._words = HuntWords(controls)
        self._ask: AnyAsk | None = None
        self._shown = Shown(0, "")
        self._read: list[int] = []
        self._picking: list[Move] | None = None
        self._letter: CabinControl | None = None
        self._taps: list[tuple[str, int]] = []

    def asks(self, hunt: Hunt, ask: AnyAsk, at: int) -> None:
        self._ask, self._read, self._picking, self._letter = ask, [], None, None
        why = self._words.why(ask)
        if isinstance(ask, ReadBackStep):
            self._shown = Shown(hunt.steps + 1, words.READ, why=why)
            self._show_reading()
            return
        if isinstance(ask, PauseStep):
            self._shown = Shown(hunt.steps + 1, words.PAUSE.format(seconds=ask.seconds), why=why, choices=CHOICES)
        else:
            steps = tuple(map(self._words.move, ask.moves, self._words.held(ask.moves)))
            now = steps[at] if steps else words.STAY
            place = self._words.place(ask.moves[at].control, ask.moves[at].position) if ask.moves else ""
            self._shown = Shown(hunt.steps + 1, now, place, why, steps, at, CHOICES)
        self._screen.show(self._shown)

    def answer(self) -> Answer | None:
        try:
            key = self._keys.get_nowait()
        except Empty:
            return None
        if isinstance(self._ask, ReadBackStep):
            return self._reads(key)
        if self._picking is not None:
            return self._picks(key)
        if key in GO:
            return Done()
        if key.lower() == LEAVE:
            return Leave()
        if key.lower() == OTHERWISE and isinstance(self._ask, SetStep):
            self._picking = []
            self._show_picking()
        return None

    def sees(self, wire: HuntedWire, waits_s: float) -> None:
        self._screen.wire(wire.level, wire.wire_v, wire.battery_v, wire.now_s, waits_s)

    def plays(self, seconds: float) -> None:
        """Free play begins."""
        self._ask, self._picking, self._letter = None, [], None
        now = f"PLAY for {seconds:.0f} s: operate what you like, and tap at once what it was."
        listed = tuple(self._listed(one) for one in zip(LETTERS, self._controls, strict=False))
        self._shown = Shown(0, now, typed=listed, choices="a letter and a digit for each   space: enough")
        self._screen.show(self._shown)

    def touches(self) -> Sequence[tuple[str, int]]:
        taps, self._taps = self._taps, []
        return taps

    def _reads(self, key: str) -> Answer | None:
        if key == ESCAPE and self._read:
            self._read.pop()
        elif key.lower() == LEAVE and not self._read:
            return Leave()
        else:
            control = self._controls[len(self._read)]
            stays = [i for i in range(len(control.positions)) if i not in control.springs]
            if key.isdigit() and int(key) - 1 in stays:
                self._read.append(int(key) - 1)
        if len(self._read) == len(self._controls):
            return Positions(tuple(self._read))
        self._show_reading()
        return None

    def _show_reading(self) -> None:
        control = self._controls[len(self._read)]
        done = tuple(
            f"  {one.id}: {one.positions[at]}" for one, at in zip(self._controls, self._read, strict=False)
        )  # fmt: skip
        stays = (f"{i + 1} {name}" for i, name in enumerate(control.positions) if i not in control.springs)
        asked = f"> {control.id}:  {'   '.join(stays)}"
        self._screen.show(Shown(self._shown.step, words.READ, why=self._shown.why, at=len(self._read),
                                choices=READS, typed=(*done, asked)))  # fmt: skip

    def _picks(self, key: str) -> Answer | None:
        assert self._picking is not None
        playing = self._ask is None
        if key == ESCAPE:
            if self._letter is None and not self._picking and not playing:
                self._picking = None
                self._screen.show(self._shown)
                return None
            self._picking = self._picking if self._letter else self._picking[:-1]
            self._letter = None
        elif key in GO and (playing or self._picking):
            return Done() if playing else Otherwise(tuple(self._picking))
        elif self._letter is not None and key.isdigit() and 0 < int(key) <= len(self._letter.positions):
            self._tap(self._letter, int(key) - 1)
        elif (at := LETTERS.find(key.lower())) in range(len(self._controls)):
            self._letter = self._controls[at]
            if len(self._letter.positions) == 2 and self._letter.springs:
                self._tap(self._letter, 1)
        if not playing:
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
        made = (f"  did: {self._words.moves(self._picking)}",) if self._picking else ()
        listed = tuple(self._listed(one) for one in zip(LETTERS, self._controls, strict=False))
        now = f"What did you do? {self._letter.id} to ..." if self._letter else "What did you do?"
        self._screen.show(Shown(self._shown.step, now, typed=(*listed, *made), choices=PICK, at=-1))

    def _listed(self, one: tuple[str, CabinControl]) -> str:
        letter, control = one
        return f"  {letter} {control.id}:  {'   '.join(f'{i + 1} {name}' for i, name in enumerate(control.positions))}"
