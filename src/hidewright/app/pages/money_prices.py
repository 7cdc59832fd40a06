"""What the workshop pays for its materials: by shelf, each price by the pack it is bought in."""

from functools import partial
from typing import Any

from hidewright.app.components.entries import entry
from hidewright.app.pages.money_own_price import KINDS, OwnPrice
from hidewright.app.parts import VALUE, Words, box, look_for
from hidewright.app.shop import Shop
from hidewright.catalogue.common_names import is_meant
from hidewright.catalogue.prices import Price, PriceKind
from hidewright.costing.ledger import sum_from
from hidewright.store.book_rates import OWN_PRICES, RATES, forget_price, rates_in, set_price
from hidewright.units.money import Money, format_money

Found = tuple[tuple[Price, ...], str]


class Prices:
    """The panel of material prices."""

    kinds = frozenset({OWN_PRICES.kind, RATES.kind})

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        self._shop = shop
        self.shown: Found | None = None
        self._kind: PriceKind = KINDS[0]
        self._sought = ""
        self._count = 0

    def read(self) -> Found:
        """Return the prices that are reckoned with, and the currency."""
        found = rates_in(self._shop.book)
        return found.prices, found.rates.currency

    def show(self, found: Found) -> None:
        """Show them in the current place."""
        self.shown = found
        Words(
            "p",
            "Without the tax you get back. Built-in prices are invented; an empty field takes the "
            "built-in one again, and takes a material of your own off its shelf.",
            "lead",
        )
        with box("p", "search"):
            Words("label", "Shelf", for_="price-kind")
            with box("select", id="price-kind") as shelf:
                for kind in KINDS:
                    chosen: dict[str, Any] = {"selected": True} if kind == self._kind else {}
                    Words("option", kind, value=kind, **chosen)
            shelf.on("change", self._choose, js_handler=VALUE)
            look_for("price-sought", self._look)
        self._rows = box("div", "panel-many")
        self._show_rows()
        OwnPrice(self._shop, "own-price")

    def _choose(self, event: Any) -> None:
        self._kind = next((kind for kind in KINDS if kind == event.args), KINDS[0])
        self._show_rows()

    def _look(self, sought: str) -> None:
        self._sought = sought
        self._show_rows()

    def _show_rows(self) -> None:
        assert self.shown is not None
        self._count = len(self.shown[0])
        self._rows.clear()
        rows = [
            row
            for row in self.shown[0]
            if row.kind == self._kind and is_meant(row.name, self._sought)
        ]
        with self._rows:
            for number, row in enumerate(rows):
                entry(
                    row.name,
                    f"price-{number}",
                    row.price,
                    partial(self._keep, row.kind, row.name),
                    self._changed,
                    says=f"a pack of {row.amount:g} {row.unit.replace('2', '²')}; {row.source}",
                )
            if not rows:
                Words("p", "Nothing on this shelf is called so.", "empty")

    def _keep(self, kind: PriceKind, name: str, text: str) -> str:
        assert self.shown is not None
        book, currency = self._shop.book, self.shown[1]
        if text.strip():
            money = Money(minor=sum_from(text, currency), currency=currency)
            set_price(book, kind, name, format_money(money))
        else:
            forget_price(book, kind, name)
        self.shown = self.read()
        return next((r.price for r in self.shown[0] if r.kind == kind and r.name == name), "")

    def _changed(self) -> None:
        assert self.shown is not None
        if len(self.shown[0]) != self._count:
            self._show_rows()
        self._shop.tell(OWN_PRICES.kind)
