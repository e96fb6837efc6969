"""Statements about a crate that says of a part what a single test says of it."""

import json
from collections.abc import Iterator

import pytest
from crates import Crate

from pulldrop.jobs.demo.crate import as_it_comes
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.store import Store


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as opened:
        yield opened


def altered(name: str, **more: dict[str, float]) -> VirtualPart:
    """A part in stock with other figures."""
    given = specimens.find(name).specimen.model_dump(mode="json")
    given |= {key: given[key] | figures for key, figures in more.items()}
    return VirtualPart(Specimen.model_validate(given), json.dumps(given))


def alone(part: VirtualPart, store: Store) -> RunRecord:
    return as_it_comes(part, 7, store, lambda _event: None)


def test_what_only_the_first_make_showed_counts_where_the_full_protocol_follows(store: Store) -> None:
    """Its coil is too near its limit for the screen, after which 87a has rubbed its film off."""
    part = altered(
        "insulates-after-rest-nc", contact_nc={"film_ohm": 10.0}, coil={"resistance_ohm": 118.0, "turns": 2400}
    )
    crate = Crate(store, [part]).run()
    assert crate.bins == [(1, "light duty")]
    assert "87a insulates after rest" in " ".join(crate.views[-1].last[0].reasons)
    last = store.record(crate.views[-1].last[0].run)
    assert last.plan.protocol == "relay-full" and last.faults[0].id == "insulates_after_rest_nc"


def test_a_part_that_fails_by_87a_alone_may_go_where_87a_has_no_wire(store: Store) -> None:
    part = altered("weak-spring", faults={"return_spring_percent": 16.0}, coil={"residual_gap_mm": 0.1})
    record = alone(part, store)
    assert [one.id for one in record.judged if one.outcome is Outcome.FAIL] == ["bounce_time_nc"]
    assert "'not 87a'" in record.verdict.next
    assert Crate(store, [part]).run().bins == [(1, "light duty")]


def test_a_corroded_coil_is_no_coil_of_another_voltage(store: Store) -> None:
    """146 ohm in place of 82: late and weak, and still far from one of 24 V."""
    part = altered(
        "burnt-no",
        coil={"resistance_ohm": 82.08, "iron_reluctance": 1368795.0},
        armature={"return_n": 1.778, "travel_mm": 0.770},
        faults={"coil_ohm_percent": 78.3},
        contact_no={"pitting_mohm": 32.4, "crust_mohm": 86.1},
    )
    assert alone(part, store).verdict.overall is Overall.FAIL
    assert Crate(store, [part]).run().bins == [(1, "scrap")]


def test_a_changeover_part_whose_87a_wakes_up_is_no_good_part_without_87a(store: Store) -> None:
    record = alone(altered("insulates-after-rest-nc", contact_nc={"film_ohm": 1.2e6}), store)
    assert record.plan.form == "A" and record.verdict.overall is Overall.ANOTHER_KIND
    assert "87a insulates after rest" in record.verdict.found
