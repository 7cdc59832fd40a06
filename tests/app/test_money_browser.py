"""Money and papers as the maker meets them, in a real browser: access, a phone, the keyboard."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from browser_here import MARKS, Running, kept_out

pytestmark = MARKS
PATIENCE_MS = 90_000
PANELS = ("Orders", "Quotes", "Rates", "Material prices")


@pytest.fixture
def url(app: Running) -> str:
    """Return the address of the server."""
    return app.url


def money_of(page: Any, url: str, name: str = "Lens case") -> str:
    """Open a design's money and return the address of the design."""
    page.goto(url)
    href = page.locator(".card .open", has_text=name).first.get_attribute("href")
    address = str(href).rpartition("/")[0]
    page.goto(f"{url}{address}/money")
    page.locator(".money-picture").nth(1).wait_for()
    return address


def panel(page: Any, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()
    page.locator(f".tabs button[aria-pressed='true']:text-is('{name}')").wait_for()
    page.wait_for_timeout(700)


def fits(page: Any) -> bool:
    return bool(
        page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth + 1")
    )


def test_a_slider_moved_by_the_keyboard_moves_price_lines_and_pictures(
    open_page: Callable[..., Any], url: str
) -> None:
    page = open_page("/")
    money_of(page, url)
    before = page.locator(".price-now").inner_text()
    ladder = page.locator(".money-picture").first.get_attribute("aria-label")
    page.locator("#money-rate").focus()
    for _ in range(12):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(60)  # answers come in between: none may set the slider back
    page.wait_for_function(
        "(before) => document.querySelector('.price-now').textContent !== before", arg=before
    )
    page.locator(".field", has=page.locator("#money-rate")).get_by_text("+12 %").wait_for()
    page.wait_for_function(
        "(was) => document.querySelector('.money-picture').getAttribute('aria-label') !== was",
        arg=ladder,
    )
    cents = page.locator(".price-now").inner_text().split()[0]
    total = page.locator(".sums .total td").first.inner_text()
    assert total == cents, "the table's price is not the price told over it"
    page.get_by_role("button", name="As it is").click()
    page.wait_for_function(
        "(before) => document.querySelector('.price-now').textContent === before", arg=before
    )
    assert page.locator("#money-rate").input_value() == "100"


def test_what_is_being_typed_is_left_alone_when_something_else_changes(
    open_page: Callable[..., Any], url: str
) -> None:
    page, other = open_page("/money"), open_page("/money")
    for one in (page, other):
        panel(one, "Rates")
    page.locator("#rate-margin").fill("3")
    page.locator("#rate-margin").focus()
    other.bring_to_front()
    panel(other, "Quotes")
    other.fill("#manner-valid_days", "45")
    other.keyboard.press("Tab")
    page.bring_to_front()
    page.get_by_role("group", name="Units").hover()
    page.locator("#rate-tax").evaluate(
        "(e) => { e.value = '101 %'; e.dispatchEvent(new Event('change')); }"
    )
    page.locator("#rate-tax-wrong", has_text="101 %").wait_for()
    assert page.locator("#rate-margin").input_value() == "3"


def test_what_is_entered_stands_as_it_is_kept_and_survives_a_reload(
    open_page: Callable[..., Any], url: str
) -> None:
    page = open_page("/")
    money_of(page, url)
    page.fill("#new-customer", "Northmere Museum")
    page.get_by_role("button", name="Write it down at this price").click()
    page.get_by_text("Give it this price").wait_for()
    page.goto(f"{url}/money")
    paid = page.locator("input[id^=paid_minor]")
    paid.fill("100")
    paid.press("Tab")
    page.wait_for_function(
        "() => document.querySelector('input[id^=paid_minor]').value === '100.00 EUR'"
    )
    page.locator(".orders select").select_option("agreed")
    page.locator(".sums tbody td", has_text="100.00").wait_for()
    with page.expect_download() as download:
        page.get_by_role("button", name="Write a quote for").first.click()
    assert Path(download.value.path()).read_bytes().startswith(b"%PDF")
    page.reload()
    page.wait_for_function(
        "() => document.querySelector('input[id^=paid_minor]')?.value === '100.00 EUR'"
    )
    assert page.locator(".orders select").input_value() == "agreed"


@pytest.mark.parametrize(("width", "height"), [(390, 844), (700, 450)], ids=["phone", "200 %"])
def test_on_a_phone_and_at_twice_the_size_nothing_sticks_out(
    open_page: Callable[..., Any], url: str, width: int, height: int
) -> None:
    page = open_page("/", width, height)
    address = money_of(page, url)
    assert fits(page)
    price = page.locator(".price-now").bounding_box()
    slider = page.locator("#money-batch").bounding_box()
    assert price["y"] < slider["y"], "the price does not come first"
    page.goto(f"{url}/money")
    for name in PANELS:
        panel(page, name)
        assert fits(page), name
    page.goto(f"{url}{address}/papers")
    page.get_by_text("Make the pack").wait_for()
    assert fits(page)


def test_no_page_of_money_or_papers_keeps_anyone_out_by_the_rules_of_axe(
    open_page: Callable[..., Any], url: str
) -> None:
    found: list[str] = []

    def look(page: Any, where: str) -> None:
        found.extend(f"{where} {one}" for one in kept_out(page))

    page = open_page("/")
    address = money_of(page, url)
    look(page, "money of a design")
    page.goto(f"{url}/money")
    for name in PANELS:
        panel(page, name)
        look(page, name)
    page.goto(f"{url}{address}/papers")
    page.get_by_role("button", name="Show these steps to phones").click()
    shown = page.locator(".bench-code a, .state:text-matches('no home network')").first
    shown.wait_for()
    look(page, "papers")
    bench = shown.get_attribute("href")
    if bench is not None:
        phone = open_page(bench, 390, 844)
        look(phone, "bench list")
        phone.locator("section a").first.click()
        phone.locator("input[type=checkbox]").first.check()
        phone.locator(".timer button").first.click()
        phone.reload()
        assert phone.locator("input[type=checkbox]").first.is_checked()
        assert "left. Press to stop." in phone.locator(".timer button").first.inner_text()
        assert fits(phone)
        look(phone, "bench steps")
        page.get_by_role("button", name="Switch it off").click()
        page.get_by_text("It is off.").wait_for()
    assert not found, "\n".join(found)
