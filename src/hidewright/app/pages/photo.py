"""A hide from a photo: print the cards, bring the photo, correct what was read, keep the hide."""

from functools import partial

from nicegui import ui

from hidewright.app.asked_photo import (
    MOST_BYTES,
    TO,
    CardsAsked,
    CardsDrawn,
    PhotoAsked,
    PhotoRead,
)
from hidewright.app.components.bring import Bring
from hidewright.app.components.entries import entry_at_once
from hidewright.app.components.tracing import STYLE
from hidewright.app.pages.photo_hide import PhotoHide
from hidewright.app.parts import Words, box, frame, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.worker import Done, Part, Progress
from hidewright.drawing.tiles import Paper
from hidewright.units.length import format_length, parse_length

ANSWERS = "hidewright.app.answers_photo:photo"
#: Length of the printed ruler when the printer kept the scale, mm.
RULER_MM = 100.0
PAPERS: tuple[Paper, ...] = ("A4", "Letter")


class PhotoPage:
    """One photo in one window."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._client = ui.context.client
        self._key = f"photo {self._client.id}"
        self._ruler_mm = RULER_MM

    def build(self) -> None:
        """Build the page."""
        ui.add_css(STYLE)
        with frame(self._shop, "A hide from a photo"), box("div", "photo"):
            Words("h1", "A hide from a photo")
            with box("div", "photo-two"):
                with box("section"):
                    self._print()
                with box("section"):
                    self._bring()
            with box("section", aria_label="What is being done"):
                self._words = Words("p", "", "state", role="status")
                self._bar = box("progress", "bar", aria_label="Reading the photo")
                self._stop = press("Stop", self._give_up, "button")
                self._trouble = Words("p", "", "trouble", role="alert")
            self._result = box("section", aria_label="The hide")
        self._work(False)
        self._client.on_delete(lambda: self._shop.give_up(ANSWERS, self._key))

    # -- cards

    def _print(self) -> None:
        Words("h2", "1. Print the scale cards")
        Words(
            "p",
            "Eight cards on two sheets. Cut them out and lay at least four flat round the hide: "
            "with fewer, perspective and lens are guessed and the outline is rough.",
            "lead",
        )
        with box("p", "actions"):
            for paper in PAPERS:
                press(f"Cards on {paper} (PDF)", partial(self._draw_cards, paper), "button")
        self._cards = box("p", "actions")

    def _draw_cards(self, paper: Paper) -> None:
        def told(what: Part | Progress | Done) -> None:
            with self._client:
                match what:
                    case Part(value=CardsDrawn(pdf=pdf)):
                        name = self._shop.hold(pdf, "application/pdf")
                        self._cards.clear()
                        with self._cards:
                            link(
                                f"Open the cards on {paper}",
                                f"/held/{name}",
                                "button",
                                target="_blank",
                            )
                    case Done() as done if (trouble := trouble_of(done)) is not None:
                        self._trouble.text = trouble.words

        self._shop.ask(ANSWERS, f"cards {self._client.id}", CardsAsked(paper=paper), told)

    # -- the photo

    def _bring(self) -> None:
        Words("h2", "2. Bring the photo")
        Words(
            "p",
            "JPEG or PNG, 12 megapixels are plenty. It stays on this machine.",
            "lead",
        )
        entry_at_once(
            "The printed ruler measures",
            "ruler",
            format_length(self._ruler_mm, self._shop.unit),
            self._keep_ruler,
            "Measure the ruler on the sheet of cards: 100 mm when the printer kept the scale.",
            classes="measure",
        )
        Bring(TO, MOST_BYTES, ".jpg,.jpeg,.png", self._brought)

    def _keep_ruler(self, text: str) -> str:
        self._ruler_mm = parse_length(text)
        return format_length(self._ruler_mm, self._shop.unit)

    async def _brought(self, token: str) -> None:
        held = self._shop.held(token)
        if held is None:
            return
        data, name = held
        self._trouble.text = ""
        self._words.text = f"Reading {name} ..."
        self._work(True)
        asked = PhotoAsked(data=data, name=name, ruler_mm=self._ruler_mm)
        self._shop.ask(ANSWERS, self._key, asked, self._told)

    def _give_up(self) -> None:
        self._shop.give_up(ANSWERS, self._key)

    def _work(self, busy: bool) -> None:
        self._bar.set_visibility(busy)
        self._stop.set_visibility(busy)

    def _told(self, what: Part | Progress | Done) -> None:
        with self._client:
            match what:
                case Progress(words=words):
                    self._words.text = f"{words} ..."
                case Part(value=PhotoRead() as read):
                    self._words.text = (
                        "The photo is read. Look whether the outline is right."
                        if read.found
                        else "The cards are read, but the hide was not found: draw its edge."
                    )
                    self._result.clear()
                    with self._result:
                        PhotoHide(self._shop, read).build()
                case Done() as done:
                    self._work(False)
                    trouble = trouble_of(done)
                    if trouble is not None:
                        self._words.text = "Nothing was read; what is on this page stays."
                        self._trouble.text = trouble.words
                    elif done.dropped:
                        self._words.text = "Stopped."
