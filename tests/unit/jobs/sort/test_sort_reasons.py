"""What a crate gives as reasons: each says something of this part, and none follows nearly every part of a bin."""

from collections import Counter

from crates import Crate

from pulldrop.jobs.run.specimens import find
from pulldrop.model.crate.crate import Bin
from pulldrop.page.render import PLACES
from pulldrop.store import Store

SCRAP = ("burnt-no", "magnetised", "open-coil", "weak-spring", "shorted-turns", "bouncing", "corroded-87", "sluggish")


def test_no_reason_follows_nearly_every_scrapped_part() -> None:
    with Store.open(":memory:") as store:
        crate = Crate(store, [find(name) for name in SCRAP]).run()
    placed = {one.number: one for view in crate.views for one in view.last if one.bin is Bin.SCRAP}
    assert len(placed) >= 3 and all(one.reasons for one in placed.values())
    (sentence, often), *_ = Counter(text for one in placed.values() for text in set(one.reasons)).most_common(1)
    assert often <= len(placed) / 2, f"{often} of {len(placed)}: {sentence}"


def test_a_second_cause_is_said_to_be_another_way_to_read_it() -> None:
    with Store.open(":memory:") as store:
        crate = Crate(store, [find("burnt-no")]).run()
    first, second, *_ = crate.views[-1].last[0].reasons
    assert first == "contact 87 burnt or pitted" and second.startswith("or: blade 87")


def test_the_bins_stand_in_one_order_on_terminal_and_page() -> None:
    assert [*Bin] == ["keep", "light duty", "look again", "scrap"] and tuple(Bin) == PLACES
