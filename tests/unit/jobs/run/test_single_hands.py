"""What a single test asks of a hand by the page: leads and knob, what nobody answers, and a board that comes back."""

import threading
import time
from collections.abc import Callable

import pytest

from pulldrop.board.contract import Status
from pulldrop.board.errors import BoardLost, NoBoard
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.jobs import back
from pulldrop.jobs.run import choose
from pulldrop.jobs.run.boards import Opened, virtual_hand
from pulldrop.jobs.run.specimens import find
from pulldrop.jobs.single import single
from pulldrop.jobs.single.single import Single, SingleSetup
from pulldrop.model.crate.crate import Command, Control, Stage
from pulldrop.model.reading import Reading
from pulldrop.model.run.hand import Request
from pulldrop.model.run.record import RunRecord
from pulldrop.model.run.single import SingleView
from pulldrop.model.verdict import Overall
from pulldrop.store import Store

GOOD, CLASS = "good-12v-changeover", "class-mini-12v-form-c"
LIMIT_S = 60.0


class Desk:
    """A bench that asks by views, and a person who answers each kind of view by `says`, None for no answer."""

    def __init__(self, opened: Opened, protocol: str, says: Callable[[SingleView], Control | None]) -> None:
        self.views, self.records = list[SingleView](), list[RunRecord]()
        self._says, self._opened, self._protocol = says, opened, protocol

    def run(self) -> None:
        with Store.open(":memory:") as store:
            setup = SingleSetup(choose.plan_rated(self._protocol, CLASS), self._protocol, seed=1)
            one = Single(self._opened, store, setup, self.see, lambda record, *_: self.records.append(record))
            self._press = one.press
            one.run()

    def see(self, view: SingleView) -> None:
        self.views.append(view)
        said = Control.END if view.stage is Stage.RESULT else self._says(view)
        if said is not None and said in view.controls:
            threading.Timer(0.02, self._press, (Command(control=said, seen=view.version),)).start()

    def asked(self, word: str) -> list[SingleView]:
        return [one for one in self.views if one.word == word]


def real(board: VirtualBoard) -> VirtualBoard:
    """The same board as if it was wired to this computer: nobody but a person stands by."""
    board.identity = board.identity.model_copy(update={"kind": "real", "serial": 7})
    return board


def exchanging(board: VirtualBoard, does: Callable[[str], Control | None]) -> Desk:
    """A hand that does with the leads what it is asked for, and then says what `does` gives for it."""

    def says(view: SingleView) -> Control | None:
        if view.word != "YOUR HAND":
            return Control.GO
        said = does(view.sentence)
        if said is Control.GO:
            board.exchange_leads("Exchange" in view.sentence)
        return said

    return Desk(Opened(real(board), None), "relay-reversed", says)


def test_leads_are_exchanged_and_put_back_at_the_key_of_the_page() -> None:
    desk = exchanging(VirtualBoard(find(GOOD).specimen, 1, False), lambda _: Control.GO)
    desk.run()
    (record,) = desk.records
    assert [("Exchange" in one.sentence) for one in desk.asked("YOUR HAND")] == [True, False]
    assert all(one.part == record.part.id and Control.NO in one.controls for one in desk.asked("YOUR HAND"))
    assert record.verdict.overall is Overall.WITHOUT_LOAD


@pytest.mark.parametrize("answer", [Control.NO, None], ids=["no", "nobody"])
def test_leads_that_are_left_alone_are_never_a_pass(answer: Control | None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(single, "HAND_S", 0.3)
    board = VirtualBoard(find(GOOD).specimen, 1, False)
    desk = exchanging(board, lambda _: answer)
    began = time.monotonic()
    desk.run()
    (record,) = desk.records
    assert record.verdict.overall is Overall.INCOMPLETE
    assert not board.status().on and time.monotonic() - began < LIMIT_S


def test_a_proposal_that_nobody_answers_is_closed_and_a_press_begins_with_a_look(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(single, "HAND_S", 0.3)
    came: list[SingleView] = []

    def says(view: SingleView) -> Control | None:
        if view.word == "INSERT":
            came.append(view)
        return Control.GO if came else None

    desk = Desk(Opened(real(VirtualBoard(find(GOOD).specimen, 1, False)), None), "relay-quick", says)
    desk.run()
    words = [one.word for one in desk.views]
    closed = words.index("INSERT")
    assert words[closed - 1 : closed + 3] == ["TEST?", "INSERT", "LOOKING", "TEST?"] and len(desk.records) == 1


def test_a_knob_is_shown_as_it_stands_while_it_is_turned() -> None:
    board = EveningBoard(find(GOOD).specimen, 1)
    turn = virtual_hand(board.exchange_leads, board.plant)

    def says(view: SingleView) -> Control | None:
        return Control.GO if view.stage is Stage.QUESTION else None

    desk = Desk(Opened(real(board), None), "relay-quick", says)
    by_page = Single._by_hand

    def both(self: Single, request: Request) -> bool:
        turn(request)
        return by_page(self, request)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Single, "_by_hand", both)
        desk.run()
    ups, downs = desk.asked("TURN UP"), desk.asked("TURN DOWN")
    bars = [one.volts for one in ups if one.volts is not None]
    assert len(bars) > 5 and max(bars) > min(bars) + 3 and downs, "the bar follows the knob"
    assert all(one.most_v >= max(bars) for one in ups if one.volts is not None)
    assert [{one.cue for one in desk.asked(word)} for word in ("TURN UP", "TO THE END", "TURN DOWN")] == [
        {"on"}, {"well"}, {"off"},
    ], "the tone at the edge is that of a good outcome"  # fmt: skip
    assert desk.asked("S4 TO KNOB") and desk.asked("S4 TO SUPPLY")
    assert all(Control.NO in one.controls for one in ups)
    (record,) = desk.records
    assert {"pull_in_voltage", "drop_out_voltage"} <= {
        one.id for one in record.judged if isinstance(one.finding, Reading)
    }


class Unplugged(VirtualBoard):
    """Lost at its second look, and back at the third try to open it, with everything off."""

    tries = 0

    def __init__(self, part: str) -> None:
        super().__init__(find(part).specimen, 1, False)
        self.proposed = threading.Event()

    def status(self) -> Status:
        if not self.tries and self.proposed.is_set():
            raise BoardLost("The board does not answer: it was unplugged.")
        return super().status()

    def reopen(self) -> None:
        self.tries += 1
        if self.tries < 3:
            raise NoBoard("There is no board at that port.")
        super().reopen()


def test_a_board_that_is_unplugged_is_waited_for_and_the_part_looked_at_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(back, "BACK_S", 0.01)
    board = Unplugged(GOOD)

    def says(view: SingleView) -> Control | None:
        if view.word == "TEST?":
            board.proposed.set()
        return Control.GO

    desk = Desk(Opened(real(board), None), "relay-quick", says)
    desk.run()
    words = list(dict.fromkeys(one.word for one in desk.views))
    assert words.index("BOARD GONE") < words.index("TESTING") < words.index("PASS")
    assert len(desk.asked("TEST?")) == 2, "after it came back the part is proposed anew"
    assert board.tries == 3 and [one.verdict.overall for one in desk.records] == [Overall.PASS]
    (gone,) = desk.asked("BOARD GONE")
    assert Control.END in gone.controls and Control.GO not in gone.controls
