"""The workshop's own rates and material prices in the book, over what is built in."""

from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any

from hidewright.catalogue.prices import (
    Price,
    PriceKind,
    Unit,
    built_in_prices,
    price_of,
    with_prices,
)
from hidewright.catalogue.shelf import OWN_SOURCE
from hidewright.costing.workshop_rates import SUMS, WorkshopRates
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer
from hidewright.store.rates_file import RatesFile
from hidewright.units.money import format_money, parse_money
from hidewright.units.quantity import format as written
from hidewright.units.quantity import parse

RATES = Drawer(kind="rates", noun=WorkshopRates)
OWN_PRICES = Drawer(kind="price", noun=Price)
#: The one row of the rates.
ID = "workshop"


def rates_in(book: Book) -> RatesFile:
    """Return the rates and prices the workshop reckons with; what it never set is built in.

    Built-in prices are invented: they stand as the same figures in whatever currency is reckoned
    with. Own prices stay as they were typed.

    Raises:
        RequestError: When a row cannot be read.
    """
    rates = RATES.rows(book).get(ID, WorkshopRates())
    built_in = (_in_currency(row, rates.currency) for row in built_in_prices())
    own = tuple(OWN_PRICES.rows(book).values())
    return RatesFile(rates=rates, prices=with_prices(tuple(built_in), own))


def change_rates(book: Book, change: Callable[[WorkshopRates], WorkshopRates]) -> WorkshopRates:
    """Change the rates; return them.

    Raises:
        RequestError: When what comes out cannot be reckoned with; nothing is changed.
    """
    if ID not in RATES.rows(book):
        RATES.put(book, ID, WorkshopRates())
    return RATES.edit(book, ID, change)


def change_rate(book: Book, name: str, text: str) -> WorkshopRates:
    """Change one rate as it is written, such as ``35 %`` or ``18.00 EUR``; return all of them.

    Raises:
        RequestError: When it is not such a value, or cannot be reckoned with.
    """
    value = parse_money(text) if name in SUMS else parse(_QUANTITIES[name], text)
    changed: dict[str, Any] = {name: value}
    return change_rates(book, lambda rates: replace(rates, **changed))


def written_rate(rates: WorkshopRates, name: str) -> str:
    """Return one rate as it is written.

    >>> written_rate(WorkshopRates(), "margin"), written_rate(WorkshopRates(), "box")
    ('35 %', '1.20 EUR')
    """
    value = getattr(rates, name)
    return format_money(value) if name in SUMS else written(_QUANTITIES[name], value)


def change_currency(book: Book, code: str) -> WorkshopRates:
    """Name all sums of the rates in another currency; the figures stay, nothing is exchanged.

    Raises:
        RequestError: When it is no three-letter code.
    """
    return change_rates(
        book,
        lambda rates: replace(
            rates, **{name: replace(getattr(rates, name), currency=code) for name in SUMS}
        ),
    )


def set_price(book: Book, kind: PriceKind, name: str, price: str) -> Price:
    """Keep what the workshop pays for a pack of a material; return the row.

    Args:
        book: Where to.
        kind: Shelf of the material.
        name: Its name.
        price: With its currency, such as ``9.50 EUR``.

    Raises:
        RequestError: When it is no price, or there is no such material.
    """
    row = price_of(rates_in(book).prices, kind, name)
    own = replace(row, price=price, source=OWN_SOURCE)
    OWN_PRICES.put(book, f"{kind}/{name}", own)
    return own


def add_price(
    book: Book, kind: PriceKind, name: str, price: str, amount: float, unit: Unit
) -> Price:
    """Keep what the workshop pays for a material of its own; return the row.

    Args:
        book: Where to.
        kind: Shelf of the material.
        name: As designs have it.
        price: Of a pack, with its currency, such as ``9.50 EUR``.
        amount: How much is in a pack.
        unit: What that is counted in.

    Raises:
        RequestError: When it has no name, is no price, or nothing is in the pack.
    """
    own = Price(
        name=name.strip(), kind=kind, price=price, amount=amount, unit=unit, source=OWN_SOURCE
    )
    OWN_PRICES.put(book, f"{kind}/{own.name}", own)
    return own


def forget_price(book: Book, kind: PriceKind, name: str) -> bool:
    """Take the workshop's own price away, so that the built-in one counts; say whether it was."""
    return OWN_PRICES.drop(book, f"{kind}/{name}")


def _in_currency(row: Price, code: str) -> Price:
    if row.money.currency == code:
        return row
    return replace(row, price=format_money(replace(row.money, currency=code)))


_QUANTITIES: dict[str, Any] = {
    one.name: one.metadata["quantity"]
    for one in fields(WorkshopRates)
    if "quantity" in one.metadata
}
