"""A real browser against a real server; both are brought along when they are missing."""

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from dashboard.server import handover

PACKAGES = ("chromium", "fonts-noto-core")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def _apt_get(*words):
    subprocess.run(
        ["apt-get", "-qq", *words],
        check=True,
        env={**os.environ, "DEBIAN_FRONTEND": "noninteractive"},
        stdout=subprocess.DEVNULL,
    )


def find_browser():
    """Path of Chromium, or None."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="session")
def chromium():
    """Path of a Chromium; Debian's is installed when there is none, and that is said."""
    if not find_browser():
        if not (shutil.which("apt-get") and os.geteuid() == 0):
            pytest.fail(
                "The browser tests need Chromium. Install it (Debian: apt-get install chromium"
                " fonts-noto-core) and run the tests again.",
                pytrace=False,
            )
        sys.stderr.write(f"\ninstalling {' and '.join(PACKAGES)} from Debian's packages\n")
        _apt_get("update")
        _apt_get("install", "-y", "--no-install-recommends", *PACKAGES)
    return find_browser()


@pytest.fixture(scope="session")
def browser(chromium):
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium, args=list(FLAGS))
        yield opened
        opened.close()


class Server:
    """`lotheat serve` in a process of its own."""

    def __init__(self, store: Path) -> None:
        self.store = store
        self.port = _free_port()
        self.address = f"http://127.0.0.1:{self.port}"
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self._process = subprocess.Popen(
            [
                *(sys.executable, "-m", "dashboard.command.lotheat", "serve"),
                *("--store", str(self.store), "--port", str(self.port)),
            ],
            cwd=self.store.parent,
        )
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            try:
                with urllib.request.urlopen(f"{self.address}/healthz", timeout=2) as answer:  # noqa: S310
                    if answer.status == 200:
                        return
            except (urllib.error.URLError, ConnectionError, TimeoutError):
                time.sleep(0.2)
        raise TimeoutError(f"no server at {self.address} within a minute")

    def opened(self, browser: Browser) -> Page:
        """A page of the computer's user, signed in."""
        page = browser.new_page()
        self.enter(page)
        return page

    def enter(self, page: Page) -> None:
        """Open the link that signs the computer's user in."""
        running = handover.running(self.store)
        assert running is not None
        page.goto(handover.fresh_link(running))

    def stop(self) -> None:
        if self._process is not None:
            self._process.terminate()
            self._process.wait(timeout=30)
            self._process = None


@contextlib.contextmanager
def _serving(demo, folder):
    copy = folder / "demo.duckdb"
    shutil.copy(demo, copy)
    running = Server(copy)
    try:
        running.start()
        yield running
    finally:
        running.stop()


@pytest.fixture
def server(demo_store_file, tmp_path):
    """A server on a copy of the demo store, to write to and to stop."""
    with _serving(demo_store_file, tmp_path) as running:
        yield running


@pytest.fixture(scope="module")
def looked_at(demo_store_file, tmp_path_factory):
    """A server on a copy of the demo store, shared by those who only look."""
    with _serving(demo_store_file, tmp_path_factory.mktemp("looked-at")) as running:
        yield running


def _free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]
