"""A page served on a free port, and a Chromium that looks at it as a phone, as a monitor, or as both at once."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import crate_views
import pytest
from playwright.sync_api import Browser, BrowserContext, expect, sync_playwright
from playwright.sync_api import Page as Tab
from screens import PATIENCE_MS, PHONE, Bench, Open

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


@pytest.fixture
def open_tab(browser: Browser) -> Iterator[Open]:
    """Opens an address as some screen; a fault in the page's script, or a blocked style, fails the test."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def open_one(address: str, screen: dict[str, object] = PHONE, **more: object) -> Tab:
        context = browser.new_context(**(screen | more))
        contexts.append(context)
        tab = context.new_page()
        tab.set_default_timeout(PATIENCE_MS)
        tab.on("pageerror", lambda fault: faults.append(str(fault)))
        tab.on("console", lambda said: faults.append(said.text) if "Content Security Policy" in said.text else None)
        tab.goto(address)
        return tab

    yield open_one
    for context in contexts:
        context.close()
    assert faults == []


@pytest.fixture
def shots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where pictures of the screens are kept until the next run but two."""
    return tmp_path_factory.mktemp("screens")
