"""Statements about `pulldrop sort` at the terminal: keys, the screen that is redrawn, the log, and what is refused."""

import io
import os
import pty
import threading
import time
from pathlib import Path

import pytest
from crates import GOOD, OPEN, Crate, parts
from rich.console import Console

from pulldrop.cli.ask.keys import pressed
from pulldrop.cli.main import main
from pulldrop.cli.show.live.crate import Log, SortScreen, drawn
from pulldrop.cli.show.live.keys import Typist, offered
from pulldrop.model.crate.crate import Command, Control, CrateView, Stage
from pulldrop.store import Store


@pytest.fixture(scope="module")
def views() -> list[CrateView]:
    with Store.open(":memory:") as store:
        return Crate(store, parts(GOOD, OPEN)).run().views


def result(views: list[CrateView], number: int) -> CrateView:
    return next(view for view in views if view.bin is not None and view.number == number)


# --- keys ---


class Heard:
    def __init__(self, refusal: str = "") -> None:
        self.commands: list[Command] = []
        self.typed: list[str] = []
        self.refused: list[str] = []
        self.typist = Typist(self.press, self.typed.append, self.refused.append)
        self._refusal = refusal

    def press(self, command: Command) -> str:
        self.commands.append(command)
        return self._refusal

    def type(self, keys: str) -> "Heard":
        for key in keys:
            self.typist.key(key)
        return self


def test_a_key_is_a_command_for_the_screen_that_was_seen(views: list[CrateView]) -> None:
    heard = Heard()
    heard.typist.saw(views[4])
    assert heard.type(" u").commands == [
        Command(control=Control.GO, seen=views[4].version), Command(control=Control.UNDO, seen=views[4].version),
    ]  # fmt: skip


def test_a_note_is_a_line_in_which_keys_are_letters_and_backspace_erases() -> None:
    heard = Heard().type("tquiex\x7ft case\n")
    assert heard.commands == [Command(control=Control.NOTE, text="quiet case")]
    assert "note: quiex\nEnter keeps it, Esc drops it" in heard.typed


def test_a_note_is_for_its_part_and_is_kept_when_the_bench_moves_on(views: list[CrateView]) -> None:
    heard = Heard()
    heard.typist.saw(result(views, 1))
    heard.type("thums")
    assert any(line.startswith("note for number 1: hums\n") for line in heard.typed)
    heard.typist.saw(result(views, 2))
    seen = result(views, 2).version
    assert heard.commands == [Command(control=Control.NOTE, text="hums", seen=seen, number=1)]
    assert heard.typed[-1] == "" and heard.type("u").commands[-1].control is Control.UNDO, "the line is closed"


def test_esc_drops_a_line_and_the_next_key_is_a_command(views: list[CrateView]) -> None:
    heard = Heard()
    heard.typist.saw(result(views, 1))
    assert [one.control for one in heard.type("trust\x1bu").commands] == [Control.UNDO]


def test_the_one_key_is_never_a_letter_where_it_means_something(views: list[CrateView]) -> None:
    asks = next(view for view in views if view.word == "INSERT" and view.number == 2)
    assert Control.GO in asks.controls and Control.NOTE in asks.controls
    heard = Heard()
    heard.typist.saw(asks)
    commands = heard.type("trusty ").commands
    assert [(one.control, one.text) for one in commands] == [(Control.NOTE, "rusty"), (Control.GO, "")]
    assert [one.control for one in heard.type("g ").commands[2:]] == [Control.GO]


def test_a_line_closes_by_itself_and_keeps_the_note() -> None:
    closed = threading.Event()
    heard = Heard()
    heard.typist = Typist(heard.press, lambda line: closed.set() if not line else None, heard.refused.append, 0.05)
    heard.type("trust")
    assert closed.wait(5) and [one.text for one in heard.commands] == ["rust"]


def test_ratings_are_chosen_by_number_from_those_that_there_are(views: list[CrateView]) -> None:
    asks = next(view for view in views if view.word == "INSERT" and view.number == 2)
    asks = asks.model_copy(update={"ratings": ("class-a", "class-b")})
    heard = Heard()
    heard.typist.saw(asks)
    assert [(one.control, one.text) for one in heard.type("g2\n").commands] == [(Control.RATING, "class-b")]
    assert any("rating from part 2 on" in line and "1 class-a   2 class-b" in line for line in heard.typed)


def test_a_line_is_not_opened_where_it_means_nothing(views: list[CrateView]) -> None:
    heard = Heard()
    heard.typist.saw(next(view for view in views if Control.NOTE not in view.controls))
    assert heard.type("trust").typed == [] and heard.refused[0] == "'note' does nothing now."


def test_an_empty_note_is_no_note_and_a_key_without_meaning_does_nothing() -> None:
    assert Heard().type("t\nzx").commands == []


def test_esc_closes_a_question_and_does_nothing_elsewhere(views: list[CrateView]) -> None:
    heard = Heard()
    asks = views[4].model_copy(update={"controls": (Control.GO, Control.NO, Control.END)})
    heard.typist.saw(asks)
    assert [one.control for one in heard.type("\x1b").commands] == [Control.NO]
    assert "n or Esc: no" in offered(asks)
    heard.typist.saw(views[4])
    assert len(heard.type("\x1b").commands) == 1


def test_a_refused_key_says_why() -> None:
    assert Heard("'go' does nothing now.").type(" ").refused == ["'go' does nothing now."]


def test_a_log_says_once_what_can_be_typed_and_why_it_is_refused(views: list[CrateView]) -> None:
    out = Console(file=io.StringIO(), width=200)
    log = Log(out)
    typist = Typist(lambda command: "There is nothing to note.", log.typed, log.notice)
    typist.saw(result(views, 1))
    for key in "ttrust\n":
        typist.key(key)
    told = "note for number 1: \nEnter keeps it, Esc drops it\nThere is nothing to note.\n"
    assert out.file.getvalue() == told  # type: ignore[attr-defined]


def test_keys_come_one_by_one_and_the_terminal_is_left_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    import termios

    keyboard, terminal = pty.openpty()
    heard: list[str] = []
    with os.fdopen(terminal, "r") as stdin:
        monkeypatch.setattr("sys.stdin", stdin)
        before = termios.tcgetattr(terminal)
        with pressed(heard.append):
            os.write(keyboard, b"uq")
            until = time.monotonic() + 5
            while heard != ["u", "q"] and time.monotonic() < until:
                threading.Event().wait(0.01)
            os.write(keyboard, b"\x1b[A")
            threading.Event().wait(0.3)
            os.write(keyboard, b"\x1b")
            while heard != ["u", "q", "\x1b"] and time.monotonic() < until:
                threading.Event().wait(0.01)
        assert heard == ["u", "q", "\x1b"], "an arrow is no key of ours, Esc is"
        assert termios.tcgetattr(terminal) == before
    os.close(keyboard)


def test_only_what_can_be_pressed_is_offered(views: list[CrateView]) -> None:
    assert offered(result(views, 1)) == "u: undo   r: test again   t: note   q: end"
    asked = next(view for view in views if view.word == "INSERT" and view.number == 1)
    assert offered(asked) == "space: start   s: skip   g: rating   q: end"


# --- what is seen ---


def screen_of(view: CrateView, width: int, height: int = 40) -> list[str]:
    out = Console(file=io.StringIO(), width=width, color_system=None)
    out.print(drawn(view, width, height, "", False))
    return out.file.getvalue().splitlines()  # type: ignore[attr-defined]  # the StringIO given above


@pytest.mark.parametrize("width", [80, 120])
def test_a_result_says_bin_and_number_in_large_letters_and_plainly(views: list[CrateView], width: int) -> None:
    lines = screen_of(result(views, 1), width)
    assert "SIMULATED" in lines[0] and "[+] KEEP 1" in [line.strip() for line in lines]
    assert sum("####" in line for line in lines) >= 3
    assert any(line.startswith("Write 1 on it, put it in the KEEP box. Coil and load are off.") for line in lines)
    assert "u: undo   r: test again   t: note   q: end" in lines
    assert any("mA|" in line for line in lines), "the coil current is drawn"
    assert all(len(line) <= width for line in lines)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_line_ends_between_a_bin_and_its_number(views: list[CrateView], width: int) -> None:
    text = "\n".join(screen_of(result(views, 1), width))
    for said in ("[+] keep 1", "[/] light duty 0", "[X] scrap 0", "[?] look again 0", "all 1"):
        assert said in text, text


def test_on_a_low_terminal_the_keys_are_still_seen(views: list[CrateView]) -> None:
    for view in views:
        assert len(screen_of(view, 80, 24)) <= 24


def test_while_a_part_is_tested_the_step_is_shown(views: list[CrateView]) -> None:
    testing = [view for view in views if view.stage is Stage.TESTING and view.steps_total]
    assert any("step 1 of 5: insulation between terminals" in line for line in screen_of(testing[0], 80))


@pytest.mark.parametrize("width", [60, 80])
def test_the_countdown_is_a_word_and_a_number_in_large_letters_and_plainly(views: list[CrateView], width: int) -> None:
    counted = [view for view in views if view.beats and "Part 1" in view.sentence]
    for view, beats in zip(counted, (3, 2, 1), strict=True):
        lines = screen_of(view, width, 24)
        assert f"HANDS OFF {beats}" in [line.strip() for line in lines]
        assert any(f"beats to go: {beats}" in line for line in lines)
        assert sum("###" in line for line in lines) >= 5
        assert len(lines) <= 24 and all(len(line) <= width for line in lines)


@pytest.mark.parametrize("kind", [Log, SortScreen])
def test_every_beat_of_the_countdown_rings_on_a_terminal_and_never_in_a_file(
    views: list[CrateView], kind: type[Log | SortScreen]
) -> None:
    for terminal in (True, False):
        out = Console(file=io.StringIO(), width=100, height=40, color_system=None, force_terminal=terminal)
        with kind(out) as shown:
            for view in views:
                shown(view)
        rung = out.file.getvalue().count("\a")  # type: ignore[attr-defined]  # the StringIO given above
        assert rung == (9 if terminal else 0), "the link and two parts, three beats each"


def test_the_log_has_one_line_for_each_thing_that_happens(views: list[CrateView]) -> None:
    out = Console(file=io.StringIO(), width=100, color_system=None)
    log = Log(out)
    for view in views:
        log(view)
    told = out.file.getvalue()  # type: ignore[attr-defined]  # the StringIO given above
    assert "SIMULATED (virtual board)" in told
    assert "   1 HANDS OFF: Part 1 starts once it has sat still. 3 2 1\n   1 TESTING" in told
    assert (
        told.count("TESTING") == 2
        and "   2 SCRAP: Write 2 on it, put it in the SCRAP box. Coil and load are off." in told
    )
    assert "Coil and load are off. Coil open." in told
    assert "; " not in told.partition("SCRAP")[2].partition("(")[0] and ".;" not in told
    assert told.rstrip().endswith("all 2")


def test_reasons_in_the_log_are_sentences_of_their_own(views: list[CrateView]) -> None:
    out = Console(file=io.StringIO(), width=300, color_system=None)
    Log(out)(result(views, 2).model_copy(update={"reasons": ("Look at it again. Scrap it.", "87a opens", "a limit")}))
    told = out.file.getvalue()  # type: ignore[attr-defined]  # the StringIO given above
    assert "Look at it again. Scrap it. 87a opens. A limit." in told


def test_a_part_without_figures_gets_no_empty_brackets(views: list[CrateView]) -> None:
    out = Console(file=io.StringIO(), width=100, color_system=None)
    placed = result(views, 2)
    bare = placed.last[0].model_copy(update={"figures": ()})
    Log(out)(placed.model_copy(update={"last": (bare, *placed.last[1:])}))
    assert "()" not in out.file.getvalue()  # type: ignore[attr-defined]  # the StringIO given above


# --- the command ---


def test_a_crate_of_ones_own_parts_is_sorted_and_goes_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder, store = tmp_path / "parts", str(tmp_path / "s.db")
    folder.mkdir()
    for number, text in enumerate(("title: an invented good one", "title: invented\nfaults: {coil_open: true}")):
        (folder / f"{number}.yaml").write_text(text)
    command = ["sort", "shed", "--board", "virtual", "--plain", "--specimens", str(folder), "--store", store]
    assert main(command) == 0
    told = capsys.readouterr().out
    assert "1 KEEP" in told and "2 SCRAP" in told and "all 2" in told
    assert told.rstrip().endswith(f"pulldrop report crate shed --out crate.html --store {store}")
    assert main(command) == 0
    told = capsys.readouterr().out
    assert "TESTING" not in told and "all 2" in told


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["sort", "shed"], "Name their rating with --rating"),
        (["sort", "shed", "--board", "virtual", "--protocol", "crate-fuse"], "there is no crate protocol"),
        (["sort", "sh/ed", "--board", "virtual"], "cannot be a crate's name"),
        (["sort", "shed", "--board", "virtual", "--specimens", "nowhere"], "no specimen file"),
        (["sort", "shed", "--board", "virtual-bare"], "A bare board has no coil supply and loads no contact"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(
    arguments: list[str], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*arguments, "--store", str(tmp_path / "s.db")]) == 2
    assert says in capsys.readouterr().err
