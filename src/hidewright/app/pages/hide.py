"""One hide: drawn, brought or corrected, its flaws, grades and thickness marked on it."""

import asyncio
import uuid
from dataclasses import replace
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.asked_cutting import OutlineAsked, OutlineFound, SoundAsked
from hidewright.app.components.bring import Bring
from hidewright.app.components.cut_board import STYLE, CutBoard
from hidewright.app.components.entries import entry_at_once, picker
from hidewright.app.pages.cutting_shown import corners_in
from hidewright.app.parts import Words, box, frame, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.worker import Done, Part, Progress
from hidewright.design.hide import (
    FLAW_KINDS,
    KEPT_FREE,
    Corners,
    Flaw,
    Hide,
    with_grade,
    with_thickness,
    without_mark,
)
from hidewright.design.hide_presets import measured
from hidewright.design.stock_hide import StockHide
from hidewright.drawing.reading import MAX_BYTES
from hidewright.errors import RequestError
from hidewright.geometry.segment import Point
from hidewright.store.book_hides import HIDES
from hidewright.units.area import format_area
from hidewright.units.length import format_length, parse_length
from hidewright.units.number import decimal_text
from hidewright.workshop.views.cut_view import hide_view

ANSWERS = "hidewright.app.answers_cutting:cutting"
#: What an area that is drawn can be.
SORTS: tuple[tuple[str, str], ...] = (
    ("edge", "the edge of the hide"),
    ("hole in it", "a part that is not there"),
    *((f"flaw {kind}", f"flaw: {kind}") for kind, _ in FLAW_KINDS),
    ("free", "a place kept free"),
    ("grade 1", "grade 1, the best"),
    ("grade 2", "grade 2"),
    ("grade 3", "grade 3"),
    ("thickness", "as thick as is written below"),
)
SEVERITIES = [
    ("", "as it usually is"),
    ("1", "fit for no piece"),
    ("2", "hidden pieces only"),
    ("3", "slight"),
]
#: A hide that is not drawn yet.
NEW = "new"


class HidePage:
    """What one window shows of a hide.

    Args:
        shop: What the pages are built on.
        id: Of the hide in the book, or ``new``.
    """

    def __init__(self, shop: Shop, id: str) -> None:
        self._shop = shop
        self._client = ui.context.client
        self._id = "" if id == NEW else id
        self._stock: StockHide | None = None
        self._fields: dict[str, str] = {"name": "", "lot": "", "leather": "", "severity": ""}
        self._sort = "edge"
        self._thickness_mm: float | None = None
        self._backbone_deg = 0.0
        self._place: list[Point] = []

    async def build(self) -> None:
        """Build the page in the current window.

        Raises:
            RequestError: When the hide is not in the book.
        """
        if self._id:
            self._stock = await asyncio.to_thread(HIDES.get, self._shop.book, self._id)
            self._backbone_deg = self._stock.hide.backbone_deg
            self._sort = "flaw hole"
        self._fields["leather"] = self._shop.shelf.leathers[0].name
        if self._stock is not None:
            self._fields.update(
                name=self._stock.hide.name, lot=self._stock.lot, leather=self._stock.material
            )
        ui.add_css(STYLE)
        with frame(self._shop, "A hide"), box("div", "columns"):
            with box("section", "measures", aria_label="The hide"):
                Words("h1", self._fields["name"] or "A new hide")
                with box("p", "actions"):
                    link("Back to cutting", "/cutting", "button quiet")
                self._about()
                if not self._id:
                    Words("h2", "Bring a drawing of it")
                    Words("p", "The largest outline of an SVG or DXF is its edge.", "lead")
                    Bring("/bring", MAX_BYTES, ".svg,.dxf", self._brought)
            with box("section", "showing", aria_label="Picture"):
                self._words = Words("p", "", "state", role="status")
                self._board = CutBoard(on_corner=self._corner)
                self._said = box("ul", "said")
            with box("section", "aside", aria_label="What is marked on it"):
                self._marking()
                Words("h2", "Marked on it")
                self._marks = box("ul", "hide-marks")
        self._board.draw((), draws=True)
        self._show()

    def _about(self) -> None:
        unit = self._shop.unit
        entry_at_once(
            "Your name for it", "hide-name", self._fields["name"], partial(self._set, "name")
        )
        leathers = [(row.name, row.name) for row in self._shop.shelf.leathers]
        if self._fields["leather"] not in dict(leathers):
            leathers.append((self._fields["leather"], self._fields["leather"]))
        picker("Leather", "hide-leather", leathers, self._fields["leather"], self._leather)
        entry_at_once("Lot", "hide-lot", self._fields["lot"], partial(self._set, "lot"))
        entry_at_once(
            "Thickness",
            "hide-thickness",
            self._thickness_now(),
            self._thickness,
            "Measured: of all of it, or of the area that is marked next.",
            classes="measure",
        )
        degrees = f"{decimal_text(self._backbone_deg, 1)} deg"
        entry_at_once(
            "Backbone, from level", "hide-backbone", degrees, self._backbone, classes="measure"
        )
        with box("p", "actions"):
            press("Keep it", self._keep, "button main")
            press("All of it is that thick", self._all_thick, "button quiet")
        Words(
            "p", f"Lengths in {'inches' if unit == 'in' else 'mm'}; corners always in mm.", "says"
        )

    def _thickness_now(self) -> str:
        if self._stock is None or self._stock.thickness_mm is None:
            return ""
        low, high = self._stock.thickness_mm
        self._thickness_mm = low if low == high else None
        return format_length(low, self._shop.unit) if low == high else ""

    def _marking(self) -> None:
        Words("h2", "Mark on it")
        Words(
            "p",
            "Choose what it is, press round it in the picture or type its corners, then add it.",
            "lead",
        )
        picker("It is", "mark-sort", list(SORTS), self._sort, self._choose_sort)
        picker("How bad", "mark-severity", SEVERITIES, "", partial(self._set, "severity"))
        entry_at_once("Corners in mm", "mark-corners", "", self._typed, "x y, x y, x y ...")
        with box("p", "actions"):
            press("Add it", self._add, "button main")
            press("Take the last corner back", self._back, "button quiet")
            press("Begin again", self._clear, "button quiet")

    # -- fields

    def _set(self, field: str, text: str) -> str:
        self._fields[field] = text.strip()[:80]
        return self._fields[field]

    def _leather(self, name: str) -> None:
        self._fields["leather"] = name

    def _choose_sort(self, value: str) -> None:
        self._sort = value

    def _thickness(self, text: str) -> str:
        self._thickness_mm = parse_length(text) if text.strip() else None
        return text.strip() and format_length(self._thickness_mm or 0.0, self._shop.unit)

    def _backbone(self, text: str) -> str:
        words = text.lower().replace("deg", "").replace("°", "").strip()
        try:
            self._backbone_deg = float(words)
        except ValueError:
            raise RequestError(f"{text[:20]!r} is no angle", mend="Write such as 15 deg") from None
        if self._stock is not None:
            self._change(replace(self._stock.hide, backbone_deg=self._backbone_deg))
        return f"{decimal_text(self._backbone_deg, 1)} deg"

    # -- drawing

    def _corner(self, at: Point) -> None:
        self._place.append(at)
        self._board.draw(tuple(self._place), draws=True)

    def _typed(self, text: str) -> str:
        self._place = list(corners_in(text))
        self._board.draw(tuple(self._place), draws=True)
        return text.strip()

    def _back(self) -> None:
        self._place = self._place[:-1]
        self._board.draw(tuple(self._place), draws=True)

    def _clear(self) -> None:
        self._place = []
        self._board.draw((), draws=True)

    def _add(self) -> None:
        try:
            if len(self._place) < 3:
                raise RequestError("fewer than three corners", mend="Press or type at least three")
            self._added(tuple(self._place))
        except RequestError as refused:
            self._words.text = refused.sentence
            return
        self._clear()

    def _added(self, place: Corners) -> None:
        if self._sort == "edge":
            name = self._fields["name"] or "a new hide"
            hide = (
                Hide(name=name, outline=place)
                if self._stock is None
                else replace(self._stock.hide, outline=place)
            )
            self._change(hide)
            return
        if self._stock is None:
            raise RequestError("there is no hide yet", mend="Draw its edge first")
        hide = self._stock.hide
        sort, _, which = self._sort.partition(" ")
        if sort == "flaw":
            usual = dict(FLAW_KINDS)[which]
            severity = int(self._fields["severity"] or usual)
            flaw = Flaw(kind=which, severity=severity, outline=place)
            hide = replace(hide, flaws=(*hide.flaws, flaw))
        elif sort == "free":
            flaw = Flaw(kind="kept free", severity=KEPT_FREE, outline=place)
            hide = replace(hide, flaws=(*hide.flaws, flaw))
        elif sort == "grade":
            hide = with_grade(hide, int(which), place)
        elif sort == "hole":
            hide = replace(hide, holes=(*hide.holes, place))
        else:
            if self._thickness_mm is None:
                raise RequestError("no thickness", mend="Write it at the left first")
            hide = with_thickness(hide, self._thickness_mm, place)
        self._change(hide)

    def _all_thick(self) -> None:
        if self._stock is None:
            self._words.text = "Draw its edge first."
            return
        hide = self._stock.hide
        self._change(replace(hide, thicknesses=measured(hide.outline, self._thickness_mm)))

    def _change(self, hide: Hide) -> None:
        hide = replace(hide, backbone_deg=self._backbone_deg)
        if self._stock is None:
            self._stock = StockHide(hide=hide, material=self._fields["leather"])
        else:
            self._stock = replace(self._stock, hide=hide)
        self._words.text = "Not kept yet."
        self._show()

    # -- showing and keeping

    def _show(self) -> None:
        self._marks.clear()
        if self._stock is None:
            self._words.text = "Draw the edge of the hide: press round it, or type its corners."
            self._board.show(None)
            return
        hide = self._stock.hide
        self._board.show(hide_view(hide), "hide")
        with self._marks:
            told = f"{format_area(self._stock.area_m2, self._shop.unit)} in all"
            Words("li", told)
            for what, number, words in _marks_of(hide):
                with box("li"):
                    Words("span", words)
                    take = partial(self._take_away, what, number)
                    press("Take away", take, "quiet", aria_label=f"Take away {words}")

    def _take_away(self, what: str, number: int) -> None:
        if self._stock is None:
            return
        self._change(without_mark(self._stock.hide, what, number))

    def _brought(self, token: str) -> Any:
        held = self._shop.held(token)
        if held is not None:
            asked = OutlineAsked(data=held[0], name=held[1], unit=None)
            self._shop.ask(ANSWERS, f"hide {self._client.id}", asked, self._read)
        return asyncio.sleep(0)

    def _read(self, what: Part | Progress | Done) -> None:
        with self._client:
            match what:
                case Part(value=OutlineFound(hide=hide, said=said)):
                    self._change(hide)
                    self._said.clear()
                    with self._said:
                        for words in said:
                            Words("li", words)
                case Done() as done if (trouble := trouble_of(done)) is not None:
                    self._words.text = trouble.words

    def _keep(self) -> None:
        if self._stock is None:
            self._words.text = "There is no hide yet: draw its edge, or bring a drawing."
            return
        asked = SoundAsked(hide=replace(self._stock.hide, name=self._fields["name"] or "hide"))
        self._shop.ask(ANSWERS, f"hide {self._client.id}", asked, self._looked_at)

    def _looked_at(self, what: Part | Progress | Done) -> None:
        with self._client:
            match what:
                case Part(value=OutlineFound(hide=hide)):
                    self._stock = replace(
                        self._stock or StockHide(hide=hide, material=self._fields["leather"]),
                        hide=hide,
                        material=self._fields["leather"],
                        lot=self._fields["lot"],
                    )
                    ui.timer(0.0, self._write, once=True)
                case Done() as done if (trouble := trouble_of(done)) is not None:
                    self._words.text = trouble.words

    async def _write(self) -> None:
        assert self._stock is not None
        self._id = self._id or str(uuid.uuid4())
        await asyncio.to_thread(HIDES.put, self._shop.book, self._id, self._stock)
        self._shop.tell("hide")
        self._words.text = "Kept in the book."


def _marks_of(hide: Hide) -> list[tuple[str, int, str]]:
    """Return (field, number in it, words) of all that is marked on a hide."""
    found = [
        ("flaws", n, f"{flaw.kind}, {dict(_BAD)[flaw.severity]}")
        for n, flaw in enumerate(hide.flaws)
    ]
    found += [("areas", n, f"grade {area.grade}") for n, area in enumerate(hide.areas)]
    found += [
        ("thicknesses", n, f"{area.thickness_mm:g} mm thick")
        for n, area in enumerate(hide.thicknesses)
    ]
    return found + [("holes", n, "a part that is not there") for n in range(len(hide.holes))]


_BAD = ((0, "no piece on it"), (1, "fit for no piece"), (2, "hidden pieces only"), (3, "slight"))
