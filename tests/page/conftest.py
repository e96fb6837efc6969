"""A page served on a free port, and a Chromium that looks at it as a phone, as a monitor, or as both at once."""

import shutil
from collections.abc import Iterator

import crate_views
import pytest
from playwright.sync_api import Browser, expect, sync_playwright
from screens import PATIENCE_MS, Bench, Open, Screens

from pulldrop.page import served


@pytest.fixture
def bench() -> Iterator[Bench]:
    bench = Bench()
    with served(bench.take, bench.told.append, port=0) as page:
        bench.page = page
        page.show(crate_views.INSERT)
        yield bench


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    chromium = shutil.which("chromium")
    assert chromium, "these tests need Debian's package chromium; tests/run installs it"
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def screens(browser: Browser) -> Screens:
    return Screens(browser)


@pytest.fixture
def open_tab(screens: Screens) -> Iterator[Open]:
    """Opens an address as some screen; a fault in the page's script, or a blocked style, fails the test."""
    yield screens.open
    assert screens.put_back() == []
