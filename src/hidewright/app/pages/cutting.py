"""Cutting: the pieces of a batch laid on hides in stock, the best layout drawn as it is found."""

import asyncio
import uuid
from dataclasses import replace
from functools import partial
from typing import Any

from nicegui import background_tasks, ui

from hidewright.app.asked_cutting import (
    FilesAsked,
    FilesMade,
    Laid,
    LayAsked,
    PiecesAsked,
    PiecesFound,
    SettleAsked,
    ToolsFound,
)
from hidewright.app.components.cut_board import STYLE
from hidewright.app.pages.cutting_choice import ChoiceArticles, ChoicePieces, ChoiceQuestion
from hidewright.app.pages.cutting_shown import ShownLayout
from hidewright.app.pages.cutting_state import CuttingState
from hidewright.app.pages.cutting_stock import StockPart
from hidewright.app.parts import Words, box, frame, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.while_open import while_open
from hidewright.app.worker import Done, Part, Progress
from hidewright.design.customer_order import TO_BE_MADE
from hidewright.design.cut_layout import CutLayout
from hidewright.design.hide import KEPT_FREE, Corners, Flaw
from hidewright.design.stock_hide import StockHide
from hidewright.errors import RequestError
from hidewright.store import book_designs
from hidewright.store.book_hides import HIDES, SHEETS
from hidewright.store.book_layouts import LAYOUTS
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_settings import put_setting, setting
from hidewright.store.book_versions import specification_of
from hidewright.store.hides_file import demo_hides
from hidewright.units.written import Written

ANSWERS = "hidewright.app.answers_cutting:cutting"
DEMO = "demo hides put in"


class CuttingPage:
    """What one window shows of cutting.

    Args:
        shop: What the pages are built on.
    """

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        # a copy, so that two windows do not move each other's pieces
        self._state: CuttingState = shop.left_at.get("cutting", CuttingState()).resumed()
        shop.left_at["cutting"] = self._state
        self._client = ui.context.client
        self._names: dict[str, str] = {}
        self._kept: dict[str, CutLayout] = {}
        self._busy = ""
        self._then_cut = False
        self._stock = StockPart(shop, self._state, self._chosen)
        self._articles = ChoiceArticles(self._state, self._find_soon, self._take_orders)
        self._pieces = ChoicePieces(shop, self._state, self._chosen)
        self._question = ChoiceQuestion(shop, self._state, self._cut, self._stop, self._find_soon)
        self._shown = ShownLayout(shop, self._state, self._settle, self._keep_free)

    async def build(self) -> None:
        """Build the page in the current window."""
        ui.add_css(STYLE)
        with frame(self._shop, "Cutting"):
            with box("section", "hero"):
                Words("h1", "Cutting")
                Words(
                    "p",
                    "Choose what is to be cut and from which hides. Rough blanks are laid, with "
                    "what pulls in and what is held; flaws and grades are kept.",
                )
            with box("div", "columns cut-columns"):
                with box("section", "measures", aria_label="What to cut and from what"):
                    self._articles.build()
                    self._stock.build()
                    self._question.build()
                with box("section", "showing", aria_label="The layout"):
                    self._shown.build()
                    self._actions()
                with box("section", "aside", aria_label="Pieces and changes by hand"):
                    self._pieces.build()
                    with box("div") as self._by_hand:
                        self._shown.build_by_hand()
                    Words("h2", "Kept layouts")
                    self._list = box("ul", "kept-layouts")
        stop = self._shop.listen(while_open(self._client, self._heard))
        self._client.on_delete(lambda: self._left(stop))
        await asyncio.to_thread(self._begin)
        await self._read()
        self._work("")
        self._show()
        self._resume()

    def _resume(self) -> None:
        """Say what is there from before, and find what is cut for it."""
        if self._state.counts:
            self._find_soon()
        if self._state.layout is not None:
            other = ", ".join(self._state.changed_hides)
            said = f"{other} changed since: cut again." if other else "As you left it."
            self._shown.words.text = said

    def _actions(self) -> None:
        with box("p", "actions") as self._after:
            press("Keep this layout", self._keep, "button")
            press("Make the files", self._files, "button")
            press("Mark as cut", self._mark_cut, "button")
        self._result = box("p", "actions", aria_live="polite")

    def _left(self, stop: Any) -> None:
        stop()
        for key in ("pieces", "lay", "files"):
            self._shop.give_up(ANSWERS, self._key(key))

    def _key(self, what: str) -> str:
        return f"cutting {what} {self._client.id}"

    # -- the book

    def _begin(self) -> None:
        """Put the demo's hides into a book that has the demo's articles and never had a hide."""
        book = self._shop.book
        if setting(book, "demo put in", False) and not setting(book, DEMO, False):
            for stock in demo_hides():
                HIDES.put(book, str(uuid.uuid4()), stock)
            put_setting(book, DEMO, True)

    async def _read(self) -> None:
        book = self._shop.book
        hides = await asyncio.to_thread(HIDES.rows, book)
        sheets = await asyncio.to_thread(SHEETS.rows, book)
        designs = await asyncio.to_thread(book_designs.list_designs, book)
        self._kept = await asyncio.to_thread(LAYOUTS.rows, book)
        state = self._state
        before = {*state.hides, *state.sheets}
        state.hides = {id: one for id, one in hides.items() if one.state == "in stock"}
        state.sheets = {id: one for id, one in sheets.items() if one.state == "in stock"}
        there = {*state.hides, *state.sheets}
        state.chosen = (state.chosen | (there - before)) & there
        names = {row.id: row.name for row in designs}
        if names != self._names:
            self._names = names
            self._articles.show(names)
        self._chosen()
        self._show_kept()

    def _heard(self, kinds: frozenset[str]) -> None:
        if kinds & {"hide", "sheet", "layout", "design"}:
            with self._client:
                ui.timer(0.0, self._read, once=True)

    def _chosen(self) -> None:
        """Show hides and pieces again after a choice."""
        leather = self._state.leather
        if leather:
            stock = self._state.stock
            own = {id for id, one in stock.items() if one.material == leather}
            same = leather == self._state.chosen_for
            self._state.chosen = self._state.chosen & own if same else own
            self._state.chosen_for = leather
        self._stock.show()
        self._pieces.show()

    # -- what is cut

    async def _take_orders(self) -> None:
        orders = await asyncio.to_thread(ORDERS.rows, self._shop.book)
        wanted: dict[str, int] = {}
        for order in orders.values():
            left = order.quantity - order.made
            if order.status in TO_BE_MADE and order.design in self._names and left:
                wanted[order.design] = wanted.get(order.design, 0) + left
        if not wanted:
            self._pieces.say("No order waits to be made: agree one on the page of the batch.")
            return
        self._state.take_batch(wanted)
        self._articles.show(self._names)
        await self._find_pieces()

    def _find_soon(self) -> None:
        background_tasks.create(self._find_pieces())

    async def _find_pieces(self) -> None:
        """Ask what is cut for designs that are chosen and not known yet."""
        state, new = self._state, self._state.unknown
        with self._client:
            self._pieces.say("Pressing the blanks to find what is cut ..." if new else "")
            self._chosen()
        if not new:
            return
        book = self._shop.book
        specs = await asyncio.to_thread(
            lambda: tuple((id, specification_of(book, id)) for id in new)
        )
        asked = PiecesAsked(specs=specs, spacing_mm=state.spacing_mm, tools=state.is_tools)
        self._shop.ask(ANSWERS, self._key("pieces"), asked, self._pieces_told)

    def _pieces_told(self, what: Part | Progress | Done) -> None:
        with self._client:
            match what:
                case Progress(words=words):
                    self._pieces.say(f"Finding {words} ...")
                case Part(value=PiecesFound() as found):
                    self._state.found[found.design] = found.pieces
                    self._pieces.say(found.trouble)
                    self._chosen()
                case Part(value=ToolsFound() as tools):
                    self._state.tools[tools.design] = tools.parts
                    self._state.boards |= {one.material: one for one in tools.sheets}
                    self._chosen()
                case Done() as done if (trouble := trouble_of(done)) is not None:
                    self._pieces.say(trouble.words)
                    self._then_cut = False
                case Done():
                    self._pieces.say("")
                    if self._then_cut:
                        self._cut()

    # -- searching

    def _work(self, key: str) -> None:
        self._busy = key
        self._question.work(bool(key))
        self._shown.bar.set_visibility(bool(key))

    def _cut(self) -> None:
        self._then_cut = bool(self._state.unknown)
        if self._then_cut:
            self._shown.words.text = "It begins as soon as it is known what is cut ..."
            return
        try:
            asked = self._state.asked(keeping=bool(self._state.pinned))
        except RequestError as refused:
            self._shown.words.text = refused.sentence
            return
        self._start(LayAsked(asked=asked, seconds=self._state.seconds))

    def _settle(self) -> None:
        layout = self._state.layout
        if layout is None:
            self._shown.words.text = "Cut first: there is nothing to settle."
            return
        self._start(
            SettleAsked(layout=layout, placements=self._state.placements, pinned=self._state.pinned)
        )

    def _start(self, asked: LayAsked | SettleAsked) -> None:
        self._result.clear()
        self._shown.words.text = "Beginning ..."
        self._work(self._key("lay"))
        self._shop.ask(ANSWERS, self._busy, asked, self._told)

    def _stop(self) -> None:
        self._shown.words.text = "Stopping ..."
        self._shop.give_up(ANSWERS, self._busy)

    def _told(self, what: Part | Progress | Done) -> None:
        with self._client:
            match what:
                case Progress(words=words):
                    self._shown.words.text = f"Searching: {words}"
                case Part(value=Laid() as laid):
                    self._state.take(laid.layout)
                    self._show()
                    if laid.done:
                        self._shown.words.text = "Found, and checked piece by piece."
                case Done() as done:
                    self._done(done)

    def _done(self, done: Done) -> None:
        self._work("")
        trouble = trouble_of(done)
        if trouble is not None:
            self._shown.words.text = trouble.words
            if trouble.report:
                with self._result:
                    Words("pre", trouble.report, "report", tabindex="0")
        elif done.dropped:
            kept = self._state.layout is not None
            words = (
                "Stopped; the best layout so far is kept." if kept else "Stopped; none was found."
            )
            self._shown.words.text = words

    def _show(self) -> None:
        """Show the answer, and what can be done with it once there is one."""
        there = self._state.layout is not None
        self._after.set_visibility(there)
        self._by_hand.set_visibility(there)
        self._shown.show()

    # -- by hand

    async def _keep_free(self, number: int, place: Corners) -> None:
        """Forbid a place on a hide, in the book too, and let what lies there settle elsewhere."""
        layout = self._state.layout
        if layout is None:
            self._shown.words.text = "Cut first, or mark the place on the hide's own page."
            return
        flaw = Flaw(kind="kept free", severity=KEPT_FREE, outline=place)
        hide = layout.hides[number]
        hide = replace(hide, flaws=(*hide.flaws, flaw))
        hides = (*layout.hides[:number], hide, *layout.hides[number + 1 :])
        self._state.layout = replace(layout, hides=hides)
        id = layout.hide_ids[number]
        if id:
            await asyncio.to_thread(
                HIDES.edit, self._shop.book, id, lambda stock: replace(stock, hide=hide)
            )
            self._shop.tell("hide")
        self._settle()

    # -- what comes of it

    async def _keep(self) -> str | None:
        layout = self._sound()
        if layout is None:
            return None
        id = str(uuid.uuid4())
        await asyncio.to_thread(LAYOUTS.put, self._shop.book, id, layout)
        self._shown.words.text = "Kept."
        self._shop.tell("layout")
        return id

    def _sound(self) -> CutLayout | None:
        """Return the layout, unless there is none or it was changed and not settled."""
        layout = self._state.layout
        if layout is None:
            self._shown.words.text = "Nothing is cut yet."
            return None
        if layout.placements != self._state.placements:
            self._shown.words.text = "A piece was moved: let the rest settle first."
            return None
        return replace(layout, pinned=self._state.pinned)

    def _files(self) -> None:
        layout = self._sound()
        if layout is None:
            return
        self._shown.words.text = "Drawing the files ..."
        self._work(self._key("files"))

        unit = self._shop.unit
        asked = FilesAsked(
            layout=layout,
            paper="Letter" if unit == "in" else "A4",
            written=Written(lengths=unit),
        )
        self._shop.ask(ANSWERS, self._busy, asked, self._files_told)

    def _files_told(self, what: Part | Progress | Done) -> None:
        with self._client:
            match what:
                case Part(value=FilesMade() as made):
                    self._shown.words.text = f"{made.files} files are made."
                    name = self._shop.hold(made.zip, "application/zip")
                    self._result.clear()
                    with self._result:
                        link(
                            "Download: paper at full size, SVG, DXF, cutting list",
                            f"/held/{name}",
                            "button main",
                            download="cutting.zip",
                        )
                case Done() as done:
                    self._done(done)

    async def _mark_cut(self) -> None:
        """Take the hides cut into out of stock, and put what is left of them into it."""
        layout = self._sound()
        if layout is None:
            return
        bought = [layout.hides[n].name for n in layout.used_hides if not layout.hide_ids[n]]
        if bought and layout.question != "fewest sheets":
            self._shown.words.text = "Some of these hides are still to be bought: add them first."
            return
        await self._keep()
        rests = await asyncio.to_thread(self._write_cut, layout)
        self._state.layout, self._state.placements, self._state.pinned = None, (), ()
        self._show()
        self._shown.words.text = f"Marked as cut; {rests} pieces are left in stock."
        self._shop.tell("hide", "sheet")

    def _write_cut(self, layout: CutLayout) -> int:
        book, count = self._shop.book, 0
        drawer = SHEETS if layout.question == "fewest sheets" else HIDES
        for number in layout.used_hides:
            id = layout.hide_ids[number]
            stock = StockHide(hide=layout.hides[number], material=layout.material)
            if id:
                stock = drawer.edit(book, id, lambda one: one.as_state("cut"))
            left = tuple(rest.hide for rest in layout.rests if rest.of == number)
            for rest in stock.rests(left, id):
                drawer.put(book, str(uuid.uuid4()), rest)
                count += 1
        return count

    def _show_kept(self) -> None:
        self._list.clear()
        with self._list:
            for id, layout in reversed(self._kept.items()):
                with box("li"):
                    Words("span", f"{layout.title}: {layout.yield_share:.0%} yield")
                    press("Show", partial(self._open, layout), "quiet")
                    press("Delete", partial(self._drop, id), "quiet")
            if not self._kept:
                with box("li", "empty"):
                    Words("p", "None yet.")

    def _open(self, layout: CutLayout) -> None:
        self._state.take(layout)
        self._show()
        self._shown.words.text = "A layout that was kept."

    async def _drop(self, id: str) -> None:
        await asyncio.to_thread(LAYOUTS.drop, self._shop.book, id)
        self._shop.tell("layout")
