"""The pages of money built in process: what they say, and what is written into the book."""

import csv
import io
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from nicegui import ui
from nicegui.testing import User

from hidewright.app.asked_money import MONEY, BenchAsked, MoneyAsked
from hidewright.app.pages.money_rates import GROUPS
from hidewright.app.parts import MANY
from hidewright.app.shop import Shop
from hidewright.costing.charges import WhatIf
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.customer_order import CustomerOrder
from hidewright.planning.batch_plan import BatchPlan, Task, Work
from hidewright.planning.loads import Load, Share
from hidewright.planning.own_step import OwnStep
from hidewright.planning.step_times import own_times
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.workshop import Means, Workshop
from hidewright.store.book_designs import list_designs
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_quotes import QUOTES
from hidewright.store.book_rates import change_rate, rates_in
from hidewright.store.book_workshop import WORKSHOPS, keep_plan, keep_workshop
from hidewright.units.written import Written
from hidewright.workshop.money.priced import Priced
from hidewright.workshop.money.tables import in_currency
from page_here import Here, app_here, seen

pytestmark = pytest.mark.asyncio
EUR = in_currency("EUR")
ORDER = CustomerOrder(
    customer="Northmere Museum",
    design="none",
    article="Lens case",
    quantity=12,
    received=date(2026, 3, 2),
    price_minor=12390,
)


@pytest_asyncio.fixture
async def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[tuple[Shop, User]]:
    """Yield the app with the demo's articles, and a user of it."""
    async with app_here(tmp_path, monkeypatch) as both:
        yield both


def controls(page: Any, id: str) -> list[ui.element]:
    """Return the fields of a name, none while they are drawn anew."""
    return [e for e in page.elements.values() if e.props.get("id") == id]


def control(page: Any, id: str) -> ui.element:
    found = controls(page, id)
    assert len(found) == 1, id
    return found[0]


def enter(page: Any, id: str, text: str, event: str = "change") -> None:
    """Enter a value as the page's own script would tell it."""
    element = control(page, id)
    for listener in element._event_listeners.values():
        if listener.type == event:
            element._handle_event({"listener_id": listener.id, "args": text})


def alerts(page: Any) -> list[str]:
    return [
        e.text
        for e in page.elements.values()
        if getattr(e, "text", "") and e.props.get("role") == "alert"
    ]


async def address(shop: Shop, name: str) -> str:
    return next(row.id for row in list_designs(shop.book) if row.name == name)


async def test_a_price_is_told_with_its_lines_ladder_and_tornado_and_moves_with_a_slider(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    page = await user.open(f"/design/{await address(held, 'Lens case')}/money")
    await seen(lambda: len(Here.noted) >= 2)
    question, first = Here.noted[0]
    assert isinstance(question, MoneyAsked)
    assert isinstance(first, Priced)
    assert (question.batch, question.what_if, first.ladder) == (10, WhatIf(), ())
    await user.should_see(f"{EUR(first.asked.gross_minor)} for one")
    html = " ".join(str(getattr(e, "content", "")) for e in page.elements.values())
    for part in ("Cost lines, EUR", "By batch size, EUR", "money-picture"):
        assert part in html
    enter(page, "money-rate", "150", "input")
    enter(page, "money-batch", "40", "input")
    await seen(lambda: Here.noted[-1][0].batch == 40 and bool(Here.noted[-1][1].ladder))
    question, moved = Here.noted[-1]
    assert question.what_if == WhatIf(rate=1.5)
    assert (moved.cost.batch, len(moved.ladder)) == (40, 120)
    await user.should_see(f"{EUR(moved.asked.gross_minor)} for one")
    again = moved.ladder[39].asked
    assert again == moved.asked, "the ladder's rung of 40 is not the price of 40"


@pytest.mark.slow
async def test_an_order_at_the_price_shown_is_written_and_its_quote_agrees_to_the_cent(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    id = await address(held, "Lens case")
    page = await user.open(f"/design/{id}/money")
    await seen(lambda: len(Here.noted) >= 2)
    enter(page, "new-customer", "Northmere Museum", "input")
    enter(page, "new-quantity", "many", "input")
    user.find("Write it down at this price").click()
    await seen(lambda: "'many' articles. Give a whole number, such as 12" in alerts(page))
    enter(page, "new-quantity", "12", "input")
    user.find("Write it down at this price").click()
    await seen(lambda: bool(ORDERS.rows(held.book)))
    ((order_id, order),) = ORDERS.rows(held.book).items()
    price = Here.noted[-1][1].asked
    assert (order.design, order.quantity, order.status) == (id, 12, "asked")
    assert order.price_minor == price.gross_minor
    await user.open("/money")
    user.find("Write a quote, A4").click()
    await seen(lambda: bool(QUOTES.rows(held.book)))
    ((number, kept),) = QUOTES.rows(held.book).items()
    assert kept.order == order_id
    assert kept.quote.items[0].net_minor == price.net_minor
    assert kept.quote.total_minor == 12 * price.gross_minor
    await seen(lambda: bool(user.download.http_responses))
    assert user.download.http_responses[-1].content.startswith(b"%PDF")
    await seen(lambda: ORDERS.get(held.book, order_id).status == "quoted")
    assert ORDERS.get(held.book, order_id).deposit_minor == kept.quote.deposit_minor
    user.find("Quotes").click()
    await user.should_see(number)


async def test_payments_and_status_move_the_ledger_and_wrong_sums_are_refused(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    ORDERS.put(held.book, "0123456789", ORDER)
    page = await user.open("/money")
    await seen(
        lambda: any("12 x Lens case" in getattr(e, "text", "") for e in page.elements.values())
    )
    enter(page, "paid_minor-01234567", "500 GBP")
    await seen(lambda: any("never exchanged" in words for words in alerts(page)))
    assert ORDERS.get(held.book, "0123456789") == ORDER
    enter(page, "paid_minor-01234567", "500")
    await seen(lambda: ORDERS.get(held.book, "0123456789").paid_minor == 50000)
    enter(page, "status-01234567", "agreed")
    await seen(lambda: ORDERS.get(held.book, "0123456789").status == "agreed")
    owed = 12 * 12390 - 50000
    await user.should_see(f"In all {EUR(12 * 12390)}, owed {EUR(owed)}")
    user.find("Export as a table (CSV)").click()
    await seen(lambda: bool(user.download.http_responses))
    table = user.download.http_responses[-1].content.decode()
    (row,) = csv.DictReader(io.StringIO(table))
    assert (row["total"], row["paid"], row["owed"]) == ("1486.80", "500.00", "986.80")


async def test_many_orders_are_looked_through_by_article_and_customer(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    for number in range(MANY + 1):
        order = replace(ORDER, customer=f"Guild {number}")
        ORDERS.put(held.book, f"{number:08d}", order)
    page = await user.open("/money")

    def cards() -> list[str]:
        kept = (e.props.get("aria-label", "") for e in page.elements.values())
        return [words for words in kept if words.startswith("Lens case for ")]

    await seen(lambda: len(cards()) == MANY + 1)
    enter(page, "order-sought", "guild lens 7", "input")
    assert cards() == ["Lens case for Guild 7"]
    enter(page, "order-sought", "pouch", "input")
    await user.should_see("None shown is pouch.")


async def test_every_rate_has_its_field_and_is_kept_refused_or_taken_back(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    names = [name for group in GROUPS.values() for name in group]
    assert sorted(names) == sorted(WorkshopRates.__dataclass_fields__)
    page = await user.open("/money")
    user.find("Rates").click()
    await user.should_see("The hour")
    for name in names:
        assert control(page, f"rate-{name}").props["defaultValue"]
    enter(page, "rate-margin", "41 %")
    await seen(lambda: rates_in(held.book).rates.margin == 0.41)
    enter(page, "rate-margin", "98 %")
    await seen(lambda: any("98 %" in words for words in alerts(page)))
    assert rates_in(held.book).rates.margin == 0.41
    enter(page, "rate-margin", "")
    await seen(lambda: rates_in(held.book).rates == WorkshopRates())


async def test_prices_are_sought_kept_and_taken_back(shop: tuple[Shop, User]) -> None:
    held, user = shop
    page = await user.open("/money")
    user.find("Material prices").click()
    await user.should_see("Shelf")
    enter(page, "price-kind", "consumable")
    enter(page, "price-sought", "edge paint", "input")
    await seen(lambda: not any(e.props.get("id") == "price-1" for e in page.elements.values()))
    before = rates_in(held.book).prices
    enter(page, "price-0", "21.50")
    await seen(lambda: any(p.price == "21.50 EUR" for p in rates_in(held.book).prices))
    enter(page, "price-0", "")
    await seen(lambda: rates_in(held.book).prices == before)


async def test_rates_changed_elsewhere_move_the_price_that_is_shown(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    await user.open(f"/design/{await address(held, 'Lens case')}/money")
    await seen(lambda: len(Here.noted) >= 2)
    before = Here.noted[-1][1].asked.gross_minor
    change_rate(held.book, "pay_per_hour", "60.00 EUR")
    held.tell("rates")
    await seen(lambda: Here.noted[-1][1].asked.gross_minor > before)
    await user.should_see(f"{EUR(Here.noted[-1][1].asked.gross_minor)} for one")


async def test_what_is_typed_for_the_plan_reaches_price_pack_and_phone(
    shop: tuple[Shop, User], monkeypatch: pytest.MonkeyPatch
) -> None:
    held, user = shop
    monkeypatch.setattr("hidewright.app.bench.lan_address", lambda: "127.0.0.1")
    id = await address(held, "Lens case")
    await user.open(f"/design/{id}/money")
    await seen(lambda: len(Here.noted) >= 2)
    before = Here.noted[-1][1].asked.gross_minor
    slow = own_times({"sew": {"unit_minutes": 3.0}})
    stamped = OwnStep(what="add", step="stamp the mark", behind="set stud", minutes=9.0)
    workshop = Workshop(
        bench=BenchChoice(times=slow, humidity=0.7),
        means=(Means(design=id, own_steps=(stamped,)),),
    )
    keep_workshop(held.book, workshop)
    held.tell(WORKSHOPS.kind)
    await seen(lambda: Here.noted[-1][1].asked.gross_minor > before)
    wanted = BenchChoice(times=slow, humidity=0.7, own_steps=(stamped,))
    assert Here.noted[-1][0].bench == wanted
    await user.open(f"/design/{id}/papers")
    user.find("Show these steps to phones").click()
    await seen(lambda: held.bench.is_on)
    (question,) = [one for one, _ in Here.noted if isinstance(one, BenchAsked)]
    assert question.bench == wanted
    await held.bench.close()
    packs: list[BenchChoice] = []
    monkeypatch.setattr(held, "pack", lambda *asked: packs.append(asked[3].bench))
    user.find("Make the pack").click()
    await seen(lambda: packs == [wanted])


async def test_the_papers_page_shows_the_steps_to_phones_until_it_is_switched_off(
    shop: tuple[Shop, User], monkeypatch: pytest.MonkeyPatch
) -> None:
    held, user = shop
    monkeypatch.setattr("hidewright.app.bench.lan_address", lambda: "127.0.0.1")
    id = await address(held, "Lens case")
    held.choose_unit("in")
    papers = await user.open(f"/design/{id}/papers")
    letter = [e for e in papers.elements.values() if e.props.get("value") == "Letter"]
    assert [e.props.get("selected") for e in letter] == [True], "inches are printed on Letter"
    await user.should_see("It is off.")
    user.find("Show these steps to phones").click()
    await seen(lambda: held.bench.is_on)
    question, page = next(one for one in Here.noted if isinstance(one[0], BenchAsked))
    assert held.bench.pages[id].render() == page
    assert question.key == id
    assert question.written == Written(lengths="in")
    assert "3.5 to 4 oz" in page.decode()
    await user.should_see(held.bench.address)
    user.find("Switch it off").click()
    await seen(lambda: not held.bench.is_on)
    await user.should_see("It is off.")


async def test_a_refused_article_says_why_in_place_of_a_price(shop: tuple[Shop, User]) -> None:
    held, user = shop
    id = await address(held, "Lens case")
    desk = await held.desk(id)
    page = await user.open(f"/design/{id}/money")
    await seen(lambda: len(Here.noted) >= 2)
    leather = desk.spec.brief.leathers[0][1]
    renamed = replace(leather, name="a leather of nobody's")
    others = desk.spec.brief.leathers[1:]
    brief = replace(desk.spec.brief, leathers=(("body", renamed), *others))
    desk.put(replace(desk.spec, brief=brief), "leather: another")
    await seen(lambda: any("a leather of nobody's" in words for words in alerts(page)))
    assert MONEY in held._others
    assert {control(page, f"missing-0-{of}").tag for of in ("price", "amount")} == {"input"}
    enter(page, "missing-0-price", "a few", "input")
    user.find("Keep this price").click()
    await seen(lambda: any("'a few' is not a sum of money" in words for words in alerts(page)))
    enter(page, "missing-0-price", "79.90", "input")
    user.find("Keep this price").click()
    await seen(lambda: Here.noted[-1][0].prices[-1].name == "a leather of nobody's")
    await seen(lambda: bool(getattr(Here.noted[-1][1], "ladder", ())))
    found = Here.noted[-1][1]
    await user.should_see(f"{EUR(found.asked.gross_minor)} for one")
    used = next(x for x in found.cost.lines if x.group == "leather" and "waste" not in x.what)
    assert used.batch_minor == pytest.approx(7990 * used.quantity, abs=1.0), "79.90 EUR for 1 m2"
    assert not any(str(e.props.get("id", "")).startswith("missing") for e in page.elements.values())


async def test_a_material_of_ones_own_gets_its_price_on_the_money_page(
    shop: tuple[Shop, User],
) -> None:
    held, user = shop
    page = await user.open("/money")
    user.find("Material prices").click()
    await user.should_see("One of your own")
    before = rates_in(held.book).prices
    enter(page, "own-price-kind", "thread")
    for name, text in (("name", " ramie 0.7 mm "), ("price", "12"), ("amount", "lots")):
        enter(page, f"own-price-{name}", text, "input")
    enter(page, "own-price-unit", "m")
    user.find("Keep this price").click()
    await seen(lambda: any("'lots' in a pack" in words for words in alerts(page)))
    assert rates_in(held.book).prices == before
    enter(page, "own-price-amount", "250", "input")
    user.find("Keep this price").click()
    await seen(lambda: len(rates_in(held.book).prices) == len(before) + 1)
    own = rates_in(held.book).prices[-1]
    assert (own.kind, own.name, own.price, own.amount) == (
        "thread",
        "ramie 0.7 mm",
        "12.00 EUR",
        250,
    )
    await user.should_see("One of your own")
    enter(page, "price-kind", "thread")
    enter(page, "price-sought", "ramie", "input")
    await seen(
        lambda: [e.props["defaultValue"] for e in controls(page, "price-0")] == ["12.00 EUR"]
    )
    enter(page, "price-0", "")
    await seen(lambda: rates_in(held.book).prices == before)
    await user.should_see("Nothing on this shelf is called so.")


async def test_the_days_list_on_a_phone_is_that_of_the_day_it_is_asked_for(
    shop: tuple[Shop, User], monkeypatch: pytest.MonkeyPatch
) -> None:
    held, user = shop
    monkeypatch.setattr("hidewright.app.bench.lan_address", lambda: "127.0.0.1")
    day = 24 * 60

    def task(name: str, on: int) -> Task:
        times = (Work(start=on * day + 540, end=on * day + 560, person="me"),)
        return Task(
            key=name, load=1, step=name, words=name, minutes=20, times=times, state="planned"
        )

    plan = BatchPlan(
        monday=date(2026, 3, 2),
        made=0,
        loads=(Load(number=1, design="d", colour="tan", shares=(Share(order="o", count=4),)),),
        articles=(("d", "Lens case"),),
        tasks=(task("soak fronts", 0), task("sew rims", 1)),
        taken=(),
        stations=(),
        orders=(),
        status="feasible",
        finish=2 * day,
        bound=0,
        rounds=0,
        seed=0,
    )
    monkeypatch.setattr(held, "_clock", lambda: "2026-03-02T21:00:00+00:00")
    await user.open(f"/design/{await address(held, 'Lens case')}/papers")
    user.find("Show these steps to phones").click()
    await seen(lambda: held.bench.is_on)
    render = held.bench.pages["day"].render
    assert b"Nothing is planned for this day" in render()
    keep_plan(held.book, plan)
    assert b"soak fronts" in render()
    assert b"sew rims" not in render()
    monkeypatch.setattr(held, "_clock", lambda: "2026-03-03T06:30:00+00:00")
    assert b"sew rims" in render()
    assert b"soak fronts" not in render()
    await held.bench.close()
