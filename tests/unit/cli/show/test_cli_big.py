"""The big verdict: each word can be drawn, has a shape and a place of its own, and gives way where it does not fit."""

import io
from itertools import combinations

import pytest
from rich.console import Console

from pulldrop.cli.show.drawn import big
from pulldrop.model.verdict import Overall
from pulldrop.model.wording.words import badge

USUAL, NARROW = 79, 39


def shown(width: int, verdict: Overall = Overall.PASS, terminal: bool = True, **more: str) -> str:
    file = io.StringIO()
    colours = "truecolor" if "NO_COLOR" not in more else None
    out = Console(file=file, width=width + 1, force_terminal=terminal, color_system=colours, _environ=more)  # type: ignore[arg-type]  # one of its literals
    big.show(out, verdict, width)
    return file.getvalue()


def left(rows: tuple[str, ...]) -> int:
    return min(len(row) - len(row.lstrip()) for row in rows if row)


@pytest.mark.parametrize("verdict", Overall)
def test_every_verdict_can_be_drawn_on_a_terminal_of_80_columns(verdict: Overall) -> None:
    rows = big.drawn(verdict, USUAL)
    assert len(rows) >= 5
    assert all(len(row) <= USUAL and row.isascii() for row in rows)


def test_the_letters_are_what_they_say() -> None:
    assert big.drawn(Overall.FAIL, 27) == (
        "##   ##  ####  ##  ### #",
        " ## ##   #    #  #  #  #",
        "  ###    ###  ####  #  #",
        " ## ##   #    #  #  #  #",
        "##   ##  #    #  # ### ####",
    )
    assert big.drawn(Overall.PASS, USUAL)[0].split() == ["##", "######", "####", "########", "########"]


def test_pass_and_fail_and_unsure_are_the_large_size_where_there_is_room() -> None:
    for verdict in (Overall.PASS, Overall.FAIL, Overall.UNSURE):
        rows = big.drawn(verdict, USUAL)
        assert all(row.replace("##", "").strip() == "" for row in rows), "dots of two columns"
        assert 50 < max(map(len, rows)) - left(rows) <= USUAL


def test_a_pass_stands_at_the_left_a_fail_at_the_right_and_the_rest_between() -> None:
    for width in (USUAL, NARROW):
        assert left(big.drawn(Overall.PASS, width)) == 0
        assert max(map(len, big.drawn(Overall.FAIL, width))) == width
    for verdict in set(Overall) - {Overall.PASS, Overall.FAIL}:
        rows = big.drawn(verdict, 100)
        assert abs(left(rows) - (100 - max(map(len, rows)))) <= 3, "as much room at the left as at the right"


def test_what_is_no_pass_never_has_the_shape_of_a_pass() -> None:
    shapes = {verdict: big.SHAPES[badge(verdict).shape] for verdict in Overall}
    alike = {(a, b) for a, b in combinations(Overall, 2) if shapes[a] == shapes[b]}
    assert alike == {(Overall.INCOMPLETE, Overall.WITHOUT_LOAD)}
    assert len(set(big.LETTERS.values())) == len(big.LETTERS)


def test_where_the_word_does_not_fit_there_is_none_of_it() -> None:
    assert big.drawn(Overall.UNSURE, NARROW)
    assert big.drawn(Overall.INTERRUPTED, NARROW) == ()
    assert big.drawn(Overall.PASS, 20) == ()
    assert shown(20) == ""


def test_a_pipe_and_a_dumb_terminal_get_none_of_it() -> None:
    assert shown(USUAL, terminal=False) == ""
    assert shown(USUAL, TERM="dumb") == ""


def test_with_colour_it_is_solid() -> None:
    sent = shown(USUAL)
    assert "\x1b[" in sent and "#" not in sent
