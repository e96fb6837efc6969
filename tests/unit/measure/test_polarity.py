"""A diode the wrong way round, and a shorted coil: every way to meet such a part says the same of it.

The demo is held to it in test_jobs_demo.py.
"""

import pytest
from crates import Crate, parts

from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.identify import NotEnergised, look_first, refuse
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.jobs.run.test_one import Task, keep_refused, run_one
from pulldrop.model.crate.crate import Bin
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan
from pulldrop.store import Store

REVERSED, SHORTED = "reversed-diode", "shorted-coil"
EXCHANGE = "exchange the leads to 85 and 86, test again"
SEED = 3


def looked_at(name: str) -> RunRecord:
    """As `test` does it."""
    at = plan("relay-quick", "class-mini-12v-form-c")
    with Store.open(":memory:") as store, open_board("virtual", specimens.find(name), SEED) as board:
        with pytest.raises(NotEnergised) as refused:
            refuse(look_first(board, store), at)
        task = Task(plan=at, part=Relay(id="", form="C"))
        return keep_refused(task, board, store, refused.value.why, refused.value.faults)


def as_tested(name: str, protocol: str, seed: int = SEED) -> RunRecord:
    """As `test --no-look` does it."""
    with Store.open(":memory:") as store, open_board("virtual", specimens.find(name), seed) as board:
        return run_one(
            Task(plan=plan(protocol, "class-mini-12v-form-c"), part=Relay(id="", form="C")),
            board,
            store,
            lambda _: None,
        )


PROTOCOLS = ("relay-quick", "relay-full", "relay-screen", "relay-diagnose")


SEEDED = [*((one, SEED) for one in PROTOCOLS), (PROTOCOLS[0], 22), (PROTOCOLS[0], 37)]


@pytest.mark.parametrize(("protocol", "seed"), SEEDED)
def test_a_diode_the_wrong_way_round_is_no_scrap_however_it_is_met(protocol: str, seed: int) -> None:
    """Seed 22 has a DAC whose zero takes 0.23 V off the probe of 1 V."""
    record = as_tested(REVERSED, protocol, seed)
    assert record.faults[0].id == "diode_reversed" and record.faults[0].weight > 0.9
    assert record.verdict.overall is Overall.DO_NOT_ENERGISE
    assert EXCHANGE in record.verdict.next and "scrap" not in record.verdict.model_dump_json().lower()


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_a_shorted_coil_is_scrap_however_it_is_met(protocol: str) -> None:
    record = as_tested(SHORTED, protocol)
    assert record.faults[0].id == "coil_shorted" and record.faults[0].weight > 0.9
    assert record.verdict.overall is Overall.DO_NOT_ENERGISE and record.verdict.next.startswith("Scrap it")


def test_the_look_says_the_same_of_both() -> None:
    reversed_diode, shorted = looked_at(REVERSED), looked_at(SHORTED)
    assert reversed_diode.faults[0].id == "diode_reversed" and EXCHANGE in reversed_diode.verdict.next
    assert "scrap" not in reversed_diode.verdict.model_dump_json().lower()
    assert "is bad" not in reversed_diode.verdict.found, "the wrong polarity is no fault of the part"
    assert shorted.faults[0].id == "coil_shorted" and shorted.verdict.next.startswith("Scrap it")


def shorted_and_open_at_rest() -> VirtualPart:
    """A part of which the looks do not see all that one in order joins, so that its pairs are looked at."""
    given = specimens.find(SHORTED).specimen.model_dump()
    given["contact_nc"] |= {"film_ohm": 1e6, "film_breaks_v": 30.0}
    return VirtualPart(Specimen.model_validate(given), "a shorted coil, and NC carries nothing")


def test_a_crate_looks_again_at_the_one_and_scraps_the_other() -> None:
    with Store.open(":memory:") as store:
        crate = Crate(store, [*parts(REVERSED, SHORTED), shorted_and_open_at_rest()])
        first, second, third = crate.run().sorter.parts
    assert first.bin is Bin.LOOK_AGAIN and "leads to 85 and 86, test again" in first.reasons[1]
    assert first.reasons[0] == "suppression diode the wrong way round for this polarity"
    assert len(first.reasons) == 3 and "coil or its suppression shorted" not in first.reasons
    assert second.bin is Bin.SCRAP and second.reasons[0] == "coil or its suppression shorted"
    assert "suppression diode the wrong way round for this polarity" not in second.reasons
    assert third.bin is Bin.SCRAP and "coil or its suppression shorted" in third.reasons
