"""The compiled firmware leads to the same identification as the virtual board: one part of each, on both builds."""

import pytest

from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.identify import identify
from pulldrop.jobs.run.specimens import VirtualPart, empty_socket, find
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.part.identification import Identification

SEED = 7
FULL = {
    "good-12v-changeover": "none",
    "good-24v-changeover": "none",
    "good-12v-normally-open": "none",
    "normally-closed": "none",
    "twin-87": "none",
    "exchanged-layout": "unknown",
    "good-with-diode": "diode",
    "good-with-series-diode": "series diode",
    "good-with-resistor": "resistor",
    "good-with-zener": "zener",
    "reversed-diode": "diode",
    "open-coil": "unknown",
    "open-behind-resistor": "resistor",
    "welded-no": "none",
    "empty socket": "unknown",
}
"""What is across the coil, as a full bench is to name it."""
BARE = ("good-12v-changeover", "twin-87", "exchanged-layout", "good-with-diode", "good-with-series-diode", "open-coil")


def named(board: str, part: VirtualPart) -> Identification:
    with open_board(board, part, SEED) as bench:
        return identify(bench, nominal(SEED))


def said(identified: Identification) -> tuple[object, ...]:
    """All that is named; ohms and volts have their own noise on each board."""
    return (
        identified.seen, identified.layout, identified.forms, identified.winding, identified.volts,
        identified.suppression.kind, identified.suppression.reversed, identified.refuse,
        identified.protocol, identified.rating,
        [(one.about, one.sure) for one in identified.statements],
    )  # fmt: skip


def part_of(name: str) -> VirtualPart:
    return empty_socket() if name == "empty socket" else find(name)


@pytest.mark.slow
@pytest.mark.parametrize("name", list(FULL))
def test_the_emulated_board_names_the_nature_of_a_part(name: str) -> None:
    emulated, virtual = named("emulated", part_of(name)), named("virtual", part_of(name))
    assert said(emulated) == said(virtual)
    assert emulated.suppression.kind == FULL[name]
    if emulated.coil is not None and virtual.coil is not None:
        assert emulated.coil.ohm == pytest.approx(virtual.coil.ohm, rel=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("name", BARE)
def test_so_does_the_emulated_bare_board(name: str) -> None:
    assert said(named("emulated-bare", part_of(name))) == said(named("virtual-bare", part_of(name)))
