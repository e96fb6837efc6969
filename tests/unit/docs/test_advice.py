"""No advice, further test, reason of a bin or sentence of a screen tells anybody to do what can hurt."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from itertools import chain
from pathlib import Path

import pytest

import pulldrop
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.judge.diagnosis.kinds.two_terminal import FUSE_FAULTS, LAMP_FAULTS
from pulldrop.model.crate.crate import Bin
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.rating import KindRating
from pulldrop.protocol.crate import sorting
from pulldrop.protocol.ratings.classes import classes, classes_of
from pulldrop.protocol.shipped import library

HOST = Path(pulldrop.__file__).parent
BURNS = re.compile(r"\b(feel|touch)\b[^.:;]*\b(blade|blades|part|case|resistor|warm|hot)\b", re.IGNORECASE)
OPENS = re.compile(r"\bopen (the|a|its) (case|cover|part|relay)|\bor open it\b|\bpry\b", re.IGNORECASE)
CUTS = re.compile(r"\bcut 87a|\bcut .{0,12}\bdiode|\bdiode .{0,12}\bcut (out|off|away)", re.IGNORECASE)
KNOCKS = re.compile(r"\b(tap|knock)\b", re.IGNORECASE)
LIGHT = re.compile(r"\blight (duty|loads?)\b|\bsmall loads?\b|\ba few amps\b", re.IGNORECASE)
NEVER_LAMPS = re.compile(r"\bnever\b[^.]*\bfilament lamps?\b", re.IGNORECASE)
BIGGER_FUSE = re.compile(r"\b(bigger|larger|stronger) fuse", re.IGNORECASE)


def every(crate: str) -> tuple[KindRating, ...]:
    """The ratings that a shipped crate is for."""
    return classes_of("two-terminal") if crate == "crate-pair" else classes()


def told() -> Iterator[tuple[str, str]]:
    """Every sentence of the shipped rules that tells what to do, with its place."""
    for fault in (*FAULTS, *FUSE_FAULTS, *LAMP_FAULTS):
        yield f"advice of {fault.id}", fault.advice
        yield f"advice of a worn {fault.id}", fault.advice_worn
        yield f"further test of {fault.id}", fault.further
    for name in library.crate_names():
        for rating in every(name):
            yield from ((f"{name}, {rule.bin}", rule.why) for rule in sorting(name, rating).rules)
    yield from ((one.id, one.failed) for one in MEASUREMENTS.values())


def said() -> Iterator[tuple[str, str]]:
    """Every text in the program that is no docstring, every template, and every protocol."""
    for file in sorted(HOST.rglob("*.py")):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        silent = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
                yield f"{file.name}:{node.lineno}", node.value
    shipped = Path(__file__).parents[3] / "protocols"
    for file in chain(HOST.rglob("*.jinja"), shipped.rglob("*.yaml")):
        yield from ((file.name, line) for line in file.read_text(encoding="utf-8").splitlines())


@cache
def advice() -> list[tuple[str, str]]:
    """All of it, looked for by the first test that asks: whoever only imports this does not wait."""
    return list(told())


@cache
def spoken() -> list[tuple[str, str]]:
    """The same of what is spoken."""
    return list(said())


def test_there_is_enough_to_look_at() -> None:
    assert len(advice()) > 100 and len(spoken()) > 2000


@pytest.mark.parametrize("harm", [BURNS, OPENS, CUTS], ids=["burns", "opens", "cuts"])
def test_nothing_tells_to_burn_fingers_to_open_a_case_or_to_cut(harm: re.Pattern[str]) -> None:
    assert [
        (place, text) for place, text in [*advice(), *spoken()] if harm.search(text) and "never" not in text.lower()
    ] == []


def test_whatever_is_for_small_loads_is_never_for_filament_lamps() -> None:
    told = [(place, text) for place, text in advice() if LIGHT.search(text)]
    assert told and [one for one in told if not NEVER_LAMPS.search(one[1])] == []


def test_a_bin_for_worn_contacts_is_never_for_filament_lamps() -> None:
    for name in library.crate_names():
        for rule in (rule for rating in every(name) for rule in sorting(name, rating).rules):
            limit = rule.within.get("contact_drop_no")
            sound = limit is not None and limit.high is not None and limit.high <= 0.1
            if rule.bin is Bin.LIGHT_DUTY and not sound:
                assert NEVER_LAMPS.search(rule.why) and "10 to 12 times" in rule.why, f"{name}: {rule.why}"


def test_a_part_that_a_knock_mends_is_not_said_to_be_mended() -> None:
    """And no hand is sent to a part that is energised."""
    told = [(place, text) for place, text in advice() if KNOCKS.search(text)]
    assert told
    for place, text in told:
        assert "scrap" in text.lower(), f"{place}: {text}"
        assert "switched off" in text or "plastic handle" in text, f"{place}: {text}"


def test_whoever_looks_for_a_short_is_told_about_the_fuse() -> None:
    told = [
        text for place, text in advice() if place.startswith("advice") and re.search(r"look for a (short|blown)", text)
    ]
    assert len(told) >= 2 and all(BIGGER_FUSE.search(text) and "never" in text for text in told)


def test_the_page_of_faults_tells_nobody_to_touch_and_names_the_fuse_and_who_decides() -> None:
    text = " ".join((Path(__file__).parents[3] / "hardware" / "faults.md").read_text(encoding="utf-8").split())
    assert "never by touch" in text and "burn fingers" in text
    (row,) = re.findall(r"\| F2 blows \|[^|]*\|[^|]*\|", text)
    assert "never fit a bigger fuse" in row
    assert text.endswith("Maker's data, local rules and licensed practice decide.")


@pytest.mark.parametrize("id", ["film_no", "film_nc"])
def test_no_load_is_switched_by_hand_to_break_a_film(id: str) -> None:
    advice = next(one.advice for one in FAULTS if one.id == id)
    assert "on this bench" in advice and "Switch it" not in advice


def test_whoever_looks_in_a_circuit_has_its_fuse_out_and_hot_makes_may_cost_the_part() -> None:
    looked = [text for place, text in advice() if place.startswith("advice") and "in its circuit" in text]
    assert len(looked) >= 4 and all("fuse out" in text or "bigger fuse" in text for text in looked)
    makes = [one.further for one in FAULTS if one.id.startswith("tacking")]
    assert len(makes) == 3 and all("if the part may be lost" in text for text in makes)


def test_no_protocol_says_that_times_come_out_shorter_whatever_limits_them() -> None:
    assert [place for place, text in spoken() if "come out shorter" in text] == []


BEFORE = r"(?<!Control\.)(?<!87 \()(?<!87a \()(?<!normally open, )(?<!normally closed, )"
THROW = re.compile(BEFORE + r"\b(NO|NC)\b(?! PART SEEN)")
"""A throw by the trade's letters where its blade, which stands on the part, does not come first."""


def test_a_contact_is_called_by_its_blade() -> None:
    keys = ("NO", "NC")
    sentences = [*advice(), *spoken(), *((one.id, one.title) for one in FAULTS)]
    sentences += [(one.id, f"{one.title}; {one.meaning}") for one in MEASUREMENTS.values()]
    assert [(place, text) for place, text in sentences if text not in keys and THROW.search(text)] == []
