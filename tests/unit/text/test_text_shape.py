"""Fitting a document to a shape: all mistakes at once, each with place, what was found and what was expected."""

from typing import Annotated, Literal

import pytest
from pydantic import Field

from pulldrop.model.part.rating import Volts
from pulldrop.model.raw import Frozen
from pulldrop.text.document import parse
from pulldrop.text.problem import MOST_SHOWN, BadText, Problem
from pulldrop.text.shape import fit


class Soak(Frozen):
    """One kind of entry, invented for these tests."""

    kind: Literal["soak"]
    minutes: int = Field(ge=1, le=60, description="how long to keep the coil warm")


class Click(Frozen):
    """Another kind of entry."""

    kind: Literal["click"]
    coil: Volts
    throw: Literal["NO", "NC"] = "NO"


class Sheet(Frozen):
    """A file with every sort of field."""

    name: str = Field(min_length=1, description="what is written on the crate")
    entries: tuple[Annotated[Soak | Click, Field(discriminator="kind")], ...] = Field(default=(), max_length=3)
    share: float = 0.5
    sure: bool = True
    notes: dict[str, str] = Field(default_factory=dict)
    inner: Soak | None = None


def told(text: str) -> list[str]:
    """The problems of a text that is no Sheet."""
    with pytest.raises(BadText) as bad:
        fit(parse(text, "f.yaml"), Sheet)
    return [str(p) for p in bad.value.problems]


def test_a_good_file_becomes_its_shape() -> None:
    text = "name: crate 7\nentries:\n - {kind: click, coil: 13.5 V, throw: NO}\nshare: 1\n"
    sheet = fit(parse(text, "f"), Sheet)
    assert sheet == Sheet(name="crate 7", entries=sheet.entries, share=1.0)
    assert sheet.entries[0] == Click.model_construct(kind="click", coil=13.5, throw="NO")


def test_every_mistake_is_told_at_once_in_order_of_place() -> None:
    assert told(
        "nmae: crate 7\n"
        "entries:\n"
        " - {kind: soak, minutes: 90}\n"
        " - {kind: click, coil: 13.5, throw: OFF}\n"
        " - {kind: clik}\n"
        " - {coil: 3 V}\n"
        "share: much\n"
        "sure: yes\n"
        "notes: [a]\n"
        "inner: {kind: soak, minuts: 4}\n"
    ) == [
        "f.yaml:1:1: 'nmae' is not known here; did you mean 'name'?",
        "f.yaml:3:26: 'minutes': found '90'; expected at most 60 - how long to keep the coil warm",
        "f.yaml:4:24: 'coil': 13.5 has no unit; write it with one, such as '13.5 V'",
        "f.yaml:4:37: 'throw': found 'OFF'; expected 'NO' or 'NC'",
        "f.yaml:5:11: 'kind': found 'clik'; expected 'soak', 'click'; did you mean 'click'?",
        "f.yaml:6:4: 'kind' is missing; expected it first in this mapping",
        "f.yaml:7:8: 'share': found 'much'; expected a number",
        "f.yaml:8:7: 'sure': found 'yes'; expected true or false",
        "f.yaml:9:8: 'notes': found a list; expected a mapping, 'key: value'",
        "f.yaml:10:21: 'minuts' is not known here; did you mean 'minutes'?",
    ]


def test_a_key_that_resembles_none_lists_those_that_are_known() -> None:
    assert told("name: x\nzzz: 1")[0].endswith("known here are name, entries, share, sure, notes, inner")


def test_every_missing_key_is_told_with_what_it_is_for() -> None:
    assert told("inner: {}") == [
        "f.yaml:1:1: 'name' is missing; expected what is written on the crate",
        "f.yaml:1:8: 'kind' is missing",
        "f.yaml:1:8: 'minutes' is missing; expected how long to keep the coil warm",
    ]


def test_a_misspelt_key_is_one_problem_and_not_also_a_missing_one() -> None:
    assert len(told("nmae: crate 7")) == 1


@pytest.mark.parametrize(
    ("text", "found"), [("- a\n- b", "a list"), ("crate", "'crate'"), ("", "nothing"), ("5", "'5'"), ("true", "true")]
)
def test_a_file_that_is_no_mapping_says_what_it_is(text: str, found: str) -> None:
    assert told(text) == [f"f.yaml:1:1: found {found}; expected a mapping, 'key: value'"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name: 5", "found '5'; expected text"),
        ("name: ''", "found ''; expected some text"),
        ("name: [x]", "found a list; expected text"),
        ("name: x\nentries: {a: b}", "found a mapping; expected a list"),
        ("name: x\ninner: {kind: soak, minutes: '5'}", "found '5'; expected a whole number"),
        ("name: x\ninner: {kind: soak, minutes: true}", "found true; expected a whole number"),
        ("name: x\ninner: {kind: soak, minutes: 1.5}", "found '1.5'; expected a whole number"),
        ("name: x\ninner: {kind: soak, minutes: 0}", "expected at least 1"),
        ("name: x\nentries: [{kind: click, coil: 5 A}]", "'5 A' is in A; expected V"),
        ("name: x\nentries: [{kind: click, coil: -5 V}]", "below zero"),
        ("name: x\nentries: [{kind: click, coil: nan V}]", "not a quantity"),
        ("name: x\nentries: [{kind: click, coil: true}]", "expected a quantity in V"),
    ],
)
def test_nothing_is_quietly_converted(text: str, says: str) -> None:
    assert says in told(text)[0]


def test_a_value_already_complained_about_is_not_complained_about_twice() -> None:
    assert told("name: *x") == ["f.yaml:1:7: the alias '*x' is not taken here; write the value out"]


def test_thousands_of_mistakes_are_cut_to_a_list_that_can_be_read() -> None:
    found = told("name: x\n" + "".join(f"k{i}: 1\n" for i in range(2000)))
    assert len(found) == MOST_SHOWN + 1
    assert found[-1] == f"f.yaml: {2000 - MOST_SHOWN} more problems follow"


def test_problems_are_sorted_and_each_told_once() -> None:
    late, early = Problem("f", 2, 1, "b"), Problem("f", 1, 9, "a")
    assert BadText([late, early, late]).problems == [early, late]
