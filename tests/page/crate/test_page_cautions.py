"""On a monitor and on a phone the cautions are in sight without scrolling, and push nothing out of it that decides."""

import crate_views
import pytest
from playwright.sync_api import expect
from screens import SMALL, Bench, Open

from pulldrop.model.crate.crate import Bin, CrateView, Stage
from pulldrop.model.scale import LIGHT_LOADS
from pulldrop.model.wording import cautions
from pulldrop.protocol.load import plan

MONITOR = dict(viewport=dict(width=1280, height=720))
PHONE = dict(viewport=dict(width=390, height=844), has_touch=True, is_mobile=True)
SIZES = {"1280": MONITOR, "390": PHONE, "320": SMALL}
BEFORE = cautions.before_run([plan("relay-full", "class-mini-12v-form-c")], first_today=True)
NO_LAMPS = f"{LIGHT_LOADS}: a contact drops 100 to 200 mV at 10 A (inrush of a lamp: 10 to 12 times)"


def with_cautions(view: CrateView) -> CrateView:
    told = BEFORE if view.stage is Stage.CHECK else cautions.WHILE_SORTING
    reasons = (NO_LAMPS, *view.reasons) if view.bin is Bin.LIGHT_DUTY else view.reasons
    return view.model_copy(update={"cautions": told, "reasons": reasons})


@pytest.mark.parametrize("size", SIZES)
def test_cautions_are_in_sight_at_every_stage(bench: Bench, open_tab: Open, size: str) -> None:
    tab = open_tab(bench.page.address, SIZES[size], reduced_motion="reduce")
    for view in map(with_cautions, (crate_views.CHECK, crate_views.TESTING, *crate_views.RESULTS.values())):
        bench.show(view)
        expect(tab.locator("#verdict .word")).to_have_text(view.word)
        expect(tab.locator("#sentence")).to_be_in_viewport(ratio=1)
        if view.stage is Stage.CHECK:
            expect(tab.locator("#before li")).to_have_text(list(BEFORE))
            expect(tab.locator("#before")).to_be_in_viewport(ratio=1)
        else:
            expect(tab.locator("#cautions")).to_have_text(" ".join(cautions.WHILE_SORTING))
            expect(tab.locator("#cautions")).to_be_in_viewport(ratio=1)
        if view.bin is Bin.LIGHT_DUTY:
            first = tab.locator("#reasons li").first.bounding_box()
            rim = tab.locator("footer").bounding_box()
            assert first and rim and first["y"] + 36 < rim["y"], "that it is not for lamps is read without scrolling"
        assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth")
