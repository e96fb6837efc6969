"""Every prompt of the terminal shows its choices, says for which part it is, and closes by Esc and by itself."""

import io
import os
import pty
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext

import pytest
from rich.console import Console

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.ask import answered, propose
from pulldrop.cli.ask.at_vehicle import AtVehicle
from pulldrop.cli.ask.by_hand import AtTerminal
from pulldrop.cli.ask.dialogue import Terminal
from pulldrop.cli.main import main
from pulldrop.jobs.calibrate.dialogue import walk
from pulldrop.jobs.calibrate.virtual import CalibratingHand
from pulldrop.jobs.run.specimens import empty_socket
from pulldrop.jobs.self_test.talk import Do, Question, Turn, converse
from pulldrop.model.run.hand import EXCHANGE, PUT_BACK
from pulldrop.model.vehicle.lead import LeadPlace
from pulldrop.plant.bench.instruments import COIL_PERCENT, Garage

SOON_S = 0.2
PLACE = LeadPlace(says="Pull the relay.", clips={})
BULB = LeadPlace(says="Now the bulb.", clips={}, bulb=("30", "minus"))


class Keyboard:
    """A terminal whose keys a test presses, a moment after a prompt began."""

    def __init__(self, keyboard: int) -> None:
        self._keyboard = keyboard
        self.out = Console(file=io.StringIO(), width=100, color_system=None)

    def now(self, keys: str) -> None:
        os.write(self._keyboard, keys.encode())

    def press(self, keys: str) -> None:
        threading.Timer(0.15, self.now, (keys,)).start()

    @property
    def said(self) -> str:
        return " ".join(self.out.file.getvalue().split())  # type: ignore[attr-defined]  # the StringIO above

    def hand(self) -> AtTerminal:
        return AtTerminal(self.out, nullcontext, simulated=False, part="Part R7K2M")


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch) -> Iterator[Keyboard]:
    ours, theirs = pty.openpty()
    monkeypatch.setattr(answered, "WAIT_S", SOON_S)
    monkeypatch.setattr(answered, "HELD_S", SOON_S)
    with os.fdopen(theirs, "r") as stdin:
        monkeypatch.setattr("sys.stdin", stdin)
        yield Keyboard(ours)
    os.close(ours)


def test_a_hand_is_asked_for_a_part_with_its_choices(at: Keyboard) -> None:
    at.press(" ")
    assert at.hand()(EXCHANGE) is True
    assert "Part R7K2M: Everything is off." in at.said
    assert "Space: it is done s: leave it out Esc: leave" in at.said


@pytest.mark.parametrize("keys", ["s", "\x1b", ""], ids=["s", "Esc", "nobody"])
def test_a_hand_that_does_not_do_it_leaves_it_out(keys: str, at: Keyboard) -> None:
    at.press(keys)
    assert at.hand()(EXCHANGE) is False


def test_leads_that_nobody_puts_back_stay_known_as_exchanged(at: Keyboard) -> None:
    hand = at.hand()
    at.press("\n")
    assert hand(EXCHANGE) and not hand(PUT_BACK) and hand.exchanged


def test_a_key_from_before_the_prompt_answers_nothing(at: Keyboard) -> None:
    at.now(" \n")
    time.sleep(0.05)  # until the terminal has it
    assert at.hand()(EXCHANGE) is False


@pytest.mark.parametrize("keys", ["\x1b", ""], ids=["Esc", "nobody"])
def test_every_prompt_closes_by_esc_and_by_itself(keys: str, at: Keyboard) -> None:
    vehicle, dialogue = AtVehicle(at.out, "Socket check"), Terminal(at.out)
    for ask in (
        lambda: vehicle(PLACE),
        lambda: vehicle(BULB),
        lambda: vehicle.choose("Which?", ("6", "12")),
        lambda: dialogue(Do("link", "Plug it in.")),
        lambda: dialogue(Question("meter", "What does it read?", "V")),
    ):
        before = at.said
        at.press(keys)
        with pytest.raises(answered.Unanswered):
            ask()
        assert "Esc: leave" in at.said[len(before) :]
    assert at.said.count("Socket check: ") == 3, "each says what it is for"
    at.press(keys)
    assert vehicle.confirm("Is all of that so?") is False
    assert "Socket check: Is all of that so? y: yes n: no Esc: leave" in at.said


def test_a_proposal_closes_by_itself(at: Keyboard) -> None:
    with propose.one_key() as key:
        assert key() in propose.LEAVE


def test_a_typed_number_is_seen_and_can_be_mended(at: Keyboard) -> None:
    at.press("5.13\x7f2\n")
    assert Terminal(at.out)(Question("meter", "What does it read?", "V")) == 5.12
    assert "5.13\b \b2" in at.said


def test_an_energised_bench_whose_prompt_nobody_answers_is_let_go(at: Keyboard) -> None:
    board = VirtualBoard(empty_socket().specimen, 1, False)
    hand, person = CalibratingHand(board, Garage(1), COIL_PERCENT), Terminal(at.out)
    lit: list[bool] = []

    def answer(turn: Turn) -> float | None:
        if isinstance(turn, Question) and turn.keep:
            lit.append(bool(board.status().on))
            return person(turn)
        return hand(turn)

    began = time.monotonic()
    with pytest.raises(answered.Unanswered):
        converse(walk(board, time.monotonic), answer)
    assert lit == [True] and not board.status().on
    assert time.monotonic() - began < 10


def test_a_switch_that_is_learnt_is_left_by_esc(
    at: Keyboard, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    @contextmanager
    def esc(take: Callable[[str], None]) -> Iterator[None]:
        take("\x1b")
        yield

    monkeypatch.setattr("pulldrop.cli.ask.keys.pressed", esc)
    assert main(["switch", "--board", "virtual"]) == 3
    shown = capsys.readouterr()
    assert "Esc leaves" in shown.out and "left by Esc" in shown.out
