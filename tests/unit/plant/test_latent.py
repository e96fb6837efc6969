"""Faults of the bench that change no reading: each is found with a link and a hand at the stop, and named."""

from pathlib import Path

import pytest
from broken_bench.boards import BrokenBoard
from broken_bench.latent import SOUND, Latent

from pulldrop.cli.main import main
from pulldrop.jobs.calibrate.virtual import CalibratingHand
from pulldrop.jobs.self_test.bench import self_test, with_hands
from pulldrop.jobs.self_test.talk import converse
from pulldrop.jobs.sort import fit as sort_check
from pulldrop.measure.identify.socket import Look
from pulldrop.measure.self_test.check import Check
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.raw import Contact
from pulldrop.model.wording.cautions import BEFORE_CALIBRATION
from pulldrop.plant.bench import instruments
from pulldrop.plant.bench.instruments import Garage
from pulldrop.store import Store


def checks(fault: Latent, seed: int = 5) -> list[Check]:
    """The guided part of the self-test on a virtual bench with this fault."""
    with BrokenBoard(instruments.empty(), seed) as board:
        board.plant.latent = fault
        return list(converse(with_hands(board, nominal(seed)), CalibratingHand(board, Garage(seed), 0.1)))


def wrong(fault: Latent) -> dict[str, str]:
    return {check.title: check.found for check in checks(fault) if check.state == "wrong"}


@pytest.mark.parametrize("seed", range(1, 9))
def test_a_sound_bench_passes(seed: int) -> None:
    assert {check.state for check in checks(SOUND, seed)} == {"ok"}


FAULTS = {
    "1 A branch shorted": (Latent(branches=1), "branches off", "Q12 to Q15"),
    "5 A branch shorted": (Latent(branches=2), "branches off", "Q12 to Q15"),
    "10 A branch shorted": (Latent(branches=4), "branches off", "Q12 to Q15"),
    "20 A branch shorted": (Latent(branches=8), "branches off", "Q12 to Q15"),
    "throw of 87 shorted": (Latent(throws=1), "30-87, throws off", "Q16"),
    "throw of 87a shorted": (Latent(throws=2), "30-87a, throws off", "Q17"),
    "pulse limit dead": (Latent(limiter=True), "pulse limit", "U8"),
    "main relay welded": (Latent(k1=True), "load supply with the stop", "K1"),
    "load pole stuck": (Latent(poles=frozenset({"load"})), "load supply with the stop", "pole b"),
    "coil pole stuck": (Latent(poles=frozenset({"coil"})), "coil supply with the stop", "pole a"),
    "logic pole stuck": (Latent(poles=frozenset({"logic"})), "emergency stop, as the board", "pole c"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_latent_fault_is_found_and_named(name: str) -> None:
    fault, title, part = FAULTS[name]
    found = wrong(fault)
    assert any(title in one and part in said for one, said in found.items()), found


@pytest.mark.parametrize("name", [name for name in FAULTS if "shorted" in name or "limit" in name])
def test_an_empty_socket_does_not_show_it(name: str) -> None:
    with BrokenBoard(instruments.empty(), 5) as board:
        board.plant.latent = FAULTS[name][0]
        assert all(check.state in ("ok", "noted") for check in self_test(board, nominal(5)))


def test_the_self_test_finds_a_coil_supply_that_the_lamp_does_not_hold_at_zero() -> None:
    with BrokenBoard(instruments.empty(), 5) as board:
        board.plant.latent = Latent(supply=True)
        (wrong,) = [check for check in self_test(board, nominal(5)) if check.state == "wrong"]
    assert wrong.title == "coil supply held at 0" and "Q6" in wrong.found


def test_the_command_asks_for_link_and_stop_and_says_what_it_found(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "self-test", "--board", "virtual", "--link"]) == 0
    out = capsys.readouterr().out
    assert out.lstrip().startswith("SIMULATED")
    for said in ("shorting link", "Press the emergency stop", "cut after", "The board is well"):
        assert said in out
    words = " ".join(out.split())
    assert all(words.index(told) < words.index("Put the shorting link") for told in BEFORE_CALIBRATION)


def test_the_command_refuses_a_board_without_a_hand(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "self-test", "--board", "virtual-bare", "--link"]) == 2
    assert "--link needs a board" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["10 A branch shorted", "throw of 87 shorted"])
def test_a_crate_is_not_sorted_on_a_bench_whose_load_transistors_failed(name: str, tmp_path: Path) -> None:
    with BrokenBoard(Garage(5).link(), 5) as board, Store.open(str(tmp_path / "depot.db")) as store:
        assert sort_check.link(board, store, Look(Contact.NO, 0.0)) == ""
        board.wait(10.3)
        board.plant.latent = FAULTS[name][0]
        assert FAULTS[name][2] in sort_check.link(board, store, Look(Contact.NO, 0.0))
