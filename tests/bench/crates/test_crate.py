"""A small crate of mixed faults in the normal suite: its bins, its pace, and that a part is known again."""

import random

import crate
import faulty
import pytest
from calibrated import calibrate_virtual

from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.model.crate.crate import Bin

PARTS, SEED, BENCH, AGAIN = 14, 5, 6, 2
"""One sound part of this crate pulls in at 94 % of its limit, the edge from which the screen leaves a part to the full
protocol; on this bench its walk lands on the side that the screen decides."""


def drawn() -> list[crate.Part]:
    """The sound ones first: they come again."""
    return sorted(crate.parts(PARTS, SEED), key=lambda part: bool(part.faults))


@pytest.fixture(scope="module")
def done() -> crate.Outcome:
    return crate.sort(drawn(), BENCH, AGAIN)


@pytest.mark.slow
def test_the_screen_gives_the_bins_of_the_full_protocol(done: crate.Outcome) -> None:
    calibration = calibrate_virtual(BENCH)
    wanted = [bin for part in drawn() for bin in crate.in_full(part, BENCH, calibration)]
    assert len({*wanted}) >= 3, "a crate of one bin would show nothing"
    assert [one.bin for one in done.placed] == wanted


def test_a_sound_part_takes_at_most_five_and_a_half_seconds_and_an_obvious_reject_two_and_a_half(
    done: crate.Outcome,
) -> None:
    rows = list(zip(drawn(), done.placed, done.bench_s, strict=True))
    assert all(s < crate.GOOD_MOST_S for part, one, s in rows if not part.faults and one.bin is Bin.KEEP)
    assert all(s < crate.REJECT_MOST_S for part, _, s in rows if {*part.faults} & {*crate.OBVIOUS})


@pytest.mark.parametrize("fault", crate.OBVIOUS)
def test_every_obvious_reject_is_found_in_time(fault: str) -> None:
    chance, made = random.Random(SEED), list[crate.Part]()
    while len(made) < len(faulty.SEVERITIES):
        base, specimen = faulty.draw((fault,), faulty.SEVERITIES[len(made)], chance)
        if base in crate.CLASSES:
            made.append(crate.Part((fault,), VirtualPart(specimen, base)))
    done = crate.sort(made, BENCH, 0)
    assert {one.bin for one in done.placed} <= {Bin.SCRAP, Bin.LOOK_AGAIN}
    assert max(done.bench_s) < crate.REJECT_MOST_S


def test_the_screen_of_a_sound_part_takes_at_most_half_as_long_again_as_its_floor() -> None:
    """Each part once: one that comes right after a burnt one waits until the load has rested, which no floor has."""
    done = crate.sort(drawn(), BENCH, 0)
    sound = {one.run for part, one in zip(drawn(), done.placed, strict=True) if not part.faults}
    whole = [one for one in done.records if one.run in sound and one.plan.protocol.endswith("screen")]
    assert len(whole) == len(sound) and all(one.bench_s < 1.5 * crate.floor_s(one) for one in whole)


def test_parts_that_come_again_are_known_and_others_are_not_taken_for_them(done: crate.Outcome) -> None:
    assert [one.bin for one in done.placed[:AGAIN]] == [Bin.KEEP, Bin.KEEP]
    assert done.noticed == {1, 2}
    assert done.mistaken == 0
