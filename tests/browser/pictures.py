"""The README's pictures, taken from the real screens of a fresh demo store.

Run as ``python -m tests.browser.pictures``; needs Chromium.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import FLAGS, Server, find_browser

PICTURES = Path(__file__).parents[2] / ".pictures"
TREND = "material=cayenne+powder&supplier=North+Fen+Spices&characteristic=heat&method=rapid+sensor"
WIDE, PHONE = (1440, "light"), (390, "dark")
SCREENS = (
    ("today", "/", WIDE, 1000),
    ("lot", "/lot?lot=R26-0140", WIDE, 1300),
    ("trends", f"/trends?{TREND}", WIDE, 1000),
    ("suppliers", "/suppliers?material=cayenne+powder", WIDE, 1330),
    ("blends", "/blends", WIDE, 1000),
    ("methods", "/methods", WIDE, 1250),
    ("specifications", "/specifications?material=cayenne+powder", WIDE, 1100),
    ("intake", "/intake", WIDE, 1000),
    ("today-phone", "/", PHONE, 900),
)


def main() -> None:
    """Make a demo store, serve it, and save a picture of each screen."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        server = Server(_demo(Path(folder) / "demo.duckdb"))
        server.start()
        browser = playwright.chromium.launch(executable_path=find_browser(), args=list(FLAGS))
        try:
            for name, address, (width, scheme), height in SCREENS:
                _take(browser, server, address, (width, height), scheme, name)
        finally:
            browser.close()
            server.stop()


def _demo(path: Path) -> Path:
    made = ("demo", "--no-serve", "--store", str(path))
    subprocess.run([sys.executable, "-m", "dashboard.command.lotheat", *made], check=True)
    return path


def _take(
    browser: Browser, server: Server, address: str, size: tuple[int, int], scheme: str, name: str
) -> None:
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]},
        color_scheme="dark" if scheme == "dark" else "light",
    )
    page = context.new_page()
    server.enter(page)
    page.goto(server.address + address)
    page.get_by_text("no food-safety verdict").wait_for(timeout=60_000)
    page.wait_for_timeout(2_000)
    page.screenshot(path=PICTURES / f"{name}.png")
    context.close()


if __name__ == "__main__":
    main()
