"""The ledger and quotes: sums to the cent, numbers that are given once, tables that read back."""

import csv
import io
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import get_args

import pytest
import typer.testing
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.prices import price_of
from hidewright.cli import app
from hidewright.costing.asking import asked
from hidewright.costing.ledger import PROMISED, ledger_csv, owed_minor, sum_from, totals
from hidewright.costing.quote import QuoteItem, QuoteManner, day_in_words, quote_for
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.customer_order import CustomerOrder, Status
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_quotes import QUOTES, give_quote
from hidewright.store.book_rates import (
    change_currency,
    change_rate,
    forget_price,
    rates_in,
    set_price,
    written_rate,
)

DAY = date(2026, 3, 2)
ORDER = CustomerOrder(
    customer="R. Sample\n1 Long Street",
    design="d",
    article="Lens case",
    quantity=7,
    received=DAY,
    price_minor=12390,
)
MINOR = st.integers(0, 10**7)
MANY = st.lists(
    st.builds(
        lambda quantity, made, **rest: CustomerOrder(
            customer="x",
            design="d",
            article="Lens case",
            quantity=quantity,
            made=min(made, quantity),
            received=DAY,
            **rest,
        ),
        quantity=st.integers(1, 500),
        made=st.integers(0, 500),
        status=st.sampled_from(get_args(Status)),
        currency=st.sampled_from(["EUR", "GBP", "JPY"]),
        price_minor=st.none() | MINOR,
        deposit_minor=MINOR,
        paid_minor=MINOR,
    ),
    max_size=12,
)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with Book(tmp_path / "book.sqlite") as book:
        yield book


@settings(max_examples=60)
@given(MANY)
def test_the_exported_table_adds_up_to_the_totals_in_every_currency(
    orders: list[CustomerOrder],
) -> None:
    """Read back by the standard reader, summed as decimals: no float is near."""
    data = ledger_csv({f"{i}": order for i, order in enumerate(orders)})
    rows = list(csv.DictReader(io.StringIO(data.decode(), newline="")))
    assert len(rows) == len(orders)
    found = {row.currency: row for row in totals(orders)}
    assert set(found) == {o.currency for o in orders if o.status in PROMISED}
    for currency, total in found.items():
        coins = 1 if currency == "JPY" else 100
        mine = [r for r in rows if r["currency"] == currency and r["status"] in PROMISED]
        for column, minor in (
            ("total", total.promised_minor),
            ("paid", total.paid_minor),
            ("owed", total.owed_minor),
        ):
            assert sum(Decimal(row[column]) for row in mine) * coins == minor
        made = sum(int(r["made"]) * Decimal(r["price"] or 0) for r in mine)
        assert made * coins == total.made_minor
        assert len(mine) == total.orders


@pytest.mark.parametrize("status", get_args(Status))
def test_only_what_is_promised_is_owed(status: Status) -> None:
    order = replace(ORDER, status=status, paid_minor=1000)
    promised = status in ("agreed", "in work", "ready", "delivered", "paid")
    assert owed_minor(order) == (7 * 12390 - 1000 if promised else 0)
    assert len(totals([order])) == promised


def test_no_cell_of_the_table_is_a_formula() -> None:
    order = replace(ORDER, customer="=1+1", article="@x", colour="-y")
    row = next(csv.DictReader(io.StringIO(ledger_csv({"+id": order}).decode())))
    assert [row[k] for k in ("order", "customer", "article", "colour")] == [
        "'+id",
        "'=1+1",
        "'@x",
        "'-y",
    ]


@pytest.mark.parametrize("text", ["12,50", "12.505", "-1", "12 GBP", ""])
def test_a_sum_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(RequestError):
        sum_from(text, "EUR")


@settings(max_examples=80)
@given(cost=st.integers(1, 10**6), count=st.integers(1, 200), tax=st.sampled_from([0.0, 0.07, 0.2]))
def test_a_quote_for_an_order_at_the_price_asked_says_what_the_price_says(
    cost: int, count: int, tax: float
) -> None:
    rates = WorkshopRates(tax=tax)
    price = asked(cost, rates)
    order = replace(ORDER, price_minor=price.gross_minor, quantity=count)
    quote = quote_for(order, "2026-001", DAY, QuoteManner(), rates)
    item = QuoteItem(
        what="Lens case", count=count, net_minor=price.net_minor, tax_minor=price.tax_minor
    )
    assert quote.items == (item,)
    assert quote.total_minor == order.total_minor == count * price.gross_minor
    assert quote.net_minor + quote.tax_minor == quote.total_minor
    assert quote.deposit_minor == (quote.total_minor + 1) // 2


def test_a_quote_holds_as_long_as_the_maker_says_and_takes_the_orders_own_deposit() -> None:
    manner = QuoteManner(valid_days=30, deposit=0.25)
    order = replace(ORDER, deposit_minor=123, colour="oxblood")
    quote = quote_for(order, "2026-001", DAY, manner, WorkshopRates())
    assert (quote.day, quote.valid_until) == ("2 March 2026", "1 April 2026")
    assert quote.deposit_minor == 123
    assert quote.items[0].what == "Lens case, oxblood"
    assert quote.buyer == ("R. Sample", "1 Long Street")
    assert quote.lead_time == manner.lead_time
    order = replace(order, promised=date(2026, 3, 20))
    assert quote_for(order, "1", DAY, manner, WorkshopRates()).lead_time == "ready by 20 March 2026"


def test_an_order_without_a_price_is_not_quoted_and_takes_no_number(book: Book) -> None:
    bare = replace(ORDER, price_minor=None)
    with pytest.raises(RequestError, match="no price"):
        give_quote(
            book, "o", DAY, lambda n: quote_for(bare, n, DAY, QuoteManner(), WorkshopRates())
        )
    assert QUOTES.rows(book) == {}
    kept = _given(book, DAY)
    assert kept == "2026-001"


def test_every_number_is_given_once_also_to_many_at_a_time(book: Book) -> None:
    with ThreadPoolExecutor(8) as pool:
        numbers = list(pool.map(lambda _: _given(book, DAY), range(24)))
    assert sorted(numbers) == [f"2026-{n:03d}" for n in range(1, 25)]
    assert _given(book, date(2027, 1, 1)) == "2027-001"
    rows = QUOTES.rows(book)
    assert len(rows) == 25
    assert all(kept.quote.number == id for id, kept in rows.items())


def _given(book: Book, day: date) -> str:
    return give_quote(
        book, "o", day, lambda n: quote_for(ORDER, n, day, QuoteManner(), WorkshopRates())
    ).quote.number


def test_months_are_written_out() -> None:
    # the standard library's own names, in the C locale that tests run in
    for month in range(1, 13):
        day = date(2026, month, 9)
        assert day_in_words(day) == f"9 {day:%B} 2026"


def test_rates_are_kept_as_they_are_written_and_what_cannot_be_changes_nothing(
    book: Book,
) -> None:
    assert rates_in(book).rates == WorkshopRates()
    change_rate(book, "margin", "41 %")
    change_rate(book, "pay_per_hour", "24.50 EUR")
    change_rate(book, "mould_pressings", "250")
    kept = rates_in(book).rates
    assert kept == replace(
        WorkshopRates(), margin=0.41, pay_per_hour=kept.pay_per_hour, mould_pressings=250
    )
    assert written_rate(kept, "pay_per_hour") == "24.50 EUR"
    for name, text in (("margin", "99 %"), ("pay_per_hour", "5 GBP"), ("margin", "much")):
        with pytest.raises(RequestError):
            change_rate(book, name, text)
    assert rates_in(book).rates == kept


def test_own_prices_lie_over_the_built_in_ones_until_they_are_forgotten(book: Book) -> None:
    before = price_of(rates_in(book).prices, "consumable", "dye")
    set_price(book, "consumable", "dye", "19.00 EUR")
    own = price_of(rates_in(book).prices, "consumable", "dye")
    assert own == replace(before, price="19.00 EUR", source=own.source)
    assert own.source != before.source
    assert len(rates_in(book).prices) == len({(p.kind, p.name) for p in rates_in(book).prices})
    assert forget_price(book, "consumable", "dye")
    assert price_of(rates_in(book).prices, "consumable", "dye") == before


def test_another_currency_is_a_name_and_no_exchange(book: Book) -> None:
    before = rates_in(book)
    change_currency(book, "GBP")
    after = rates_in(book)
    assert after.rates.currency == "GBP"
    assert after.rates.pay_per_hour.minor == before.rates.pay_per_hour.minor
    assert {p.money.currency for p in after.prices} == {"GBP"}
    assert [p.money.minor for p in after.prices] == [p.money.minor for p in before.prices]
    with pytest.raises(RequestError):
        change_currency(book, "pounds")


def test_the_command_lists_orders_writes_the_next_quote_and_prints_one_again(
    tmp_path: Path,
) -> None:
    path = tmp_path / "book.sqlite"
    with Book(path) as book:
        ORDERS.put(book, "abc123456", ORDER)
        ORDERS.put(book, "abd123456", replace(ORDER, price_minor=None, article="Label box"))

    def told(*arguments: str) -> str:
        result = typer.testing.CliRunner().invoke(app, ["quote", *arguments, "--book", str(path)])
        if result.exception is not None:
            raise result.exception
        return result.output

    listed = told()
    assert "abc12345" in listed
    assert "7 x Lens case for R. Sample, asked: 123.90 EUR" in listed
    assert "Label box for R. Sample, asked: no price yet" in listed
    one, two = tmp_path / "one.pdf", tmp_path / "two.pdf"
    told("abc", "--out", str(one))
    with Book(path) as book:
        ((number, kept),) = QUOTES.rows(book).items()
    assert number.endswith("-001")
    assert kept.quote.total_minor == ORDER.total_minor
    told("--again", number, "--out", str(two))
    assert one.read_bytes() == two.read_bytes()
    for wrong, said in (("ab", "2 orders"), ("zz", "0 orders"), ("abd", "no price")):
        with pytest.raises(RequestError, match=said):
            told(wrong, "--out", str(tmp_path / "no.pdf"))
    with pytest.raises(RequestError, match="A3"):
        told("abc", "--paper", "A3")
    with Book(path) as book:
        assert len(QUOTES.rows(book)) == 1
    assert not (tmp_path / "no.pdf").exists()
