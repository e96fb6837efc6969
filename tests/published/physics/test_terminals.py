"""The terminals of a relay as the bench finds them on a virtual part, against DIN 72552 and the trade's convention.

DIN 72552 (read where not said otherwise): 85 the coil's minus end, 86 its plus end, 87 the input of break and
changeover contacts, 88 that of makers (both from memory). What every bench assumes of a relay with five blades is the
trade's convention, not the standard: 30 the common contact, 87 normally open, 87a normally closed (common practice).
"""

import re

import pytest
from calibrated import calibrate_virtual

from pulldrop.board.virtual.board import VirtualBoard
from pulldrop.jobs.run import specimens
from pulldrop.jobs.run.identify import identify
from pulldrop.model.measurement import MEASUREMENTS
from pulldrop.model.part.identification import Identification

SEED = 7


def identified(name: str) -> Identification:
    """What a look says of a part in stock."""
    with VirtualBoard(specimens.find(name).specimen, SEED) as board:
        return identify(board, calibrate_virtual(SEED))


def test_30_is_the_common_87_open_and_87a_closed_at_rest_as_the_trade_has_it() -> None:
    found = identified("good-12v-changeover")
    assert found.layout == "usual" and "C" in found.forms
    assert set(found.seen) >= {"85", "86", "87a"} and "87" not in found.seen


def test_a_diode_between_85_and_86_blocks_with_plus_on_86_as_the_standard_has_it() -> None:
    right, wrong = identified("good-with-diode"), identified("reversed-diode")
    assert (right.suppression.kind, right.suppression.reversed, right.refuse) == ("diode", False, "")
    assert (wrong.suppression.kind, wrong.suppression.reversed) == ("diode", True) and wrong.refuse


def test_the_two_layouts_on_one_footprint_are_told_apart() -> None:
    # A trade page (read): 30 and 86 are exchanged between the two.
    assert identified("exchanged-layout").layout == "exchanged"


@pytest.mark.parametrize(("id", "far_end"), [("contact_drop_no", "87"), ("contact_drop_nc", "87a")])
def test_a_contact_drop_is_measured_from_30_to_its_own_throw(id: str, far_end: str) -> None:
    named = re.findall(r"terminal (\S+) to (\S+),", MEASUREMENTS[id].meaning)
    assert named == [("30", far_end)]
