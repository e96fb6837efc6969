"""A contact that tacks as it closes on its load lets go late or not at all, and after a dry make like a sound one."""

import statistics
from typing import Any

import pytest
from calibrated import calibrate_virtual
from plant_steps import BOTH, code, specimen

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.measure import StepStarted, perform
from pulldrop.model.raw import Capture
from pulldrop.model.reading import Finding, NotTested, Reading
from pulldrop.model.steps.coil.coil import CoilStep
from pulldrop.model.steps.contacts.hot import HotStep
from pulldrop.model.steps.contacts.sticking import StickingStep
from pulldrop.plant.bench.bench import Bench, Pins
from pulldrop.plant.relay.relay import NC, NO
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

SEED = 3
A1, A10 = 1, 4
THROW_NO, THROW_NC = 1, 2


def found(changed: dict[str, Any] | None = None, form: str = "c", **part: Any) -> dict[str, Finding]:
    """What coil, dry make with load and hot make give for a part; `changed` of the hot step."""
    at = plan("relay-diagnose", f"class-mini-12v-form-{form}")
    steps = [s for s in at.steps if isinstance(s, CoilStep | StickingStep | HotStep)]
    steps = [s.model_copy(update=changed or {}) if isinstance(s, HotStep) else s for s in steps]
    at = at.model_copy(update={"steps": tuple(steps)})
    with VirtualBoard(specimen(**part), SEED) as board:
        made = [one for one in perform(at, board, calibrate_virtual(SEED)) if not isinstance(one, StepStarted)]
    return {one.id: one for one in made}


def hot(**part: Any) -> Finding:
    return found(**part)["release_after_hot_make"]


def value(finding: Finding) -> float:
    assert isinstance(finding, Reading) and finding.bound == "=" and finding.value is not None
    return finding.value


def shown(finding: Finding, name: str) -> str:
    assert isinstance(finding, Reading)
    return next(one.text for one in finding.conditions if one.name == name)


def welded(per_as: float) -> dict[str, Any]:
    return {"faults": {"hot_weld_n_per_as": per_as}}


def test_a_sound_contact_lets_go_after_a_hot_make_as_it_does_after_a_dry_one() -> None:
    read = found()
    dry, after = value(read["release_after_load"]), value(read["release_after_hot_make"])
    assert after == pytest.approx(dry, rel=0.03)
    assert shown(read["release_after_hot_make"], "makes") == "5 of 5, 0 stuck"
    assert 9 < float(shown(read["release_after_hot_make"], "load").split()[0]) < 11


def test_a_4_terminal_part_is_tested_alike() -> None:
    read = found(form="a", base="mini_12v_normally_open")
    assert value(read["release_after_hot_make"]) == pytest.approx(value(read["release_after_load"]), rel=0.03)


def test_a_tacking_contact_stays_closed_after_a_hot_make_and_not_after_a_dry_one() -> None:
    read = found(**welded(1000))
    tacks = read["release_after_hot_make"]
    assert value(read["release_after_load"]) < 4e-3
    assert isinstance(tacks, Reading) and (tacks.bound, tacks.value) == (">", 0.03)
    assert shown(tacks, "makes") == "1 of 5, 1 stuck"


def test_a_weak_weld_is_torn_by_the_springs_and_shows_as_a_late_release() -> None:
    sound, weak, stronger = (value(hot(**part)) for part in ({}, welded(150), welded(250)))
    assert sound * 1.05 < weak < stronger < 0.02


def test_the_bounce_under_load_is_logged() -> None:
    assert 0.1 < float(shown(hot(), "bounce under load").split()[0]) < 2.5


def test_raw_data_hold_each_make_its_load_and_its_release() -> None:
    finding = hot()
    assert isinstance(finding, Reading)
    assert [type(raw).__name__ for raw in finding.raw] == ["Capture", "PulseCounts", "Capture"] * 5
    assert finding.value == pytest.approx(max(finding.makes), rel=1e-3)


@pytest.mark.parametrize(
    ("part", "reason"),
    [
        ({"faults": {"welded": "contact_no"}}, "30-87 is closed with the coil off"),
        ({"faults": {"stuck": "at rest"}}, "of 10 A 20 ms after coil on: not closed, or not sound"),
        (
            {"contact_no": {"film_ohm": 25.0, "film_breaks_v": 30.0}},
            "A 20 ms after coil on: not closed, or not sound",
        ),
    ],
)
def test_what_cannot_close_on_its_load_is_not_tested_and_the_reason_is_told(part: dict[str, Any], reason: str) -> None:
    finding = hot(**part)
    assert isinstance(finding, NotTested) and reason in finding.reason


def test_the_load_rests_when_the_board_asks_for_it() -> None:
    read = found({"makes": 20, "load": 1.0})
    for finding in (read["release_after_hot_make"], read["opening_after_hot_make_nc"]):
        assert shown(finding, "makes") == "20 of 20, 0 stuck"


# --- NC, which closes as the coil goes off ---


def welded_nc(per_as: float) -> dict[str, Any]:
    return {"faults": {"hot_weld_nc_n_per_as": per_as}}


def nc(**part: Any) -> Finding:
    return found(**part)["opening_after_hot_make_nc"]


def test_a_sound_nc_opens_after_a_hot_make_as_it_does_after_a_dry_one() -> None:
    finding = nc()
    assert isinstance(finding, Reading)
    first, *later = (raw for raw in finding.raw if isinstance(raw, Capture))
    assert value(finding) == pytest.approx(statistics.median(finding.makes), rel=0.03)
    assert not first.samples[-1] > 0.2 * max(later[0].samples), "the make is the coil's going off"
    assert shown(finding, "makes") == "5 of 5, 0 stuck"
    assert 9 < float(shown(finding, "load").split()[0]) < 11
    assert 0.2 < float(shown(finding, "bounce under load").split()[0]) < 3.5


def test_a_4_terminal_part_has_no_nc_to_close_on_a_load() -> None:
    assert "opening_after_hot_make_nc" not in found(form="a", base="mini_12v_normally_open")


def test_a_tacking_nc_opens_late_or_not_at_all_and_no_lets_go_as_before() -> None:
    sound, weak, stronger = (value(nc(**part)) for part in ({}, welded_nc(30), welded_nc(60)))
    assert sound * 1.05 < weak < stronger < 0.01
    read = found(**welded_nc(1000))
    stuck = read["opening_after_hot_make_nc"]
    assert isinstance(stuck, Reading) and (stuck.bound, stuck.value) == (">", 0.03)
    assert shown(stuck, "makes") == "1 of 5, 1 stuck"
    assert value(read["release_after_hot_make"]) == pytest.approx(value(read["release_after_load"]), rel=0.03)


@pytest.mark.parametrize(
    ("part", "reason"),
    [
        ({"faults": {"welded": "contact_nc"}}, "87a is closed with the coil on"),
        ({"contact_nc": {"film_ohm": 25.0, "film_breaks_v": 30.0}}, "A 30 ms after coil off: not closed, or not"),
        (welded(1000), "A 30 ms after coil off: not closed, or not sound"),
    ],
)
def test_what_nc_cannot_do_is_told_with_the_reason(part: dict[str, Any], reason: str) -> None:
    finding = nc(**part)
    assert isinstance(finding, NotTested) and reason in finding.reason


def test_an_nc_that_carries_nothing_leaves_no_tested_and_the_other_way_round() -> None:
    dead = {"film_ohm": 25.0, "film_breaks_v": 30.0}
    assert isinstance(found(contact_nc=dead)["release_after_hot_make"], Reading)
    assert isinstance(found(contact_no=dead)["opening_after_hot_make_nc"], Reading)


# --- the plant ---


def made(part: Specimen, branches: int, pieces_s: float) -> Bench:
    """The coil switched on with a load on NO, time advanced in pieces; then the load off and the coil off."""
    bench = Bench(part, 1)
    bench.drive(Pins(lamp=True, dac=code(13.5), dry=BOTH))
    bench.advance(0.1)
    on = Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH, branches=branches, throws=THROW_NO if branches else 0)
    bench.drive(on)
    while bench.time_s < 0.13:
        bench.advance(bench.time_s + pieces_s)
    bench.drive(Pins(lamp=True, dac=code(13.5), dry=BOTH))
    bench.advance(bench.time_s + 0.1)
    return bench


@pytest.mark.parametrize(("branches", "holds"), [(0, False), (A1, False), (A10, True)])
def test_a_weld_holds_in_proportion_to_what_flowed_while_the_contact_bounced(branches: int, holds: bool) -> None:
    assert bool(made(specimen(**welded(1000)), branches, 1e-3).closed() & 1) is holds


@pytest.mark.parametrize("pieces_s", [50e-6, 1e-3, 30e-3])
def test_a_weld_does_not_depend_on_how_time_is_cut(pieces_s: float) -> None:
    assert made(specimen(**welded(800)), A10, pieces_s).relay.weld[NO] == pytest.approx(
        made(specimen(**welded(800)), A10, 100e-6).relay.weld[NO], rel=0.02
    )


def test_a_load_that_comes_after_the_bounce_melts_nothing() -> None:
    bench = Bench(specimen(**welded(1000)), 1)
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH))
    bench.advance(0.1)
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH, branches=A10, throws=THROW_NO))
    bench.advance(0.2)
    assert bench.relay.weld[NO] == 0


def test_nc_welds_as_the_coil_goes_off_on_a_load_and_no_stays_as_it_is() -> None:
    bench = Bench(specimen(**welded_nc(1000)), 1)
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH))
    bench.advance(0.1)
    bench.drive(Pins(lamp=True, dac=code(13.5), dry=BOTH, branches=A10, throws=THROW_NC))
    bench.advance(0.15)
    assert bench.relay.weld[NC] > 0 == bench.relay.weld[NO]


def test_a_bench_taken_back_to_a_bounce_under_load_welds_alike() -> None:
    bench = Bench(specimen(**welded(1000)), 1)
    bench.drive(Pins(lamp=True, dac=code(13.5), coil=True, dry=BOTH, branches=A10, throws=THROW_NO))
    while not bench.closed() & 1:
        bench.advance(bench.time_s + 50e-6)
    kept, welds = bench.snapshot(), []
    for _ in range(2):
        bench.restore(kept)
        bench.advance(kept[1] + 0.02)  # type: ignore[index]  # its time
        welds.append(bench.relay.weld[NO])
    assert welds[0] == welds[1] > 0
