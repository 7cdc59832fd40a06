"""Make the handbook's pictures of the app anew with ``python docs/screenshots.py``.

Starts the app with a book of its own and the demo's articles, and takes each page with the system's
Chromium. Needs the test tools.
"""

import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent / "app"
#: (file, article, stage, words on the picture's button, width of the window).
SHOTS = (
    ("carry", "Compass pouch", "carry", "In the hollow", 1400),
    ("shape", "Compass pouch", "shape", "Pieces, flat", 1400),
    ("together", "Compass pouch", "shape", "Put together", 1400),
    ("leather", "Lens case", "leather", "Pressed leather", 1400),
    ("section", "Compass pouch", "tooling", "Section", 1400),
    ("tooling", "Lens case", "tooling", "Stacked", 1400),
    ("seams", "Compass pouch", "seams", "Seams", 1400),
    ("phone", "Compass pouch", "shape", "Put together", 390),
)
#: (file, page of the whole workshop, buttons pressed in turn, what is there then, ms to wait more).
PLACES = (
    ("batch", "/batch", ("Try it with the orders of Alder Row", "Plan it"), ".batch-day", 9000),
    ("book", "/book", ("Put in the demo workshop's invented readings",), ".range", 500),
)
FLAGS = ["--no-sandbox", "--enable-unsafe-swiftshader"]


def main() -> None:
    """Start the app, take the pictures, stop it."""
    from playwright.sync_api import sync_playwright

    HERE.mkdir(exist_ok=True)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    url = f"http://127.0.0.1:{port}"
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        book = str(Path(folder) / "book.sqlite")
        command = [sys.executable, "-m", "hidewright", "app", "--no-show"]
        server = subprocess.Popen([*command, "--port", str(port), "--book", book])
        try:
            _wait_for(url)
            browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
            page = browser.new_page(viewport={"width": 1400, "height": 900})
            page.goto(url)
            page.locator(".card svg").nth(6).wait_for()
            page.screenshot(path=HERE / "designs.png")
            links = page.locator(".card .open")
            address = {
                str(links.nth(n).inner_text()).strip(): str(links.nth(n).get_attribute("href"))
                for n in range(links.count())
            }
            page.goto(f"{url}/start")
            page.locator(".thing", has_text="sighting compass").click()
            page.locator(".card svg").first.wait_for()
            page.screenshot(path=HERE / "start.png")
            for name, article, stage, button, width in SHOTS:
                page.set_viewport_size({"width": width, "height": 900})
                page.goto(url + address[article].rpartition("/")[0] + f"/{stage}")
                page.get_by_role("button", name=button).click()
                _looked_at(page)
                page.screenshot(path=HERE / f"{name}.png")
            page.set_viewport_size({"width": 1400, "height": 900})
            page.set_default_timeout(120_000)
            for name, path, buttons, there, more in PLACES:
                page.goto(url + path)
                for words in buttons:
                    page.get_by_role("button", name=words, exact=True).click()
                    page.wait_for_timeout(1500)
                page.locator(there).first.wait_for()
                page.wait_for_timeout(more)
                page.screenshot(path=HERE / f"{name}.png")
            _cut_the_batch(page, url)
            page.screenshot(path=HERE / "cutting.png")
            page.goto(url + address["Lens case"].rpartition("/")[0] + "/money")
            page.locator(".showing svg").first.wait_for()
            page.wait_for_timeout(4000)
            page.screenshot(path=HERE / "price.png")
            for _ in range(2):
                page.get_by_role("button", name="Give the order of").first.click()
                page.locator(".order-of", has_text="EUR").first.wait_for()
                page.wait_for_timeout(1500)
            page.goto(f"{url}/money")
            page.locator(".card").first.wait_for()
            page.wait_for_timeout(1500)
            page.screenshot(path=HERE / "money.png")
            browser.close()
        finally:
            server.terminate()
            server.wait()


def _cut_the_batch(page: Any, url: str) -> None:
    """Cut the demo's batch from its two hides, and wait for the layout."""
    page.goto(f"{url}/cutting")
    page.locator(".stock-hide").nth(1).wait_for()
    for label, value in (
        ("Lens case, in a set", "2"),
        ("Compass pouch, in a set", "1"),
        ("Sets", "12"),
    ):
        page.get_by_label(label, exact=True).fill(value)
        page.keyboard.press("Tab")
    # what is cut is known when the leather has been pressed
    page.locator(".cut-piece").nth(3).wait_for()
    page.get_by_role("button", name="Cut", exact=True).click()
    page.locator(".showing .state", has_text="Found").wait_for()
    page.evaluate("scrollTo(0, 0)")


def _looked_at(page: Any) -> None:
    page.locator(".remarks .state", has_text="Looked at closely").wait_for(timeout=90_000)
    page.wait_for_timeout(1500)


def _wait_for(url: str) -> None:
    while True:
        try:
            urllib.request.urlopen(url, timeout=10).read()
            return
        except OSError:
            time.sleep(0.1)


if __name__ == "__main__":
    main()
