"""What hands and eyes need of the page: every button above the fold of a small monitor, no word under the flash."""

import crate_views
import pytest
from playwright.sync_api import Page as Tab
from playwright.sync_api import expect
from screens import SMALL, Bench, Open

from pulldrop.model.crate.crate import Stage
from pulldrop.model.wording import cautions
from pulldrop.protocol.load import plan

PLAN = plan("relay-full", "class-mini-12v-form-c")
LAPTOP = dict(viewport=dict(width=1280, height=800))
RESTS = """() => [...document.querySelectorAll('button, footer')].map(one => [one, one.getBoundingClientRect()])
  .filter(([, box]) => box.height).map(([one, box]) => [one.id || one.tagName, box.top, box.bottom])"""
UNDER = """() => {
  const rim = parseFloat(getComputedStyle(document.getElementById('flash')).borderLeftWidth), under = [];
  const walk = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects())
      if (box.width > 1 && (box.left < rim - 1 || box.right > innerWidth - rim + 1)) under.push(node.textContent);
  }
  return under;
}"""


def look(bench: Bench, tab: Tab, name: str) -> None:
    view = crate_views.ALL[name]
    told = cautions.WHILE_SORTING if view.stage is not Stage.CHECK else cautions.before_run([PLAN], first_today=True)
    bench.page.show(view.model_copy(update={"cautions": told}))
    expect(tab.locator(".now .word")).to_have_text(crate_views.ALL[name].word, ignore_case=True)


@pytest.mark.parametrize("name", crate_views.ALL)
def test_every_button_is_above_the_fold_of_a_small_monitor(bench: Bench, open_tab: Open, name: str) -> None:
    tab = open_tab(bench.page.bench_link, LAPTOP)
    look(bench, tab, name)
    at = {id: (top, bottom) for id, top, bottom in tab.evaluate(RESTS)}
    fold = at.pop("FOOTER", (800, 0))[0]
    assert at and max(bottom for _, bottom in at.values()) <= fold, at


@pytest.mark.parametrize("screen", [LAPTOP, SMALL], ids=["laptop", "small"])
@pytest.mark.parametrize("name", ["keep", "look-again", "question"])
def test_the_flash_covers_no_word(bench: Bench, open_tab: Open, name: str, screen: dict[str, object]) -> None:
    tab = open_tab(bench.page.bench_link, screen)
    look(bench, tab, name)
    assert tab.evaluate("parseFloat(getComputedStyle(document.getElementById('flash')).borderLeftWidth)") >= 7
    assert tab.evaluate(UNDER) == []
