"""Parts in stock get the same verdict from the compiled firmware on its serial port as from the virtual board.

One run answers two questions: does it end in the same verdict, and does it lead to the same named fault? The host reads
a board by the figures that the diagnosis weighs. So the sample has a fault in each of these, a part of each form and
coil, each suppressor, and each way in which a run ends; any other part in stock differs from the sample only in which
figures are off together, and by how much. The campaign tests/bench/verdicts.py runs them all.
"""

from collections.abc import Iterable

import pytest
import verdicts
from stock_faults import NAMED, ON_BOTH_BOARDS

from pulldrop.jobs.run.specimens import find
from pulldrop.judge.diagnosis.bands import Anything
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.plant.specimen import Specimen

QUICK = [
    "good-12v-micro",
    "good-24v-normally-open",
    "good-with-diode",
    "good-with-series-diode",
    "good-with-zener",
    "normally-closed",
    "twin-87",
    "burnt-no",
    "open-coil",
    "shorted-coil",
    "stuck-operated",
    "sticks-after-rest",
    "insulates-after-rest",
]
"""Sound parts of all kinds, and of the others one for each way in which the quick protocol ends."""


@pytest.mark.slow
@pytest.mark.parametrize("name", ON_BOTH_BOARDS)
def test_a_diagnosis_ends_the_same_on_both_boards_and_names_what_is_wrong(name: str) -> None:
    both = verdicts.diagnosis(name)
    assert both.emulated.board.kind == "emulated" and both.emulated.simulated
    assert both.verdicts == []
    assert both.faults == []


@pytest.mark.parametrize("name", QUICK)
def test_a_part_in_stock_gets_the_same_verdict_from_the_quick_protocol_on_both_boards(name: str) -> None:
    assert verdicts.quick(name).verdicts == []


def changed(names: Iterable[str]) -> set[tuple[str, type]]:
    """Figures that the faults of these parts change, each with the way: off its band, another state, or missing."""
    does = {fault.id: fault.does for fault in FAULTS}
    of_each = [does[NAMED[name]] for name in names if name in NAMED]
    return {(key, type(how)) for one in of_each for key, how in one.items() if not isinstance(how, Anything)}


def test_the_sample_changes_every_figure_that_a_part_in_stock_changes_and_in_the_same_ways() -> None:
    assert changed(ON_BOTH_BOARDS) == changed(verdicts.PARTS)


def kind(part: Specimen) -> tuple[set[object], ...]:
    return {part.form}, {part.nominal_v}, {part.suppression.kind}


def test_the_sample_has_every_form_coil_and_suppressor_in_stock() -> None:
    stock, sample = (
        [kind(find(name).specimen) for name in names] for names in (verdicts.PARTS, [*ON_BOTH_BOARDS, *QUICK])
    )
    assert [set[object]().union(*kinds) for kinds in zip(*sample, strict=True)] == [
        set[object]().union(*kinds) for kinds in zip(*stock, strict=True)
    ]
