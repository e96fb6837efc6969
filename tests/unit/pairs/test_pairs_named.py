"""Planted faults of fuses and lamps: each is the first that is named, and none passes as a good part."""

from typing import Any

import pytest
from on_bench import FUSE, LAMP, part, run_on

from pulldrop.model.verdict import Overall

F10, F15, L12, L24 = "fuse-regular-10a", "fuse-regular-15a", "lamp-bus-12v-21w", "lamp-bus-24v-21w"
NAMED: tuple[tuple[str, str, dict[str, Any], dict[str, float | bool]], ...] = (
    ("fuse_blown", F10, FUSE, {"open": True}),
    ("fuse_larger", F10, FUSE | {"rated_a": 20.0}, {}),
    ("fuse_larger", F10, FUSE | {"rated_a": 15.0}, {}),
    ("fuse_smaller", F15, FUSE, {}),
    ("fuse_bridged", F10, FUSE, {"bridge_mohm": 0.4}),
    ("fuse_cracked", F10, FUSE, {"crack_mohm": 8.0}),
    ("fuse_cracked", F10, FUSE, {"crack_mohm": 200.0}),
    ("fuse_blades", F10, FUSE, {"film_ohm": 3.0}),
    ("lamp_open", L12, LAMP, {"open": True}),
    ("lamp_shorted", L12, LAMP, {"bridge_mohm": 8.0}),
    ("lamp_higher", L12, LAMP | {"volts": 24.0, "amps": 0.875}, {}),
    ("lamp_lower", L24, LAMP, {}),
    ("lamp_weaker", L12, LAMP | {"amps": 0.417, "hot_k": 2550.0}, {}),
    ("lamp_stronger", L12, LAMP | {"amps": 4.58, "hot_k": 3050.0}, {}),
    ("lamp_base", L12, LAMP, {"film_ohm": 5.0}),
    ("lamp_none", L12, {"component": "resistor", "ohm": 8.0}, {}),
)


@pytest.mark.parametrize(("fault", "rating", "given", "faults"), NAMED)
def test_a_planted_fault_is_named_first_and_never_passes(
    fault: str, rating: str, given: dict[str, Any], faults: dict[str, float | bool]
) -> None:
    done = run_on(rating, part(given, **faults))
    assert done.faults and done.faults[0].id == fault, [(one.id, one.weight) for one in done.faults]
    assert done.verdict.overall in (Overall.FAIL, Overall.INCOMPLETE)
    assert any(one.speaks == "for" for one in done.faults[0].evidence)


@pytest.mark.parametrize("place", [0, 1, 5, 10, 11])
def test_the_evening_build_names_the_same(place: int) -> None:
    fault, rating, given, faults = NAMED[place]
    assert run_on(rating, part(given, **faults), "virtual-evening").faults[0].id == fault


def test_a_cold_filament_of_half_an_ohm_is_no_short() -> None:
    done = run_on("lamp-bus-12v-55w", part({"component": "lamp", "volts": 12.0, "amps": 4.58, "hot_k": 3050.0}))
    assert done.read("pair_dry").number < 0.3
    assert not done.faults and done.verdict.overall is Overall.PASS
    assert "no short: a cold filament" in done.verdict.means
