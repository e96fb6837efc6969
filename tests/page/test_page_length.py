"""The demo's report can be looked through: ten screens at most, closed parts open on paper."""

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from pulldrop.cli.main import main


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> str:
    file: Path = tmp_path_factory.mktemp("demo") / "demo.html"
    assert main(["demo", "--report", str(file)]) == 0
    return file.as_uri()


@pytest.mark.parametrize(("wide", "high"), [(1280, 800), (390, 844)])
def test_the_report_of_the_demo_is_ten_screens_at_most(browser: Browser, report: str, wide: int, high: int) -> None:
    tab = browser.new_page(viewport={"width": wide, "height": high})
    tab.goto(report)
    size: Callable[[str], int] = lambda of: tab.evaluate(f"document.documentElement.{of}")  # noqa: E731
    assert size("scrollHeight") <= 10 * high and size("scrollWidth") <= wide
    assert not tab.locator("table.measured").first.is_visible()
    tab.locator("details.folded summary").first.click()
    assert tab.locator("table.measured").first.is_visible(), "all of a part is there, a tap away"
    tab.close()


def test_paper_has_all_of_every_part(browser: Browser, report: str) -> None:
    tab = browser.new_page()
    tab.goto(report)
    tab.emulate_media(media="print")
    assert tab.locator("table.measured").last.is_visible()
    tab.close()
