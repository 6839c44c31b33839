"""Screenshots of the everyday calls, on a desk and on a phone: `python -m tests.pages.gallery`, into `screenshots/`."""

import shutil

from playwright.sync_api import sync_playwright

from tests.bench.real_server import serving
from tests.pages.calls import CALLS, play
from tests.pages.conftest import FLAGS, SCREENSHOTS

SIZES = {"desk": {"width": 1366, "height": 768}, "phone": {"width": 390, "height": 844}}


def main() -> None:
    """Play each call at each size and keep what is then in sight."""
    SCREENSHOTS.mkdir(exist_ok=True)
    with serving("-m", "api", "--port", "0") as server, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=list(FLAGS))
        for size, viewport in SIZES.items():
            for call in CALLS:
                page = browser.new_page(viewport=viewport, base_url=server.address)
                page.goto("/")
                if size == "desk":
                    play(page, call)
                else:
                    at_desk = browser.new_page(viewport=SIZES["desk"], base_url=server.address)
                    at_desk.goto("/")
                    play(at_desk, call)
                    page.goto(at_desk.url)
                page.screenshot(path=SCREENSHOTS / f"{call.name}-{size}.png")
                print(f"{call.name}-{size}.png")


if __name__ == "__main__":
    main()
