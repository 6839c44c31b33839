"""A browser without the internet, and a page that may neither complain nor ask anyone but our server.

`SCREENSHOTS=1` before `pytest tests/pages` keeps pictures and papers in `screenshots/` for a person to look at.
"""

import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

HERE = Path(__file__).resolve().parent
SCREENSHOTS = HERE / "screenshots"
PATIENCE_MS = 60_000
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)  # fmt: skip
SIZES = {"desktop": {"width": 1366, "height": 900}, "phone": {"width": 390, "height": 844}}


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's chromium."""
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=list(FLAGS))
        yield browser
        browser.close()


@pytest.fixture
def visit(browser: Browser, live_server: str) -> Iterator[Callable[..., Page]]:
    """Opens a page of the server: `visit("/faq", size="phone", javaScriptEnabled=False)`.

    Afterwards no page may have asked another host, written to the console or met an error.
    """
    contexts, asked, complaints = [], [], []

    def open_page(path: str, *, size: str = "desktop", server: str = live_server, **context: object) -> Page:
        contexts.append(browser.new_context(viewport=SIZES[size], base_url=server, **context))
        page = contexts[-1].new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("request", lambda request: asked.append(request.url))
        page.on("console", lambda message: complaints.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(path)
        return page

    open_page.complaints = complaints
    yield open_page
    for context in contexts:
        context.close()
    assert [url for url in asked if not re.match(r"https?://127\.0\.0\.1:\d+/", url)] == []
    assert complaints == []


@pytest.fixture
def keep() -> Callable[[Page, str], None]:
    """Keeps a picture of a page, where that was asked for."""
    if "SCREENSHOTS" not in os.environ:
        return lambda page, name: None
    return lambda page, name: page.screenshot(path=SCREENSHOTS / f"{name}.png", full_page=True)


@pytest.fixture
def sheets() -> Callable[[Page, str], dict[str, int]]:
    """How many sheets of paper a page takes, in each format."""

    def print_both(page: Page, name: str) -> dict[str, int]:
        counted = {}
        for paper in ("A4", "Letter"):
            kept = {"path": SCREENSHOTS / f"{name}-{paper}.pdf"} if "SCREENSHOTS" in os.environ else {}
            counted[paper] = len(re.findall(rb"/Type\s*/Page\b(?!s)", page.pdf(format=paper, **kept)))
        return counted

    return print_both
