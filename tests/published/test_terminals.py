"""Terminal numbers after DIN 72552 (read), as names and texts of pulldrop use them."""

import re

import pytest

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.terminal import TERMINALS, terminals_of

DIN_72552 = {
    "15": "ignition",
    "30": "battery plus",
    "31": "ground",
    "50": "starter",
    "56a": "main beam",
    "56b": "dipped beam",
    "85": "coil, minus",
    "86": "coil, plus",
    "87": "normally open",
    "87a": "normally closed",
}


@pytest.mark.parametrize("number", DIN_72552)
def test_a_terminal_means_what_the_standard_says(number: str) -> None:
    assert TERMINALS[number].number == number
    assert DIN_72552[number] in TERMINALS[number].meaning


def test_no_other_terminal_is_claimed() -> None:
    assert set(TERMINALS) == set(DIN_72552)


def test_a_relay_has_four_terminals_and_a_changeover_five() -> None:
    assert terminals_of("A") == ("30", "85", "86", "87")
    assert terminals_of("C") == ("30", "85", "86", "87", "87a")


def test_thirty_is_the_common_contact_of_a_relay() -> None:
    assert "common" in TERMINALS["30"].meaning


@pytest.mark.parametrize(("id", "far_end"), [("contact_drop_no", "87"), ("contact_drop_nc", "87a")])
def test_a_contact_drop_is_measured_from_30_to_its_own_throw(id: str, far_end: str) -> None:
    named = re.findall(r"terminal (\S+) to (\S+),", MEASUREMENTS[id].meaning)
    assert named == [("30", far_end)]


def test_what_needs_87a_is_asked_of_a_changeover_only() -> None:
    assert {m.id for m in MEASUREMENTS.values() if m.changeover} == {
        "bounce_time_nc",
        "transfer_time",
        "contact_drop_nc",
        "contact_dry_nc",
        "contact_before_load_nc",
        "contact_loaded_nc",
        "contact_after_load_nc",
        "contact_scatter_nc",
        "opening_after_hot_make_nc",
    }
