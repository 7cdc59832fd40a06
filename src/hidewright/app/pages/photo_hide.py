"""The hide that was read from a photo: its outline corrected, marked, and kept."""

import asyncio
import math
import uuid
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from nicegui import ui

from hidewright.app.asked_photo import PhotoRead
from hidewright.app.components.entries import choice, entry_at_once
from hidewright.app.components.tracing import Mode, Ring, TracedPhoto
from hidewright.app.parts import Words, box, link, press
from hidewright.app.shop import Shop
from hidewright.app.tracing import Mark, Tracing
from hidewright.design.hide import FLAW_KINDS, Corners
from hidewright.design.stock_hide import MM2_PER_M2, StockHide
from hidewright.errors import RequestError
from hidewright.nesting.soundness import refuse_unsound_hide
from hidewright.store.book_hides import HIDES
from hidewright.units.area import format_area
from hidewright.units.length import format_length, parse_length

GRADES = (1, 2, 3)
SEVERITIES = ((1, "1, no piece on it"), (2, "2, hidden parts only"), (3, "3, slight"))

#: What a tap does: name, words on its button, how the photo is drawn on, and what to do.
TOOLS: tuple[tuple[str, str, Mode, str], ...] = (
    ("corners", "Correct corners", "corners", "Drag a corner, or choose one to add or take away."),
    (
        "stretch",
        "Redraw a stretch",
        "line",
        "Tap first on the edge, then along the right way, last on the edge again; then finish.",
    ),
    ("edge", "Draw the whole edge", "area", "Tap round the hide, then finish: that is its edge."),
    ("flaw", "Mark a flaw", "area", "Choose its kind and severity, tap round it, then finish."),
    ("grade", "Mark a grade area", "area", "Choose its grade, tap round it, then finish."),
    ("backbone", "Show the backbone", "two", "Tap two points along the backbone."),
)


class PhotoHide:
    """One hide as it is traced over its photo.

    Args:
        shop: The book.
        read: What the photo says.
    """

    def __init__(self, shop: Shop, read: PhotoRead) -> None:
        self._shop, self._read = shop, read
        self._past = [Tracing(outline=read.hide.outline, holes=read.hide.holes)]
        self._future: list[Tracing] = []
        self._tool = "corners" if read.found else "edge"
        self._flaw: tuple[str, int] = FLAW_KINDS[0]
        self._grade = GRADES[1]
        self._name, self._lot = read.hide.name, ""
        self._material = shop.shelf.leathers[0].name
        self._thickness_mm: float | None = None

    def build(self) -> None:
        """Build it in the current place."""
        Words("h2", "3. Correct and mark")
        with box("ul", "said"):
            for words in self._read.said:
                Words("li", words, "photo-rough" if words.startswith("Rough") else "")
        self._tools()
        self._how = Words("p", "", "lead")
        self._photo = TracedPhoto(self._ring, self._drawn)
        picture = self._shop.hold(self._read.picture, "image/jpeg")
        self._photo.lay(f"/held/{picture}", self._read.box, self._shop.unit)
        self._wrong = Words("p", "", "trouble", role="alert")
        with box("div", "photo-two"):
            with box("div"):
                Words("h2", "Marked on it")
                self._areas = box("ul", "photo-areas")
            with box("div"):
                self._keeping()
        self._choose(self._tool)
        self._refresh()

    def _tools(self) -> None:
        with box("div", "photo-tools"):
            with box("div", "choices", role="group", aria_label="What a tap does"):
                self._choices = {
                    name: press(words, partial(self._choose, name), "choice", aria_pressed="false")
                    for name, words, _, _ in TOOLS
                }
            self._undo = press("Undo", self._take_back, "button quiet")
            self._redo = press("Redo", self._do_again, "button quiet")
        self._flaw_tools = box("div", "photo-tools")
        with self._flaw_tools:
            kinds = tuple((kind, kind) for kind, _ in FLAW_KINDS)
            severities = tuple((str(n), words) for n, words in SEVERITIES)
            choice("Kind of flaw", "flaw-kind", kinds, self._flaw[0], self._choose_kind)
            self._severity = choice(
                "Severity", "flaw-severity", severities, str(self._flaw[1]), self._choose_severity
            )
        self._grade_tools = box("div", "photo-tools")
        with self._grade_tools:
            grades = tuple((str(n), f"grade {n}") for n in GRADES)
            choice("Grade", "grade", grades, str(self._grade), self._choose_grade)

    def _choose_kind(self, kind: str) -> None:
        usual = dict(FLAW_KINDS)[kind]
        self._flaw = (kind, usual)
        ui.run_javascript(f"document.getElementById('flaw-severity').value = '{usual}'")

    def _choose_severity(self, severity: str) -> None:
        self._flaw = (self._flaw[0], int(severity))

    def _choose_grade(self, grade: str) -> None:
        self._grade = int(grade)

    def _choose(self, tool: str) -> None:
        self._tool = tool
        mode, how = next((mode, how) for name, _, mode, how in TOOLS if name == tool)
        self._how.text = how
        self._photo.work(mode)
        for name, button in self._choices.items():
            button.props["aria-pressed"] = "true" if name == tool else "false"
            button.update()
        self._flaw_tools.set_visibility(tool == "flaw")
        self._grade_tools.set_visibility(tool == "grade")

    # -- edits

    def _ring(self, name: str, corners: Corners) -> None:
        self._edit(lambda now: now.with_ring(name, corners))

    def _drawn(self, points: Corners) -> None:
        kind, severity = self._flaw
        match self._tool:
            case "edge":
                self._edit(lambda now: replace(now, outline=points))
            case "stretch":
                self._edit(lambda now: now.with_stretch(points))
            case "backbone":
                (x0, y0), (x1, y1) = points[:2]
                along = math.degrees(math.atan2(y1 - y0, x1 - x0))
                self._edit(lambda now: replace(now, backbone_deg=round(along, 2)))
            case "flaw":
                self._mark(Mark(sort="flaw", kind=kind, level=severity, outline=points))
            case "grade":
                self._mark(Mark(sort="grade", kind="", level=self._grade, outline=points))

    def _drop(self, name: str) -> None:
        self._edit(lambda now: now.without(name))

    def _mark(self, mark: Mark) -> None:
        self._edit(lambda now: replace(now, marks=(*now.marks, mark)))

    def _edit(self, change: Callable[[Tracing], Tracing]) -> None:
        try:
            after = change(self._past[-1])
            refuse_unsound_hide(after.as_hide(self._name or "this hide", None))
        except RequestError as refused:
            self._refresh(refused.sentence)
            return
        self._past.append(after)
        self._future.clear()
        self._refresh()

    def _take_back(self) -> None:
        if len(self._past) > 1:
            self._future.append(self._past.pop())
            self._refresh()

    def _do_again(self) -> None:
        if self._future:
            self._past.append(self._future.pop())
            self._refresh()

    def _refresh(self, wrong: str = "") -> None:
        """Show the tracing as it is now, and why the last edit was refused."""
        now = self._past[-1]
        self._wrong.text = wrong
        rings = tuple(
            Ring(name=name, sort=sort, label=label, points=points)
            for name, sort, label, points in now.rings
        )
        self._photo.show(rings)
        for button, steps in ((self._undo, self._past[1:]), (self._redo, self._future)):
            button.props["disabled"] = not steps
            button.update()
        self._areas.clear()
        with self._areas:
            for ring in rings[1:]:
                with box("li"):
                    Words("span", ring.label)
                    press(
                        "Take away",
                        partial(self._drop, ring.name),
                        "quiet",
                        aria_label=f"Take away: {ring.label}",
                    )
            Words("li", f"backbone at {now.backbone_deg:g} degrees from level")
            area = now.as_hide("it", None).area_mm2 / MM2_PER_M2
            Words("li", f"area as traced: {format_area(area, self._shop.unit)}")

    # -- keeping

    def _keeping(self) -> None:
        leathers = [leather.name for leather in self._shop.shelf.leathers]
        Words("h2", "4. Keep it")
        entry_at_once("Name", "hide-name", self._name, self._keep_name)
        with box("div", "field"):
            options = tuple((name, name) for name in leathers)
            choice("Leather", "hide-leather", options, self._material, self._keep_leather)
        entry_at_once("Lot", "hide-lot", self._lot, self._keep_lot, "May stay empty.")
        entry_at_once(
            "Thickness",
            "hide-thickness",
            "" if self._thickness_mm is None else format_length(self._thickness_mm),
            self._keep_thickness,
            "As measured, the same all over; may stay empty.",
            classes="measure",
        )
        with box("p", "actions"):
            press("Keep this hide", self._keep, "button main")
            link("To the cutting page", "/cutting", "button")
        self._kept = Words("p", "", "state", role="status")

    def _keep_name(self, text: str) -> str:
        if not text.strip():
            raise RequestError("a hide without a name", mend="Give it a name")
        self._name = text.strip()[:80]
        return self._name

    def _keep_leather(self, name: str) -> None:
        self._material = name

    def _keep_lot(self, text: str) -> str:
        self._lot = text.strip()[:80]
        return self._lot

    def _keep_thickness(self, text: str) -> str:
        self._thickness_mm = parse_length(text) if text.strip() else None
        return "" if self._thickness_mm is None else format_length(self._thickness_mm)

    async def _keep(self) -> None:
        try:
            hide = self._past[-1].as_hide(self._name, self._thickness_mm)
            stock = StockHide(
                hide=hide, material=self._material, lot=self._lot, rough=self._read.rough
            )
            await asyncio.to_thread(HIDES.put, self._shop.book, str(uuid.uuid4()), stock)
        except RequestError as refused:
            self._wrong.text = refused.sentence
            return
        self._shop.tell("hide")
        self._kept.text = f"{self._name} is kept, {format_area(stock.area_m2, self._shop.unit)}."
