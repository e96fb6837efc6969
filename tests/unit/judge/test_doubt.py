"""An unsure verdict says what makes it so, and gives advice that touches that."""

from functools import cache

import pytest

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.judge.doubt import doubt
from pulldrop.measure import perform
from pulldrop.model.bench.calibration import nominal
from pulldrop.model.reading import Reading, Term
from pulldrop.model.verdict import Judged, Outcome
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

CLASS = "class-mini-12v-form-c"
QUICK = plan("relay-quick", CLASS)


@cache
def terms() -> dict[str, Term]:
    """Terms of the budgets of a whole test, by their names."""
    with VirtualBoard(Specimen(title="invented"), 1) as board:
        found = [one for one in perform(plan("relay-diagnose", CLASS), board, nominal(0))]
    return {term.name: term for one in found if isinstance(one, Reading) for term in one.budget}


def unsure(*names: str, id: str = "pull_in_voltage") -> Judged:
    """An unsure reading, the terms of its budget by name, the largest first."""
    sizes = {name: 0.1 / place for place, name in enumerate(names, 1)}
    budget = tuple(terms()[name].model_copy(update={"u": u}) for name, u in sizes.items())
    reading = Reading(id=id, unit="V", value=8.4, budget=budget)
    return Judged(id=id, outcome=Outcome.UNSURE, reason="invented", finding=reading)


def test_a_part_that_scatters_is_not_blamed_on_the_calibration() -> None:
    means, advice = doubt([unsure("scatter", "coil volts gain")], QUICK)
    assert "'scatter'" in means and "pull-in voltage" in means
    assert "alibrat" not in advice
    assert "more often" in advice


@pytest.mark.parametrize("name", ["coil volts gain", "load amps zero", "clock gain", "low side", "temperature"])
def test_what_a_calibration_would_mend_is_told_so(name: str) -> None:
    assert "Calibrate the bench" in doubt([unsure(name, "scatter")], QUICK)[1]


def test_coarse_steps_ask_for_finer_ones_and_a_warm_coil_for_patience() -> None:
    assert "run the protocol relay-full, whose steps are finer" in doubt([unsure("step size")], QUICK)[1]
    assert "equally warm" in doubt([unsure("coil warmth")], QUICK)[1]


@pytest.mark.parametrize(("ran", "id"), [("relay-full", "pull_in_voltage"), ("relay-diagnose", "release_after_load")])
@pytest.mark.parametrize("name", ["scatter", "step size"])
def test_where_nothing_shipped_measures_it_finer_no_shipped_protocol_is_advised(ran: str, id: str, name: str) -> None:
    advice = doubt([unsure(name, id=id)], plan(ran, CLASS))[1]
    assert "relay-" not in advice and "the full protocol" not in advice
    assert "write a protocol of your own, " in advice and advice.endswith("or treat the part as not good.")


@pytest.mark.parametrize("name", ["thermal voltage", "coil volts resolution", "sampling"])
def test_what_nothing_mends_is_told_so(name: str) -> None:
    advice = doubt([unsure(name)], QUICK)[1]
    assert advice == "Treat the part as not good: no calibration makes the doubt smaller on this bench."
    assert "no calibration" not in doubt([unsure(name), unsure("clock gain")], QUICK)[1], "what can be mended leads"


def test_of_a_bound_it_is_said_that_it_is_one() -> None:
    bound = Reading(id="pull_in_voltage", unit="V", value=5.0, bound=">")
    means, advice = doubt(
        [Judged(id="pull_in_voltage", outcome=Outcome.UNSURE, reason="invented", finding=bound)], QUICK
    )
    assert "only a bound" in means and "wider" in advice


def test_the_same_advice_is_given_once_and_always_ends_with_the_safe_choice() -> None:
    advice = doubt([unsure("scatter"), unsure("scatter", id="drop_out_voltage")], QUICK)[1]
    assert advice.count("more often") == 1
    assert advice.endswith("or treat the part as not good.")
