"""Every board learns the same table of the same switch, turned by the same person."""

from contextlib import ExitStack

import pytest
import yaml
from opened import SEED
from turned import groups, turned

from pulldrop.board.errors import Refused
from pulldrop.board.serial import SerialBoard
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.emulator.evening import EveningPort
from pulldrop.emulator.stepped import SteppedPort
from pulldrop.measure.positions.learn import Live
from pulldrop.model.part.switch_table import SwitchTable
from pulldrop.plant.parts import SPECIMENS
from pulldrop.plant.parts.switch import SwitchSpecimen
from pulldrop.plant.switch.person import Habits
from pulldrop.text.document import parse
from pulldrop.text.shape import fit_kind

LIGHT = """\
title: an invented light switch of a town bus, with a pilot lamp
kind: switch
terminals: ["30", "58", "56", "31"]
positions: {"off": [], park: [30-58], head: [30-58, 30-56]}
inside: [{between: 58-31, kind: filament, volts: 24, watts: 2}]
"""
WIPER = """\
title: an invented wiper switch with a wash position that springs back
kind: switch
terminals: ["53a", "53", "53b", "53c"]
overlap: 0.2
positions: {park: [], slow: [53a-53], fast: [53a-53b], wash: [53a-53c]}
springs: {wash: fast}
"""
BLOWER = """\
title: an invented rotary switch of a heater fan
kind: switch
terminals: ["15", "L", "M", "H"]
positions: {"off": [], low: [15-L], middle: [15-M], high: [15-H]}
bounce_ms: 6
"""


def table(board: str, text: str) -> SwitchTable:
    """The table that a board learns of the switch in a file."""
    bare, evening = board.endswith("-bare"), board.endswith("-evening")
    specimen = fit_kind(parse(text, "switch"), SPECIMENS, "relay")
    assert isinstance(specimen, SwitchSpecimen)
    with ExitStack() as stack:
        if board.startswith("virtual"):
            inserted = specimen.in_socket()
            made = (
                EveningBoard(inserted, SEED)
                if evening
                else VirtualBoard(inserted.on_bare() if bare else inserted, SEED, bare)
            )
            virtual = stack.enter_context(made)
            return turned(specimen, virtual, virtual.plant, SEED, Habits())
        port = stack.enter_context(EveningPort(text, SEED) if evening else SteppedPort(text, SEED, bare=bare))
        serial = stack.enter_context(SerialBoard(port, "the emulator", port.clock, port.sleep, port.again))
        return turned(specimen, serial, port.machine.plant, SEED, Habits())


@pytest.mark.parametrize(
    ("build", "text"), [("-bare", LIGHT), ("", WIPER), ("", BLOWER)],
    ids=["light bare", "wiper", "blower"],
)  # fmt: skip
def test_both_boards_learn_the_table(build: str, text: str) -> None:
    virtual, emulated = (table(f"{kind}{build}", text) for kind in ("virtual", "emulated"))
    wanted = {
        frozenset(frozenset(one) for one in _joined(pairs)) for pairs in yaml.safe_load(text)["positions"].values()
    }
    for found in (virtual, emulated):
        assert groups(found) == wanted
        assert not found.doubts
        assert len(found.inside) == text.count("filament")
        assert {one.between for one in found.passages} <= {
            "make before break" if "overlap" in text else "break before make"
        }
        assert any(row.sprung for row in found.positions) is ("springs" in text)


@pytest.mark.parametrize("board", ["virtual", "virtual-bare", "emulated", "emulated-bare"])
def test_a_live_switch_is_refused_by_every_board(board: str) -> None:
    with pytest.raises(Live, match="terminal 58 has volts of its own"):
        table(board, LIGHT + 'faults: {live: {"58": 12.6}}\n')


@pytest.mark.parametrize("board", ["virtual-evening", "emulated-evening"])
def test_a_build_that_looks_at_no_pair_but_the_coil_learns_no_switch_and_says_so(board: str) -> None:
    with pytest.raises(Refused, match="build of the board has no part for it") as refused:
        table(board, BLOWER)
    assert refused.value.reason == "build"


def _joined(pairs: list[str]) -> list[set[str]]:
    """Groups of terminals that pairs with one common terminal join."""
    return [{name for pair in pairs for name in pair.split("-")}] if pairs else []
