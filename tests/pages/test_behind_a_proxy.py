"""The pages behind nginx, under a prefix and over TLS: everything they need is found there."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import expect

from tests.pages.test_counter import choose
from tests.proxy import PUBLIC, proxied, without_nginx

pytestmark = without_nginx()


@pytest.fixture(scope="module")
def proxy(run_server) -> Iterator[str]:
    """The address of the proxy, by number."""
    with run_server("--public-url", PUBLIC) as server, proxied(server.address) as (port, _):
        yield f"https://127.0.0.1:{port}"


def test_the_counter_is_drawn_and_answers_under_the_prefix(visit, keep, proxy: str) -> None:
    page = visit("/oil/?duty=street", server=proxy, ignore_https_errors=True)
    drawn = "[...document.styleSheets].map(sheet => sheet.href.replace(location.origin, '') + sheet.cssRules.length)"
    assert page.evaluate(drawn)[0].startswith("/oil/fillwright.css")
    choose(page, "facing", "bronze")
    expect(page.locator("#class")).to_contain_text("GL-4")
    assert page.url.startswith(f"{proxy}/oil/?")
    keep(page, "behind-a-proxy")
    page.get_by_role("link", name="Slip", exact=True).click()
    expect(page.get_by_role("link", name="the same again")).to_have_attribute("href", re.compile(f"^{PUBLIC}/slip"))
    keep(page, "slip-behind-a-proxy")


def test_the_reference_shows_the_public_address(visit, proxy: str) -> None:
    page = visit("/oil/docs", server=proxy, ignore_https_errors=True)
    expect(page.get_by_role("combobox")).to_contain_text(PUBLIC)
    expect(page.locator(".opblock").first).to_be_visible()
