"""The price of a material of the maker's own: what is paid for a pack, and how much is in it."""

import asyncio
from collections.abc import Sequence
from functools import partial
from typing import Any, get_args

from hidewright.app.components.entries import picker
from hidewright.app.parts import VALUE, Words, box, press
from hidewright.app.shop import Shop
from hidewright.catalogue.prices import WORTH, PriceKind, Unit
from hidewright.costing.ledger import sum_from
from hidewright.costing.unpriced import Unpriced
from hidewright.errors import RequestError
from hidewright.store.book_rates import OWN_PRICES, add_price, rates_in
from hidewright.units.money import Money, format_money

KINDS: tuple[PriceKind, ...] = get_args(PriceKind)


class OwnPrice:
    """A form for one price; the Money page's for any material, or for one that is missing it."""

    def __init__(self, shop: Shop, id: str, missing: Unpriced | None = None) -> None:
        """Build it in the current place.

        Args:
            shop: Whose book it is kept in.
            id: Its controls' ids begin so.
            missing: What the price is for; the maker names it when left out.
        """
        self._shop = shop
        self._kind: PriceKind = missing.kind if missing else KINDS[0]
        self._held = {"name": missing.name if missing else "", "price": "", "amount": "1"}
        units = missing.units if missing else tuple(WORTH)
        self._unit: Unit = _usual(units, shop)
        title = f"Price of the {missing.kind} {missing.name}" if missing else "One of your own"
        with box("fieldset", "group own-price"):
            Words("legend", title)
            if missing is None:
                picker("Shelf", f"{id}-kind", _pairs(KINDS), self._kind, self._choose_kind)
                self._typed("Name, as the design has it", f"{id}-name", "name")
            self._typed("Price of a pack", f"{id}-price", "price")
            self._typed("How much is in a pack", f"{id}-amount", "amount")
            picker("Counted in", f"{id}-unit", _pairs(units), self._unit, self._choose_unit)
            self._trouble = Words("p", "", "trouble", role="alert")
            with box("p", "actions"):
                press("Keep this price", self._keep, "button")

    def _typed(self, label: str, id: str, name: str) -> None:
        with box("div", "field"):
            Words("label", label, for_=id)
            begins: dict[str, Any] = {"defaultValue": self._held[name]}
            field = box("input", type="text", id=id, maxlength=200, autocomplete="off", **begins)
            field.on("input", partial(self._hold, name), js_handler=VALUE)

    def _hold(self, name: str, event: Any) -> None:
        self._held[name] = str(event.args)

    def _choose_kind(self, value: str) -> None:
        self._kind = next((kind for kind in KINDS if kind == value), KINDS[0])

    def _choose_unit(self, value: str) -> None:
        self._unit = next((unit for unit in WORTH if unit == value), self._unit)

    async def _keep(self) -> None:
        try:
            await asyncio.to_thread(self._write)
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        self._trouble.text = ""
        self._shop.tell(OWN_PRICES.kind)

    def _write(self) -> None:
        book = self._shop.book
        code = rates_in(book).rates.currency
        money = Money(minor=sum_from(self._held["price"], code), currency=code)
        amount = _amount(self._held["amount"])
        add_price(book, self._kind, self._held["name"], format_money(money), amount, self._unit)


def _usual(units: Sequence[Unit], shop: Shop) -> Unit:
    """Return the unit that stands there first: square feet where inches are shown."""
    return "ft2" if shop.unit == "in" and "ft2" in units else units[0]


def _pairs(options: Sequence[str]) -> list[tuple[str, str]]:
    return [(one, one.replace("2", "²")) for one in options]


def _amount(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise RequestError(
            f"{text!r} in a pack", because="it is not a plain number", mend="Give one, such as 100"
        ) from None
