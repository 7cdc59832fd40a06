"""The bench view on a phone, in a real browser: it fits, fingers hit it, it keeps what is set."""

from typing import Any

import pytest

from browser_here import MARKS
from hidewright.drawing.bench_page import BenchStep, DayLine, day_page, list_page, steps_page
from hidewright.drawing.build_sheet import SheetStep, Stamp
from hidewright.drawing.build_sheet_page import first_off_html
from hidewright.drawing.contents import Chapter, Picture, chapters_page, contents_page
from hidewright.drawing.first_off_sheet import FirstOffRow

pytestmark = MARKS
#: Least height of what a finger is to hit, CSS px: WCAG 2.2, success criterion 2.5.5.
FINGER_PX = 44
URL = "http://bench.test/"
STEP = SheetStep(
    title="Press the pair of shells, which is a long name",
    time="5 min",
    how="Lay it on the plug within the scored line, grain up, and close the clamps in turns.",
    figures=(("Closed height, base to top", "19.68 mm"), ("Clamp over", "each stop block")),
    measured=(("closed height", "19.68 mm"),),
)
PAGES = {
    "steps": steps_page(
        Stamp(title="Lens case", revision="1", day="2 March 2026"),
        "key",
        (BenchStep(shown=STEP, wait="pressed closed", wait_minutes=60), BenchStep(shown=STEP)),
    ),
    "day": day_page("Workshop", "2 March", (DayLine(start="17:00", what="Press", minutes=5),)),
    "list": list_page("Workshop", (("Lens case", "steps"), ("The day's list", "day"))),
}


READING = FirstOffRow(
    step="5 put the mould of pair of fronts together",
    what="gap between plug and frame",
    where="in the middle of each side, frame on",
    tool="feeler gauge or leather strips",
    expected="1.85 mm",
    into="mould of pair of fronts, gap",
)


def test_on_a_phone_a_reading_stands_in_one_column_with_what_each_word_is(phone: Any) -> None:
    stamp = Stamp(title="Lens case", revision="1", day="2 March 2026")
    phone.set_content(first_off_html(stamp, "Made, measured, typed in.", (READING,)).decode())
    assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
    cells = phone.locator("td")
    assert cells.count() == 7
    assert len({round(cell.bounding_box()["x"]) for cell in cells.all()}) == 1
    told = [c.evaluate("e => getComputedStyle(e, '::before').content") for c in cells.all()]
    assert "should be" in told[4] or "attr(data-of)" in told[4]


@pytest.mark.parametrize("wide", [320, 390, 700])
def test_pictures_of_a_pack_are_no_wider_than_the_page(phone: Any, wide: int) -> None:
    picture = Picture(title="reserve", svg="none.svg", files=(("SVG", "none.svg"),))
    chapters = (Chapter(title="Blank: tray", pictures=(picture, picture)),)
    own = chapters_page(
        title="Tray", lead="", back=("All of the pack", "i"), chapters=chapters, cautions=()
    )
    contents = contents_page(title="Tray", lead="", chapters=chapters, remarks=(), cautions=())
    phone.set_viewport_size({"width": wide, "height": 844})
    for page in (own, contents):
        phone.set_content(page.decode())
        assert phone.locator("figure").count() == 2
        assert phone.evaluate("document.documentElement.scrollWidth <= innerWidth")
        right = [one.bounding_box() for one in phone.locator("figure").all()]
        assert max(box["x"] + box["width"] for box in right) <= wide


@pytest.fixture
def phone(chromium: Any) -> Any:
    """Return a phone's page that finds the bench pages under their names."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, is_mobile=True, has_touch=True
    )
    page = context.new_page()

    def answer(route: Any) -> None:
        data = PAGES[route.request.url.removeprefix(URL)]
        route.fulfill(body=data, content_type="text/html; charset=utf-8")

    page.route(f"{URL}**", answer)
    yield page
    context.close()


@pytest.mark.parametrize("name", PAGES)
def test_it_fits_and_all_there_is_to_press_is_as_high_as_a_finger(phone: Any, name: str) -> None:
    phone.goto(URL + name)
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    heights = phone.evaluate(
        "() => [...document.querySelectorAll('a, button, label, input[type=text]')]"
        ".filter((e) => e.tagName !== 'LABEL' || e.querySelector('input[type=checkbox]'))"
        ".map((e) => e.getBoundingClientRect().height)"
    )
    assert heights
    assert min(heights) >= FINGER_PX


def test_ticks_readings_and_timers_are_kept_when_the_page_is_opened_again(phone: Any) -> None:
    phone.goto(URL + "steps")
    first = phone.locator("section").first
    timer = phone.locator(".timer button")
    timer.tap()
    first.locator(".measure input").fill("19.7")
    first.locator("h2 input").check()
    assert not first.locator(".step").is_visible()
    phone.goto(URL + "steps")
    assert first.locator("h2 input").is_checked()
    first.locator("h2 input").uncheck()
    assert first.locator(".measure input").input_value() == "19.7"
    assert "left. Press to stop." in timer.inner_text()
    phone.evaluate("() => { const now = Date.now; Date.now = () => now() + 3600001; }")
    timer.filter(has_text="over since").wait_for()
    timer.tap()
    assert timer.inner_text() == "Start the timer: pressed closed, 1 h"
