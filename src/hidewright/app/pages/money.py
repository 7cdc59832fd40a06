"""The workshop's money: the ledger of orders, quotes, its rates and its material prices."""

import asyncio
from collections.abc import Callable
from functools import partial
from typing import Any, Protocol

from nicegui import background_tasks, ui

from hidewright.app.pages.money_orders import Orders
from hidewright.app.pages.money_prices import Prices
from hidewright.app.pages.money_quotes import Quotes
from hidewright.app.pages.money_rates import Rates
from hidewright.app.parts import Words, box, frame, press
from hidewright.app.shop import Shop
from hidewright.app.while_open import while_open
from hidewright.errors import RequestError


class Panel(Protocol):
    """One part of the page."""

    #: Rows of the book that it shows.
    kinds: frozenset[str]
    #: What it shows now.
    shown: Any

    def read(self) -> Any:
        """Return what there is to show; called beside the event loop."""

    def show(self, found: Any) -> None:
        """Show it in the current place."""


#: Panels by the words on their buttons, the first shown first.
PANELS: dict[str, Callable[[Shop], Panel]] = {
    "Orders": Orders,
    "Quotes": Quotes,
    "Rates": Rates,
    "Material prices": Prices,
}


class MoneyPage:
    """The page in one window."""

    def __init__(self, shop: Shop) -> None:
        """Hold what the page is built on."""
        self._shop = shop
        self._panel: Panel | None = None
        self._tabs: dict[str, Words] = {}

    async def build(self) -> None:
        """Build the page in the current window."""
        client = ui.context.client
        with frame(self._shop, "Money"):
            with box("section", "hero"):
                Words("h1", "Money")
                Words("p", "What is promised, paid and owed; your rates, and what materials cost.")
            with box("section", "designs money", aria_label="Money"):
                with box("div", "tabs", role="group", aria_label="Which part"):
                    for words in PANELS:
                        self._tabs[words] = press(words, partial(self._choose, words), "choice")
                self._trouble = Words("p", "", "why", role="alert")
                self._place = box("div", "panel")
        stop = self._shop.listen(while_open(client, partial(self._heard, client)))
        client.on_delete(stop)
        await self._choose(next(iter(PANELS)))

    async def _choose(self, words: str) -> None:
        for name, tab in self._tabs.items():
            tab.props["aria-pressed"] = "true" if name == words else "false"
            tab.update()
        self._panel = PANELS[words](self._shop)
        await self._show(self._panel)

    async def _show(self, panel: Panel) -> None:
        try:
            found = await asyncio.to_thread(panel.read)
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        self._trouble.text = ""
        if panel is self._panel and found != panel.shown:
            self._place.clear()
            with self._place:
                panel.show(found)

    def _heard(self, client: Any, kinds: frozenset[str]) -> None:
        """Show what others wrote; what was written in this window is shown already."""
        if self._panel is not None and kinds & self._panel.kinds:

            async def again(panel: Panel = self._panel) -> None:
                with client:
                    await self._show(panel)

            background_tasks.create(again())
