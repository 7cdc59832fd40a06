"""The book: what was measured, what the workshop knows by it, its stock, tools and archive."""

from typing import Any

from nicegui import ui

from hidewright.app.pages.book_keeping import Archive, BenchPieces
from hidewright.app.pages.book_known import Known
from hidewright.app.pages.book_made import Made
from hidewright.app.pages.book_panel import Panel
from hidewright.app.pages.book_readings import Readings
from hidewright.app.pages.book_stock import Stock, Tooling
from hidewright.app.parts import Words, box, frame, link
from hidewright.app.shop import Shop
from hidewright.app.while_open import while_open

PANELS: tuple[type[Panel[Any]], ...] = (Readings, Known, BenchPieces, Made, Stock, Tooling, Archive)


class BookPage:
    """The page in one window."""

    def __init__(self, shop: Shop) -> None:
        """Hold what the page is built on."""
        self._shop = shop
        self._panels = tuple(panel(shop) for panel in PANELS)

    async def build(self) -> None:
        """Build the page in the current window."""
        client = ui.context.client
        with frame(self._shop, "Book"), box("div", "book"):
            with box("section", "hero"):
                Words("h1", "The book")
                Words(
                    "p",
                    "Measure what came out and write it down here: the next article starts from "
                    "your laser, your leather and your hands instead of the catalogue.",
                )
                with box("nav", "book-parts", aria_label="Parts of this page"):
                    for panel in self._panels:
                        link(panel.title, f"#{panel.anchor}")
            for panel in self._panels:
                panel.build()
        for panel in self._panels:
            await panel.look()

        async def again(kinds: frozenset[str]) -> None:
            for panel in self._panels:
                if panel.kinds & kinds:
                    await panel.look()

        def hear(kinds: frozenset[str]) -> None:
            with client:
                ui.timer(0.0, lambda: again(kinds), once=True)

        client.on_delete(self._shop.listen(while_open(client, hear)))
