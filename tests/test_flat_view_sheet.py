"""The sheet in a browser: what is dragged is told, pan and zoom stay, keys do what a mouse does."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

pytestmark = pytest.mark.browser
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or ""

#: One piece whose width is dragged; each answer, after a while, draws it anew with its revision.
APP = """
import sys
from nicegui import ui
from hidewright.app.components.sheet import STYLE, Drag, Sheet
from hidewright.geometry.shapes import rectangle
from hidewright.workshop.views.svg_view import Handle, drawn, said, view_of

told = []

@ui.page("/")
def page():
    ui.add_css(STYLE)

    def view(width):
        o = rectangle(width, 60.0, 4.0)
        handle = Handle(field="measures.width", place="front", segment=0, of=8, along=0.5,
                        at=(width / 2, 0.0), direction=(1.0, 0.0), gain=0.5, value=width,
                        low=20.0, high=150.0, label="width: of the piece")
        marks = [drawn("leather", o), drawn("cut", o), said("words", "front", (0.0, 0.0), 3.0)]
        layers = (("leather", "Leather", True), ("cut", "Cut", True), ("words", "Names", False))
        return view_of(marks, layers, "A piece.", 3.0, (handle,))

    def dragged(drag: Drag):
        told.append(drag)
        said_so.set_text(" ".join(f"{d.value:g}/{d.phase}" for d in told))
        ui.timer(0.12, lambda: sheet.show(view(drag.value), drag.sent), once=True)

    sheet = Sheet(dragged)
    sheet.show(view(80.0), 1)
    said_so = ui.label().props("id=told")

ui.run(host="127.0.0.1", port=int(sys.argv[1]), reload=False, show=False, language="en-US")
"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    script: Path = tmp_path_factory.mktemp("sheet") / "app.py"
    script.write_text(APP)
    # a server of its own: it must not take itself for one under test
    plain = {k: v for k, v in os.environ.items() if not k.startswith(("PYTEST", "NICEGUI"))}
    server = subprocess.Popen([sys.executable, str(script), str(port)], env=plain)
    url = f"http://127.0.0.1:{port}/"
    for _ in range(240):
        try:
            urllib.request.urlopen(url, timeout=5).close()
            break
        except OSError:
            time.sleep(0.25)
    yield url
    server.kill()
    server.wait()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if not CHROMIUM:
        pytest.skip("no Chromium on this machine")
    with sync_playwright() as playwright:
        one = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield one
        one.close()


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    one = browser.new_context(viewport={"width": 1000, "height": 800}).new_page()
    one.goto(address)
    one.wait_for_selector(".sheet .picture svg")
    one.wait_for_selector(".grip")
    yield one
    one.context.close()


def box_of(page: Page) -> list[float]:
    """Return what part of the drawing is seen: left, top, width, height, mm."""
    told = page.locator(".sheet .picture svg").get_attribute("viewBox")
    return [float(v) for v in (told or "").split()]


def knob(page: Page) -> tuple[float, float]:
    box = page.locator(".knob").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def answered(page: Page, value: str) -> None:
    page.wait_for_function(
        "v => { const g = document.querySelector('.grip');"
        " return g.getAttribute('aria-valuetext') === v && !g.classList.contains('held'); }",
        arg=value,
    )


def test_a_handle_stays_under_the_pointer_and_its_last_value_is_told(page: Page) -> None:
    x, y = knob(page)
    mm = box_of(page)[2] / page.locator(".stage").evaluate("s => s.clientWidth")
    page.mouse.move(x, y)
    page.mouse.down()
    for i in range(1, 41):
        page.mouse.move(x + i, y)
    page.wait_for_timeout(600)
    now = knob(page)
    # the value is told in halves of a mm, which moves the handle by a quarter
    assert now[0] == pytest.approx(x + 40, abs=0.25 / mm)
    assert now[1] == pytest.approx(y, abs=1.0)
    page.mouse.up()
    wanted = round((80 + 40 * mm / 0.5) * 2) / 2
    answered(page, f"{wanted:g} mm")
    told = (page.locator("#told").inner_text()).split()
    assert told[-1] == f"{wanted:g}/end"
    assert all(one.endswith("/move") for one in told[:-1])
    assert len(told) < 20, "what was not yet answered was not sent"


def test_keys_move_a_handle_by_half_a_mm_and_by_five(page: Page) -> None:
    grip = page.get_by_role("slider", name="width")
    grip.focus()
    assert grip.get_attribute("aria-valuetext") == "80 mm"
    page.keyboard.press("ArrowRight")
    answered(page, "80.5 mm")
    page.keyboard.press("Shift+ArrowLeft")
    answered(page, "75.5 mm")
    assert grip.evaluate("g => g === document.activeElement")
    for _ in range(12):
        page.keyboard.press("Shift+ArrowLeft")
    answered(page, "20 mm")


def test_zoom_keeps_the_point_under_the_pointer(page: Page) -> None:
    stage = page.locator(".stage").bounding_box()
    assert stage is not None
    before = box_of(page)
    px, py = 150.0, 220.0
    page.mouse.move(stage["x"] + 1 + px, stage["y"] + 1 + py)
    page.mouse.wheel(0, -300)
    page.wait_for_timeout(300)
    after = box_of(page)
    w, h = (page.locator(".stage").evaluate(f"s => s.client{k}") for k in ("Width", "Height"))
    assert after[2] == pytest.approx(before[2] * 0.5488, rel=0.01)  # exp(-300 / 500)
    for i, share in ((0, px / w), (1, py / h)):
        assert after[i] + share * after[i + 2] == pytest.approx(
            before[i] + share * before[i + 2], abs=0.02
        )


def test_pan_and_zoom_stay_when_the_picture_is_swapped(page: Page) -> None:
    page.locator(".stage").focus()
    page.keyboard.press("+")
    page.keyboard.press("ArrowRight")
    before = box_of(page)
    page.get_by_role("slider").focus()
    page.keyboard.press("ArrowUp")
    answered(page, "80.5 mm")
    assert box_of(page) == pytest.approx(before)
    page.locator(".stage").focus()
    page.keyboard.press("0")
    assert box_of(page)[2] > before[2]


def test_lines_are_switched_and_stay_so_in_this_tab(page: Page) -> None:
    def is_seen(layer: str) -> bool:
        return bool(
            page.evaluate(
                f"document.querySelector('[data-layer={layer}]').style.display !== 'none'"
            )
        )

    assert (is_seen("leather"), is_seen("words")) == (True, False)
    page.locator("summary").click()
    page.get_by_label("Leather").uncheck()
    page.get_by_label("Names").check()
    assert (is_seen("leather"), is_seen("words")) == (False, True)
    page.get_by_role("slider").focus()
    page.keyboard.press("ArrowUp")
    answered(page, "80.5 mm")
    assert (is_seen("leather"), is_seen("words")) == (False, True)
    page.reload()
    page.wait_for_selector(".sheet .picture svg")
    assert (is_seen("leather"), is_seen("words")) == (False, True)
    page.locator("summary").click()
    page.get_by_label("Handles").uncheck()
    assert page.locator(".grip").count() == 0


def test_the_sheet_fits_a_phone(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 800}, has_touch=True)
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector(".sheet .picture svg")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    for button in page.locator(".views button").all():
        box = button.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44
    context.close()
