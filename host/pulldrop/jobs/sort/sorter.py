"""Sort a crate: a state machine over store, board and a hand, which shows views and takes commands.

CHECK (empty socket, then a link) -> INSERT (a part is seen) -> STILL (it is left alone) -> TESTING -> RESULT (until it
is pulled) -> INSERT; a QUESTION where only a person knows, STOPPED where the bench must be seen to. Rules: what counts
is written down before it is shown, so that whoever begins again goes on where it was; nothing is energised but by way
of STILL, because a hand may still be there.
"""

from collections.abc import Callable
from functools import partial

from pulldrop.board.contract import Board
from pulldrop.board.errors import BoardError, Refused, Tripped
from pulldrop.jobs.back import GONE
from pulldrop.jobs.parts import golden
from pulldrop.jobs.run.by_look import cold_ohm
from pulldrop.jobs.run.day import first_today
from pulldrop.jobs.sort import fit as sort_check
from pulldrop.jobs.sort.book import Book
from pulldrop.jobs.sort.one_part import Job, Sorted, sort_part
from pulldrop.jobs.sort.same_part import nothing
from pulldrop.jobs.sort.screen import Screen
from pulldrop.jobs.sort.setup import Setup, Surroundings
from pulldrop.jobs.sort.still import Emptied, Still
from pulldrop.jobs.sort.views import END, OFF, Views
from pulldrop.jobs.sort.wait import Seat, Waiting
from pulldrop.measure.identify.socket import Look, look
from pulldrop.measure.identify.survey import Surveyor
from pulldrop.measure.rig.rig import Rig
from pulldrop.measure.rig.scan_read import Eyes
from pulldrop.model.crate.crate import Command, Control, CrateView, Happened, Placed, Stage, Word
from pulldrop.model.crate.sorting import Sorting
from pulldrop.model.part.part import Part
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.model.wording.cautions import before_run
from pulldrop.protocol.errors import ProtocolError
from pulldrop.store import CrateRefused, Store
from pulldrop.text.problem import BadText

PAIRS = 4
"""Pairs measured between two looks at a part that sits still and is not seen whole."""
NO_GOLDEN = "No golden part is marked, so a drift of the bench would not be noticed: pulldrop calibrate golden PART."

Next = Callable[[], "Next | None"]


class Sorter:
    """One crate on one board. `run` in one thread; `press` from any. Raises CrateRefused for what cannot be."""

    def __init__(
        self, board: Board, store: Store, setup: Setup, around: Surroundings, show: Callable[[CrateView], None]
    ) -> None:
        self._board, self._store, self._setup, self._around = board, store, setup, around
        self._rig = Rig.uncalibrated(board)
        if unfit := sort_check.unfit(board):
            raise CrateRefused(unfit)
        self._book = Book(store, setup, board.identity.simulated)
        self._ledger = self._book.ledger
        self._screen = Screen(board.identity, setup.crate, setup.ratings, self._ledger, show)
        self._first_today = first_today(store, board.identity, setup.now())
        self._waiting = Waiting(self._rig, self._screen, around, self._at_once)
        self._use(setup.load(self._ledger.rating) if self._ledger.rating else setup.sorting)
        self._views = Views(self._screen, self._book)
        self._before = Look.nothing()
        self._cold_ohm: float | None = None
        self._golden = self._notice = ""
        self._no_golden = NO_GOLDEN if self._sorting.golden_every and not self._book.goldens(self._sorting) else ""
        self._pairs: tuple[Look, Surveyor] | None = None
        self._began_s = 0.0
        self.bench_s: dict[int, float] = {}
        """Bench time of each number, from the look that saw it first to its bin."""

    @property
    def parts(self) -> tuple[Placed, ...]:
        """Every part that is placed, by its number."""
        return self._ledger.parts

    def press(self, command: Command) -> str:
        """Take a command, or say in a sentence why not. May be called from any thread."""
        return self._screen.press(command)

    def run(self) -> None:
        """Sort until somebody ends it. Raises BoardError when the board is gone, StoreError when the store is."""
        stage: Next | None = self._begin
        try:
            while stage is not None:
                try:
                    stage = self._guarded(stage)
                except GONE as gone:
                    stage = self._gone(gone)
        finally:
            self._board.close()
        self._screen.tell(Stage.ENDED, "ENDED", "The crate is kept. Start again with its name to continue.")

    def _gone(self, gone: BoardError) -> Next:
        """A board that comes back is begun with again; a simulated one does not come. Raises `gone` at the end."""
        if not self._board.identity.simulated and self._waiting.until_back(gone):
            return self._begin
        sentence = f"{gone} Plug it in, then start again: the crate continues where it stopped."
        self._screen.tell(Stage.STOPPED, "BOARD GONE", sentence)
        raise gone

    def _guarded(self, stage: Next) -> Next | None:
        """One stage; trouble that a person can mend stops the crate with its reason."""
        try:
            return stage()
        except (Tripped, Refused) as trouble:
            return self._stop(str(trouble))

    # --- the bench, before the first part ---

    def _begin(self) -> Next | None:
        """Where the work was left, and whether the bench is as it should be."""
        self._notice = ""
        if self._ledger.unpulled is None:
            return self._check_empty
        if look(self._rig).empty:
            self._book.keep(Happened.PULLED, self._ledger.unpulled)
            return self._check_empty
        return self._ask_like if self._ledger.likeness else self._ask_still

    def _ask_still(self) -> Next | None:
        """The work stopped while a part with a number was in the socket; only a person knows whether this is it."""
        number = self._ledger.unpulled or 0
        placed = self._ledger.placed(number)
        where = f" It belongs in the {placed.bin.upper()} box." if placed else ""
        sentence = f"Number {number} was sorted just before the work stopped.{where} Is it the part in the socket?"
        answer = self._is_it(number, sentence)
        if answer:
            self._before = look(self._rig)
            return self._result
        if answer is False:
            self._book.keep(Happened.PULLED, number)
            return self._check_empty
        return None

    def _check_empty(self) -> Next | None:
        """Whatever is in the socket now was not tested to an end: it is taken out first."""
        self._screen.tell(Stage.CHECK, "CHECK", "Leave the socket empty: the bench tests itself.", say=END)
        if look(self._rig).empty:
            return self._self_test
        sentence = "Take out what is in the socket, and insert it again when a part is asked for."
        if not self._waiting.until_empty(Stage.CHECK, "EMPTY IT", sentence):
            return None
        return partial(self._hands_off, "The bench tests itself.", self._self_test, self._check_empty)

    def _self_test(self) -> Next | None:
        if not look(self._rig).empty:
            return self._check_empty
        wrong = sort_check.empty(self._board)
        return self._stop(wrong) if wrong else self._check_link

    def _check_link(self) -> Next | None:
        sentence = "Put the shorting link between 30 and 87, then press the one key. Skip it if you have none."
        while True:
            self._screen.tell(Stage.CHECK, "LINK", sentence, go="the link is in", say=(Control.SKIP, *END))
            control = self._waiting.idle()
            if control is Control.END:
                return None
            if control is Control.SKIP:
                self._book.keep(Happened.CHECKED, text="empty; without a link")
                break
            if control is Control.GO:
                return partial(self._hands_off, "The link then carries 10 A.", self._load_link, self._check_link)
        return self._link_out

    def _load_link(self) -> Next | None:
        if wrong := sort_check.link(self._board, self._store, self._before):
            return self._stop(wrong)
        self._book.keep(Happened.CHECKED, text="empty, and a link")
        return self._link_out

    def _link_out(self) -> Next | None:
        out = self._waiting.until_empty(Stage.CHECK, "LINK OUT", "Take the link out.")
        return self._insert if out else None

    def _hands_off(
        self, sentence: str, then: Next, gone: Next, still: Still | None = None, number: int = 0
    ) -> Next | None:
        """`then` once what lies in the socket, if anything, has sat still; `gone` when it was taken out."""
        still = still or Still()

        def meanwhile() -> None:
            if self._odd(still.seen):
                self._closer(still.seen).look(PAIRS)

        match self._waiting.until_still(still, sentence, meanwhile, number, self._golden):
            case Seat.STILL:
                self._before = still.seen
                return then
            case Seat.GONE:
                return gone
            case Seat.END:
                return None

    # --- a part ---

    def _insert(self) -> Next | None:
        """Wait until a part is seen, or for a key."""
        self._views.next_part()
        self._before, self._cold_ohm, self._pairs = Look.nothing(), None, None
        self._golden = self._book.golden_due(self._sorting)
        while True:
            notes = tuple(one for one in (self._notice, self._no_golden) if one)
            self._views.insert(self._golden, self._sorting.golden_every, notes)
            self._began_s, still = self._board.elapsed(), Still()
            still.see(look(self._rig), self._board.elapsed())
            if not still.seen.empty:
                return partial(self._seat, still)
            control = self._waiting.idle()
            if control is Control.END:
                return None
            if control is Control.GO:
                return self._ask_unseen
            if control is Control.SKIP and self._golden:
                self._book.keep(Happened.GOLDEN, text=f"{self._golden}: skipped")
                self._golden = ""
            elif control is Control.SKIP:
                self._untested("skipped, not tested")
                return self._result

    def _ask_unseen(self) -> Next | None:
        """The key was pressed although nothing is seen: no phantom may get a number."""
        sentence = "Nothing is seen in the socket. Is there a part in it, pushed home?"
        return {None: None, True: self._seat, False: self._insert}[
            self._answer("PART IN?", sentence, "yes, test it", False)
        ]

    def _seat(self, still: Still | None = None) -> Next | None:
        """Wait until the part is left alone; meanwhile measure one that is not seen whole more closely.

        `still`: the look that saw it first, if one did.
        """
        what = f"The golden part {self._golden}" if self._golden else f"Part {self._ledger.next_number}"
        return self._hands_off(f"{what} starts once it has sat still.", self._test, self._insert, still)

    def _odd(self, seen: Look) -> bool:
        """Whether something is seen, and not all that a part in order joins."""
        return not (self._golden or seen.empty or seen.whole(self._form))

    def _closer(self, seen: Look) -> Surveyor:
        """The pairs of an odd part; all of them again once it has moved."""
        if self._pairs is None or self._pairs[0] is not seen:
            self._pairs = seen, Surveyor(Eyes(self._board))
        return self._pairs[1]

    def _test(self) -> Next | None:
        number, seen = self._ledger.next_number, self._before
        if self._odd(seen):
            self._views.testing("LOOKING", number)
            if why := sort_check.refused(self._board, self._store, self._sorting.screen, seen, self._closer(seen)):
                self._untested(*why)
                return self._result
        return self._after(self._sort(number, self._sorting.screen.rating.part(self._golden), keep=not self._golden))

    def _retest(self, still: Still) -> Next | None:
        """The part that is in the socket once more; it need not sit still again where it was seen to all along."""
        self._began_s = self._board.elapsed()
        number = self._ledger.unpulled or self._ledger.next_number
        sentence = f"Part {number} starts once it has sat still."
        return self._hands_off(sentence, self._again, self._result, still, number)

    def _again(self) -> Next | None:
        placed = self._ledger.placed(self._ledger.unpulled or 0)
        if placed is None:  # it was undone
            return self._test
        return self._after(
            self._sort(placed.number, self._sorting.screen.rating.part(placed.part), keep=True, again=True)
        )

    def _sort(self, number: int, part: Part, keep: bool, again: bool = False) -> Sorted:
        """Test what is in the socket and place it under `number`."""
        self._notice = self._no_golden = ""
        self._views.testing("TESTING", number)
        job = Job(
            self._setup.crate, self._ledger.seq + 1, number, part, self._sorting, self._before, self._setup.now,
            self._setup.operator, *self._around.specimen(), keep, self._cold_ohm, self._own,
        )  # fmt: skip
        likely = nothing if again or not keep else self._book.prints.likely
        done = sort_part(job, self._board, self._store, lambda event: self._views.follow(event, number), likely)
        self._cold_ohm = cold_ohm(done.record)
        if done.event is not None:
            self._book.add(done.event)
            self._time(number)
        return done

    def _after(self, done: Sorted) -> Next | None:
        """Where a tested part leads."""
        if done.trouble is not None:
            if done.event is None:
                raise done.trouble
            self._rig.acknowledge()
        if done.record.verdict.overall is Overall.INTERRUPTED:
            if not done.void:
                raise KeyboardInterrupt
            self._notice = done.record.verdict.found
            sentence = f"{self._notice} Take out what is in the socket, then insert the part again. {OFF}"
            return self._insert if self._waiting.until_empty(Stage.RESULT, Word.VOID, sentence) else None
        if self._golden:
            return self._after_golden(done.record)
        return self._ask_like if self._ledger.likeness else self._result

    def _after_golden(self, record: RunRecord) -> Next | None:
        if drifted := golden.drift(self._store, record):
            return self._stop(" ".join(drifted))
        self._book.keep(Happened.GOLDEN, text=f"{self._golden}: as it was")
        sentence = f"{self._golden} reads as before. Take it out."
        return self._insert if self._waiting.until_empty(Stage.RESULT, Word.WELL, sentence) else None

    def _ask_like(self) -> Next | None:
        likeness = self._ledger.likeness
        assert likeness is not None
        sentence = f"{likeness.text} Look at what is written on it: is it number {likeness.like}?"
        answer = self._is_it(likeness.like, sentence)
        if answer is None:
            return None
        if answer:
            merged = self._ledger.merged(likeness)
            self._book.keep(Happened.SAME, likeness.like, run=merged.run, placed=merged)
        else:
            self._book.keep(Happened.OTHER, likeness.number)
        return self._result

    def _result(self) -> Next | None:
        """Show the result until the part is pulled; for a part that no look can see the key says that it is out."""
        still, emptied, unseen = Still(), Emptied(), self._before.empty
        while True:
            placed = self._ledger.placed(self._ledger.unpulled or 0)
            self._views.result(placed, "the part is out" if unseen else "")
            seen = look(self._rig)
            still.see(seen, self._board.elapsed())
            gone = emptied.see(seen)
            control = self._waiting.idle()
            if control is Control.END:
                return None
            if control is Control.RETEST:
                return partial(self._retest, still)
            if control is Control.GO if unseen else gone:
                if self._ledger.unpulled is not None:
                    self._book.keep(Happened.PULLED, self._ledger.unpulled)
                return self._insert

    def _stop(self, reason: str) -> Next | None:
        self._rig.off()
        while True:
            self._screen.tell(Stage.STOPPED, "STOPPED", reason, go="mended: check the bench again", say=END)
            control = self._waiting.idle()
            if control is Control.END:
                return None
            if control is Control.GO:
                self._rig.acknowledge()
                return self._begin

    # --- what a person says ---

    def _is_it(self, number: int, sentence: str) -> bool | None:
        """Whether the part is the one of that number."""
        return self._answer(f"NUMBER {number}?", sentence, f"yes, it is number {number}", None, number)

    def _answer(self, word: str, sentence: str, go: str, alone: bool | None, asked: int = 0) -> bool | None:
        """Yes or no to a question; None for the end of the work, `alone` where nobody answers."""
        return self._waiting.answer(lambda: self._views.question(word, sentence, go, asked), alone)

    def _at_once(self, command: Command) -> bool:
        """Do what needs no stage of its own; False for any other command."""
        match command.control:
            case Control.NOTE:
                number = command.number or self._ledger.newest[0].number
                self._notice = self._book.note(number, command.text[:200]) or self._notice
            case Control.UNDO:
                self._notice = self._book.undo()
            case Control.RATING:
                self._change_rating(command.text)
            case _:
                return False
        return True

    def _change_rating(self, name: str) -> None:
        try:
            self._use(self._setup.load(name))
        except (ProtocolError, BadText) as wrong:
            self._notice = str(wrong)
        else:
            self._book.keep(Happened.RATING, text=name)

    def _untested(self, *why: str) -> None:
        self._time(self._book.untested(why))

    def _time(self, number: int) -> None:
        """Note how long a part was on the bench that has its bin now."""
        self.bench_s[number] = self._board.elapsed() - self._began_s

    def _use(self, sorting: Sorting) -> None:
        """Sort for this rating from here on."""
        self._sorting, self._form = sorting, sorting.screen.form
        self._own = self._setup.normally_closed(sorting)
        self._book.prints.differ = self._form is not None
        self._screen.protocol, self._screen.rating = sorting.name, sorting.screen.rating.rating
        self._screen.cautions = before_run([sorting.screen, sorting.full], self._first_today)
