"""From nothing to a first part: what is drawn is what is built, and the whole way can be walked."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import pytest
import yaml
from making import circuit
from making.limits import worst

from pulldrop.board.errors import NoBoard
from pulldrop.cli.ask import propose
from pulldrop.cli.ask.guide import Guide
from pulldrop.cli.input_error import InputError
from pulldrop.cli.main import main
from pulldrop.cli.show import screen
from pulldrop.cli.show.drawn import evening, wiring
from pulldrop.cli.testing import quickstart
from pulldrop.jobs.run import boards

HARDWARE = Path(__file__).parents[4] / "hardware"
PINS = yaml.safe_load((HARDWARE / "pins.yaml").read_text(encoding="utf-8"))
PAGE = (HARDWARE / "evening" / "README.md").read_text(encoding="utf-8")
POWER = PAGE.partition("## First power-up")[2].partition("## When something is wrong")[0]
STEPS = dict(re.findall(r"^\*\*(\d+)\. (.*?)(?=^\*\*\d+\. |\Z)", POWER, re.M | re.S))
ROW = re.compile(r"^\| ([^|]+?) \| (\w+) \| ([^|]+?) \|$", re.M)
WHOLE = circuit.load("evening")
SCREENS = (*evening.WIRING, *evening.FIRST_POWER, evening.FIRST_LOAD, evening.LOADED, evening.CALIBRATED)
OHM = re.compile(r"^([\d.]+)( k| m?ohm)?$")


def test_the_wiring_that_is_drawn_is_that_of_the_bare_board() -> None:
    rows = [(row["terminal"], row["drive"], row["ohm"], row["sense"]) for row in PINS["bare"]]
    assert list(wiring.BARE) == rows
    drawn = wiring.bare()
    assert all(any(f"{terminal:<8} {drive}" in line and line.endswith(sense) for line in drawn)
               for terminal, drive, _, sense in rows)  # fmt: skip
    assert max(map(len, drawn)) <= 60


def hops(path: str) -> Iterator[tuple[str, str, str, str]]:
    """Part, pin in, pin out, value of each hop."""
    for told in path.split("; "):
        part, _, value = told.partition(" ")
        ref, _, pins = part.partition(":")
        into, _, out = pins.partition(">")
        yield ref, into, out or into, value


@pytest.mark.parametrize("path", [path for one in evening.WIRING for _, path in one.paths])
def test_every_path_that_is_drawn_of_an_evening_build_is_one_of_its_circuit(path: str) -> None:
    walked = list(hops(path))
    for (ref, _, out, _), (following, into, _, _) in pairwise(walked):
        assert WHOLE[ref].net(out) == WHOLE[following].net(into), f"{ref} {out} to {following} {into}"
    for ref, into, out, value in walked:
        assert {into, out} <= set(WHOLE[ref].pins)
        if value and ref.startswith("R") and (told := OHM.match(value)):
            scale = {" k": 1e3, " mohm": 1e-3}.get(told[2] or "", 1.0)
            assert worst.ohm(WHOLE, ref) == pytest.approx(float(told[1]) * scale), ref


def test_all_that_the_nano_and_the_modules_are_wired_to_is_drawn() -> None:
    drawn = {(ref, pin) for one in evening.WIRING for _, path in one.paths
             for ref, into, out, _ in hops(path) for pin in (into, out)}  # fmt: skip
    for ref in ("U2", "U5", "U7"):
        left = {pin for pin in WHOLE[ref].pins if (ref, pin) not in drawn}
        assert left <= {"GND2", "VBUS"}, ref


@pytest.mark.parametrize("wide", [evening.WIDTH, 59])
@pytest.mark.parametrize("one", SCREENS, ids=lambda one: one.title)
def test_each_screen_fits_a_terminal_with_its_heading_and_its_prompt(one: evening.Screen, wide: int) -> None:
    lines = one.lines(wide)
    assert len(lines) <= 20 and max(map(len, lines)) <= wide


@pytest.mark.parametrize("one", SCREENS[len(evening.WIRING) :], ids=lambda one: one.title)
def test_each_place_volt_and_time_is_that_of_the_building_page(one: evening.Screen) -> None:
    if one.reads:
        assert list(one.reads) == [row for row in ROW.findall(STEPS[str(one.step)]) if row[0] != "place"]
    for text in one.about:
        for told in re.findall(r"\b\d+(?:\.\d+)?(?:-\d+)?\b", text):
            assert re.search(rf"\b{re.escape(told)}\b", POWER), f"{told} in '{text}'"


def test_every_power_up_step_of_the_page_is_asked_for() -> None:
    assert {str(one.step) for one in SCREENS[len(evening.WIRING) :]} | {"7"} == set(STEPS)
    assert "43 wires" in PAGE and "## When something is wrong" in PAGE and (HARDWARE.parent / evening.PAGE).exists()


BARE_WAY = ("SIMULATED", "1. Wire it", "2. Leave the socket empty", "The board is well", "3. Put a relay",
            "CHECKED WITHOUT LOAD", "coil resistance", "write ")  # fmt: skip
EVENING_WAY = ("SIMULATED", "1. Wire it", "ADS1115 ADDR", "2. First power-up", "A lamp instead of the fuse",
               "3. The check", "The board is well", "The first load, through the bulb", "6. Put a relay", "PASS",
               "pull-in voltage", "on the part, with a pen")  # fmt: skip


@pytest.mark.parametrize(("board", "code", "way"), [("virtual-bare", 3, BARE_WAY), ("virtual-evening", 0, EVENING_WAY)])
def test_the_way_to_a_first_part_can_be_walked_without_a_board(
    board: str, code: int, way: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["quickstart", "--board", board, "--store", ":memory:"]) == code, "a bare board never says pass"
    said = capsys.readouterr().out
    assert [said.index(one) for one in way] == sorted(said.index(one) for one in way)
    assert max(map(len, said.split("\n"))) <= 80


@pytest.mark.parametrize("more", [[], ["--board", "virtual"], ["--board", "virtual-bare", "--build", "full"]])
def test_nobody_is_asked_where_nobody_is_and_a_full_bench_has_its_own_guide(
    more: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["quickstart", *more]) == 2
    assert "virtual-bare" in capsys.readouterr().err


# --- a person at the keys ---


def presses(monkeypatch: pytest.MonkeyPatch, keys: str) -> list[str]:
    left = list(keys)

    @contextmanager
    def one_key() -> Iterator[object]:
        yield lambda: left.pop(0)

    monkeypatch.setattr(propose, "one_key", one_key)
    return left


def answers(monkeypatch: pytest.MonkeyPatch, build: str) -> None:
    @contextmanager
    def opened(*_: object) -> Iterator[object]:
        if not build:
            raise NoBoard("No board.")
        yield SimpleNamespace(identity=SimpleNamespace(build=build, kind="nano", serial=7, simulated=False))

    monkeypatch.setattr(boards, "open_board", opened)


@pytest.mark.parametrize(
    ("build", "keys", "chosen", "wired"),
    [
        ("", "xe", "evening", False),
        ("bare", "n", "bare", False),
        ("bare", "\x1b", None, False),
        ("evening", " ", "evening", True),
        ("evening", "w", "evening", False),
    ],
)
def test_the_build_is_seen_or_asked(
    monkeypatch: pytest.MonkeyPatch, build: str, keys: str, chosen: str | None, wired: bool
) -> None:
    answers(monkeypatch, build)
    left = presses(monkeypatch, keys)
    guide = Guide(screen.console(), "auto", asks=True)
    assert guide.which() == chosen and guide.wired is wired and not left


def test_a_full_bench_that_answers_has_its_own_guide(monkeypatch: pytest.MonkeyPatch) -> None:
    answers(monkeypatch, "full")
    with pytest.raises(InputError, match=r"full bench answers.*hardware/guide\.md"):
        Guide(screen.console(), "auto", asks=True).which()


def test_a_person_goes_on_goes_back_writes_the_firmware_and_leaves(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    guide = Guide(screen.console(), "virtual-evening", asks=True)
    left = presses(monkeypatch, "  b " + " " * 4 + "f\x1b")
    assert not quickstart._walked(guide, evening.FIRST_POWER, "2") and not left
    said = capsys.readouterr().out
    headings = [int(number) for number in re.findall(r"^2\.(\d) of 8", said, re.M)]
    assert headings == [1, 2, 3, 2, 3, 4, 5, 6, 7] and said.count("f: write the firmware") == 2
    assert "virtual-evening has no flash to write" in said
