"""Statements about a crate's protocol: what ships is sound, and every mistake is reported with its place."""

from pathlib import Path

import pytest

from pulldrop.model.crate.crate import Bin
from pulldrop.protocol.crate import check, is_crate, sorting
from pulldrop.protocol.errors import UnknownName
from pulldrop.protocol.ratings.classes import classes, classes_of
from pulldrop.protocol.shipped import library

GOOD = """\
crate: shed
version: 1
title: an invented crate
screen: relay-screen
full: relay-full
golden_every: 25
source: "assumed: invented"
rules:
  - bin: keep
    why: good
    when:
      passes: true
      within:
        contact_drop_no: "<= 100 mV"
  - bin: scrap
    why: bad
    when:
      fails: [any]
"""


def told(tmp_path: Path, text: str) -> list[str]:
    """The problems of a crate's protocol, without the name of its file."""
    file = tmp_path / "shed.yaml"
    file.write_text(text, encoding="utf-8")
    found = check(file)
    return [str(p).removeprefix(f"{file}:") for p in found] if isinstance(found, list) else []


@pytest.mark.parametrize("name", library.crate_names())
def test_every_shipped_crate_binds_and_never_keeps_what_was_not_tested_in_full(name: str) -> None:
    for rating in classes_of("two-terminal") if name == "crate-pair" else classes():
        made = sorting(name, rating)
        assert made.name == name and is_crate(library.find_crate(name))
        ends = ("-quick", "-quick") if name == "crate-pair" else ("-screen", "-full")
        assert made.screen.protocol.endswith(ends[0]) and made.full.protocol.endswith(ends[1])
        assert made.screen.rating == made.full.rating == rating
        assert made.screen.limits.keys() == made.full.limits.keys()
        assert all(rule.passes or rule.but_for for rule in made.rules if rule.bin in (Bin.KEEP, Bin.LIGHT_DUTY))


def test_the_bins_of_a_part_without_nc_ask_nothing_of_nc_and_those_of_a_system_look_for_coils_of_the_other() -> None:
    made = {one.rating: sorting("crate-relay", one) for one in classes() if one.any_maker == "mini"}
    for name, crate in made.items():
        asked = [id for rule in crate.rules for id in (*rule.within, *rule.but_for, *rule.fails) if id.endswith("_nc")]
        assert bool(asked) is (crate.full.form not in ("A", "twin")), name
        assert len(crate.rules) == (11 if crate.full.form == "C" else 10), name
        coil = crate.rules[0].within["coil_resistance_20c"]
        volts, low, high = (24, 170.0, 500.0) if crate.full.rating.nominal == 12 else (12, 40.0, 170.0)
        assert (coil.low, coil.high) == (low, high) and f"for {volts} V" in crate.rules[0].why, name


def test_a_screen_has_the_limits_of_the_full_protocol() -> None:
    for name in library.crate_names():
        made = sorting(name, "lamp-bus-24v-21w" if name == "crate-pair" else "class-mini-24v-form-c")
        assert {id: limit.text for id, limit in made.screen.limits.items()} == {
            id: limit.text for id, limit in made.full.limits.items()
        }


def test_a_protocol_of_your_own_binds(tmp_path: Path) -> None:
    file = tmp_path / "shed.yaml"
    file.write_text(GOOD, encoding="utf-8")
    found = check(file)
    assert isinstance(found, tuple) and len(found) == len(classes())
    made = found[0]
    assert made.rules[0].within["contact_drop_no"].high == pytest.approx(0.1)
    assert {*made.rules[1].fails} == {*made.screen.wanted, *made.full.wanted}, "'any' is every measurement"


@pytest.mark.parametrize(
    ("old", "new", "place", "says"),
    [
        ("bin: keep", "bin: kept", "9:10", "'kept'; expected 'keep', 'light duty'"),
        ("passes: true", "passes: maybe", "12:15", "expected true or false"),
        ("      passes: true\n", "", "12:7", "needs 'passes: true' or 'but_for'"),
        ("fails: [any]", "fails: [contact_drop_n]", "18:15", "did you mean 'contact_drop_no'?"),
        ("<= 100 mV", "<= 100 ohm", "14:30", "the limit is in ohm; expected V"),
        ("fails: [any]", "fails: [30-88]", "18:15", "'30-88' is not measured"),
        ("fails: [any]", "fails: [coil_hot]", "18:15", "'coil_hot' is not measured by relay-screen"),
        ("fails: [any]", "{}", "18:7", "nothing is asked here"),
        ("relay-screen", "relay-scren", "4:9", "did you mean 'relay-screen'?"),
        ('"<= 100 mV"', '{12 V: "<= 100 mV"}', "14:26", "'contact_drop_no' has nothing for 24 V"),
        ("version: 1\n", "", "1:1", "'version' is missing"),
        ("golden_every: 25", "golden_every: -1", "6:15", "at least 0"),
    ],
)
def test_a_mistake_is_told_with_its_place(tmp_path: Path, old: str, new: str, place: str, says: str) -> None:
    found = told(tmp_path, GOOD.replace(old, new, 1))
    assert any(one.startswith(place) and says in one for one in found), found


def test_a_crate_that_is_not_there_is_told_with_its_like() -> None:
    with pytest.raises(UnknownName, match="did you mean 'crate-relay'"):
        sorting("crate-relays", "class-mini-12v-form-c")
