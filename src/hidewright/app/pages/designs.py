"""The list of designs with pictures, and where a new one is begun."""

import asyncio
from dataclasses import dataclass
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.parts import MANY, VALUE, Words, box, frame, link, look_for, press, thumb
from hidewright.app.shop import Shop
from hidewright.catalogue.common_names import is_meant
from hidewright.errors import RequestError
from hidewright.store import book_designs
from hidewright.store.book_designs import KeptDesign, Shelf

SHELVES: tuple[tuple[Shelf, str], ...] = (("in work", "In work"), ("archived", "Put away"))

NONE: dict[Shelf, str] = {
    "in work": "No design yet: start from what you want to carry.",
    "archived": "Nothing is put away.",
}


@dataclass(slots=True)
class DesignsPage:
    """The list in one window."""

    shop: Shop
    shelf: Shelf = "in work"
    sought: str = ""
    grid: Any = None
    tabs: Any = None
    seeking: Any = None

    async def build(self) -> None:
        """Build the page."""
        with frame(self.shop, "Designs"):
            with box("section", "hero"):
                Words("h1", "Begin with the thing it is to carry.")
                Words(
                    "p",
                    "Choose what goes in; you get moulds, templates, stitch lines and cut files "
                    "that hang together, and you are told what the leather will not bear.",
                )
                with box("p", "actions"):
                    link("Start from what you want to carry", "/start", "button main")
                    link("Bring a drawing or a design file", "/bring", "button")
            with box("section", "designs", aria_label="Designs"):
                Words("h2", "Designs")
                self.tabs = box("div", "tabs", role="group", aria_label="Which designs")
                with box("p", "search") as self.seeking:
                    look_for("sought", self._look)
                self.grid = box("ul", "cards")
        await self.show()

    async def show(self) -> None:
        """Show the designs of the chosen shelf."""
        sought = self.sought
        on_shelf = await asyncio.to_thread(book_designs.list_designs, self.shop.book, self.shelf)
        rows = [row for row in on_shelf if is_meant(row.name, sought)]
        pictures = await asyncio.gather(*(self.shop.thumbnail(row.id) for row in rows))
        if sought != self.sought:
            return  # something else is looked for by now
        self.seeking.set_visibility(bool(sought) or len(on_shelf) > MANY)
        self.tabs.clear()
        with self.tabs:
            for shelf, words in SHELVES:
                pressed = "true" if shelf == self.shelf else "false"
                press(words, partial(self._choose, shelf), "choice", aria_pressed=pressed)
        self.grid.clear()
        with self.grid:
            for row, picture in zip(rows, pictures, strict=True):
                self._card(row, picture)
        if not rows:
            with self.grid, box("li", "empty"):
                Words("p", f"None is called {sought}." if on_shelf else NONE[self.shelf])

    async def _look(self, sought: str) -> None:
        self.sought = sought
        await self.show()

    async def _choose(self, shelf: Shelf) -> None:
        self.shelf = shelf
        await self.show()

    def _card(self, row: KeptDesign, picture: str) -> None:
        with box("li", "card"):
            with box("a", "open", href=f"/design/{row.id}/shape"):
                thumb(picture, row.id)
                Words("span", row.name, "title")
            Words("p", f"changed {row.changed[:16].replace('T', ' ')}", "when")
            with box("p", "card-actions"):
                press("Copy", lambda: self._copy(row), "quiet", aria_label=f"Copy {row.name}")
                press("Rename", lambda: self._rename(row), "quiet", aria_label=f"Rename {row.name}")
                put = "Take out" if row.archived else "Put away"
                press(put, lambda: self._archive(row), "quiet", aria_label=f"{put} {row.name}")
                press("Delete", lambda: self._delete(row), "quiet", aria_label=f"Delete {row.name}")

    async def _copy(self, row: KeptDesign) -> None:
        await self.shop.copy(row.id)
        await self.show()

    async def _rename(self, row: KeptDesign) -> None:
        with ui.dialog() as dialog, box("div", "report"):
            Words("label", "New name", for_="new-name")
            field = box("input", type="text", id="new-name", defaultValue=row.name, maxlength=80)
            trouble = Words("p", "", "trouble", role="alert")
            held = {"name": row.name}
            field.on("input", lambda e: held.update(name=str(e.args)), js_handler=VALUE)

            async def done() -> None:
                try:
                    await self.shop.rename(row.id, held["name"])
                except RequestError as refused:
                    trouble.text = refused.sentence
                    return
                dialog.close()
                await self.show()

            field.on("keydown.enter.prevent", done)
            with box("p", "actions"):
                press("Rename", done, "button main")
                press("Leave it", dialog.close, "button")
        dialog.open()

    async def _archive(self, row: KeptDesign) -> None:
        await asyncio.to_thread(
            lambda: book_designs.archive(self.shop.book, row.id, archived=not row.archived)
        )
        await self.show()

    async def _delete(self, row: KeptDesign) -> None:
        await asyncio.to_thread(book_designs.delete, self.shop.book, row.id)
        await self.show()

        async def back() -> None:
            await asyncio.to_thread(
                lambda: book_designs.delete(self.shop.book, row.id, deleted=False)
            )
            notice.delete()
            await self.show()

        with self.grid.parent_slot.parent, box("div", "notice", role="status") as notice:
            Words("span", f"{row.name} is deleted.")
            press("Take it back", back, "button")
