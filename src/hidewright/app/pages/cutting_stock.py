"""The hides in stock on the cutting page: pictures to choose from, and a quick way to add one."""

import asyncio
import uuid
from collections.abc import Callable
from functools import partial
from typing import Any

from hidewright.app.components.entries import entry_at_once, picker
from hidewright.app.pages.cutting_state import CuttingState
from hidewright.app.parts import Words, box, link, press, thumb
from hidewright.app.shop import Shop
from hidewright.design.hide_presets import PRESETS, hide_of, preset_named
from hidewright.design.stock_hide import StockHide
from hidewright.errors import RequestError
from hidewright.store.book_hides import HIDES, SHEETS
from hidewright.units.area import format_area, parse_area
from hidewright.units.length import format_length, parse_length
from hidewright.workshop.views.cut_view import thumb_svg

#: Sends whether a switch is on.
CHECKED = "(e) => emit(e.target.checked)"


class StockPart:
    """Hides in stock.

    Args:
        shop: The book.
        state: What is chosen.
        changed: Called after a hide was chosen, added or taken out.
    """

    def __init__(self, shop: Shop, state: CuttingState, changed: Callable[[], None]) -> None:
        self._shop, self._state, self._changed = shop, state, changed
        preset = PRESETS[1]
        self._new: dict[str, Any] = {
            "preset": preset.name,
            "area": preset.usual_m2,
            "thickness": None,
            "name": "",
            "leather": "",
        }

    def build(self) -> None:
        """Build it in the current place, empty."""
        Words("h2", "Hides in stock")
        self._list = box("ul", "stock-hides")
        with box("p", "actions"):
            link("From a photo", "/cutting/photo", "button")
            link("Draw one or bring a drawing", "/cutting/hide/new", "button")
        with box("details", "cut-more"):
            Words("summary", "Add one by its sort and area")
            self._form()

    def _form(self) -> None:
        unit = self._shop.unit
        picker("Sort", "new-sort", [(p.name, p.name) for p in PRESETS], "shoulder", self._sort)
        entry_at_once(
            "Area", "new-area", format_area(self._new["area"], unit), self._area, classes="measure"
        )
        entry_at_once(
            "Thickness, if measured",
            "new-thickness",
            "",
            self._thickness,
            "The same all over it.",
            classes="measure",
        )
        leathers = [(row.name, row.name) for row in self._shop.shelf.leathers]
        self._new["leather"] = self._state.leather or leathers[0][0]
        picker("Leather", "new-leather", leathers, self._new["leather"], self._leather)
        entry_at_once("Your name for it", "new-name", "", self._name)
        self._trouble = Words("p", "", "trouble", role="alert")
        with box("p", "actions"):
            press("Add it", self._add, "button main")

    def _sort(self, name: str) -> None:
        self._new["preset"] = name

    def _leather(self, name: str) -> None:
        self._new["leather"] = name

    def _area(self, text: str) -> str:
        self._new["area"] = parse_area(text)
        return format_area(self._new["area"], self._shop.unit)

    def _thickness(self, text: str) -> str:
        self._new["thickness"] = parse_length(text) if text.strip() else None
        return format_length(self._new["thickness"], self._shop.unit) if text.strip() else ""

    def _name(self, text: str) -> str:
        self._new["name"] = text.strip()[:80]
        return str(self._new["name"])

    async def _add(self) -> None:
        new = self._new
        try:
            hide = hide_of(
                preset_named(new["preset"]),
                new["area"],
                name=new["name"] or f"{new['preset']} {len(self._state.hides) + 1}",
                thickness_mm=new["thickness"],
            )
            stock = StockHide(hide=hide, material=new["leather"], rough=True)
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        self._trouble.text = ""
        id = str(uuid.uuid4())
        await asyncio.to_thread(HIDES.put, self._shop.book, id, stock)
        self._state.chosen.add(id)
        self._shop.tell("hide")

    def show(self) -> None:
        """Show the hides as they are now."""
        self._list.clear()
        with self._list:
            for id, stock in self._state.stock.items():
                self._row(id, stock)
        if not self._state.stock:
            words = "No hide in stock: add one below."
            if self._state.is_tools:
                words = "No rest of a sheet in stock: whole ones are taken."
            with self._list, box("li", "empty"):
                Words("p", words)

    def _row(self, id: str, stock: StockHide) -> None:
        hide = stock.hide
        fits = not self._state.leather or stock.material == self._state.leather
        with box("li", "stock-hide" if fits else "stock-hide other"):
            thumb(thumb_svg(hide), id)
            with box("div"):
                with box("label", "switch"):
                    on: dict[str, Any] = {"checked": True} if id in self._state.chosen else {}
                    tick = box("input", type="checkbox", **on)
                    Words("span", hide.name, "title")
                tick.on("change", partial(self._choose, id), js_handler=CHECKED)
                Words("p", ", ".join(self._told(stock)), "says")
                if not fits:
                    Words("p", f"Of another leather: {stock.material}", "says")
                with box("p", "card-actions"):
                    if not self._state.is_tools:
                        to = f"/cutting/hide/{id}"
                        link("Open", to, "quiet", aria_label=f"Open {hide.name}")
                    press(
                        "Gone", partial(self._gone, id), "quiet", aria_label=f"{hide.name} is gone"
                    )

    def _told(self, stock: StockHide) -> list[str]:
        told = [format_area(stock.area_m2, self._shop.unit)]
        if stock.thickness_mm is not None:
            low, high = stock.thickness_mm
            unit = self._shop.unit
            told.append(
                format_length(low, unit)
                if low == high
                else f"{format_length(low, unit)} to {format_length(high, unit)}"
            )
        flaws = len(stock.hide.flaws)
        told.append(f"{flaws} flaw{'' if flaws == 1 else 's'}")
        if stock.lot:
            told.append(f"lot {stock.lot}")
        if stock.rough:
            told.append("outline rough")
        return told

    def _choose(self, id: str, event: Any) -> None:
        (self._state.chosen.add if event.args else self._state.chosen.discard)(id)
        self._changed()

    async def _gone(self, id: str) -> None:
        drawer = SHEETS if self._state.is_tools else HIDES
        await asyncio.to_thread(drawer.edit, self._shop.book, id, lambda s: s.as_state("gone"))
        self._shop.tell("hide")
