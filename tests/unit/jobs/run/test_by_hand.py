"""A person is asked only where one can answer; whatever they do or leave out, the result says it, and is no pass."""

import io
import json
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext

import pytest

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.ask import keys
from pulldrop.cli.main import main
from pulldrop.jobs.run import boards, specimens

RATED = ("--rating", "class-mini-12v-form-c")
CTRL_C = "\x03"
REVERSED = ("test", "--protocol", "relay-reversed", *RATED, "--store", ":memory:", "--no-look")


class Typing(io.StringIO):
    """A terminal at which a person does what is asked, or not, and presses keys; Esc once they have no more."""

    def __init__(self, board: VirtualBoard, pressed: str, does: bool = True) -> None:
        super().__init__()
        self._board, self._pressed, self._does = board, list(pressed), does

    def isatty(self) -> bool:
        return True

    def waiting(self) -> str:
        key = self._pressed.pop(0) if self._pressed else "\x1b"
        if key == CTRL_C:
            raise KeyboardInterrupt
        if key == " " and self._does:
            self._board.exchange_leads(not self._board.plant.leads_exchanged)
        return key

    def put(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """From now on it is the terminal."""
        monkeypatch.setattr("sys.stdin", self)
        monkeypatch.setattr(keys, "single", nullcontext)
        monkeypatch.setattr(keys, "waiting", self.waiting)


@pytest.fixture
def real(monkeypatch: pytest.MonkeyPatch) -> Iterator[VirtualBoard]:
    """A board that says it is real, with a magnetised part in its socket."""
    with VirtualBoard(specimens.find("magnetised").specimen, seed=1) as board:
        board.identity = board.identity.model_copy(update={"kind": "real"})

        @contextmanager
        def opened(*_: object) -> Iterator[boards.Opened]:
            yield boards.Opened(board)

        monkeypatch.setattr(boards, "open_socket", opened)
        yield board


def joined(text: str) -> str:
    return " ".join(text.split())


def test_a_person_is_asked_twice_and_the_magnetised_part_is_named(
    real: VirtualBoard, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    Typing(real, "w  ").put(monkeypatch)
    assert main([*REVERSED, "-v"]) == 1
    told = capsys.readouterr()
    assert "Exchange the two coil leads" in joined(told.out) and "Put the two coil leads back" in joined(told.out)
    assert "iron stays magnetised" in joined(told.out)
    assert "rise by reversal: they raised its drop-out" in joined(told.out)
    assert "still exchanged" not in told.err


@pytest.mark.parametrize(
    ("pressed", "code", "word", "left_exchanged"),
    [
        ("s", 1, "left out", False),
        ("", 1, "left out", False),
        (" s", 1, "not put back", True),
        (f" {CTRL_C}", 3, "INTERRUPTED", True),
        (CTRL_C, 3, "INTERRUPTED", False),
    ],
)
def test_what_is_left_out_is_named_and_leads_left_exchanged_are_told(
    real: VirtualBoard,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    pressed: str,
    code: int,
    word: str,
    left_exchanged: bool,
) -> None:
    Typing(real, pressed).put(monkeypatch)
    assert main([*REVERSED, "-v"]) == code
    told = capsys.readouterr()
    assert word in joined(told.out)
    assert ("still exchanged" in joined(told.err)) == left_exchanged
    assert not real.plant.pins.coil


@pytest.mark.parametrize("more", [("-v",), ("--json",)])
def test_nobody_is_asked_where_nobody_can_answer(
    real: VirtualBoard, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], more: tuple[str, ...]
) -> None:
    typing = Typing(real, "  ")
    monkeypatch.setattr("sys.stdin", typing if "--json" in more else io.StringIO("\n\n"))
    main([*REVERSED, *more])
    out = capsys.readouterr().out
    assert "nobody was asked to exchange the coil leads" in joined(out)
    assert not real.plant.leads_exchanged


def test_the_virtual_bench_has_a_hand_of_its_own(capsys: pytest.CaptureFixture[str]) -> None:
    arguments = [*REVERSED, "--board", "virtual", "--specimen", "freed-by-reversal", "--json"]
    assert main(arguments) == 1
    record = json.loads(capsys.readouterr().out)
    assert record["faults"][0]["id"] == "held_magnetised"


def test_a_part_that_looks_magnetised_is_told_which_test_would_tell(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("magnetised", "stays-operated"):
        arguments = ("test", "--board", "virtual", "--protocol", "relay-diagnose", "--specimen", name)
        main([*arguments, "--store", ":memory:", "-v"])
        assert "Reversed pulses, by the protocol relay-reversed" in joined(capsys.readouterr().out)
