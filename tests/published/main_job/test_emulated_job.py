"""Three parts wound to sheets through the compiled firmware: the same verdict and, within U, the same figures."""

import pytest
from bench_run import ids, lines_of, reading, sheet_plan
from sheets import SHEETS, Sheet
from wound import as_virtual, placed, wound

from pulldrop.jobs.run.boards import open_board
from pulldrop.jobs.run.test_one import Task, run_one
from pulldrop.model.part.relay import Relay
from pulldrop.model.run.record import RunRecord
from pulldrop.model.verdict import Outcome, Overall
from pulldrop.plant.specimen import Specimen
from pulldrop.store import Store

SEED = 5
BY_NAME = {sheet.name: sheet for sheet in SHEETS}
SOUND = ("oen-79-12v-form-c", "durakool-dg55-12v-form-a")


def emulated(sheet: Sheet, part: Specimen, store: Store) -> RunRecord:
    """By the steps of the quick protocol and the lines of the sheet."""
    virtual, asked = as_virtual(part), sheet_plan(sheet, "quick")
    with open_board("emulated", virtual, SEED) as board:
        task = Task(asked, Relay(id="", form=asked.form), specimen=virtual.text, seed=SEED)
        return run_one(task, board, store, lambda _event: None)


@pytest.mark.parametrize("name", SOUND)
def test_a_part_as_its_maker_means_it_passes_on_the_firmware(store: Store, name: str) -> None:
    sheet = BY_NAME[name]
    record = emulated(sheet, wound(sheet), store)
    assert record.board.kind == "emulated"
    assert record.verdict.overall is Overall.PASS, record.verdict.found
    assert set(ids(record, Outcome.PASS)) == set(lines_of(sheet))
    ohm = reading(record, "coil_resistance_20c")
    assert ohm.value == pytest.approx(sheet.rating.coil_resistance, abs=ohm.expanded_uncertainty)


def test_a_part_whose_contact_drops_too_much_for_its_24_v_sheet_fails_by_that_line_on_the_firmware(
    store: Store,
) -> None:
    sheet = BY_NAME["hongfa-hfv4-24v-form-c"]
    record = emulated(sheet, placed(sheet, "contact_drop_no", 0.11, 1.0), store)
    assert record.verdict.overall is Overall.FAIL
    assert ids(record, Outcome.FAIL) == ["contact_drop_no"]
