"""Twenty parts sorted on the compiled firmware, its host killed on the way, end in the bins of the full protocol."""

import random
from functools import partial
from pathlib import Path

import pytest
from killed_crate import ENDED, KILLED, WANTED, all_is_right, binned_and, from_stock, in_a_process, sort

KEPT, QUICKLY_TOLD = (
    ("good-12v-changeover", "burnt-nc"),
    ("open-coil", "reversed-diode", "wrong-coil-voltage", "welded-no"),
)
PARTS = (*KEPT, *QUICKLY_TOLD * 4, "burnt-no", "weak-spring")
KILLED_AFTER = (3, 9)
"""Parts in bins."""


@pytest.mark.slow
def test_twenty_parts_on_the_compiled_firmware_end_right_though_killed(tmp_path: Path) -> None:
    chance = random.Random(8)
    assert len(PARTS) == 20 and {*PARTS} <= {*WANTED}
    work = partial(sort, tmp_path, from_stock(PARTS), board="emulated")
    for count in KILLED_AFTER:
        how, _ = in_a_process(work, binned_and(tmp_path, count, chance.uniform(0, 3)))
        assert how == KILLED
    how, _ = in_a_process(work)
    assert how == ENDED
    all_is_right(tmp_path, [WANTED[one] for one in PARTS])
