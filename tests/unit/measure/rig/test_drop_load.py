"""A contact's drop at a load that is not quite the one asked for: how it is brought there, with what term, how far."""

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from pulldrop.board.errors import Refused
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import perform
from pulldrop.measure.rig.drop import not_ohmic_v
from pulldrop.measure.rig.load import rested
from pulldrop.measure.rig.rig import Rig
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.plant.bench import frontend
from pulldrop.plant.bench.frontend import Frontend
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

QUICK = plan("relay-quick", "class-mini-12v-form-c")
ROOM_K, LORENZ, ALPHA = 293.0, 2.44e-8, 0.0041


def drop_at(monkeypatch: pytest.MonkeyPatch, off: float, crust_mohm: float = 0.0) -> Finding:
    """contact_drop_no of one part, the load supply off by a share."""
    drawn: Callable[[int | None], Frontend] = frontend.drawn
    monkeypatch.setattr(frontend, "drawn", lambda seed: replace(drawn(seed), load_supply=off))
    part = Specimen.model_validate({"title": "invented", "contact_no": {"pitting_mohm": 0.0, "crust_mohm": crust_mohm}})
    with VirtualBoard(part, None) as board:
        return next(f for f in perform(QUICK, board, nominal(0)) if getattr(f, "id", "") == "contact_drop_no")


def spot_v(cold_ohm: float, amps: float) -> float:
    """Across a spot, by steps: Kohlrausch for its middle, and two thirds of that rise for its ohms (Holm; from memory,
    as the Lorenz number and silver's 0.0041/K)."""
    volts = cold_ohm * amps
    for _ in range(500):
        middle_k = math.sqrt(ROOM_K**2 + volts**2 / (4 * LORENZ))
        volts = amps * cold_ohm * (1 + 2 / 3 * ALPHA * (middle_k - ROOM_K))
    return volts


@pytest.mark.parametrize("amps", [8.0, 9.5, 11.0, 12.0])
@pytest.mark.parametrize("cold_mohm", [2.0, 4.0, 6.0])
def test_the_term_is_what_a_drop_that_lies_all_in_one_spot_is_wrong_by(amps: float, cold_mohm: float) -> None:
    asked_v, read_v = (spot_v(cold_mohm / 1000, at) for at in (10.0, amps))
    wrong_v = abs(read_v * 10.0 / amps - asked_v)
    assert not_ohmic_v(read_v, 10.0 / amps) == pytest.approx(wrong_v, rel=0.1)


def test_a_drop_that_needs_no_bringing_has_no_term_and_more_than_a_spot_can_hold_adds_nothing() -> None:
    assert not_ohmic_v(0.1, 1.0) == pytest.approx(0.0, abs=1e-12)
    assert not_ohmic_v(2.0, 1.2) == not_ohmic_v(1.0, 1.2)


@pytest.mark.parametrize(("off", "amps"), [(0.0, "9.78 A"), (0.15, "11.2"), (-0.1, "8.8")])
def test_a_reading_says_what_flowed_and_has_a_term_for_it(
    monkeypatch: pytest.MonkeyPatch, off: float, amps: str
) -> None:
    found = drop_at(monkeypatch, off)
    assert isinstance(found, Reading)
    shown = {one.name: one.text for one in found.conditions}
    assert shown["load that flowed"].startswith(amps)
    assert shown["load that flowed"].endswith(" A, brought to 10 A")
    assert [term.name for term in found.budget].count("not by Ohm's law") == 1


@pytest.mark.parametrize(("off", "amps"), [(-0.24, "7.4"), (0.3, "12.7")])
def test_a_load_too_far_off_gives_no_reading_but_a_sentence(
    monkeypatch: pytest.MonkeyPatch, off: float, amps: str
) -> None:
    found = drop_at(monkeypatch, off)
    assert isinstance(found, NotTested)
    assert found.reason.startswith(amps) and "Look at the volts of the load supply" in found.reason


def test_a_contact_that_holds_the_load_back_itself_is_still_a_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    found = drop_at(monkeypatch, 0.0, crust_mohm=1000.0)
    assert isinstance(found, Reading)
    assert found.bound == ">" and found.value is not None and found.value > 0.2


def test_a_load_that_is_refused_rests_whole_though_the_coil_has_long_been_off() -> None:
    """The rest was counted from the coil's switching off: twelve refusals came within 50 ms."""
    with VirtualBoard(Specimen(title="invented: a sound relay"), 7) as board:
        rig, asked = Rig.uncalibrated(board), list[float]()
        rig.release(0.0)
        rig.wait(5.0)

        def load() -> str:
            asked.append(board.elapsed())
            if len(asked) < 3:
                raise Refused("duty", "invented")
            return "loaded"

        assert rested(rig, load, rest_s=lambda: 0.7) == "loaded"
        assert [0.7 <= after - before < 0.75 for before, after in pairwise(asked)] == [True, True]
