"""What the workshop reckons with: its hour, its waste, its consumption and how it sells."""

from dataclasses import fields
from functools import partial

from hidewright.app.components.entries import entry
from hidewright.app.parts import Words, box
from hidewright.app.shop import Shop
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.store.book_rates import (
    RATES,
    change_currency,
    change_rate,
    rates_in,
    written_rate,
)

#: Rates in the groups they are shown in, by name.
GROUPS: dict[str, tuple[str, ...]] = {
    "The hour": (
        "pay_per_hour",
        "overhead_a_year",
        "paid_hours_a_year",
        "utilisation",
        "breaks",
        "learning",
        "times_hold_at",
    ),
    "Waste and tools": (
        "rejects",
        "leather_yield",
        "mould_pressings",
        "template_uses",
        "moulds_of_each",
        "laser_speed",
    ),
    "What a coat takes": (
        "water_based_glue_g_m2",
        "contact_glue_g_m2",
        "dye_ml_m2",
        "dye_coats",
        "conditioner_ml_m2",
        "edge_paint_ml_m",
    ),
    "Selling": (
        "margin",
        "sales_fee",
        "sales_fee_fixed",
        "box",
        "tax",
        "round_to",
        "ending",
        "sold_a_year",
        "holding",
    ),
}
SAYS = {one.name: str(one.metadata["says"]) for one in fields(WorkshopRates)}
BUILT_IN = WorkshopRates()


class Rates:
    """The panel of rates."""

    kinds = frozenset({RATES.kind})

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        self._shop = shop
        self.shown: WorkshopRates | None = None

    def read(self) -> WorkshopRates:
        """Return the rates that are reckoned with."""
        return rates_in(self._shop.book).rates

    def show(self, found: WorkshopRates) -> None:
        """Show them in the current place."""
        self.shown = found
        Words(
            "p",
            "Built-in figures are invented or common practice: put your own in their place. "
            "An empty field takes the built-in one again.",
            "lead",
        )
        with box("div", "panel-many"):
            for title, names in GROUPS.items():
                with box("fieldset", "group"):
                    Words("legend", title)
                    for name in names:
                        self._field(found, name)
            with box("fieldset", "group"):
                Words("legend", "Currency")
                entry(
                    "Currency",
                    "rate-currency",
                    found.currency,
                    self._keep_currency,
                    self._renamed,
                    says="three letters; figures stay as they are, nothing is exchanged",
                )

    def _field(self, found: WorkshopRates, name: str) -> None:
        entry(
            _label(name),
            f"rate-{name}",
            written_rate(found, name),
            partial(self._keep, name),
            self._changed,
            says=f"{SAYS[name]}; built in: {written_rate(BUILT_IN, name)}",
        )

    def _keep(self, name: str, text: str) -> str:
        entered = text.strip() or self._built_in(name)
        self.shown = change_rate(self._shop.book, name, entered)
        return written_rate(self.shown, name)

    def _built_in(self, name: str) -> str:
        """Return the built-in rate as written; a sum in the currency that is reckoned with."""
        now = self.shown or BUILT_IN
        return written_rate(BUILT_IN, name).replace(BUILT_IN.currency, now.currency)

    def _keep_currency(self, text: str) -> str:
        rates = change_currency(self._shop.book, text.strip().upper())
        return rates.currency

    def _changed(self) -> None:
        self._shop.tell(RATES.kind)

    def _renamed(self) -> None:
        """Show every sum under its new currency."""
        self._shop.tell(RATES.kind)


def _label(name: str) -> str:
    """Return a rate's name without its unit, which its meaning tells."""
    for unit in ("_g_m2", "_ml_m2", "_ml_m"):
        name = name.removesuffix(unit)
    return name.replace("_", " ")
