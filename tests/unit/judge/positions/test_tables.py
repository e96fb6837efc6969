"""Tables of switches: every difference from the table that it should have is named, and what it means is worked out."""

import pytest

from pulldrop.judge.positions.compare import compare
from pulldrop.judge.positions.meaning import meaning
from pulldrop.model.part.pair import Pair
from pulldrop.model.part.switch_table import JoinedState, Position, SwitchTable, Through

LIGHT = {"off": [], "park": ["30-58"], "head": ["30-58", "30-56"], "flash": ["30-58", "30-56a"]}


def wanted(positions: dict[str, list[str]] = LIGHT) -> dict[str, tuple[Pair, ...]]:
    return {name: tuple(map(Pair.parse, pairs)) for name, pairs in positions.items()}


def table(*rows: list[list[str]], unsteady: str = "", springs: bool = False) -> SwitchTable:
    """Groups of terminals by row; `unsteady`, `springs`: of the last one."""
    positions = [
        Position(state=JoinedState(groups=tuple(tuple(one) for one in row)), visits=2, sprung=False) for row in rows
    ]
    positions[-1] = positions[-1].model_copy(
        update={"unsteady": (unsteady,) if unsteady else (), "sprung": springs, "springs_to": 0 if springs else None}
    )
    return SwitchTable(terminals=("30", "58", "56", "56a"), positions=tuple(positions))


SOUND = ([], [["30", "58"]], [["30", "58", "56"]], [["30", "58", "56a"]])


def test_a_sound_switch_agrees_in_any_order() -> None:
    found = compare(wanted(), table(*reversed(SOUND)))
    assert found.names == {0: "flash", 1: "head", 2: "park", 3: "off"}
    assert not found.differences


@pytest.mark.parametrize(
    ("rows", "kinds", "words"),
    [
        ((SOUND[0], SOUND[1], [["30", "56"]], SOUND[3]), {"missing"}, "30-58 is not joined in position head"),
        ((SOUND[0], [["30", "58"], ["56", "56a"]], *SOUND[2:]), {"extra"}, "56-56a is joined in position park"),
        (
            ([["30", "58"]], *SOUND[2:]), {"bridged", "not found"},
            "30-58 is joined in every position: a bridge or a welded contact",
        ),
        (SOUND[:3], {"not found"}, "position flash was not found"),
        ((*SOUND, [["56", "56a"]]), {"unknown"}, "position 5 is not in the table: 56-56a"),
    ],
)  # fmt: skip
def test_every_difference_is_named(rows: tuple[list[list[str]], ...], kinds: set[str], words: str) -> None:
    found = compare(wanted(), table(*rows)).differences
    assert {one.kind for one in found} == kinds
    assert any(words in one.text for one in found)


@pytest.mark.parametrize(
    ("springs", "should", "words"),
    [
        (True, {"flash": "off"}, ""),
        (True, {"flash": "head"}, "position flash springs back to off, and should to head"),
        (True, {}, "position flash springs back to off, and should stay"),
        (False, {"flash": "head"}, "position flash stays, and should spring back to head"),
        (True, None, ""),
    ],
)
def test_a_spring_that_is_other_than_it_should_be_is_named(
    springs: bool, should: dict[str, str] | None, words: str
) -> None:
    found = compare(wanted(), table(*SOUND, springs=springs), should).differences
    assert [one.text for one in found] == ([words] if words else [])


def test_a_loose_contact_is_late() -> None:
    found = compare(wanted(), table(*SOUND, unsteady="30-56a")).differences
    assert [one.text for one in found] == ["30-56a comes late or is loose in position flash"]


@pytest.mark.parametrize(
    ("rows", "springs", "likely"),
    [
        (([], [["30", "58"]]), False, "likely an on-off switch"),
        (([], [["30", "58"]]), True, "likely a push-button"),
        (([["30", "58"]], [["30", "56"]]), False, "likely a selector of one in 2"),
        (([], [["30", "58"]], [["30", "58", "56"]]), False, "likely a step switch"),
        (([], [["30", "58"]], [["30", "56"]], [["30", "56a"]]), False, "one in 3, and one off"),
        (([["30", "58"], ["56", "56a"]], [["30", "56"], ["58", "56a"]]), False, "likely a changeover"),
    ],
)
def test_what_it_is_for_is_worked_out(rows: tuple[list[list[str]], ...], springs: bool, likely: str) -> None:
    assert likely in meaning(table(*rows, springs=springs)).likely


def test_terminals_that_are_one_and_contacts_that_close_together() -> None:
    found = meaning(table([["30", "58"]], [["30", "58", "56"]]))
    assert found.one == (("30", "58"),)
    assert found.unused == ("56a",)
    assert meaning(table([], [["30", "58"], ["56", "56a"]])).together == (("30-58", "56-56a"),)


def test_a_ladder_is_known_by_its_ohms() -> None:
    rows = tuple(
        Position(state=JoinedState(through=(Through(a="58", b="30", ohm=ohm),)), visits=2) for ohm in (50, 150, 300)
    )
    assert "ladder of 3" in meaning(SwitchTable(terminals=("30", "58"), positions=rows)).likely
