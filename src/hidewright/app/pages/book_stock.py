"""Stock with its reorder points, and moulds with how often they have been pressed."""

from collections.abc import Mapping
from functools import partial
from typing import get_args

from hidewright.app.components.remarks import Remarks
from hidewright.app.pages.book_fields import Kept, chosen, day_from, number_from, typed, whole_from
from hidewright.app.pages.book_panel import Panel
from hidewright.app.parts import Words, box, press
from hidewright.app.shop import Shop
from hidewright.catalogue.rows import Row
from hidewright.design.bench_reading import BenchReading
from hidewright.design.stock_item import (
    UNITS,
    StockItem,
    StockSort,
    ToolingSet,
    stock_remarks,
    tooling_remarks,
)
from hidewright.errors import RequestError
from hidewright.store.book_designs import list_designs
from hidewright.store.book_readings import READINGS, add_reading
from hidewright.store.book_stock import STOCK, keep_item, take
from hidewright.store.book_tooling import TOOLING, keep_tooling, pressed

#: What ``take`` takes or puts back at a press, by sort.
STEP: Mapping[StockSort, float] = {"sheet": 1.0, "hardware": 1.0, "other": 1.0}


class Stock(Panel[Mapping[str, StockItem]]):
    """The panel of stock."""

    title = "Stock"
    anchor = "stock"
    kinds = frozenset({STOCK.kind})

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        super().__init__(shop)
        self._kept: Kept = {}

    def read(self) -> Mapping[str, StockItem]:
        """Return what lies on the shelf."""
        return STOCK.rows(self._shop.book)

    def show(self, found: Mapping[str, StockItem]) -> None:
        """Show it, and the form to add."""
        Remarks(lambda _: None).show(stock_remarks(tuple(found.values())), "")
        with box("div", "book-two"):
            with box("div", "book-form"):
                Words("h3", "Put on the shelf")
                self._form()
            with box("div"):
                Words("h3", "On the shelf")
                if not found:
                    Words("p", "Nothing yet: write down what there is.", "empty")
                with box("ul", "book-rows"):
                    for id, item in found.items():
                        self._item(id, item)

    def _form(self) -> None:
        sorts = tuple((sort, sort) for sort in get_args(StockSort))
        chosen("Sort", "sort", self._kept, sorts)
        shelf = self._shop.shelf
        rows: tuple[Row, ...] = (*shelf.boards, *shelf.threads, *shelf.fittings)
        names = [row.name for row in rows]
        typed("Name, as designs have it", "stock-name", self._kept, offers=names)
        typed("How much there is (sheets, m, ml, pieces, g)", "quantity", self._kept)
        typed("Buy again below", "reorder", self._kept)
        typed(
            f"Thickness of a sheet, measured, {self._shop.unit} (may be empty)",
            "measured",
            self._kept,
        )
        typed("Note, such as the coats of a dye (may be empty)", "stock-note", self._kept)
        trouble = Words("p", "", "trouble", role="alert")
        with box("p", "actions"):
            press("Put on the shelf", partial(self._add, trouble), "button main")

    async def _add(self, trouble: Words) -> None:
        kept = self._kept
        sort: StockSort = kept["sort"]  # type: ignore[assignment]
        measured = kept.get("measured", "").strip()
        try:
            item = StockItem(
                sort=sort,
                name=kept.get("stock-name", "").strip(),
                quantity=number_from(kept.get("quantity", ""), "how much there is"),
                unit=UNITS[sort],
                reorder_at=number_from(kept.get("reorder", "") or "0", "buy again below"),
                measured_mm=number_from(measured, "thickness", unit="mm", lengths=self._shop.unit)
                if measured
                else None,
                note=kept.get("stock-note", "").strip(),
            )
        except RequestError as refused:
            trouble.text = refused.sentence
            return
        for name in ("stock-name", "quantity", "reorder", "measured", "stock-note"):
            kept.pop(name, None)
        if await self.write(lambda: keep_item(self._shop.book, item), trouble, STOCK.kind):
            await self._learn_from(item)

    async def _learn_from(self, item: StockItem) -> None:
        """Count the thickness of a measured board as a reading too."""
        if item.measured_mm is None or item.name not in (b.name for b in self._shop.shelf.boards):
            return
        reading = BenchReading(
            what="board thickness",
            subject=item.name,
            value=item.measured_mm,
            day=day_from("", self._shop.now()),
            note="from the stock",
        )
        if await self.write(lambda: add_reading(self._shop.book, reading), None, READINGS.kind):
            self._shop.knows.learn()

    def _item(self, id: str, item: StockItem) -> None:
        step = STEP.get(item.sort, 10.0)
        with box("li", "book-row"):
            thick = f", {item.measured_mm:g} mm thick" if item.measured_mm else ""
            Words("span", f"{item.name}{thick}", "title")
            Words(
                "span",
                f"{item.quantity:g} {item.unit}, buy again below {item.reorder_at:g}; "
                f"{item.used:g} used",
                "when",
            )
            if item.note:
                Words("span", item.note, "when")
            with box("span", "card-actions"):
                for words, by in ((f"Take {step:g}", step), (f"Put back {step:g}", -step)):
                    press(
                        words,
                        partial(self._take, id, by),
                        "quiet",
                        aria_label=f"{words} {item.unit} of {item.name}",
                    )
                press(
                    "Strike out",
                    partial(self._drop, id),
                    "quiet",
                    aria_label=f"Strike out {item.name}",
                )

    async def _take(self, id: str, by: float) -> None:
        await self.write(lambda: take(self._shop.book, id, by), None, STOCK.kind)

    async def _drop(self, id: str) -> None:
        await self.write(lambda: STOCK.drop(self._shop.book, id), None, STOCK.kind)


Moulds = tuple[Mapping[str, ToolingSet], Mapping[str, str]]


class Tooling(Panel[Moulds]):
    """The panel of moulds."""

    title = "Moulds"
    anchor = "moulds"
    kinds = frozenset({TOOLING.kind})

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        super().__init__(shop)
        self._kept: Kept = {}

    def read(self) -> Moulds:
        """Return the moulds in the book, and the designs that they may be of."""
        designs = {row.id: row.name for row in list_designs(self._shop.book)}
        return TOOLING.rows(self._shop.book), designs

    def show(self, found_and_designs: Moulds) -> None:
        """Show them, and the form to add."""
        found, designs = found_and_designs
        Remarks(lambda _: None).show(tooling_remarks(tuple(found.values())), "")
        with box("div", "book-two"):
            with box("div", "book-form"):
                Words("h3", "Write a mould down")
                typed("What it presses", "mould", self._kept)
                of = (("", "no design in the book"), *designs.items())
                chosen("Of which design", "mould-design", self._kept, of)
                typed("Pressed so far", "pressings", self._kept)
                typed("Pressings that it is good for", "life", self._kept)
                trouble = Words("p", "", "trouble", role="alert")
                with box("p", "actions"):
                    press("Write it down", partial(self._add, trouble), "button main")
            with box("div"):
                Words("h3", "In use")
                if not found:
                    Words("p", "No mould yet.", "empty")
                with box("ul", "book-rows"):
                    for id, one in found.items():
                        self._row(id, one, designs.get(one.design, ""))

    async def _add(self, trouble: Words) -> None:
        kept = self._kept
        try:
            one = ToolingSet(
                name=kept.get("mould", "").strip(),
                design=kept.get("mould-design", ""),
                pressings=whole_from(kept.get("pressings", "") or "0", "pressed so far"),
                life=whole_from(kept.get("life", "") or "100", "its life"),
            )
        except RequestError as refused:
            trouble.text = refused.sentence
            return
        kept.clear()
        await self.write(lambda: keep_tooling(self._shop.book, one), trouble, TOOLING.kind)

    def _row(self, id: str, one: ToolingSet, design: str) -> None:
        with box("li", "book-row"):
            Words("span", f"{one.name}, of {design}" if design else one.name, "title")
            Words("span", f"pressed {one.pressings} times of {one.life}", "when")
            with box("span", "card-actions"):
                for words, times in (("Pressed once more", 1), ("One less", -1)):
                    press(
                        words,
                        partial(self._pressed, id, times),
                        "quiet",
                        aria_label=f"{words}: {one.name}",
                    )
                press(
                    "Strike out",
                    partial(self._drop, id),
                    "quiet",
                    aria_label=f"Strike out {one.name}",
                )

    async def _pressed(self, id: str, times: int) -> None:
        await self.write(lambda: pressed(self._shop.book, id, times), None, TOOLING.kind)

    async def _drop(self, id: str) -> None:
        await self.write(lambda: TOOLING.drop(self._shop.book, id), None, TOOLING.kind)
