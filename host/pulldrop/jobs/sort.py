"""Sort a crate: a state machine over store, board and a hand, which shows views and takes commands.

CHECK (empty socket, then a link) -> INSERT (a part is seen) -> TESTING -> RESULT (until it is pulled) -> INSERT; a
QUESTION where only a person knows, STOPPED where the bench must be seen to. Rule: what counts is written down before
it is shown, so that whoever begins again goes on where it was.
"""

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Protocol

from pulldrop.board.contract import Board
from pulldrop.board.errors import BoardLost, BoardReset, NoAnswer, Refused, Tripped
from pulldrop.jobs import golden, sort_check
from pulldrop.jobs.events import Event
from pulldrop.jobs.sort_ledger import Ledger
from pulldrop.jobs.sort_part import Job, Sorted, picture, sort_part
from pulldrop.jobs.sort_same import Prints, nothing
from pulldrop.jobs.sort_socket import LOOK_S, Look, Watch, look
from pulldrop.measure import StepStarted
from pulldrop.model.crate import (
    Bin,
    CoilPicture,
    Command,
    Control,
    CrateEvent,
    CrateView,
    Happened,
    Placed,
    Stage,
)
from pulldrop.model.rating import Form
from pulldrop.model.record import Part, RunRecord
from pulldrop.model.sorting import Sorting
from pulldrop.model.verdict import Overall
from pulldrop.store import Entry, Store

ALWAYS = (Control.NOTE, Control.END)
LAST_SHOWN = 8
HANDS_OFF = "Hands off. The part is being tested."
GONE = (BoardLost, BoardReset, NoAnswer)
"""Trouble that ends the work: the board must be plugged in again."""
NO_GOLDEN = "No golden part is marked, so a drift of the bench would not be noticed: pulldrop calibrate golden PART."


class Around(Protocol):
    """What is around the bench: a person's hands, or a virtual hand; time passes here."""

    def wait(self, view: CrateView, seconds: float) -> None:
        """Let bench time pass; a virtual hand does here what the view asks of a person."""

    def specimen(self) -> tuple[str, int | None]:
        """Text of the virtual part in the socket, and the seed of the bench; empty and None for a real one."""


@dataclass(frozen=True, slots=True)
class Setup:
    """A crate to be sorted. `load`: how another protocol is found by its name; `protocols`: what it may be."""

    crate: str
    sorting: Sorting
    load: Callable[[str], Sorting]
    protocols: tuple[str, ...] = ()
    operator: str = ""
    now: Callable[[], datetime] = lambda: datetime.now(UTC)


Next = Callable[[], "Next | None"]


class Sorter:
    """One crate on one board. `run` in one thread; `press` from any."""

    def __init__(
        self, board: Board, store: Store, setup: Setup, around: Around, show: Callable[[CrateView], None]
    ) -> None:
        self._board, self._store, self._setup, self._around, self._show = board, store, setup, around, show
        simulated = board.identity.simulated
        _, events = store.crate(setup.crate, simulated, setup.now())
        self._ledger = Ledger(events)
        self._sorting = setup.load(self._ledger.protocol) if self._ledger.protocol else setup.sorting
        self._prints = Prints(store)
        self._prints.follow(self._ledger.parts)
        self._commands: deque[Command] = deque()
        self._lock = threading.Lock()
        self._version = self._since = 0
        self._view: CrateView | None = None
        self._picture: CoilPicture | None = None
        self._before = Look.nothing()
        self._golden = ""
        self._told = ""
        self._no_golden = NO_GOLDEN if self._sorting.golden_every and not self._goldens() else ""
        self.bench_s: list[float] = []

    # --- from outside ---

    @property
    def view(self) -> CrateView | None:
        """The newest view."""
        return self._view

    def press(self, command: Command) -> str:
        """Take a command, or say in a sentence why not. May be called from any thread."""
        with self._lock:
            refusal = self._refusal(command)
            if not refusal:
                self._commands.append(command)
            return refusal

    def run(self) -> None:
        """Sort until somebody ends it. Raises BoardError when the board is gone, StoreError when the store is."""
        stage: Next | None = self._begin
        try:
            while stage is not None:
                stage = self._guarded(stage)
        except GONE as gone:
            self._tell(Stage.STOPPED, "BOARD GONE", f"{gone} Plug it in, then begin again: the crate goes on.")
            raise
        finally:
            self._board.close()
        self._tell(Stage.ENDED, "ENDED", "The crate is kept. Begin again with its name to go on.")

    def _guarded(self, stage: Next) -> Next | None:
        """One stage; trouble that a person can mend stops the crate with its reason."""
        try:
            return stage()
        except (Tripped, Refused) as trouble:
            return self._stop(str(trouble))

    # --- stages ---

    def _begin(self) -> Next | None:
        """Where the work was left, and whether the bench is as it should be."""
        self._told = ""
        if self._ledger.likeness is not None and not look(self._board).empty:
            return self._ask_like
        if self._ledger.unpulled is not None:
            if look(self._board).empty:
                self._keep(CrateEvent(kind=Happened.PULLED, at=self._now(), number=self._ledger.unpulled))
            else:
                return self._ask_still
        return self._check_empty

    def _ask_still(self) -> Next | None:
        number = self._ledger.unpulled or 0
        placed = self._ledger.placed(number)
        where = f" It belongs in {placed.bin}." if placed else ""
        sentence = f"Number {number} was sorted just before the work stopped.{where} Is it the part in the socket?"
        answer = self._answer(f"NUMBER {number}?", sentence, "yes")
        if answer is None:
            return None
        if answer:
            self._before = look(self._board)
            return self._result
        self._keep(CrateEvent(kind=Happened.PULLED, at=self._now(), number=number))
        return self._check_empty

    def _check_empty(self) -> Next | None:
        """Whatever is in the socket now was not tested to an end: it is taken out first."""
        watch = Watch(self._form)
        self._tell(Stage.CHECK, "CHECK", "Leave the socket empty: the bench tests itself.", say=ALWAYS)
        while True:
            seen = look(self._board)
            if watch.see(seen) and seen.empty:
                break
            if not seen.empty:
                self._tell(
                    Stage.CHECK, "EMPTY IT", "Take out what is in the socket. Nothing of it is lost.", say=ALWAYS
                )
            if self._idle() is Control.END:
                return None
        wrong = sort_check.empty(self._board)
        if wrong:
            return self._stop(wrong)
        return self._check_link

    def _check_link(self) -> Next | None:
        if self._board.identity.build == "bare":
            return self._insert
        sentence = "Put the shorting link between 30 and 87, then press GO. SKIP if you have none."
        controls = (Control.GO, Control.SKIP, *ALWAYS)
        while True:
            self._tell(Stage.CHECK, "LINK", sentence, go="the link is in", say=controls, step="check of the bench")
            control = self._idle()
            if control is Control.END:
                return None
            if control is Control.SKIP:
                self._keep(CrateEvent(kind=Happened.CHECKED, at=self._now(), text="empty; without a link"))
                break
            if control is Control.GO:
                wrong = sort_check.link(self._board, self._store)
                if wrong:
                    return self._stop(wrong)
                self._keep(CrateEvent(kind=Happened.CHECKED, at=self._now(), text="empty and link"))
                break
        return self._insert if self._until_empty("LINK OUT", "Take the link out.") else None

    def _insert(self) -> Next | None:
        """Wait for a part that the scan believes, or for a key."""
        self._before, self._picture = Look.nothing(), None
        watch = Watch(self._form)
        self._golden = self._golden_due()
        while True:
            self._tell_insert()
            seen = watch.see(look(self._board))
            if seen is not None and not seen.empty:
                self._before = seen
                return self._test
            control = self._idle()
            if control is Control.END:
                return None
            if control is Control.GO:
                return self._test
            if control is Control.SKIP and self._golden:
                self._keep(CrateEvent(kind=Happened.GOLDEN, at=self._now(), text=f"{self._golden}: skipped"))
                self._golden = ""
            elif control is Control.SKIP:
                self._skip()
                return self._result

    def _tell_insert(self) -> None:
        number = self._ledger.next_number
        controls = (Control.GO, Control.SKIP, Control.PROTOCOL, *self._undoable(), *ALWAYS)
        if self._golden:
            every = self._sorting.golden_every
            sentence = f"Insert the golden part {self._golden}: the bench is checked every {every} parts."
            self._tell(Stage.INSERT, "GOLDEN PART", sentence, go="start", say=controls, golden=self._golden)
            return
        told = tuple(one for one in (self._told, self._no_golden) if one)
        sentence = f"Insert part number {number}. It starts by itself."
        self._tell(Stage.INSERT, "INSERT", sentence, go="start", say=controls, reasons=told)

    def _test(self) -> Next | None:
        number = self._ledger.next_number
        done = self._sort(number, Part(id=self._golden, form=self._form), keep=not self._golden)
        return self._after(done)

    def _retest(self) -> Next | None:
        placed = self._ledger.placed(self._ledger.unpulled or 0)
        if placed is None:  # undone before
            return self._test
        return self._after(self._sort(placed.number, Part(id=placed.part, form=self._form), keep=True, again=True))

    def _sort(self, number: int, part: Part, keep: bool, again: bool = False) -> Sorted:
        """Test what is in the socket and place it under `number`."""
        self._told = self._no_golden = ""
        self._tell(Stage.TESTING, "TESTING", HANDS_OFF, number=number, say=(Control.END,))
        text, seed = self._around.specimen()
        job = Job(
            self._setup.crate, self._ledger.seq + 1, number, part, self._sorting, self._before, self._now,
            self._setup.operator, text, seed, keep,
        )  # fmt: skip
        likely = nothing if again or not keep else self._prints.likely
        done = sort_part(job, self._board, self._store, lambda event: self._follow(event, number), likely)
        self.bench_s.append(done.bench_s)
        self._picture = picture(done.record)
        if done.event is not None:
            self._ledger.add(done.event)
            self._prints.follow(self._ledger.parts)
        return done

    def _after(self, done: Sorted) -> Next | None:
        """Where a tested part leads."""
        void = done.record.verdict.overall is Overall.INTERRUPTED
        if isinstance(done.trouble, Tripped) and done.event is not None:
            self._board.acknowledge()
        elif done.trouble is not None:
            raise done.trouble
        if self._golden and not void:
            return self._after_golden(done.record)
        if done.event is None:
            self._told = done.record.verdict.found
            return (
                self._insert if self._until_empty("VOID", f"{self._told} Take it out, then insert it again.") else None
            )
        return self._ask_like if self._ledger.likeness else self._result

    def _after_golden(self, record: RunRecord) -> Next | None:
        drifted = golden.drift(self._store, record)
        text = f"{self._golden}: {' '.join(drifted) or 'as it was'}"
        if drifted:
            return self._stop(" ".join(drifted))
        self._keep(CrateEvent(kind=Happened.GOLDEN, at=self._now(), text=text))
        ok = self._until_empty("BENCH IS WELL", f"{self._golden} reads as it did. Take it out.")
        return self._insert if ok else None

    def _ask_like(self) -> Next | None:
        likeness = self._ledger.likeness
        assert likeness is not None
        sentence = f"{likeness.text} Look at what is written on it: is it number {likeness.like}?"
        answer = self._answer(f"NUMBER {likeness.like}?", sentence, f"yes, it is number {likeness.like}")
        if answer is None:
            return None
        if not answer:
            self._keep(CrateEvent(kind=Happened.OTHER, at=self._now(), number=likeness.number))
        else:
            self._keep(self._merged(likeness.number, likeness.like))
        return self._result

    def _merged(self, number: int, before: int) -> CrateEvent:
        """The same part twice: it keeps its first number; two different answers are to be looked at again."""
        now, then = self._ledger.placed(number), self._ledger.placed(before)
        assert now is not None and then is not None
        same = now.bin is then.bin
        differs = f"the same part was {then.bin} before and {now.bin} now"
        placed = now.model_copy(
            update={
                "number": before,
                "part": then.part,
                "same_as": before,
                "bin": now.bin if same else Bin.LOOK_AGAIN,
                "reasons": now.reasons if same else (differs, *now.reasons),
            }
        )
        return CrateEvent(kind=Happened.SAME, at=self._now(), number=before, run=now.run, placed=placed)

    def _result(self) -> Next | None:
        """Show it until the part is pulled; a part that no look can see is told to be out by the key."""
        watch, unseen = Watch(self._form), self._before.empty
        while True:
            placed = self._ledger.placed(self._ledger.unpulled or 0)
            self._tell_result(placed, unseen)
            seen = watch.see(look(self._board))
            control = self._idle()
            gone = (control is Control.GO) if unseen else seen is not None and seen.empty
            if control is Control.END:
                return None
            if control is Control.RETEST:
                return self._retest
            if gone:
                if placed is not None:
                    self._keep(CrateEvent(kind=Happened.PULLED, at=self._now(), number=placed.number))
                return self._insert

    def _tell_result(self, placed: Placed | None, unseen: bool) -> None:
        go = "the part is out" if unseen else ""
        undo = self._undoable() if placed else ()
        controls = (*((Control.GO,) if unseen else ()), Control.RETEST, *undo, *ALWAYS)
        if placed is None:
            sentence = "Undone. Take the part out and insert it again, or test it again as it is."
            self._tell(Stage.RESULT, "UNDONE", sentence, go=go, say=controls, picture=self._picture)
            return
        sentence = f"Write {placed.number} on it, put it into {placed.bin}."
        self._tell(
            Stage.RESULT, placed.bin.upper(), sentence, number=placed.number, reasons=placed.reasons, bin=placed.bin,
            picture=self._picture, go=go, say=controls,
        )  # fmt: skip

    def _stop(self, reason: str) -> Next | None:
        self._board.off()
        while True:
            controls = (Control.GO, *ALWAYS)
            self._tell(Stage.STOPPED, "STOPPED", reason, go="mended: check the bench again", say=controls)
            control = self._idle()
            if control is Control.END:
                return None
            if control is Control.GO:
                self._board.acknowledge()
                return self._begin

    # --- what a person says ---

    def _answer(self, word: str, sentence: str, go: str) -> bool | None:
        """Yes or no to a question; None for the end of the work."""
        while True:
            number = self._ledger.unpulled or self._ledger.next_number
            controls = (Control.GO, Control.NO, *ALWAYS)
            self._tell(Stage.QUESTION, word, sentence, go=go, say=controls, number=number, picture=self._picture)
            control = self._idle()
            if control is Control.END:
                return None
            if control in (Control.GO, Control.NO):
                return control is Control.GO

    def _until_empty(self, word: str, sentence: str) -> bool:
        """Wait until the socket is empty; False for the end of the work."""
        watch, unseen = Watch(self._form), look(self._board).empty
        stage = Stage.CHECK if word.startswith("LINK") else Stage.RESULT
        while True:
            go = "it is out" if unseen and not self._before.empty else ""
            self._tell(stage, word, sentence, go=go, say=(*((Control.GO,) if go else ()), *ALWAYS))
            seen = watch.see(look(self._board))
            if seen is not None and seen.empty:
                return True
            if self._idle() is Control.END:
                return False

    def _idle(self) -> Control | None:
        """Let a moment pass; the control that was pressed, when it is not one that is done at once."""
        command = self._take()
        if command is None:
            assert self._view is not None
            self._around.wait(self._view, LOOK_S)
            command = self._take()
        if command is None:
            return None
        match command.control:
            case Control.NOTE:
                self._note(command.text)
            case Control.UNDO:
                self._undo()
            case Control.PROTOCOL:
                self._change_protocol(command.text)
            case control:
                return control
        return None

    def _take(self) -> Command | None:
        with self._lock:
            while self._commands:
                command = self._commands.popleft()
                if not self._refusal(command):
                    return command
        return None

    def _refusal(self, command: Command) -> str:
        view = self._view
        if view is None or command.control not in view.controls:
            return f"{command.control} does nothing now."
        if command.seen and command.seen < self._since and command.control is not Control.END:
            return "The bench has moved on since that screen was drawn; look again, then press again."
        if command.control is Control.NOTE and not self._ledger.newest:
            return "There is no part yet to note something of."
        return ""

    def _note(self, text: str) -> None:
        number = self._ledger.newest[0].number
        self._keep(CrateEvent(kind=Happened.NOTED, at=self._now(), number=number, text=text[:200]))

    def _undoable(self) -> tuple[Control, ...]:
        return (Control.UNDO,) if self._ledger.newest else ()

    def _undo(self) -> None:
        newest = self._ledger.newest[0]
        self._keep(CrateEvent(kind=Happened.UNDONE, at=self._now(), number=newest.number))
        self._told = (
            f"Number {newest.number} ({newest.bin}) is undone: take that part out of its bin and insert it again."
        )

    def _change_protocol(self, name: str) -> None:
        self._sorting = self._setup.load(name)
        self._keep(CrateEvent(kind=Happened.PROTOCOL, at=self._now(), text=name))

    def _skip(self) -> None:
        """A part that is not to be tested gets a number all the same, and is looked at again."""
        number, now = self._ledger.next_number, self._now()
        placed = Placed(
            number=number, part="", run="", bin=Bin.LOOK_AGAIN, reasons=("skipped, not tested",), figures=(), at=now
        )
        self._keep(CrateEvent(kind=Happened.PLACED, at=now, number=number, placed=placed))

    # --- what is kept, and what is shown ---

    @property
    def _form(self) -> Form:
        return self._sorting.screen.form

    def _now(self) -> datetime:
        return self._setup.now()

    def _keep(self, event: CrateEvent) -> None:
        self._store.crate_event(Entry(self._setup.crate, self._ledger.seq + 1, event))
        self._ledger.add(event)
        self._prints.follow(self._ledger.parts)

    def _golden_due(self) -> str:
        """Id of the golden part that is asked for now, empty when none is."""
        every = self._sorting.golden_every
        if not every or self._ledger.since_golden < every:
            return ""
        return next(iter(self._goldens()), "")

    def _goldens(self) -> list[str]:
        return [one for one in self._store.goldens() if self._fits(one)]

    def _fits(self, part: str) -> bool:
        line = self._store.part(part)
        return line.simulated == self._board.identity.simulated and line.part.form == self._form

    def _follow(self, event: Event, number: int) -> None:
        """A step of the test that is going on."""
        if isinstance(event, StepStarted):
            self._tell(
                Stage.TESTING, "TESTING", HANDS_OFF, number=number, step=event.title, steps_done=event.index - 1,
                steps_total=event.count, say=(Control.END,),
            )  # fmt: skip

    def _tell(
        self, stage: Stage, word: str, sentence: str, *, say: tuple[Control, ...] = (), number: int = 0,
        reasons: tuple[str, ...] = (), bin: Bin | None = None, picture: CoilPicture | None = None, go: str = "",
        step: str = "", steps_done: int = 0, steps_total: int = 0, golden: str = "",
    ) -> None:  # fmt: skip
        """Show a view, when anything in it is new."""
        who = self._board.identity
        view = CrateView(
            version=max(self._version, 1), simulated=who.simulated, crate=self._setup.crate,
            protocol=self._sorting.name, board=f"{who.kind} board {who.serial}", stage=stage,
            number=number or self._ledger.next_number, word=word, sentence=sentence, reasons=reasons, bin=bin,
            step=step, steps_done=steps_done, steps_total=steps_total, tally=self._ledger.tally,
            last=self._ledger.newest[:LAST_SHOWN], picture=picture, go=go, controls=say,
            protocols=self._setup.protocols, golden=golden,
        )  # fmt: skip
        if view == self._view:
            return
        with self._lock:
            self._version += 1
            if self._view is None or (view.stage, view.word, view.number) != (
                self._view.stage, self._view.word, self._view.number,
            ):  # fmt: skip
                self._since = self._version
            self._view = view.model_copy(update={"version": self._version})
        self._show(self._view)
