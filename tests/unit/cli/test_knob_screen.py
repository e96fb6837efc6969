"""What a person at the knob sees and hears at the terminal: large words, a bar, a tone for what is new."""

from contextlib import nullcontext
from io import StringIO

import pytest

from pulldrop.cli.ask.by_hand import AtTerminal
from pulldrop.cli.show import screen
from pulldrop.cli.show.live.knob import KnobScreen, bar
from pulldrop.model.run import hand
from pulldrop.model.run.hand import Request
from pulldrop.model.wording.harmless import MARK

ASKED = (hand.KNOB_IN, hand.KNOB_UP, hand.KNOB_ON, hand.KNOB_SLOWER, hand.KNOB_AGAIN, hand.KNOB_DOWN, hand.KNOB_OUT)


def at(volts: float, wrong: str = "") -> Request:
    return Request(wrong, turn="at", volts=volts, most_v=12.4)


def console(monkeypatch: pytest.MonkeyPatch, terminal: bool, width: int = 80) -> tuple[screen.Console, StringIO]:
    shown = StringIO()
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("NO_COLOR", "1")
    out = screen.console()
    out.file, out._force_terminal, out.width = shown, terminal, width
    return out, shown


@pytest.mark.parametrize("width", [60, 80])
def test_what_to_do_is_large_and_the_bar_fits(monkeypatch: pytest.MonkeyPatch, width: int) -> None:
    for asked in ASKED:
        out, shown = console(monkeypatch, True, width)
        with KnobScreen(out, simulated=True) as knob:
            knob(asked)
            knob(at(6.2))
            drawn = [line.plain for line in knob._drawn().renderables]  # type: ignore[union-attr]
        assert sum("#" in line for line in drawn) >= 6, "five rows of letters, and the bar"
        assert max(map(len, [*drawn[:8], *drawn[10:12]])) <= width, asked.word
        assert "SIMULATED" in drawn[0] and asked.text in drawn and any("6.20 V" in line for line in drawn)
        assert MARK not in shown.getvalue(), "no sign of a terminal's is shown as text"


def test_a_tone_comes_with_what_is_new_and_with_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    out, shown = console(monkeypatch, True)
    with KnobScreen(out, simulated=False) as knob:
        knob(hand.KNOB_UP)
        for volts in (1.0, 2.0, 3.0):
            knob(at(volts))
        assert shown.getvalue().count("\a") == 1
        knob(hand.KNOB_ON)
        assert shown.getvalue().count("\a") == 2, "the contacts moved"
        knob(at(3.1, "86 reads 3.1 V: turn the knob further to the left."))
        knob(at(3.0, "86 reads 3.0 V: turn the knob further to the left."))
        assert shown.getvalue().count("\a") == 3
    assert "SIMULATED" not in shown.getvalue()


def test_where_nothing_can_be_redrawn_each_thing_is_said_once(monkeypatch: pytest.MonkeyPatch) -> None:
    out, shown = console(monkeypatch, False)
    with KnobScreen(out, simulated=False) as knob:
        for request in (hand.KNOB_IN, at(12.3, "86 reads 12.3 V: S4 is still at 'supply'."), at(0.0), hand.KNOB_UP):
            knob(request)
    said = " ".join(shown.getvalue().split())
    assert said.count("set the switch S4 to 'knob'") == said.count("still at 'supply'") == 1 and "[" not in said


@pytest.mark.parametrize(("volts", "filled"), [(0.0, 0), (6.0, 30), (12.0, 60), (20.0, 60)])
def test_the_bar_shows_its_share_of_the_scale(volts: float, filled: int) -> None:
    drawn, scale = bar(volts, 12.0, 70)
    assert drawn.plain.count("#") == filled and len(drawn.plain) == 70
    assert scale.plain.split() == ["0", "2", "4", "6", "8", "10", "12"]


def test_a_key_leaves_the_knob_out_but_not_the_way_back(monkeypatch: pytest.MonkeyPatch) -> None:
    out, _ = console(monkeypatch, False)
    asked = AtTerminal(out, nullcontext, simulated=False, part="Part 7")
    assert asked(hand.KNOB_IN) and asked(at(12.0))
    asked._pressed("x")
    assert asked(at(12.0)), "any other key does nothing"
    asked._pressed("S")
    assert not asked(at(12.0))
    assert asked(hand.KNOB_OUT) and asked(at(0.0)) and asked(hand.KNOB_DONE)
