"""What lies across the coil, as the look names it: diode, zener, resistor or nothing; and what is refused for it."""

import pytest
from test_identify import BUILDS, SEEDS, identified

from pulldrop.judge.diagnosis.seen import seen as named
from pulldrop.measure.identify.suppressor import across
from pulldrop.measure.identify.survey import Survey, SurveyedPair
from pulldrop.measure.identify.winding import winding_ohm
from pulldrop.measure.rig.coil.low_energy import Release, Response
from pulldrop.model.part.identification import CoilSeen, SuppressionSeen


def test_the_resistor_is_taken_away_from_the_winding() -> None:
    coil = CoilSeen(plus="86", minus="85", ohm=75.6, expanded_ohm=0.0, ohm_20c=75.6)
    low, high = winding_ohm(coil, SuppressionSeen(kind="resistor", ohm_least=680, ohm_most=680))
    assert low == high == pytest.approx(85.0, abs=0.1)


@pytest.mark.parametrize("bare", [False, True])
def test_an_open_coil_behind_its_resistor_is_told_from_a_coil(bare: bool) -> None:
    found = identified(bare, faults={"coil_open": True}, suppression={"kind": "resistor", "resistor_ohm": 680})
    assert found.winding == "open behind its resistor"
    assert found.volts is None and found.protocol == ""


def test_a_resistor_of_many_ohms_behind_which_the_coil_is_open_is_no_diode_in_series() -> None:
    found = identified(faults={"coil_open": True}, suppression={"kind": "resistor", "resistor_ohm": 4000})
    assert (found.winding, found.suppression.kind) == ("open behind its resistor", "resistor")


@BUILDS
@pytest.mark.parametrize("reversed", [False, True])
def test_a_diode_across_an_open_coil_is_no_diode_in_series(bare: bool, reversed: bool) -> None:
    found = identified(bare, faults={"coil_open": True}, suppression={"kind": "diode", "reversed": reversed})
    assert found.winding == "open"
    assert (found.suppression.kind, found.suppression.reversed) == ("diode", reversed)


KINDS = {
    "none": {"kind": "none"},
    "diode": {"kind": "diode"},
    "zener": {"kind": "diode_zener", "zener_v": 24},
    "series diode": {"kind": "series_diode"},
    "resistor": {"kind": "resistor", "resistor_ohm": 680},
}


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("base", ["mini_12v_changeover", "micro_12v_changeover", "mini_12v_normally_open"])
@pytest.mark.parametrize("kind", list(KINDS))
def test_a_full_bench_tells_what_is_across_the_coil(kind: str, base: str, seed: int) -> None:
    seen = identified(seed=seed, base=base, suppression=KINDS[kind]).suppression
    assert seen.kind == kind and not seen.reversed
    if kind == "resistor":
        assert seen.ohm_least and seen.ohm_most and seen.ohm_least <= 680 <= seen.ohm_most < 2 * seen.ohm_least
    if kind == "zener":
        assert seen.zener_v == pytest.approx(24, abs=2)


@BUILDS
@pytest.mark.parametrize("base", ["mini_12v_changeover", "mini_24v_changeover"])
def test_a_reversed_diode_is_refused(bare: bool, base: str) -> None:
    found = identified(bare, base=base, suppression={"kind": "diode", "reversed": True})
    assert found.suppression.reversed
    assert "the wrong way round" in found.refuse


@BUILDS
def test_a_polarised_part_the_wrong_way_round_is_refused(bare: bool) -> None:
    found = identified(bare, suppression={"kind": "series_diode", "reversed": True})
    assert (found.suppression.kind, found.suppression.reversed) == ("series diode", True)
    assert "lets nothing through from 86 to 85" in found.refuse
    assert named(found, None)[0].advice.startswith("Exchange the leads to 85 and 86")


def test_a_bare_board_sees_diodes_and_says_what_it_cannot_tell() -> None:
    assert identified(True, suppression={"kind": "diode"}).suppression.kind == "diode"
    seen = identified(True, suppression={"kind": "resistor"}).suppression
    assert seen.kind == "unknown" and set(seen.possible) == {"none", "resistor", "zener"}


@pytest.mark.parametrize("kind", ["none", "resistor"])
def test_85_and_86_cannot_be_told_apart_without_a_diode(kind: str) -> None:
    assert any("85 from 86" in one.text for one in identified(suppression={"kind": kind}).cannot_know)


@pytest.mark.parametrize("kind", ["diode", "series_diode"])
def test_with_a_diode_they_can(kind: str) -> None:
    assert not any("85 from 86" in one.text for one in identified(suppression={"kind": kind}).cannot_know)


def released(half_v: float, half_later_v: float, full_v: float, full_later_v: float) -> Response:
    return Response((), None, (Release(1.0, 0.0116, half_v, half_later_v), Release(2.0, 0.0232, full_v, full_later_v)))


COIL = Survey(False, {("86", "85"): SurveyedPair("86", "85", 85.0, 1.0, 0.1, 1e-3)})


@pytest.mark.parametrize(
    ("response", "kind"),
    [
        (released(8.2, 7.5, 16.4, 15.0), "unknown"),  # the tail of an unclamped coil, its peak missed twice
        (released(8.2, 7.5, 66.0, 16.0), "none"),  # missed once
        (released(28.0, 7.0, 62.0, 14.0), "resistor"),  # 2.7 kohm: at the full current it reaches the bench's clamp
        (released(7.6, 3.9, 15.4, 7.8), "resistor"),
        (released(24.7, 8.5, 24.8, 17.0), "zener"),
        (released(0.7, 0.7, 0.7, 0.7), "diode"),
    ],
)
def test_a_spike_is_named_only_when_it_was_seen(response: Response, kind: str) -> None:
    seen, _, _ = across(COIL, response, "86")
    assert seen.kind == kind
