"""The app served on this machine for tests in a real browser, and pages that may not complain.

Each file of such tests says in ``PATIENCE_MS`` what a page may take while other tests use the
machine. The fixtures are given to all tests by ``conftest``.
"""

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
FLAGS = ["--no-sandbox", "--enable-unsafe-swiftshader"]
#: What every file of such tests is marked with.
MARKS = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: apt install chromium"),
]


class Running:
    """A server of these tests, with a book of its own."""

    def __init__(self, book: Path) -> None:
        self.book = book
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.start()

    def command(self) -> list[str]:
        """Return what serves it."""
        app = [sys.executable, "-m", "hidewright", "app", "--no-show"]
        return [*app, "--book", str(self.book), "--port", str(self.port)]

    def start(self) -> None:
        self.process = subprocess.Popen(
            self.command(),
            # the server must not take itself for a test
            env={k: v for k, v in os.environ.items() if not k.startswith("PYTEST")},
        )
        until = time.monotonic() + 90
        while time.monotonic() < until:
            try:
                urllib.request.urlopen(self.url, timeout=5).read()
                return
            except OSError:
                time.sleep(0.1)
        self.stop()
        raise TimeoutError("the app did not start")

    def stop(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


def kept_out(page: Any, alike: Sequence[Sequence[str]] = ()) -> list[str]:
    """Return what keeps somebody from using a page: each of axe's rules that is broken, and where.

    Args:
        page: As it is shown now.
        alike: Selectors of what is not looked at, as the page holds others built like it.
    """
    from axe_core_python.sync_playwright import Axe

    # what passes its rules is not told of: a large page takes a quarter of the time
    but = {"exclude": alike} if alike else None
    told = Axe().run(page, but, {"resultTypes": ["violations"]})
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in told["violations"]]


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """Serve a new book with the demo's designs."""
    running = Running(tmp_path_factory.mktemp("app") / "book.sqlite")
    yield running
    running.stop()


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """Run a browser."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=CHROMIUM,
            args=FLAGS,
            timeout=180_000,  # the first start on a busy machine can take over a minute
        )
        yield browser
        browser.close()


@pytest.fixture
def open_page(
    request: pytest.FixtureRequest, chromium: Any, app: Running
) -> Iterator[Callable[..., Any]]:
    """Return the function that opens a page; at the end none may have complained or gone abroad."""
    pages: list[Any] = []
    troubles: list[str] = []

    def opened(path: str = "/", width: int = 1400, height: int = 900) -> Any:
        served = re.match(r"http://[^/]+", path)
        home = served[0] if served else app.url
        page = chromium.new_page(viewport={"width": width, "height": height})
        page.set_default_timeout(request.module.PATIENCE_MS)
        page.on("pageerror", lambda error: troubles.append(f"{path}: {error}"))
        page.on("console", lambda m: troubles.append(m.text) if m.type == "error" else None)
        page.on(
            "request",
            lambda r: (
                None
                if r.url.startswith((home, app.url, "data:", "blob:"))
                else troubles.append(f"asked another host: {r.url}")
            ),
        )
        pages.append(page)
        page.goto(path if served else app.url + path)
        if not served:
            page.wait_for_selector("#work")
        return page

    yield opened
    for page in pages:
        page.close()
    assert not troubles
