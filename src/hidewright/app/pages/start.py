"""A new design: choose the thing, then the kind of article that is to carry it."""

import asyncio
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.parts import Words, box, frame, look_for, press, thumb
from hidewright.app.shop import Shop
from hidewright.catalogue.common_names import matching
from hidewright.catalogue.things import Thing
from hidewright.design.kinds.registry import KINDS
from hidewright.errors import RequestError
from hidewright.units.length import MM_PER_INCH
from hidewright.units.number import decimal_text
from hidewright.workshop.begin import begin
from hidewright.workshop.in_inches import in_inches
from hidewright.workshop.views.thumbnail import thumbnail


@dataclass(slots=True)
class StartPage:
    """The two choices in one window."""

    shop: Shop
    chosen: dict[str, int] = field(default_factory=dict)
    sought: str = ""
    things: Any = None
    basket: Any = None
    kinds: Any = None

    def build(self) -> None:
        """Build the page."""
        with frame(self.shop, "What goes in"), box("div", "start"):
            with box("section", "choose"):
                Words("h1", "What is it to carry?")
                Words(
                    "p",
                    "Choose a thing, one or more. Sizes can be changed to what your calliper says.",
                )
                with box("p", "search"):
                    look_for("sought", self._look)
                self.things = box("ul", "things")
            with box("section", "choose", aria_live="polite"):
                self.basket = box("div", "basket")
                self.kinds = box("ul", "cards")
        self._show_things()
        self._show_basket()

    def _look(self, sought: str) -> None:
        self.sought = sought
        self._show_things()

    def _show_things(self) -> None:
        self.things.clear()
        rows = matching(self.shop.shelf.things, self.sought)
        with self.things:
            for row in rows:
                count = self.chosen.get(row.name, 0)
                with box("li"):
                    button = press(
                        row.name,
                        partial(self._take, row),
                        "thing",
                        aria_pressed="true" if count else "false",
                    )
                    with button:
                        Words("span", sizes_of(row, self.shop.unit), "sizes")
            if not rows:
                with box("li", "empty"):
                    Words(
                        "p",
                        "Nothing is called so. Empty this line and choose something of about its "
                        "size: its sizes can be changed afterwards.",
                    )

    async def _take(self, row: Thing) -> None:
        if row.name in self.chosen:
            del self.chosen[row.name]
        else:
            self.chosen[row.name] = 1
        self._show_things()
        self._show_basket()
        await self._show_kinds()

    async def _count(self, name: str, count: int) -> None:
        if count < 1:
            self.chosen.pop(name, None)
        else:
            self.chosen[name] = count
        self._show_things()
        self._show_basket()
        await self._show_kinds()

    def _show_basket(self) -> None:
        self.basket.clear()
        with self.basket:
            if not self.chosen:
                Words("p", "Then the kinds of article that hold it stand here.", "empty")
                return
            Words("h2", "How is it to be carried?")
            with box("ul", "chosen"):
                for name, count in self.chosen.items():
                    with box("li"):
                        Words("span", f"{count} x {name}")
                        press(
                            "one more",
                            partial(self._count, name, count + 1),
                            "quiet",
                            aria_label=f"One more {name}",
                        )
                        press(
                            "one less",
                            partial(self._count, name, count - 1),
                            "quiet",
                            aria_label=f"One less {name}",
                        )

    async def _show_kinds(self) -> None:
        things = tuple(self.chosen.items())
        if not things:
            self.kinds.clear()
            return
        drawn = await asyncio.to_thread(self._drawn, things)
        if things != tuple(self.chosen.items()):
            return  # a newer choice is on its way
        self.kinds.clear()
        with self.kinds:
            for kind, title, picture, refused in drawn:
                with box("li", "card"):
                    if refused:
                        Words("span", kind, "title")
                        Words("p", f"Does not hold it: {refused}", "when")
                        continue
                    with press("", partial(self._begin, kind), "open", aria_label=kind):
                        thumb(picture, kind.replace(" ", "-"))
                        Words("span", kind, "title")
                    Words("p", title, "when")

    def _drawn(self, things: tuple[tuple[str, int], ...]) -> list[tuple[str, str, str, str]]:
        out: list[tuple[str, str, str, str]] = []
        for kind in KINDS:
            try:
                spec = begin(kind.name, self.shop.shelf, things=things)
                picture = thumbnail(kind.construct(spec.brief))
                out.append((kind.name, kind.title, picture, ""))
            except RequestError as refused:
                out.append((kind.name, kind.title, "", str(refused)))
        return sorted(out, key=lambda one: bool(one[3]))

    async def _begin(self, kind: str) -> None:
        first = next(iter(self.chosen))
        name = f"{kind} for {first}"[:80]
        spec = begin(kind, self.shop.shelf, name=name, things=tuple(self.chosen.items()))
        if self.shop.unit == "in":
            spec = await asyncio.to_thread(in_inches, spec)
        id = await self.shop.add(spec, f"begun to carry {first}")
        ui.navigate.to(f"/design/{id}/shape")


def sizes_of(thing: Thing, unit: str) -> str:
    """Return a thing's outer sizes in words; in inches to thousandths, as a calliper tells them."""
    each = float(MM_PER_INCH) if unit == "in" else 1.0
    sizes = " x ".join(decimal_text(size / each, 3) for size in thing.extents_mm)
    return f"{sizes} {unit}"
