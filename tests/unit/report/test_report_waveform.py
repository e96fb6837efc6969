"""Statements about the pictures: current in amps of the record's own calibration, contacts on the same time axis."""

import io
import re
import time
from collections.abc import Callable

import pytest
import records
from matplotlib.figure import Figure

from pulldrop.model.bench.calibration import Channel
from pulldrop.model.raw import Capture, Contact, Edge
from pulldrop.model.reading import Reading
from pulldrop.model.run.record import RunRecord
from pulldrop.report.pictures.scenes import pictures
from pulldrop.report.pictures.waveform import Scene, closed_spans, shown_ms, svg

AMPS = Channel(gain=3e-4, u_gain=0.0, u_zero=0.0, why="invented for this test")
BOTH = (Contact.NO, Contact.NC)


def capture(*edges: tuple[float, Contact, bool], before: Contact = Contact.NC, samples: int = 100) -> Capture:
    return Capture(
        edges=tuple(Edge(tick=round(ms * 2000), contact=contact, closed=closed) for ms, contact, closed in edges),
        contacts_before=before,
        samples=tuple(range(samples)),
        sample_ticks=200,
        window_ticks=60_000,
    )


def test_a_bouncing_contact_is_drawn_as_it_bounced() -> None:
    made = capture((4, Contact.NC, False), (5, Contact.NO, True), (5.2, Contact.NO, False), (5.5, Contact.NO, True))
    assert closed_spans(made, Contact.NC, 30.0) == [(0.0, 4.0)]
    assert closed_spans(made, Contact.NO, 30.0) == [(5.0, 5.2), (5.5, 30.0)]


def test_a_welded_contact_is_closed_from_end_to_end() -> None:
    welded = capture((3, Contact.NC, False), before=Contact.NO | Contact.NC)
    assert closed_spans(welded, Contact.NO, 12.0) == [(0.0, 12.0)]


def test_an_edge_that_repeats_the_state_or_lies_outside_changes_nothing() -> None:
    odd = capture((1, Contact.NC, True), (2, Contact.NC, False), (3, Contact.NC, False), (20, Contact.NC, True))
    assert closed_spans(odd, Contact.NC, 10.0) == [(0.0, 2.0)]


def test_the_picture_reaches_past_the_last_edge_and_not_past_the_window() -> None:
    assert shown_ms(capture((5, Contact.NO, True))) == 10.0
    assert shown_ms(capture((0.5, Contact.NO, True))) == 6.0
    assert shown_ms(capture((29, Contact.NO, True))) == 30.0
    assert shown_ms(capture()) == 30.0


def words(drawn: str) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", drawn)


def scene(made: Capture, **more: object) -> Scene:
    return Scene(**({"capture": made, "amps": AMPS, "throws": BOTH, "says": "a test"} | more))  # type: ignore[arg-type]


def test_the_mark_and_both_throws_are_named() -> None:
    drawn = words(svg(scene(records.operate_capture(), mark="operate", mark_ms=4.9), "k"))
    assert {"operate 4.90 ms", "87 (NO)", "87a (NC)", "coil current, mA", "SIMULATED"} <= set(drawn)


def test_a_four_terminal_part_has_no_lane_for_87a() -> None:
    drawn = words(svg(scene(records.operate_capture(), throws=(Contact.NO,)), "k"))
    assert "87 (NO)" in drawn and "87a (NC)" not in drawn


def test_a_real_run_has_no_watermark() -> None:
    assert "SIMULATED" not in words(svg(scene(records.operate_capture(), across=""), "k"))


def _highest_mark(drawn: str) -> float:
    return max(float(one) for one in words(drawn) if re.fullmatch(r"\d+", one))


def test_counts_become_milliamps_by_the_calibration_given() -> None:
    made = capture((4, Contact.NO, True), samples=300)
    tenfold = AMPS.model_copy(update={"gain": 3e-3})
    marks = [_highest_mark(svg(scene(made, amps=amps), "k")) for amps in (AMPS, tenfold)]
    assert 20 <= marks[0] <= 32 and 200 <= marks[1] <= 320  # 79 counts at 0.3 and at 3 mA a count, and headroom


@pytest.mark.parametrize("made", [capture(samples=0), capture(), capture(before=Contact.NONE)])
def test_a_capture_without_samples_or_edges_is_drawn_too(made: Capture) -> None:
    assert svg(scene(made, mark="operate", mark_ms=99.0), "k").startswith("<svg")


def test_two_pictures_in_a_page_share_no_id() -> None:
    ids = [set(re.findall(r'\bid="([^"]+)"', svg(scene(records.operate_capture()), key))) for key in ("a", "b")]
    assert ids[0] and ids[1] and not ids[0] & ids[1]


def test_colours_are_left_to_the_page() -> None:
    drawn = svg(scene(records.operate_capture(), mark="operate", mark_ms=4.9), "k")
    assert set(re.findall(r"(?:fill|stroke): ([^;\"]+)", drawn)) <= {
        "none", "var(--ink)", "var(--faint)", "var(--pass)", "var(--fail)"
    }  # fmt: skip


def test_operate_and_release_are_drawn_each_from_the_make_nearest_to_its_median() -> None:
    operate, release = pictures(records.record(), "run1")
    assert "switched on, make 2 of 3" in operate.caption and "Operate at 4.90 ms" in operate.caption
    assert "switched off, make 2 of 3" in release.caption and "Release at 2.60 ms" in release.caption


def _with_operate(**change: object) -> RunRecord:
    record = records.record()
    judged = next(j for j in record.judged if j.id == "operate_time")
    finding = judged.finding
    assert isinstance(finding, Reading)
    changed = judged.model_copy(update={"finding": finding.model_copy(update=change)})
    return record.model_copy(update={"judged": (changed,)})


def test_the_typical_make_follows_the_value() -> None:
    (drawn,) = pictures(_with_operate(value=0.0051), "run1")
    assert "make 3 of 3" in drawn.caption and "5.10 ms" in drawn.caption


def test_without_single_values_the_first_capture_is_drawn_and_no_time_is_claimed() -> None:
    (drawn,) = pictures(_with_operate(makes=()), "run1")
    assert drawn.caption == "Coil switched on, make 1 of 3. A bar: that contact is closed."
    assert not [word for word in words(drawn.svg) if word.startswith("operate")]


def test_nothing_is_drawn_where_nothing_was_captured() -> None:
    assert pictures(_with_operate(raw=()), "run1") == ()
    assert pictures(records.open_coil(), "run1") == ()


def _work_s(work: Callable[[], object]) -> float:
    """Processor time of one run."""
    start = time.process_time()
    work()
    return time.process_time() - start


def _bare() -> None:
    """Two empty frames with their scales, as large as a picture: the least that the drawing library can do."""
    figure = Figure(figsize=(4.2, 3.0))
    figure.subplots(2)
    figure.savefig(io.StringIO(), format="svg")


def test_a_picture_takes_no_more_than_two_empty_frames_and_half_as_much() -> None:
    """By turns, the least of ten each: a busy machine slows both alike. 0.9 to 1.05, six at once on two cores too."""
    made = scene(records.operate_capture(), mark="operate", mark_ms=4.9)
    svg(made, "first")  # loads fonts and the drawing library
    taken = [(_work_s(lambda: svg(made, "k")), _work_s(_bare)) for _ in range(10)]
    picture, bare = map(min, zip(*taken, strict=True))
    assert picture < 1.5 * bare
