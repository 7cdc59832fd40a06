"""The papers of a design: the pack with progress, what forbids it, and the design file."""

import asyncio
import io
import zipfile
from datetime import date
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.asked import Mended, Packed
from hidewright.app.components.remarks import Remarks
from hidewright.app.desk import Desk, What
from hidewright.app.pages.bench_switch import BenchSwitch
from hidewright.app.pages.design_frame import design_frame
from hidewright.app.parts import VALUE, Words, box, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.while_open import while_open
from hidewright.app.worker import Done, Part, Progress
from hidewright.costing.quote import day_in_words
from hidewright.design.cut_layout import layouts_with, yields_of
from hidewright.drawing.tiles import Paper
from hidewright.errors import Remedy, RequestError
from hidewright.store.book_layouts import LAYOUTS
from hidewright.store.book_quotes import manner_in
from hidewright.store.book_rates import rates_in
from hidewright.store.book_settings import setting
from hidewright.store.book_stock import stock_quantities
from hidewright.store.book_workshop import workshop_of
from hidewright.store.write_design import write_design
from hidewright.store.write_pack import zip_bytes
from hidewright.units.written import Written
from hidewright.workshop.in_units import saying
from hidewright.workshop.paper_choice import USUAL_BATCH, PaperChoice
from hidewright.workshop.pattern_pack import pattern_pack

#: Papers that a made pack opens, by their names without the size of paper.
PDFS = (
    "build sheet",
    "first-off sheet",
    "cutting list",
    "tooling list",
    "shopping list",
    "labels",
    "care cards",
    "data sheet",
)


class PapersPage:
    """What one window shows of a design's papers."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        """Build the page in the current window."""
        self._shop, self._desk = shop, desk
        self._client = ui.context.client
        self._paper: Paper = "Letter" if shop.unit == "in" else "A4"
        self._busy = ""
        self._asked = False
        self._starts = 0
        with design_frame(shop, desk, "papers") as self._tell_frame:
            with box("section", "measures", aria_label="The pack"):
                Words("h2", "The pack")
                Words(
                    "p",
                    "Cut files for the laser, full-size patterns, solids, how the leather is "
                    "pressed and dried, papers for bench, shop and buyer, and a contents page, in "
                    "one zip. Lists are for the batch on the Money page; measures are written in "
                    "the unit chosen at the top of the page.",
                    "lead",
                )
                with box("p", "search"):
                    Words("label", "Paper for the patterns", for_="paper")
                    with box("select", id="paper") as paper:
                        for size in ("A4", "Letter"):
                            first: dict[str, Any] = {"selected": True}
                            chosen = first if size == self._paper else {}
                            Words("option", size, value=size, **chosen)
                    paper.on("change", self._choose_paper, js_handler=VALUE)
                with box("p", "actions"):
                    self._make = press("Make the pack", self._pack, "button main")
                    self._stop = press("Stop", self._cancel, "button")
                self._bench = BenchSwitch(shop, desk)
                Words("h2", "The design file")
                Words("p", "Text that any editor opens; bring it back on the first page.", "lead")
                with box("p", "actions"):
                    press("Download the design file", self._design_file, "button")
                Words("h2", "Mending")
                Words(
                    "p",
                    "Where the leather would not bear the mould, the smallest change that passes "
                    "is sought by pressing it many times. It can take a minute or two.",
                    "lead",
                )
                with box("p", "actions"):
                    self._seek = press("Look for what would mend it", self._mend, "button")
            with box("section", "showing", aria_label="Result"):
                self._words = Words("p", "Nothing is made yet.", "state", role="status")
                self._bar = box("progress", "bar", aria_label="Working")
                self._result = box("div", "result")
            with box("section", "aside", aria_label="Remarks"):
                Words("h2", "Remarks")
                self._remarks = Remarks(self._mended)
        stop = desk.listen(while_open(self._client, self._heard))
        self._client.on_delete(lambda: self._left(stop))
        self._work("")
        self._check()

    def _left(self, stop: Any) -> None:
        stop()
        self._bench.left()
        if self._busy:
            self._shop.cancel(self._busy)

    def _choose_paper(self, event: Any) -> None:
        self._paper = "Letter" if event.args == "Letter" else "A4"

    def _work(self, key: str) -> None:
        """Show whether something is being made under a key."""
        self._busy = key
        for button in (self._make, self._seek):
            button.props["disabled"] = bool(key)
            button.update()
        self._stop.set_visibility(bool(key))
        self._bar.set_visibility(bool(key))

    async def _pack(self) -> None:
        key = self._start("pack")
        root = str(self._client.request.base_url).rstrip("/")
        try:
            choice = await asyncio.to_thread(self._choice, root)
        except RequestError as refused:
            if self._busy == key:
                self._work("")
                self._words.text = refused.sentence
            return
        if self._busy == key:  # else it was stopped meanwhile
            self._asked = True
            self._shop.pack(key, self._desk.spec, self._paper, choice, self._told)

    def _choice(self, root: str) -> PaperChoice:
        """Return what the papers go by: the book's rates and stock, and this design's batch."""
        book, own = self._shop.book, rates_in(self._shop.book)
        layouts = tuple(LAYOUTS.rows(book).values())
        batch = setting(book, f"batch {self._desk.id}", USUAL_BATCH)
        return PaperChoice(
            rates=own.rates,
            prices=own.prices,
            bench=workshop_of(book).bench_of(self._desk.id),
            batch=batch if isinstance(batch, int) and batch > 0 else USUAL_BATCH,
            yields=yields_of(layouts),
            stock=tuple(stock_quantities(book).items()),
            layouts=layouts_with(self._desk.spec.brief.name, layouts),
            address=f"{root}/design/{self._desk.id}/carry",
            maker=", ".join(manner_in(book).seller.splitlines()),
            day=day_in_words(date.fromisoformat(self._shop.now()[:10])),
            written=Written(lengths=self._shop.unit),
        )

    def _mend(self) -> None:
        key = self._start("mend")
        self._asked = True
        self._shop.mend(key, self._desk.spec, self._told)

    def _start(self, what: str) -> str:
        """Show that something is begun; return the key of its question."""
        self._starts += 1
        key = f"{what} {self._client.id} {self._starts}"
        self._result.clear()
        self._words.text = "Beginning ..."
        self._asked = False
        self._work(key)
        return key

    def _cancel(self) -> None:
        if not self._asked:  # what the papers go by is still being read
            self._done(Done(dropped=True))
            return
        self._words.text = "Stopping ..."
        self._shop.cancel(self._busy)

    def _told(self, what: Part | Progress | Done) -> None:
        with self._client:
            match what:
                case Progress(words=words):
                    self._words.text = f"Working on: {words}"
                case Part(value=Packed() as packed):
                    self._packed(packed)
                case Part(value=Mended(remarks=remarks)):
                    self._words.text = "Looked for what would mend it."
                    self._remarks.show(remarks, "", saying(self._desk.spec, self._shop.unit))
                case Done() as done:
                    self._done(done)

    def _done(self, done: Done) -> None:
        self._work("")
        trouble = trouble_of(done)
        if done.dropped:
            self._words.text = "Stopped; nothing was made."
        elif trouble is not None:
            self._words.text = trouble.words
            if trouble.report:
                with self._result:
                    Words("pre", trouble.report, "report", tabindex="0")

    def _packed(self, packed: Packed) -> None:
        self._remarks.show(packed.remarks, "", saying(self._desk.spec, self._shop.unit))
        name = self._shop.hold(packed.zip, "application/zip")
        self._words.text = (
            f"{packed.files} files are made, but a remark forbids making it so: mend it first."
            if packed.forbids
            else f"{packed.files} files are made."
        )
        with self._result, box("p", "actions"):
            link(
                "Download the pack",
                f"/held/{name}?name=pack.zip",
                "button main",
                download=f"{self._desk.spec.brief.name}.zip",
            )
            for words, path in (
                ("Open its contents page", "index.html"),
                ("Open the build sheet", "papers/build sheet.html"),
            ):
                link(words, f"/pack/{name}/{path}", "button", target="_blank")
            press("Download the pattern pack", partial(self._patterns, packed.zip), "button")
        with self._result:
            Words("h2", f"Papers, {self._paper}")
            with box("ul", "said"):
                for path in paths_in(packed.zip):
                    with box("li"):
                        words = path.removeprefix("papers/").removesuffix(f" {self._paper}.pdf")
                        words = words.replace("patterns/", "full size: ")
                        link(words, f"/pack/{name}/{path}", target="_blank")
            Words(
                "p",
                "The pattern pack is what you may hand to another maker: patterns, cut files and "
                "instructions, without prices, stock, customers or addresses.",
                "lead",
            )

    async def _patterns(self, data: bytes) -> None:
        name = self._desk.spec.brief.name
        pack = await asyncio.to_thread(_patterns_of, data, name)
        ui.download(pack, f"{name} patterns.zip", "application/zip")

    def _design_file(self) -> None:
        text = write_design(self._desk.spec, unit="in" if self._shop.unit == "in" else "mm")
        ui.download(text.encode(), f"{self._desk.spec.brief.name}.yaml")

    def _mended(self, remedy: Remedy) -> None:
        try:
            self._desk.mend(remedy, self._shop.shelf)
        except RequestError as refused:
            ui.notify(refused.sentence, type="warning")

    def _heard(self, what: What) -> None:
        with self._client:
            self._tell_frame()
            if what == "design":
                self._check()

    def _check(self) -> None:
        if self._shop.known(self._desk) is None:
            self._shop.check(self._desk, self._found)
        self._found()

    def _found(self) -> None:
        with self._client:
            say = saying(self._desk.spec, self._shop.unit)
            self._remarks.show(*self._shop.findings(self._desk), say)


def paths_in(data: bytes) -> list[str]:
    """Return the paths of the papers in a pack in the order of their use, layouts last."""
    with zipfile.ZipFile(io.BytesIO(data)) as pack:
        pdfs = [path for path in pack.namelist() if path.endswith(".pdf")]
    papers = [path for what in PDFS for path in pdfs if path.startswith(f"papers/{what} ")]
    full_size = sorted(path for path in pdfs if path.startswith("patterns/"))
    return [*papers, *full_size, *sorted(path for path in pdfs if path.startswith("layout/"))]


def _patterns_of(data: bytes, name: str) -> bytes:
    with zipfile.ZipFile(io.BytesIO(data)) as pack:
        files = {path: pack.read(path) for path in pack.namelist()}
    return zip_bytes(pattern_pack(files, name))
