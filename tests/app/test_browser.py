"""The app as its maker meets it, in a real browser: whole paths, told by what is shown."""

import re
import socket
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from browser_here import MARKS, Running, kept_out
from hidewright.store.design_file import read_design

pytestmark = MARKS
#: What a picture may take while other tests use the machine, ms.
PATIENCE_MS = 60_000
STAGES = ("carry", "shape", "leather", "tooling", "seams", "papers")


def design(page: Any, name: str) -> str:
    """Return the address of a demo design, without its stage."""
    page.goto(re.match(r"http://[^/]+", page.url)[0])  # type: ignore[index]
    href = page.locator(".card .open", has_text=name).first.get_attribute("href")
    return str(href).rpartition("/")[0]


def begin(page: Any) -> str:
    """Begin a design by the first path and return its address without its stage."""
    page.goto(re.match(r"http://[^/]+", page.url)[0] + "/start")  # type: ignore[index]
    page.locator(".thing", has_text="sighting compass").click()
    page.locator(".card .open", has_text="flat-back pouch").click()
    page.wait_for_url("**/shape")
    drawing(page)
    return str(page.url).rpartition("/")[0]


def drawing(page: Any) -> Any:
    """Return the picture once it is drawn."""
    svg = page.locator(".picture svg[viewBox]").first
    svg.wait_for()
    return svg


def value(page: Any, field: str) -> str:
    return str(page.locator(f"input[data-field='{field}']").input_value())


def enter(page: Any, field: str, text: str) -> None:
    box = page.locator(f"input[data-field='{field}']")
    box.fill(text)
    box.press("Enter")


def saved(page: Any, step: str) -> None:
    """Wait until a step is what undo would take back, and the book has it."""
    page.locator(f"button[title='Undo {step}']").wait_for()
    page.locator(".saved", has_text=re.compile("^Saved$")).wait_for()


def until(page: Any, script: str, argument: object = None) -> None:
    page.wait_for_function(script, arg=argument, timeout=PATIENCE_MS)


def test_the_first_minute_three_clicks_lead_to_a_drawing_of_ones_own(
    open_page: Callable[..., Any],
) -> None:
    page = open_page()
    cards = page.locator(".card")
    cards.first.wait_for()
    assert cards.count() >= 7
    assert page.locator(".card svg").count() >= 7, "the demo's articles have no pictures"
    page.get_by_role("link", name="Start from what you want to carry").click()
    page.locator(".thing", has_text="sighting compass").click()
    page.locator(".card .open", has_text="flat-back pouch").click()
    page.wait_for_url("**/shape")
    text = str(drawing(page).text_content())
    width = value(page, "measures.width")
    assert width.removesuffix(" mm") in text, "the drawing does not tell the width"
    assert float(width.removesuffix(" mm")) > 60, "the hollow is not sized for a 60 mm compass"


def test_an_edit_changes_drawing_and_numbers_and_undo_takes_it_back(
    open_page: Callable[..., Any],
) -> None:
    page = open_page()
    begin(page)
    before = value(page, "measures.width")
    enter(page, "measures.width", "80 mm")
    until(page, "() => document.querySelector('.picture svg').textContent.includes('80 mm')")
    until(page, "() => document.querySelector('.figures').textContent.includes('80.0 x')")
    saved(page, "width: 80 mm")
    undo = page.get_by_role("button", name="Undo")
    assert undo.get_attribute("title") == "Undo width: 80 mm"
    undo.click()
    until(
        page, "(t) => document.querySelector(\"[data-field='measures.width']\").value === t", before
    )
    until(page, "() => !document.querySelector('.picture svg').textContent.includes('80 mm')")
    page.get_by_role("button", name="Redo").click()
    until(page, "() => document.querySelector(\"[data-field='measures.width']\").value === '80 mm'")


def test_what_cannot_be_is_said_beside_the_field_and_the_rest_lives_on(
    open_page: Callable[..., Any],
) -> None:
    page = open_page()
    begin(page)
    enter(page, "measures.width", "9000 mm")
    trouble = page.locator(".field .trouble")
    trouble.wait_for()
    assert "Allowed" in trouble.inner_text()
    assert value(page, "measures.width") == "9000 mm", "what was entered is lost"
    enter(page, "measures.width", "eighty")
    until(page, "() => document.querySelector('.field .trouble').textContent.includes('eighty')")
    enter(page, "measures.width", "70 mm")
    until(page, "() => document.querySelector('.picture svg').textContent.includes('70 mm')")
    until(page, "() => !document.querySelector('.field .trouble')")  # the picture comes first
    enter(page, "measures.width", "eighty")
    page.locator(".field .trouble").wait_for()
    page.get_by_role("button", name="Undo").click()
    until(page, "() => !document.querySelector('.field .trouble')")
    assert value(page, "measures.width") != "eighty"


def test_a_measure_is_changed_by_dragging_it_on_the_drawing(open_page: Callable[..., Any]) -> None:
    page = open_page()
    begin(page)
    before = float(value(page, "measures.width").removesuffix(" mm"))
    handle = page.locator("[role=slider][aria-label*='width' i]").first
    handle.wait_for()
    handle.focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    until(
        page,
        "(w) => parseFloat(document.querySelector(\"[data-field='measures.width']\").value) > w",
        before + 1.4,
    )


def test_a_slider_that_is_dragged_leaves_one_step(open_page: Callable[..., Any]) -> None:
    page = open_page()
    begin(page)
    before = value(page, "measures.flange")
    page.evaluate(
        """async () => {
          const slider = document.querySelector("[data-slider='measures.flange']");
          for (let v = 13; v < 17.05; v += 0.1) {
            slider.value = v;
            slider.dispatchEvent(new Event("input", { bubbles: true }));
            await new Promise((go) => setTimeout(go, 16));
          }
          slider.dispatchEvent(new Event("change", { bubbles: true }));
        }"""
    )
    saved(page, "flange: 17 mm")
    assert value(page, "measures.flange") == "17 mm"
    page.get_by_role("button", name="Undo").click()
    until(
        page,
        "(t) => document.querySelector(\"[data-field='measures.flange']\").value === t",
        before,
    )


def test_a_reload_and_a_restart_of_the_server_keep_everything(
    open_page: Callable[..., Any], app: Running, chromium: Any
) -> None:
    page = open_page()
    begin(page)
    enter(page, "measures.height", "111 mm")
    saved(page, "height: 111 mm")
    enter(page, "measures.height", "112 mm")
    saved(page, "height: 112 mm")
    page.reload()
    drawing(page)
    assert value(page, "measures.height") == "112 mm"
    address = page.url
    page.goto("about:blank")
    app.stop()
    app.start()
    page.goto(address)
    drawing(page)
    assert value(page, "measures.height") == "112 mm"
    page.get_by_role("button", name="Undo").click()
    until(
        page, "() => document.querySelector(\"[data-field='measures.height']\").value === '111 mm'"
    )


def test_two_windows_on_one_design_stay_in_step(open_page: Callable[..., Any]) -> None:
    one = open_page()
    begin(one)
    two = open_page()
    two.goto(one.url)
    drawing(two)
    one.bring_to_front()
    enter(one, "measures.depth", "13.5 mm")
    saved(one, "depth: 13.5 mm")
    two.bring_to_front()
    until(
        two, "() => document.querySelector(\"[data-field='measures.depth']\").value === '13.5 mm'"
    )
    two.get_by_role("button", name="Undo").click()
    one.bring_to_front()
    until(
        one, "() => document.querySelector(\"[data-field='measures.depth']\").value !== '13.5 mm'"
    )


SQUARE = """<svg xmlns="http://www.w3.org/2000/svg"
width="100mm" height="80mm" viewBox="0 0 100 80">
<rect id="front" x="5" y="5" width="90" height="70" rx="8"/>
<rect x="20" y="15" width="60" height="45" rx="9"/><circle cx="50" cy="68" r="2"/></svg>"""


def test_good_outlines_become_a_design_and_bad_ones_are_refused_in_words(
    open_page: Callable[..., Any], tmp_path: Path
) -> None:
    page = open_page("/bring")
    bad = tmp_path / "bad.dxf"
    bad.write_bytes(b"\x00\x01 this is no drawing")
    chosen = page.locator("#bring-file")
    chosen.set_input_files(bad)
    trouble = page.locator("#work [role=alert]", has_text="bad.dxf")
    trouble.wait_for()
    unitless = tmp_path / "unitless.svg"
    unitless.write_text(SQUARE.replace('width="100mm" height="80mm" ', ""))
    chosen.set_input_files(unitless)
    page.locator("#work", has_text="does not say how large it is").wait_for()
    good = tmp_path / "pieces.svg"
    good.write_text(SQUARE)
    chosen.set_input_files(good)
    page.get_by_role("heading", name="Read from pieces.svg").wait_for()
    assert "1 mm" in page.locator(".said").inner_text()
    page.get_by_role("button", name="Make it a design").click()
    page.wait_for_url("**/shape")
    text = str(drawing(page).text_content())
    assert "front" in text
    assert "90 mm" in text


def test_the_pack_is_made_with_progress_downloaded_and_opens_again(
    open_page: Callable[..., Any], tmp_path: Path
) -> None:
    page = open_page()
    address = design(page, "Specimen tray")
    page.goto(re.match(r"http://[^/]+", page.url)[0] + address + "/papers")  # type: ignore[index]
    page.evaluate(  # what is said for a moment only is kept
        """() => {
          window.told = [];
          const keep = () => window.told.push(
            ...[...document.querySelectorAll(".showing [role=status]")].map((e) => e.textContent)
          );
          new MutationObserver(keep).observe(
            document.querySelector(".showing"),
            { subtree: true, childList: true, characterData: true },
          );
        }"""
    )
    page.get_by_role("button", name="Make the pack").click()
    with page.expect_download(timeout=240_000) as download:
        page.get_by_role("link", name="Download the pack").click(timeout=240_000)
    assert any("Working on" in words for words in page.evaluate("() => window.told"))
    file = tmp_path / "pack.zip"
    download.value.save_as(file)
    with zipfile.ZipFile(file) as pack:
        assert pack.testzip() is None
        names = pack.namelist()
        brought = read_design(pack.read("design.yaml"), name="design.yaml")
    assert brought.specification.brief.name == "Specimen tray"
    assert {"index.html", "manifest.json"} <= set(names)
    assert any(name.endswith(".dxf") for name in names)
    with page.expect_popup() as popup:
        page.get_by_role("link", name="Open its contents page").click()
    contents = popup.value
    contents.wait_for_load_state()
    assert contents.locator("h1").inner_text() == "Specimen tray"
    broken = contents.evaluate(
        "() => [...document.images].filter((i) => !i.complete || !i.naturalWidth).length"
    )
    assert broken == 0


def test_a_pack_that_is_stopped_leaves_nothing_and_the_next_one_is_made(
    open_page: Callable[..., Any],
) -> None:
    page = open_page()
    address = design(page, "Label box")
    page.goto(re.match(r"http://[^/]+", page.url)[0] + address + "/papers")  # type: ignore[index]
    page.get_by_role("button", name="Make the pack").click()
    page.get_by_role("button", name="Stop").click()
    page.locator(".showing [role=status]", has_text="Stopped").wait_for()
    assert page.get_by_role("link", name="Download the pack").count() == 0
    assert page.get_by_role("button", name="Make the pack").is_enabled()


def test_an_edit_draws_a_solid_once(open_page: Callable[..., Any]) -> None:
    page = open_page()
    begin(page)
    page.get_by_role("button", name="Put together", exact=True).click()
    until(page, "() => document.querySelector('[data-url]').dataset.url")
    page.wait_for_timeout(1500)  # what is found at a close look may bring another update
    before = page.evaluate(
        """() => {
          const frame = WebGL2RenderingContext.prototype;
          const clear = frame.clear;
          window.drawn = 0;
          frame.clear = function (...bits) { window.drawn += 1; return clear.apply(this, bits); };
          return document.querySelector("[data-url]").dataset.url;
        }"""
    )
    enter(page, "measures.width", "81 mm")
    until(page, "(url) => document.querySelector('[data-url]').dataset.url !== url", before)
    saved(page, "width: 81 mm")
    assert page.evaluate("window.drawn") == 1


def test_a_printed_page_shows_its_solid_and_nothing_to_press(
    open_page: Callable[..., Any],
) -> None:
    page = open_page()
    begin(page)
    page.get_by_role("button", name="Put together", exact=True).click()
    until(page, "() => document.querySelector('[data-url]').dataset.url")
    page.pdf()
    page.emulate_media(media="print")
    drawn = page.locator(".solid-still").evaluate(
        """(still) => {
          const bytes = still.getContext("2d").getImageData(0, 0, still.width, still.height).data;
          let inked = 0;
          for (let i = 3; i < bytes.length; i += 4) inked += bytes[i] > 0;
          return inked / (still.width * still.height);
        }"""
    )
    assert drawn > 0.05
    assert page.locator(".solid-still").is_visible()
    assert not page.locator(".solid-stage canvas:not(.solid-still)").is_visible()
    for press in (".stages", ".history", ".units", ".quiet"):
        assert page.locator(press).count() > 0
        assert not any(one.is_visible() for one in page.locator(press).all()), press


def test_a_remedy_is_a_button_that_changes_the_measure(open_page: Callable[..., Any]) -> None:
    page = open_page()
    begin(page)
    enter(page, "measures.width", "40 mm")  # a compass of 60 mm does not go in
    remark = page.locator(".remark.forbids").first
    remark.wait_for()
    button = remark.locator("button.remedy").first
    words = button.inner_text()
    assert words.startswith("Make the ")
    button.click()
    until(
        page,
        "() => parseFloat(document.querySelector(\"[data-field='measures.width']\").value) > 60",
    )
    page.get_by_role("button", name="Undo").click()
    until(page, "() => document.querySelector(\"[data-field='measures.width']\").value === '40 mm'")


def test_a_remark_is_flagged_at_its_place_and_the_flag_leads_to_its_words(
    open_page: Callable[..., Any],
) -> None:
    page = open_page()
    begin(page)
    assert page.locator(".flag").count() == 0
    enter(page, "measures.width", "40 mm")
    flag = page.locator(".flag.forbids")
    flag.wait_for()
    hollow = page.locator(".picture g[data-layer='hollow'] path").first.bounding_box()
    box = flag.bounding_box()
    assert hollow["x"] < box["x"] + box["width"] / 2 < hollow["x"] + hollow["width"]
    assert hollow["y"] < box["y"] + box["height"] / 2 < hollow["y"] + hollow["height"]
    flag.click()
    until(page, "document.activeElement.classList.contains('remark')")
    assert page.locator(".remark:focus .place").inner_text() == "front, hollow"
    page.locator(".remark:focus .remedy").click()
    flag.wait_for(state="detached")


def test_the_keyboard_alone_leads_from_the_first_page_to_a_changed_measure(
    open_page: Callable[..., Any],
) -> None:
    page = open_page()
    page.locator(".card").first.wait_for()

    def tab_to(script: str) -> None:
        for _ in range(200):
            page.keyboard.press("Tab")
            if page.evaluate(f"() => {{ const e = document.activeElement; return {script}; }}"):
                outline = page.evaluate(
                    "() => getComputedStyle(document.activeElement).outlineStyle"
                )
                assert outline != "none", "the focus is not seen"
                return
        raise AssertionError(f"never reached: {script}")

    tab_to("e.textContent === 'Start from what you want to carry'")
    page.keyboard.press("Enter")
    page.wait_for_url("**/start")
    page.locator(".thing").first.wait_for()
    tab_to("e.classList.contains('thing') && e.textContent.includes('sighting compass')")
    page.keyboard.press("Space")
    page.locator(".card .open").first.wait_for()
    tab_to("e.getAttribute('aria-label') === 'flat-back pouch'")
    page.keyboard.press("Enter")
    page.wait_for_url("**/shape")
    drawing(page)
    tab_to("e.dataset.field === 'measures.depth'")
    page.keyboard.press("Control+a")
    page.keyboard.type("14 mm")
    page.keyboard.press("Enter")
    saved(page, "depth: 14 mm")
    tab_to("e.dataset.slider === 'measures.depth'")
    page.keyboard.press("ArrowRight")
    until(
        page, "() => document.querySelector(\"[data-field='measures.depth']\").value === '14.1 mm'"
    )
    saved(page, "depth: 14.1 mm")
    tab_to("e.textContent.trim() === 'Section'")
    page.keyboard.press("Enter")
    until(page, "() => document.querySelector('.picture svg').textContent.includes('gap')")


def _fits(page: Any) -> bool:
    return bool(
        page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth + 1")
    )


@pytest.mark.parametrize(("width", "height"), [(390, 844), (700, 450)], ids=["phone", "200 %"])
def test_on_a_phone_and_at_twice_the_size_nothing_sticks_out(
    open_page: Callable[..., Any], width: int, height: int
) -> None:
    page = open_page("/", width, height)
    page.locator(".card").first.wait_for()
    assert _fits(page)
    address = design(page, "Compass pouch")
    base = re.match(r"http://[^/]+", page.url)[0]  # type: ignore[index]
    for path in ("/start", "/bring", "/words", *(f"{address}/{stage}" for stage in STAGES)):
        page.goto(base + path)
        page.wait_for_selector("#work")
        if path.endswith(STAGES[:5]):
            page.locator(".showing").wait_for()
            picture = page.locator(".showing").bounding_box()
            measures = page.locator(".measures").bounding_box()
            assert picture["y"] < measures["y"], "the picture does not come first"
            assert picture["width"] > 0.85 * min(width, 860)
        assert _fits(page), path


def test_no_page_keeps_anyone_out_by_the_rules_of_axe(open_page: Callable[..., Any]) -> None:
    page = open_page()
    page.locator(".card").first.wait_for()
    address = design(page, "Compass pouch")
    base = re.match(r"http://[^/]+", page.url)[0]  # type: ignore[index]
    found: list[str] = []
    pages = ["/", "/start", "/bring", "/words", "/design/none/shape"]
    for path in [*pages, *(f"{address}/{stage}" for stage in STAGES)]:
        page.goto(base + path)
        page.wait_for_selector("#work")
        views = page.locator(".showing .tabs button").count()
        for at in range(max(views, 1)):
            if views:
                page.locator(".showing .tabs button").nth(at).click()
                page.wait_for_timeout(700)
            found += [f"{path} [{at}] {one}" for one in kept_out(page)]
    assert not found, "\n".join(found)


def test_a_foreign_page_cannot_reach_the_app_by_any_way_in(app: Running) -> None:
    def status(path: str, *lines: str) -> str:
        with socket.create_connection(("127.0.0.1", app.port), 20) as line:
            head = "\r\n".join((f"GET {path} HTTP/1.1", *lines, "Connection: close", "", ""))
            line.sendall(head.encode())
            return line.recv(200).split(b"\r\n")[0].decode().split(" ")[1]

    host = f"Host: 127.0.0.1:{app.port}"
    upgrade = (
        "Upgrade: websocket", "Sec-WebSocket-Version: 13", "Connection: Upgrade",
        "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==",
    )  # fmt: skip
    socket_path = "/_nicegui_ws/socket.io/?EIO=4&transport="
    assert status("/", host) == "200"
    for way, more in (
        ("/", ()),
        (socket_path + "polling", ()),
        (socket_path + "websocket", upgrade),
    ):
        assert status(way, host, "Origin: http://evil.example", *more) == "403", way
        assert status(way, "Host: evil.example", *more) == "403", way
    assert status(socket_path + "polling", host, f"Origin: {app.url}") == "200"


def test_a_design_is_copied_renamed_put_away_deleted_and_taken_back(
    open_page: Callable[..., Any],
) -> None:
    page = open_page()
    begin(page)
    base = re.match(r"http://[^/]+", page.url)[0]  # type: ignore[index]
    enter(page, "name", "A pouch to try the list")
    saved(page, "name: A pouch to try the list")
    page.goto(base)
    title = page.locator(".card .title")
    title.filter(has_text="A pouch to try the list").wait_for()
    page.get_by_role("button", name="Copy A pouch to try the list").click()
    copy = "A pouch to try the list (copy)"
    page.locator(".card .title", has_text=copy).wait_for()
    page.get_by_role("button", name=f"Rename {copy}").click()
    page.locator("#new-name").fill("Its copy")
    page.get_by_role("dialog").get_by_role("button", name="Rename").click()
    page.get_by_role("button", name="Put away Its copy").click()
    title.filter(has_text="Its copy").wait_for(state="detached")
    page.get_by_role("button", name="Put away", exact=True).click()
    title.filter(has_text="Its copy").wait_for()
    page.get_by_role("button", name="Take out Its copy").click()
    title.filter(has_text="Its copy").wait_for(state="detached")
    page.get_by_role("button", name="In work", exact=True).click()
    title.filter(has_text="Its copy").wait_for()
    page.get_by_role("button", name="Delete Its copy").click()
    title.filter(has_text="Its copy").wait_for(state="detached")
    page.get_by_role("button", name="Take it back").click()
    title.filter(has_text="Its copy").wait_for()


def test_lengths_are_in_inches_at_one_switch(open_page: Callable[..., Any]) -> None:
    page = open_page()
    address = begin(page)
    enter(page, "measures.width", "76.2 mm")
    saved(page, "width: 76.2 mm")
    page.get_by_role("button", name="inches, oz").click()
    until(page, "() => document.querySelector(\"[data-field='measures.width']\")?.value === '3 in'")
    drawing(page)
    until(page, "() => document.querySelector('.picture svg').textContent.includes('3 in')")
    page.goto(f"{address}/leather")
    page.locator("input[data-field='leathers.body.thickness']").wait_for()
    assert value(page, "leathers.body.thickness").endswith("oz")
    page.get_by_role("button", name="mm", exact=True).click()
    until(
        page,
        "() => document.querySelector(\"[data-field='leathers.body.thickness']\")"
        "?.value.endsWith('mm')",
    )
