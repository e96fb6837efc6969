"""Single parts on one bench, one after the other: each is looked at, proposed, tested at a key, and its result shown.

Rule: nothing is energised but by the one key at a view that proposed it, and only what a second look still sees.
"""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import get_args

from pulldrop.board.errors import BoardError, Refused, Tripped
from pulldrop.jobs.back import GONE, until_back
from pulldrop.jobs.desk import Desk
from pulldrop.jobs.parts import golden, keep
from pulldrop.jobs.run import by_look, choose
from pulldrop.jobs.run.boards import Opened, virtual_hand
from pulldrop.jobs.run.by_look import Looked
from pulldrop.jobs.run.day import first_today
from pulldrop.jobs.run.events import Event, RunStarted
from pulldrop.jobs.run.identify import NotEnergised
from pulldrop.jobs.run.picture import Pictures
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.run.test_one import RunOptions, Task, Void
from pulldrop.measure import StepStarted
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.crate.crate import CoilPicture, Command, Control, Stage
from pulldrop.model.run.hand import Hand, Request
from pulldrop.model.run.plan import Plan
from pulldrop.model.run.purpose import Purpose
from pulldrop.model.run.record import RunRecord
from pulldrop.model.run.short import ShortResult, short_result
from pulldrop.model.run.single import Cue, SingleView
from pulldrop.model.verdict import Judged, Overall
from pulldrop.model.wording import words
from pulldrop.model.wording.cautions import WHILE_SORTING, before_run
from pulldrop.protocol.ratings.classes import classes
from pulldrop.protocol.shipped.purposes import protocol_for
from pulldrop.store import Store

IDLE_S = 0.05
"""Between two looks for a command."""
HAND_S = 600.0
"""What is asked is closed after so long without an answer: of a hand amid a test it is left out, and a proposal to test
has to be made anew."""
LAST_SHOWN = 8
END = (Control.END,)
HANDS_OFF = "Hands off. The part is being tested."
STOPPED_BY_HAND = "It was stopped by a press of the button."
KNOB_CUES: dict[str, Cue] = {
    "in": "question", "up": "on", "down": "off", "on": "well", "slower": "look again", "out": "question",
}  # fmt: skip
"""How what is asked of a knob is heard, by turn."""

Next = Callable[[], "Next | None"]
Kept = Callable[[RunRecord, bool, Sequence[str]], None]
"""Gets each finished run, whether its id is new to the part, and what is doubtful about it."""


@dataclass(frozen=True, slots=True)
class SingleSetup:
    """What a person named. `plan`: by a rating that was named; `part`: the id on the first part, else the next free.

    parts: what the hand of a simulated bench puts into the socket, the first one lying there already; None where a
    person does. store: as `--store` names it.
    """

    plan: Plan | None = None
    protocol: str | None = None
    part: str = ""
    operator: str = ""
    rested_s: float | None = None
    seed: int | None = None
    store: str | None = None
    parts: Iterator[VirtualPart] | None = None


@dataclass(slots=True)
class _Wish:
    """What was chosen for the part in the socket."""

    protocol: str | None
    plan: Plan | None
    part: str = ""
    thing: VirtualPart | None = None


@dataclass(slots=True)
class _Past:
    """What the screens show of the runs so far."""

    last: tuple[tuple[str, str], ...] = ()
    record: RunRecord | None = None
    pictures: Pictures = field(default_factory=Pictures)


class Single:
    """One board. `run` in one thread; `press` from any."""

    def __init__(
        self, opened: Opened, store: Store, setup: SingleSetup, show: Callable[[SingleView], None], kept: Kept
    ) -> None:
        self._board, self._store, self._setup, self._kept = opened.board, store, setup, kept
        self._rig = Rig.uncalibrated(opened.board)
        self._exchange = opened.exchange
        self._desk = Desk[SingleView](show)
        self._hand: Hand = virtual_hand(opened.leads, opened.knob) if opened.leads else self._by_hand
        first = next(setup.parts) if setup.parts else None
        self._wish = _Wish(setup.protocol, setup.plan, setup.part, first)
        self._past = _Past()
        self._testing = ""
        self._turn = Request("")
        self._stopped = False

    def press(self, command: Command) -> str:
        """Take a command, or say in a sentence why not. May be called from any thread."""
        return self._desk.press(command)

    def run(self) -> RunRecord | None:
        """Test until somebody ends it; the last record. Raises StoreError, and BoardError of a simulated board."""
        stage: Next | None = self._look
        while stage is not None:
            try:
                stage = stage()
            except GONE as gone:
                stage = partial(self._gone, gone)
            except (Tripped, Refused) as trouble:
                stage = partial(self._mend, str(trouble))
        self._tell(Stage.ENDED, "ENDED", "Every test is kept.")
        return self._past.record

    # --- looking ---

    def _see(self) -> Looked:
        wish = self._wish
        plan = wish.plan
        printed = wish.thing.specimen if wish.thing and not plan else None
        return by_look.look(self._board, self._store, plan, wish.protocol, printed)

    def _look(self, before: Looked | None = None) -> Next | None:
        """Look, and propose; test at once what was agreed to `before` and still lies there. A part that is refused
        needs no agreement: nothing is energised."""
        self._tell(Stage.TESTING, "LOOKING", "Hands off. It is looked at with a few mA.")
        try:
            looked = self._see()
        except NotEnergised as no:
            return self._ask_again(str(no))
        if looked.refused:
            return partial(self._test, looked)
        if before is not None and by_look.same(before, looked):
            return partial(self._test, looked)
        return partial(self._propose, looked, before is not None)

    def _ask_again(self, why: str) -> Next | None:
        self._tell(Stage.INSERT, "NOT TESTED", why, kinds=_kinds(), go="look again", say=(Control.RATING, *END))
        return self._agreed(Looked(None))

    def _alone(self) -> Next | None:
        """Nobody pressed anything: nothing is proposed any more, until somebody is there."""
        self._tell(Stage.INSERT, "INSERT", "Put a part in, then press.", go="look at it", say=END)
        return self._look if self._ask().control is Control.GO else None

    def _propose(self, looked: Looked, changed: bool) -> Next | None:
        seen = (words.in_short(looked.identified),) if looked.identified else ()
        if looked.plan is None:
            self._tell(
                Stage.QUESTION, "WHAT KIND?", "Name the kind of part, then it is looked at again.", reasons=seen,
                kinds=_kinds(), go="look again", say=(Control.RATING, *END),
            )  # fmt: skip
        else:
            sentence = "Hands off the part, then press." if not changed else "Another part, or not as it lay: look."
            self._tell(
                Stage.QUESTION, "TEST?", sentence, reasons=seen, proposed=by_look.proposed(looked), kinds=_kinds(),
                go="test it", say=(Control.PURPOSE, Control.RATING, *END),
                cautions=before_run([looked.plan], first_today(self._store, self._board.identity)),
            )  # fmt: skip
        return self._agreed(looked)

    def _agreed(self, looked: Looked) -> Next | None:
        said = self._ask(HAND_S)
        match said.control:
            case Control.END:
                return None
            case Control.NO:
                return self._alone
            case Control.GO:
                return partial(self._look, looked if looked.plan else None)
            case Control.PURPOSE if said.text in get_args(Purpose):
                self._wish.protocol = protocol_for("relay", said.text)  # type: ignore[arg-type]  # one of them
            case Control.RATING if said.text in {one.rating for one in classes()}:
                bare = self._board.identity.build == "bare"
                self._wish.plan = choose.plan_rated(self._wish.protocol, said.text, bare)
        if self._wish.plan and self._wish.protocol:
            self._wish.plan = choose.plan_rated(self._wish.protocol, self._wish.plan.rating)
        return self._look

    # --- testing ---

    def _test(self, looked: Looked) -> Next | None:
        plan, wish, setup = looked.plan, self._wish, self._setup
        assert plan is not None
        part = plan.rating.part(keep.for_run(self._store, wish.part))
        task = Task(plan=plan, part=part, operator=setup.operator)
        if wish.thing:
            about = {"label": wish.thing.specimen.title, "donor": wish.thing.specimen.donor}
            task = replace(
                task, part=part.model_copy(update=about), specimen=wish.thing.text, seed=setup.seed
            )  # a virtual part says itself what it is
        self._past.pictures, self._stopped = Pictures(), False
        options = RunOptions(hand=self._hand, rested_s=setup.rested_s, watch=self._watch)
        record = by_look.examine(task, looked, self._board, self._store, self._follow, options)
        if record.verdict.overall is Overall.INTERRUPTED and not self._stopped:
            raise KeyboardInterrupt
        record, new = golden.with_drift(self._store, record), not wish.part
        known = keep.known_already(self._store, record) if new else ""
        doubts = tuple(filter(None, (*record.warnings, known)))
        self._past.record, wish.part = record, record.part.id
        self._kept(record, new, doubts)
        return partial(self._result, record, new, doubts)

    def _watch(self, _judged: Sequence[Judged]) -> None:
        """Between two steps: whether somebody wants it to stop."""
        command = self._desk.take()
        self._stopped = self._stopped or (command is not None and command.control is Control.END)
        if self._stopped:
            raise Void(STOPPED_BY_HAND)

    def _follow(self, event: Event) -> None:
        self._past.pictures.follow(event)
        match event:
            case RunStarted():
                self._testing = event.part.id
                self._step("", 0, len(event.plan.steps))
            case StepStarted():
                self._step(event.title, event.index - 1, event.count)

    def _step(self, title: str, done: int, total: int) -> None:
        self._tell(
            Stage.TESTING, "TESTING", HANDS_OFF, part=self._testing, step=title, done=done, total=total,
            picture=self._past.pictures.newest, say=END,
        )  # fmt: skip

    def _result(self, record: RunRecord, new: bool, doubts: tuple[str, ...]) -> Next | None:
        """The result stays until somebody goes on; then the next part is another one, unless it is tested again."""
        short = short_result(record, new, self._setup.store)
        self._tell(
            Stage.RESULT, short.word, _hands(self._board.identity.simulated), reasons=doubts, part=short.part,
            result=short, picture=self._past.pictures.newest, go="next part", say=(Control.RETEST, *END),
            cautions=(short.mind,),
        )  # fmt: skip
        said = self._ask()
        self._past.last = ((short.word, short.part), *self._past.last)[:LAST_SHOWN]
        if said.control is Control.RETEST:
            return self._look
        if said.control is not Control.GO:
            return None
        setup = self._setup
        self._wish = _Wish(setup.protocol, setup.plan)
        if setup.parts and self._exchange:
            self._wish.thing = next(setup.parts)
            self._exchange(self._wish.thing.specimen)
        return self._look

    # --- trouble, and hands ---

    def _gone(self, gone: BoardError) -> Next | None:
        """Wait until the board is back, with everything off; a simulated one does not come back."""
        simulated = self._board.identity.simulated

        def show(text: str) -> None:
            self._tell(Stage.STOPPED, "BOARD GONE", text, say=() if simulated else END)
            if simulated:
                raise gone

        sentence = f"{gone} Plug it in again: then the part is looked at anew."
        return self._look if until_back(self._board, sentence, show, self._desk.take) else None

    def _mend(self, why: str) -> Next | None:
        self._rig.off()
        self._tell(Stage.STOPPED, "STOPPED", why, go="mended: look again", say=END)
        if self._ask().control is not Control.GO:
            return None
        self._rig.acknowledge()
        return self._look

    def _by_hand(self, request: Request) -> bool:
        """What only a hand can do, asked on the screens; a knob is not waited for, but may be left out."""
        if request.turn is None:
            self._tell(
                Stage.QUESTION, "YOUR HAND", request.text, part=self._testing, go="it is done", say=(Control.NO, *END)
            )
            return self._done(self._ask(HAND_S))
        if request.turn == "done":
            return True
        if request.word:
            self._turn = request
        at = request.turn == "at"
        self._tell(
            Stage.TESTING, self._turn.word, request.text or self._turn.text, part=self._testing,
            say=(Control.NO, *END), volts=request.volts if at else None, most_v=request.most_v,
            cue=KNOB_CUES.get(self._turn.turn or "", ""),
        )  # fmt: skip
        command = self._desk.take()
        return command is None or self._done(command)

    def _done(self, command: Command) -> bool:
        """Whether what was asked of a hand was done; who ends the test there ends it before its next step."""
        self._stopped = command.control is Control.END
        return command.control is Control.GO

    def _ask(self, most_s: float = float("inf")) -> Command:
        """What is pressed; NO where nobody presses anything for so long."""
        until = time.monotonic() + most_s
        while (command := self._desk.take()) is None:
            if time.monotonic() > until:
                return Command(control=Control.NO)
            time.sleep(IDLE_S)
        return command

    def _tell(
        self, stage: Stage, word: str, sentence: str, *, say: tuple[Control, ...] = (), reasons: tuple[str, ...] = (),
        proposed: str = "", kinds: tuple[tuple[str, str], ...] = (), part: str = "", result: ShortResult | None = None,
        step: str = "", done: int = 0, total: int = 0, picture: CoilPicture | None = None, go: str = "",
        volts: float | None = None, most_v: float = 0.0, cue: Cue = "",
        cautions: tuple[str, ...] = WHILE_SORTING,
    ) -> None:  # fmt: skip
        who = self._board.identity
        self._desk.lay(
            SingleView(
                version=1, simulated=who.simulated, board=f"{who.kind} board {who.serial}", stage=stage, word=word,
                sentence=sentence, reasons=reasons, proposed=proposed, kinds=kinds, part=part, result=result, step=step,
                steps_done=done, steps_total=total, picture=picture, go=go,
                controls=(*((Control.GO,) if go else ()), *say), last=self._past.last, volts=volts,
                most_v=most_v, cue=cue, cautions=cautions,
            )
        )  # fmt: skip


def _kinds() -> tuple[tuple[str, str], ...]:
    return tuple((one.rating, one.title) for one in classes())


def _hands(simulated: bool) -> str:
    """What the hands do after a result."""
    if simulated:
        return "Coil and load are off. The next virtual part is put in at the key."
    return "Coil and load are off. Take it out, put the next one in, then press."
