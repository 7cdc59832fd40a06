"""How soon the app shows what an edit changes, and its first page after the start.

    python benchmarks/app_speed.py [--busy]

A server with a book of its own is started and driven through a headless Chromium. An edit is
entered in the page itself, and the time is taken until the picture in the page is another one:
the way through browser, server, worker and back. ``--busy`` does it while packs are being made.
Where there is no graphics card, the browser composes pages and draws solids by the processor.
Needs Chromium and the test tools.
"""

import argparse
import contextlib
import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

EDITS = 20
#: (stage, picture's button, where its newness shows, target in ms).
PICTURES = (
    ("shape", "Pieces, flat", "flat", 100),
    ("carry", "In the hollow", "flat", 100),
    ("seams", "Seams", "flat", 100),
    ("shape", "Section", "flat", 200),
    ("shape", "Put together", "solid", 200),
    ("leather", "Pressed leather", "solid", 200),
    ("tooling", "Plates", "flat", 200),
)
#: The field that is edited on each stage, with the values it goes between.
FIELD = {
    "shape": ("measures.width", "mm", 62.0, 0.1),
    "carry": ("carried.1.thing.width", "mm", 58.0, 0.1),
    "leather": ("leathers.body.thickness", "mm", 1.4, 0.01),
    "tooling": ("measures.margin", "mm", 18.0, 0.1),
    "seams": ("measures.pitch", "mm", 3.0, 0.15),
}
EDIT = """async ([field, text, sort]) => {
  const solid = sort === "solid";
  const shown = solid
    ? document.querySelector("[data-url]")
    : document.querySelector(".picture svg[viewBox]").parentElement;
  const box = document.querySelector(`[data-field='${field}']`);
  const begun = performance.now();
  return new Promise((done) => {
    const over = (ms) => {
      watch.disconnect();
      done(ms);
    };
    const watch = new MutationObserver(() => over(performance.now() - begun));
    watch.observe(shown, solid ? { attributeFilter: ["data-url"] } : { childList: true });
    setTimeout(() => over(NaN), 4000);
    box.value = text;
    box.dispatchEvent(new Event("input", { bubbles: true }));
    box.dispatchEvent(new Event("change", { bubbles: true }));
  });
}"""

#: Begins another pack when none is being made.
PACK = """() => {
  const button = [...document.querySelectorAll("button")]
    .find((one) => one.textContent.trim() === "Make the pack");
  if (!button.disabled) button.click();
}"""


def main() -> None:
    """Print a table of medians and 95th percentiles."""
    wanted = argparse.ArgumentParser()
    wanted.add_argument("--busy", action="store_true", help="while a pack is being made")
    busy = wanted.parse_args().busy
    with served() as (port, seconds):
        print(f"first page after the start: {seconds:.2f} s (target 2 s)")
        drive(port, busy=busy)


@contextlib.contextmanager
def served() -> Iterator[tuple[int, float]]:
    """Run a server with a book of its own that has the demo; yield port and seconds to a page."""
    with tempfile.TemporaryDirectory() as folder, socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        book = Path(folder) / "book.sqlite"
        command = [sys.executable, "-m", "hidewright", "app", "--no-show", "--port", str(port)]
        first_page(command, book, port)  # the demo's articles go into the book
        begun = time.perf_counter()
        server = subprocess.Popen([*command, "--book", str(book)], stdout=subprocess.DEVNULL)
        wait_for(port)
        try:
            yield port, time.perf_counter() - begun
        finally:
            server.terminate()
            server.wait()


def first_page(command: list[str], book: Path, port: int) -> None:
    server = subprocess.Popen([*command, "--book", str(book)], stdout=subprocess.DEVNULL)
    wait_for(port)
    server.terminate()
    server.wait()


def wait_for(port: int) -> None:
    while True:
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=10).read()
            return
        except OSError:
            time.sleep(0.02)


def drive(port: int, *, busy: bool) -> None:
    from playwright.sync_api import sync_playwright

    url = f"http://127.0.0.1:{port}"
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", "--enable-unsafe-swiftshader"],
        )
        page = browser.new_page(viewport={"width": 1400, "height": 900})
        page.goto(url)
        link = page.locator(".card .open", has_text="Compass pouch")
        address = url + str(link.get_attribute("href")).rpartition("/")[0]
        other = browser.new_page()
        print(f"{'picture':28}{'median ms':>10}{'95 %':>8}{'target':>8}{'lost':>6}")
        for stage, button, sort, target in PICTURES:
            if busy:
                other.goto(f"{address}/papers")
            page.goto(f"{address}/{stage}")
            page.get_by_role("button", name=button, exact=True).click()
            page.wait_for_timeout(6000)
            times = []
            for n in range(EDITS):
                if busy:
                    other.evaluate(PACK)
                times.append(edit(page, stage, sort, n))
            kept = sorted(t for t in times if t == t)
            lost = len(times) - len(kept)
            if not kept:
                raise SystemExit(f"{stage}, {button}: no edit changed the picture")
            low, high = statistics.median(kept), kept[int(0.95 * (len(kept) - 1))]
            print(f"{stage + ': ' + button:28}{low:10.0f}{high:8.0f}{target:8}{lost:6}")
        browser.close()


def edit(page: Any, stage: str, sort: str, number: int) -> float:
    field, unit, low, step = FIELD[stage]
    text = f"{low + step * (number % 12 + 1):.3f} {unit}"
    if field.endswith("leathers.body.thickness"):
        text = f"{low + step * (number % 12 + 1):.3f}-1.6 mm"
    took = float(page.evaluate(EDIT, [field, text, sort]))
    page.wait_for_timeout(300)
    return took


if __name__ == "__main__":
    os.environ.setdefault("PYTHONUNBUFFERED", "1")
    main()
