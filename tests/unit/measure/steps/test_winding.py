"""Statements about parts whose winding is not as warm as the bench: carried in from a cold yard."""

from typing import Any

import pytest

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.cli.ask.options import rested_s
from pulldrop.cli.input_error import InputError
from pulldrop.measure import StepStarted, perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.reading import Reading
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

FULL = plan("relay-full", "class-mini-12v-form-c")
BROUGHT = ("coil_resistance_20c", "pull_in_voltage_20c", "drop_out_voltage")
TERM = "winding not as warm as the bench"


def run(colder_k: float, rested: float | None, **coil: Any) -> dict[str, Reading]:
    part = {"title": "invented", "temperature_c": 21.0, "winding_c": 21.0 - colder_k, "coil": coil}
    at = FULL.model_copy(update={"steps": tuple(s for s in FULL.steps if s.measure in ("coil", "drift", "thresholds"))})
    with VirtualBoard(Specimen.model_validate(part), 7) as board:
        found = [one for one in perform(at, board, nominal(0), rested_s=rested) if not isinstance(one, StepStarted)]
    return {one.id: one for one in found if isinstance(one, Reading)}


def term(found: Reading) -> float:
    return sum(one.u for one in found.budget if one.name == TERM) / found.number


def test_a_part_from_a_cold_yard_lies_inside_its_interval_once_its_wait_is_stated() -> None:
    true = run(0.0, 24 * 3600.0)
    cold, silent = run(9.0, 300.0), run(9.0, None)
    for id in BROUGHT:
        off = abs(cold[id].number - true[id].number)
        assert off < cold[id].expanded_uncertainty, id
    ohm = "coil_resistance_20c"
    off = abs(silent[ohm].number - true[ohm].number)
    assert off > 2 * silent[ohm].expanded_uncertainty, "nobody said, and an hour was assumed"


@pytest.mark.parametrize("id", [*BROUGHT, "coil_resistance", "coil_current", "pull_in_voltage"])
def test_the_term_shrinks_with_the_wait_and_stands_in_every_figure_that_follows_the_ohms(id: str) -> None:
    shares = [term(run(0.0, rested)[id]) for rested in (0.0, 900.0, 3600.0)]
    assert shares[0] == pytest.approx(0.00391 * 25 / 3**0.5, rel=0.03)
    assert shares[1] == pytest.approx(shares[0] / 2.718, rel=0.01)
    assert shares[2] == pytest.approx(shares[0] / 54.6, rel=0.01)
    assert term(run(0.0, None)[id]) == pytest.approx(shares[2])


def test_amps_at_pull_in_do_not_follow_the_ohms() -> None:
    assert term(run(0.0, 0.0)["pull_in_current"]) == 0.0


@pytest.mark.parametrize(("warms_s", "colder_k"), [(150.0, 6.0), (300.0, 12.0), (150.0, -6.0)])
def test_a_winding_that_is_not_as_warm_as_the_bench_is_seen_by_its_ohms_at_rest(
    warms_s: float, colder_k: float
) -> None:
    drift = run(colder_k, None, heating_s=warms_s, heating_k_per_w=warms_s * 35 / 150)["winding_drift"]
    assert drift.raw and abs(drift.number) > drift.expanded_uncertainty
    assert drift.number == pytest.approx(60 * colder_k / warms_s, abs=drift.expanded_uncertainty)


@pytest.mark.parametrize("warms_s", [100.0, 150.0, 600.0])
def test_one_that_is_shows_none(warms_s: float) -> None:
    drift = run(0.0, None, heating_s=warms_s, heating_k_per_w=warms_s * 35 / 150)["winding_drift"]
    assert abs(drift.number) < drift.expanded_uncertainty < 1.5


@pytest.mark.parametrize(("told", "seconds"), [(None, None), ("0 s", 0.0), ("10 min", 600.0), ("1.5 h", 5400.0)])
def test_a_wait_is_read_as_people_write_it(told: str | None, seconds: float | None) -> None:
    assert rested_s(told) == seconds


@pytest.mark.parametrize("told", ["long", "10", "-5 min", "3 days"])
def test_what_is_no_wait_is_refused(told: str) -> None:
    with pytest.raises(InputError, match="no time"):
        rested_s(told)
