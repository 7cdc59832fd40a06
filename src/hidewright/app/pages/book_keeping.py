"""Test pieces to cut, and the whole book as one archive with its backups."""

import asyncio
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.asked_book import BOOK, Pieces, PiecesAsked
from hidewright.app.components.bring import Bring
from hidewright.app.pages.book_fields import Kept, chosen
from hidewright.app.pages.book_panel import Panel
from hidewright.app.parts import Words, box, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.worker import Done, Part, Progress
from hidewright.drawing.reading import MAX_BYTES
from hidewright.errors import RequestError
from hidewright.store.book_archive import book_export, book_import
from hidewright.store.book_backups import backups

#: (name, what it tells).
PIECES = (
    ("Kerf comb", "how wide your laser cuts in this board"),
    ("Thickness gauge", "how thick the sheet really is"),
    ("Scribed square", "how much this leather grows when soaked and shrinks when dried free"),
    ("Test plug", "pull-in, spring-back and drying hours of this leather"),
    ("Crack test", "at which depth its grain cracks: what it bears"),
    ("Stitch strip", "which pitch lies best, and your minutes for it"),
    ("Colour strip", "what each coat of dye gives on this leather"),
)


class BenchPieces(Panel[None]):
    """The panel of test pieces."""

    title = "Test pieces"
    anchor = "test-pieces"
    kinds: frozenset[str] = frozenset()

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        super().__init__(shop)
        self._kept: Kept = {
            "board": "MDF 6 mm",
            "leather": "vegetable-tanned shoulder 1.4-1.6 mm",
        }

    def read(self) -> None:
        """Nothing of the book is shown."""

    def show(self, found: None) -> None:
        """Show what there is to cut, and for what."""
        with box("div", "book-two"):
            with box("div"), box("dl", "book-pieces"):
                for name, tells in PIECES:
                    Words("dt", name)
                    Words("dd", tells)
            with box("div", "book-form"):
                boards = [row.name for row in self._shop.shelf.boards if row.material != "card"]
                leathers = [
                    row.name for row in self._shop.shelf.leathers if row.tannage == "vegetable"
                ]
                chosen("Board", "board", self._kept, [(name, name) for name in boards])
                chosen("Leather", "leather", self._kept, [(name, name) for name in leathers])
                with box("p", "actions"):
                    press("Draw the test pieces", self._draw, "button main")
                self._said = Words("p", "", "state", role="status")
                self._result = box("p", "actions")

    def _draw(self) -> None:
        client = ui.context.client
        self._said.text = "Drawing ..."
        self._result.clear()

        def told(what: Part | Progress | Done) -> None:
            with client:
                match what:
                    case Part(value=Pieces() as pieces):
                        self._drawn(pieces)
                    case Done() as done if (trouble := trouble_of(done)) is not None:
                        self._said.text = trouble.words

        asked = PiecesAsked(
            path=self._shop.book.path, board=self._kept["board"], leather=self._kept["leather"]
        )
        self._shop.ask(BOOK, f"pieces {client.id}", asked, told)

    def _drawn(self, pieces: Pieces) -> None:
        self._said.text = f"{len(pieces.names)} files: SVG and DXF to cut, a sheet for each piece."
        name = self._shop.hold(pieces.zip, "application/zip")
        with self._result:
            link(
                "Download all test pieces",
                f"/held/{name}?name=test-pieces.zip",
                "button main",
                download="test-pieces.zip",
            )
            for file in pieces.names:
                if file.endswith(".pdf"):
                    title = file.removesuffix(".pdf")
                    link(f"Sheet: {title}", f"/pack/{name}/{file}", "button", target="_blank")


class Archive(Panel[tuple[str, ...]]):
    """The panel of archive and backups."""

    title = "Archive and backups"
    anchor = "archive"
    kinds: frozenset[str] = frozenset()

    def read(self) -> tuple[str, ...]:
        """Return the backups, newest first."""
        return tuple(str(path) for path in reversed(backups(self._shop.book.path)))

    def show(self, found: tuple[str, ...]) -> None:
        """Show how the whole book goes out and in."""
        with box("div", "book-two"):
            with box("div"):
                Words("h3", "All into one archive")
                Words("p", "Designs with their versions, readings, stock, orders, settings.")
                with box("p", "actions"):
                    press("Download the archive", self._export, "button")
                Words("h3", "Back out of one")
                Words(
                    "p",
                    "It takes the place of all that is in the book; the book is backed up first.",
                )
                Bring("/bring", MAX_BYTES, ".zip", self._brought)
                self._asked = box("div", "result", aria_live="polite")
            with box("div"):
                Words("h3", "Backups")
                Words("p", "One each day, before every change of the book's form, and when asked.")
                with box("p", "actions"):
                    press("Back up now", self._back_up, "button")
                with box("ul", "said"):
                    for path in found:
                        Words("li", path)
                Words(
                    "p",
                    "To put the last one back, stop the program and run 'hidewright book restore'.",
                    "lead",
                )

    async def _export(self) -> None:
        data = await asyncio.to_thread(book_export, self._shop.book)
        ui.download(data, f"book-{self._shop.now()[:10]}.zip")

    async def _back_up(self) -> None:
        await self.write(self._shop.book.back_up, None)
        await self.look()

    async def _brought(self, token: str) -> None:
        held = self._shop.held(token)
        self._asked.clear()
        if held is None:
            return
        data, name = held
        with self._asked:
            Words("p", f"Shall {name} take the place of all that is in the book?")
            with box("p", "actions"):
                press("Yes, replace the book", partial(self._import, data), "button main")
                press("No, leave it", self._asked.clear, "button")

    async def _import(self, data: bytes) -> None:
        self._asked.clear()
        try:
            await asyncio.to_thread(lambda: book_import(self._shop.book, data, replace=True))
        except RequestError as refused:
            with self._asked:
                Words("p", refused.sentence, "trouble", role="alert")
            return
        everything: Any = ("reading", "stock", "tooling", "order", "design", "setting", "learned")
        self._shop.tell(*everything)
        self._shop.knows.learn()
        with self._asked:
            Words("p", "The book now holds what the archive held.", role="status")
