"""How soon a moved what-if slider shows another price in the page.

    python benchmarks/money_speed.py

A server with a book of its own is driven through a headless Chromium. A slider is set in the page
itself, and the time is taken until the price over the table is another one, then until the ladder
of batch sizes is drawn anew: the way through browser, server, worker and back. A move is lost when
neither changes within 2 s, as where the price's ending rounds the change away. Needs Chromium and
the test tools.
"""

import shutil
import statistics
from collections.abc import Sequence
from typing import Any

from app_speed import served

MOVES = 40
#: For the price; the picture of the ladder has no target of its own.
TARGET_MS = 100
ARTICLES = ("Lens case", "Forceps and pin pocket")
#: Sliders, and the value that the first move sets.
SLIDERS = (("money-rate", 101), ("money-minutes", 101), ("money-batch", 2))
MOVE = """async ([id, value]) => {
  const price = () => document.querySelector(".price-now").textContent;
  const ladder = () => document.querySelector(".money-picture").outerHTML;
  const before = [price(), ladder()], took = [NaN, NaN];
  const box = document.getElementById(id);
  const begun = performance.now();
  box.value = value;
  box.dispatchEvent(new Event("input", { bubbles: true }));
  while (performance.now() - begun < 2000 && isNaN(took[0] + took[1])) {
    await new Promise((go) => setTimeout(go, 1));
    [price, ladder].forEach((now, i) => {
      if (isNaN(took[i]) && now() !== before[i]) took[i] = performance.now() - begun;
    });
  }
  return took;
}"""


def main() -> None:
    """Print a table of medians and 95th percentiles."""
    with served() as (port, _):
        drive(f"http://127.0.0.1:{port}")


def drive(url: str) -> None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        page = browser.new_page(viewport={"width": 1400, "height": 900})
        print(f"{'article, slider':40}{'median ms':>10}{'95 %':>8}{'target':>8}{'lost':>6}")
        for article in ARTICLES:
            page.goto(url)
            link = page.locator(".card .open", has_text=article).first
            address = str(link.get_attribute("href")).rpartition("/")[0]
            page.goto(f"{url}{address}/money")
            page.locator(".money-picture").nth(1).wait_for(timeout=120_000)
            page.wait_for_timeout(2000)
            for slider, first in SLIDERS:
                took = [move(page, slider, first + n) for n in range(MOVES)]
                name = f"{article}, {slider.removeprefix('money-')}"
                tell(f"{name}: price", [price for price, _ in took], f"{TARGET_MS}")
                tell(f"{name}: ladder", [ladder for _, ladder in took], "")
        browser.close()


def move(page: Any, slider: str, value: int) -> tuple[float, float]:
    price, ladder = page.evaluate(MOVE, [slider, f"{value}"])
    page.wait_for_timeout(150)
    return float(price), float(ladder)


def tell(name: str, took: Sequence[float], target: str) -> None:
    kept = sorted(t for t in took if t == t)
    if not kept:
        raise SystemExit(f"{name}: no move changed it")
    low, high = statistics.median(kept), kept[int(0.95 * (len(kept) - 1))]
    print(f"{name:40}{low:10.0f}{high:8.0f}{target:>8}{len(took) - len(kept):6}")


if __name__ == "__main__":
    main()
