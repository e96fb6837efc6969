"""An obvious reject is binned within two and a half seconds, a second and a half of sitting still in it."""

from crates import GOOD, Crate, parts

from pulldrop.jobs.run.specimens import VirtualPart
from pulldrop.model.crate.crate import Bin
from pulldrop.plant.specimen import Specimen
from pulldrop.store import Store

MOST_S, LOADED_MOST_S = 2.5, 2.9
"""A contact that carries nothing shows under load only, after coil and times, and the bench's wires are looked at
before and after."""
BINS = {
    "open-coil": Bin.SCRAP, "open-behind-resistor": Bin.SCRAP, "shorted-coil": Bin.SCRAP,
    "stuck-at-rest": Bin.SCRAP, "stuck-operated": Bin.SCRAP, "welded-no": Bin.SCRAP,
    "reversed-diode": Bin.LOOK_AGAIN, "wrong-coil-voltage": Bin.LOOK_AGAIN,
}  # fmt: skip


def dead_no() -> VirtualPart:
    """It clicks, and 15 ohm are left between its blades under any load."""
    given = parts(GOOD)[0].specimen.model_dump()
    given["contact_no"] |= {"film_ohm": 15.0, "film_breaks_v": 30.0}
    return VirtualPart(Specimen.model_validate(given), "a contact that carries nothing")


def test_every_obvious_reject_has_its_bin_in_time() -> None:
    with Store.open(":memory:") as store:
        sorter = Crate(store, [*parts(*BINS), dead_no()]).run().sorter
    assert [one.bin for one in sorter.parts] == [*BINS.values(), Bin.SCRAP]
    *took, loaded_s = sorter.bench_s.values()
    assert max(took) <= MOST_S and loaded_s <= LOADED_MOST_S, sorter.bench_s
