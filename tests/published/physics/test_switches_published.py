"""Published tables and ladders of switches, built as virtual ones, as the bench learns them."""

from itertools import pairwise

import pytest
from turned import learnt, switch

from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.plant.switch.person import Habits

# READ: Toyota manual, ignition switch: LOCK all at least 1 Mohm; ACC: AM1-ACC; ON: AM1-ACC-IG1, AM2-IG2; START:
# AM1-IG1-ST1, AM2-IG2-ST2. START springs back to ON: common practice.
IGNITION = {
    "LOCK": [],
    "ACC": ["AM1-ACC"],
    "ON": ["AM1-ACC", "AM1-IG1", "AM2-IG2"],
    "START": ["AM1-IG1", "AM1-ST1", "AM2-IG2", "AM2-ST2"],
}
TERMINALS = ["AM1", "ACC", "IG1", "ST1", "AM2", "IG2", "ST2"]

# READ: Mazda MPV 2005 manual: ohms between two terminals by key; CALC: series parts that hit every centre.
BANDS = {
    "VOL-": (51, 56), "VOL+": (140, 154), "SEEK+": (286, 315), "SEEK-": (534, 589), "MODE": (985, 1080),
    "MUTE": (1940, 2130), "none": (4800, 5290),
}  # fmt: skip
SERIES = (53.6, 93.1, 154.0, 261.0, 470.0, 1000.0, 3010.0)


def ladder(film_ohm: float = 0.0) -> SwitchTable:
    """The keys as positions of a selector: each joins its point of the chain to G. VOL- has a film on its contact."""
    points = [f"n{i}" for i in range(len(SERIES))]
    chain = [
        {"between": f"{a}-{b}", "kind": "resistor", "ohm": ohm}
        for (a, b), ohm in zip(pairwise(["S", *points]), SERIES, strict=True)
    ]
    keys = {key: [f"{point}-G"] for key, point in zip(BANDS, points, strict=True)}
    films = {"films": {"n0-G": film_ohm}} if film_ohm else {}
    specimen = switch(positions=keys, terminals=["S", "G"], inside=chain, faults=films, contact_mohm=10.0)
    return learnt(specimen, habits=Habits(wiggles=0.0))


def test_an_ignition_switch_is_learnt_as_its_manual_has_it() -> None:
    table = learnt(switch(positions=IGNITION, terminals=TERMINALS, springs={"START": "ON"}))
    wanted = {
        frozenset[frozenset[str]](),
        frozenset({frozenset({"AM1", "ACC"})}),
        frozenset({frozenset({"AM1", "ACC", "IG1"}), frozenset({"AM2", "IG2"})}),
        frozenset({frozenset({"AM1", "IG1", "ST1"}), frozenset({"AM2", "IG2", "ST2"})}),
    }
    found = {frozenset(frozenset(one) for one in row.state.groups) for row in table.positions}
    assert found == wanted
    start = next(row for row in table.positions if row.state.joined("AM1", "ST1"))
    assert start.sprung
    assert start.springs_to is not None
    assert table.positions[start.springs_to].state.joined("AM1", "ACC")
    assert not table.doubts


def test_a_ladder_of_keys_reads_within_the_bands_of_its_manual() -> None:
    table = ladder()
    read = sorted(one.ohm for row in table.positions for one in row.state.through)
    assert len(read) == len(BANDS)
    for ohm, (low, high) in zip(read, BANDS.values(), strict=True):
        assert low <= ohm <= high
    assert not table.doubts


@pytest.mark.parametrize("film", [90.0, 97.0])
def test_a_film_that_makes_one_key_another_is_read_as_it_misleads(film: float) -> None:
    """CALC from the same bands: 89 to 98 ohm on VOL- is taken for VOL+ at every tolerance."""
    read = sorted(one.ohm for row in ladder(film).positions for one in row.state.through)
    low, high = BANDS["VOL+"]
    assert low <= read[0] <= high
    assert not any(BANDS["VOL-"][0] <= ohm <= BANDS["VOL-"][1] for ohm in read)
