"""What every part of the Book page does: read the book beside the loop, and show what it read."""

import asyncio
from collections.abc import Callable
from typing import Generic, TypeVar

from nicegui import ui

from hidewright.app.parts import Words, box
from hidewright.app.shop import Shop
from hidewright.errors import RequestError

T = TypeVar("T")


class Panel(Generic[T]):
    """One part of the page.

    Attributes:
        title: Its heading.
        anchor: Its name in the address.
        kinds: What must be written for it to be shown anew.
    """

    title: str
    anchor: str
    kinds: frozenset[str]

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        self._shop = shop
        self._place: ui.element | None = None
        self._shown: object = None

    def read(self) -> T:
        """Return what it shows, from the book; runs beside the event loop."""
        raise NotImplementedError

    @property
    def beside(self) -> object:
        """What it shows besides what is in the book: it is built anew where that has changed."""
        return None

    def show(self, found: T) -> None:
        """Show it in the current place."""
        raise NotImplementedError

    def again(self, found: T) -> None:
        """Show it anew, after something was written."""
        assert self._place is not None
        self._place.clear()
        with self._place:
            self.show(found)

    def build(self) -> None:
        """Lay out its section in the current place."""
        with box("section", "designs", id=self.anchor, aria_label=self.title):
            Words("h2", self.title)
            self._place = box("div", "panel")

    async def look(self) -> None:
        """Read the book and show what is in it; what is shown already stays as it is.

        A part that is built anew under somebody's finger swallows the press.
        """
        assert self._place is not None
        try:
            found = await asyncio.to_thread(self.read)
        except RequestError as refused:
            self._shown = None
            self._place.clear()
            with self._place:
                Words("p", refused.sentence, "trouble", role="alert")
            return
        shown = (found, self.beside)
        if shown == self._shown:
            return
        before, self._shown = self._shown, shown
        if before is None:
            self._place.clear()
            with self._place:
                self.show(found)
        else:
            self.again(found)

    async def write(self, work: Callable[[], object], trouble: Words | None, *kinds: str) -> bool:
        """Write in the book beside the loop and tell every window; return whether it was done.

        Args:
            work: Writes.
            trouble: Says what refused; a notice without it.
            kinds: Of the rows that are written.
        """
        try:
            await asyncio.to_thread(work)
        except RequestError as refused:
            if trouble is None:
                ui.notify(refused.sentence, type="warning")
            else:
                trouble.text = refused.sentence
            return False
        self._shop.tell(*kinds)
        return True
