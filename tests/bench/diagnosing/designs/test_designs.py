"""Designs come into their windows and never mix, and parts of the second plant pass the whole virtual bench."""

import random
from dataclasses import replace
from itertools import chain, combinations, count, islice

import pytest
from calibrated import calibrate_virtual

from designs import case as whole_test
from designs import draw, faults, first
from designs.__main__ import binned, brier, print_results
from designs.case import Case, Measured, Result, as_sibling, cases, drawn, lots, one_part
from designs.part import SecondPart
from designs.second import figures
from designs.second.design import Defects, Design
from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.board.virtual.evening import EveningBoard
from pulldrop.judge import judge_finding, verdict
from pulldrop.judge.diagnosis import diagnose, learned
from pulldrop.judge.diagnosis.faults import FAULTS
from pulldrop.measure import StepStarted, perform
from pulldrop.model.reading import Reading
from pulldrop.model.verdict import Overall, Verdict
from pulldrop.plant.specimen import Specimen
from pulldrop.protocol.load import plan

FEWEST = {"timing": {"makes": 3}, "thresholds": {"walks": 1, "dwell": 0.05, "fine": 0.1}, "contact": {"makes": 10}}
"""Of each step as few makes as it takes."""


def measured(design: Design, *steps: str, evening: bool = False) -> tuple[Verdict, dict[str, Reading]]:
    """These steps of a full test, with few makes; on a full bench or an evening one."""
    part = SecondPart(title="invented", temperature_c=22.0, design=design)
    at = plan("relay-full", "class-mini-12v-form-c")
    few = tuple(step.model_copy(update=FEWEST.get(step.measure, {})) for step in at.steps if step.measure in steps)
    at = at.model_copy(update={"steps": few})
    with (EveningBoard if evening else VirtualBoard)(part, 7) as board:
        at, calibration = at.fitted(board.identity.able, True), calibrate_virtual(7, evening=evening)
        found = [one for one in perform(at, board, calibration) if not isinstance(one, StepStarted)]
    readings = {one.id: one for one in found if isinstance(one, Reading)}
    return verdict(at, [judge_finding(at, one) for one in found], "complete"), readings


def test_a_part_of_the_second_plant_passes_a_full_virtual_test_and_reads_true() -> None:
    word, readings = measured(Design(), *FEWEST, "coil", "drift", "leakage")
    assert word.overall is Overall.PASS
    assert readings["coil_resistance_20c"].value == pytest.approx(90.0, rel=0.005)
    true = figures.times(Design(), draw.NONE, 22.0, 12.0, moves=3)
    for id in ("operate_time", "release_time"):
        assert readings[id].value == pytest.approx(true[id], abs=60e-6)


def test_an_evening_bench_reads_a_part_of_the_second_plant_true_and_fails_its_weld() -> None:
    _, readings = measured(Design(), "coil", "timing", evening=True)
    assert readings["coil_resistance_20c"].value == pytest.approx(90.0, rel=0.01)
    true = figures.times(Design(), draw.NONE, 22.0, 12.0, moves=3)
    assert readings["operate_time"].value == pytest.approx(true["operate_time"], rel=0.03)
    assert measured(replace(Design(), defects=Defects(weld_no=50.0)), "coil", "timing", evening=True)[0].overall is (
        Overall.FAIL
    )


def test_a_weld_in_the_second_plant_is_never_a_pass() -> None:
    word, _ = measured(replace(Design(), defects=Defects(weld_no=50.0)), "coil", "timing")
    assert word.overall is Overall.FAIL


def test_drawn_designs_lie_in_their_windows_and_their_parts_differ_by_a_few_percent() -> None:
    design = draw.design(5, 0, 1.0, "C")
    parts = [draw.part_of(design, random.Random(n)).design for n in range(2)]
    shares = [figures.pull_in_a(one) / one.winding.turns * one.winding.ohm / design.nominal_v for one in parts]
    assert all(0.9 * draw.PULL_IN.low < one < 0.7 for one in shares)
    assert 1.0 < max(shares) / min(shares) < 1.4
    assert draw.design(5, 0, 1.0, "C") == design
    assert draw.design(1005, 0, 1.0, "C") != design


def test_the_same_windows_fill_with_parts_of_the_first_plant() -> None:
    base, part = first.specimen(5, 0, 1.0, True)
    assert base.endswith("changeover")
    assert part.coil.resistance_ohm != Specimen(title="invented", base=base).coil.resistance_ohm


def test_iron_that_is_to_hold_its_armature_does_so_in_a_design_that_another_class_would_let_go() -> None:
    part, _, _ = drawn(Case("first", 1.0, 14, "held_operated"), 5)
    levels = first._levels(part.model_dump())
    assert levels is not None
    assert levels[1] < first.LETS_GO < levels[0]


def test_a_window_widens_about_its_middle() -> None:
    wide = draw.Window(1.0, 4.0).at(1.5)
    assert (wide.low, wide.high) == pytest.approx((2 / 2**1.5, 2 * 2**1.5))
    assert 0.8 in wide
    assert 0.6 not in wide


def test_every_planted_fault_has_a_name_that_the_diagnosis_knows() -> None:
    assert set(faults.CHANGES) <= {one.id for one in FAULTS}
    assert set(faults.CHANGES) >= faults.GRAVE | faults.NEEDS_NC
    listed = cases(("first", "second"), 1.0, 40)
    assert len(listed) == len(set(listed)) == 40
    assert sum(not one.fault for one in listed) == 20


def test_what_was_named_of_whom_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    unlike = Result(Case("first", 1.0, 0), (), True, (), unlike=("weak_spring",))
    named = Result(Case("second", 1.0, 1, "coil_open"), (("coil_open", 0.99),), False, ())
    print_results([unlike, named])
    said = capsys.readouterr().out
    assert "unlike (weak_spring) 1" in said
    assert "stated 0.99 to 1: 1 statements, mean 0.99, true 1.00" in said


def test_an_open_coil_of_the_second_plant_is_named() -> None:
    result = one_part(Case("second", 1.0, 1, "coil_open"), 5)
    assert result.first == "coil_open"
    assert not result.passed


def test_a_lot_has_a_part_of_another_suppressor_and_faulty_ones_beside_sound_ones_and_none_is_drawn_twice() -> None:
    made = lots(("first", "second"), 1.0, 52, 3, ["weak_spring", "bouncing", "sluggish", "coil_high"])
    assert [len(lot.cases) for lot in made] == 4 * [13]
    worn = [(one.fault, one.severity) for lot in made[:2] for one in lot.faulty]
    assert worn[3:6] == [("coil_high", 0), ("weak_spring", 1), ("bouncing", 1)]
    assert worn[6:8] == [("sluggish", 1), ("coil_high", 1)]
    assert sum(one.exchanged for one in made[0].cases) == 1
    springs = [drawn(one, 5)[0].armature.return_n for one in made[0].cases]
    assert len(set(springs)) == 13


@pytest.fixture(scope="module")
def mixed() -> list[list[Measured]]:
    """Two sound parts of each of three designs of the second plant, all sold by one rating; tuned on nothing."""
    designs = (draw.design(8, number, 1.0, "C") for number in count())
    mini = islice((one for one in designs if one.nominal_v == 12.0), 3)
    chance = random.Random(8)
    return [[sound(draw.part_of(design, chance), 8 + n) for _ in range(2)] for n, design in enumerate(mini)]


def sound(part: draw.Drawn, bench: int) -> Measured:
    made = SecondPart(title="invented", form="C", temperature_c=22.0, design=part.design)
    return whole_test.measured(made, part.rating, bench)


def test_siblings_of_several_designs_of_one_rating_are_no_reference_and_name_nothing(
    mixed: list[list[Measured]],
) -> None:
    parts = list(chain.from_iterable(mixed))
    for part in parts:
        for siblings in combinations((one for one in parts if one is not part), 3):
            reference = learned(part.at, [as_sibling(one) for one in siblings])
            assert diagnose(part.at, part.found, reference=reference).faults == ()
            assert reference is None


def test_statements_are_scored_as_brier_did() -> None:
    stated = [(1.0, True), (0.8, False), (0.3, True)]
    assert brier(stated) == pytest.approx((0 + 0.64 + 0.49) / 3)
    assert [len(inside) for _, _, inside in binned(stated)] == [0, 1, 0, 1, 0, 1]
    assert sum(len(inside) for _, _, inside in binned([(n / 100, True) for n in range(101)])) == 101
