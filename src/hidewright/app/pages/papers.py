"""The papers of a design: the pack with progress, what forbids it, and the design file."""

from typing import Any

from nicegui import ui

from hidewright.app.asked import Mended, Packed
from hidewright.app.components.remarks import Remarks
from hidewright.app.desk import Desk, What
from hidewright.app.pages.design_frame import design_frame
from hidewright.app.parts import VALUE, Words, box, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.worker import Done, Part, Progress
from hidewright.drawing.tiles import Paper
from hidewright.errors import Remedy, RequestError
from hidewright.store.write_design import write_design


class PapersPage:
    """What one window shows of a design's papers."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        """Build the page in the current window."""
        self._shop, self._desk = shop, desk
        self._client = ui.context.client
        self._paper: Paper = "A4"
        self._busy = ""
        with design_frame(shop, desk, "papers") as self._tell_frame:
            with box("section", "measures", aria_label="The pack"):
                Words("h2", "The pack")
                Words(
                    "p",
                    "Cut files for the laser, full-size patterns, solids, how the leather is "
                    "pressed and dried, and a contents page, in one zip.",
                    "lead",
                )
                with box("p", "search"):
                    Words("label", "Paper for the patterns", for_="paper")
                    with box("select", id="paper") as paper:
                        for size in ("A4", "Letter"):
                            Words("option", size, value=size)
                    paper.on("change", self._choose_paper, js_handler=VALUE)
                with box("p", "actions"):
                    self._make = press("Make the pack", self._pack, "button main")
                    self._stop = press("Stop", self._cancel, "button")
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
        stop = desk.listen(self._heard)
        self._client.on_delete(lambda: self._left(stop))
        self._work("")
        self._check()

    def _left(self, stop: Any) -> None:
        stop()
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

    def _pack(self) -> None:
        self._start(f"pack {self._client.id}")
        self._shop.pack(self._busy, self._desk.spec, self._paper, self._told)

    def _mend(self) -> None:
        self._start(f"mend {self._client.id}")
        self._shop.mend(self._busy, self._desk.spec, self._told)

    def _start(self, key: str) -> None:
        self._result.clear()
        self._words.text = "Beginning ..."
        self._work(key)

    def _cancel(self) -> None:
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
                    self._remarks.show(remarks, "")
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
        self._remarks.show(packed.remarks, "")
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

    def _design_file(self) -> None:
        text = write_design(self._desk.spec, unit="in" if self._shop.unit == "in" else "mm")
        ui.download(text.encode(), f"{self._desk.spec.brief.name}.yaml")

    def _mended(self, remedy: Remedy) -> None:
        try:
            self._desk.mend(remedy, self._shop.shelf)
        except RequestError as refused:
            ui.notify(str(refused), type="warning")

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
            self._remarks.show(*self._shop.findings(self._desk))
