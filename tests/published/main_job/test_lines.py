"""Every line of every sheet: a part 1.5 U beyond it fails by that line's name, one 1.5 U inside it passes.

The line is the sheet's own figure, from the literal table of `makers_sheets.py`, never the limit that the program made.
The guard band takes 1.05 U of the 1.5 (2 % of a normal distribution), so a reading whose own error is more than 0.45 U
towards the line is rightly unsure; that happens to thresholds, which are walked in steps. Then a like part of other
ohms, which meets the steps at another place, is asked instead. The wrong word is never allowed.
"""

import pytest
from bench_run import LINES, ids, judged, lines_of, load_a, reading, run, sheet_plan
from sheets import SHEETS, Sheet
from wound import placed, true_value

from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.store import Store

AWAY = 1.5
LEFT = AWAY - 1.1
"""An error of the reading beyond this much of U may leave it unsure."""
SAME_U = 0.15
LIKE_PARTS = (1.0, 0.99, 0.98, 0.97, 1.01, 1.02, 1.03)
EDGES = [
    pytest.param(sheet, id, side, edge, id=f"{sheet.name}-{id}-{side}")
    for sheet in SHEETS
    for id, both in sheet.published.edges.items()
    for side, edge in zip(("low", "high"), both, strict=True)
    if edge is not None
]


def test_every_line_of_every_sheet_is_here() -> None:
    assert len({sheet.name for sheet in SHEETS}) >= 12
    assert len({sheet.maker for sheet in SHEETS}) >= 6
    assert {sheet.rating.nominal for sheet in SHEETS} == {12.0, 24.0}
    assert {sheet.rating.form for sheet in SHEETS} == {"A", "C"}
    assert {sheet.suppressor for sheet in SHEETS} == {"none", "resistor", "diode"}
    assert {id for sheet in SHEETS for id in lines_of(sheet)} == set(LINES)


@pytest.mark.parametrize(("sheet", "id", "side", "edge"), EDGES)
def test_a_part_beyond_a_line_fails_by_its_name_and_one_inside_passes(
    store: Store, sheet: Sheet, id: str, side: str, edge: float
) -> None:
    plan = sheet_plan(sheet, only=id)
    limit = plan.limits[id]
    assert (limit.low, limit.high) == pytest.approx(sheet.published.edges[id]), "the limit is what the sheet says"
    outwards = 1 if side == "high" else -1
    u = reading(run(plan, placed(sheet, id, edge, load_a(sheet)), store), id).expanded_uncertainty
    _decided(store, sheet, id, edge, outwards, u, Outcome.FAIL)
    _decided(store, sheet, id, edge, -outwards, u, Outcome.PASS)


def _decided(store: Store, sheet: Sheet, id: str, edge: float, way: int, u: float, wanted: Outcome) -> None:
    plan = sheet_plan(sheet, only=id)
    for share in LIKE_PARTS:
        true = edge + way * AWAY * u
        record = run(plan, placed(sheet, id, true, load_a(sheet), share), store)
        found, word = reading(record, id), judged(record, id).outcome
        u, before = found.expanded_uncertainty, u
        assert word in (wanted, Outcome.UNSURE), judged(record, id).reason
        if abs(before / u - 1) > SAME_U:
            continue  # the walks of this run scattered otherwise: not 1.5 of its own U
        if word is wanted:
            break
        assert abs((found.value or 0.0) - true) > LEFT * u, f"{found.value} is unsure without an error to blame"
    else:
        raise AssertionError(f"no like part was decided: {judged(record, id).reason}")
    if wanted is Outcome.FAIL:
        assert ids(record, Outcome.FAIL) == [id]
        assert record.verdict.overall is Overall.FAIL
        assert record.verdict.found.startswith(MEASUREMENTS[id].title)
    else:
        assert ids(record, Outcome.FAIL) == []


@pytest.mark.parametrize("sheet", SHEETS[::4], ids=lambda sheet: sheet.name)
@pytest.mark.parametrize(("id", "volts"), [("pull_in_voltage_20c", 7.0), ("drop_out_voltage", 1.3)])
def test_a_part_wound_to_a_threshold_has_it(sheet: Sheet, id: str, volts: float) -> None:
    """That ampere-turns alone decide is what `placed` rests on; the plant's own bisection agrees."""
    wanted = volts * sheet.rating.nominal / 12
    assert true_value(placed(sheet, id, wanted, 0.0), id, 0.0) == pytest.approx(wanted, rel=3e-3)
