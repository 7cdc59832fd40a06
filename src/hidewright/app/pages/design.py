"""One stage of one design: measures left, the picture in the middle, remarks right."""

import asyncio
from functools import partial
from typing import Any, get_args

from nicegui import background_tasks, ui

from hidewright.app.asked import Asked, Checked, Figures, Shown, View
from hidewright.app.components.facts import Facts
from hidewright.app.components.fields import Edit, Fields
from hidewright.app.components.remarks import Remarks
from hidewright.app.components.sheet import Drag, Sheet
from hidewright.app.components.solid import Quantity, Solid
from hidewright.app.desk import Desk, What
from hidewright.app.pages.carried_things import CarriedThings
from hidewright.app.pages.design_frame import design_frame
from hidewright.app.pages.stages import OF_THE_SHEET, SOLID, Shows
from hidewright.app.parts import VALUE, Words, box, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.while_open import while_open
from hidewright.app.worker import Done, Part, Progress
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.units.written import Written
from hidewright.workshop.form import form_of
from hidewright.workshop.in_units import names_of, saying
from hidewright.workshop.views.svg_view import USUAL, Frame

#: Looked at closely after the maker has paused so long since the edit and its picture, s.
PAUSE_S = 0.7
#: Fields and head follow the picture, or an edit after so long, s.
FOLLOW_S = 0.25
#: How far tools are taken apart at first, as a share.
APART = 0.5
INCHES = Written(lengths="in")
#: (title, (term, value) of each figure).
Chapters = tuple[tuple[str, tuple[tuple[str, str], ...]], ...]


class DesignPage:
    """What one window shows of a design at one stage."""

    def __init__(self, shop: Shop, desk: Desk, shows: Shows) -> None:
        """Build the page in the current window."""
        self._shop, self._desk, self._shows = shop, desk, shows
        self._view: View = shows.pictures[0][0]
        self._texts: dict[str, str] = {}
        self._errors: dict[str, str] = {}
        self._sent = 0
        self._frame = USUAL
        self._figures: Figures | None = None
        #: What was found when the design was looked at closely last: with ranges, maybe of before.
        self._with_ranges: Chapters = ()
        self._client = ui.context.client
        self._window = f"{self._client.id}"
        self._pause: asyncio.TimerHandle | None = None
        self._following: asyncio.TimerHandle | None = None
        self._gone = False
        with design_frame(shop, desk, shows.stage) as tell_frame:
            self._tell_frame = tell_frame
            with box("section", "measures", aria_label="Measures"):
                Words("p", shows.lead, "lead")
                self._fields = Fields(self._edited, shop.words)
                self._things = CarriedThings(shop, desk) if shows.stage == "carry" else None
            with box("section", "showing", aria_label="Picture"):
                self._tabs = self._picture_tabs()
                self._sheet = Sheet(self._dragged, self._framed)
                with box("div", "solid-frame") as self._solid_frame:
                    self._solid = Solid("", lambda _: self._follow_now())
                self._solid_controls = box("div", "solid-controls")
                with self._solid_controls:
                    self._build_solid_controls()
                self._why = Words("p", "", "why", role="alert")
                with box("details", "report") as self._report:
                    Words("summary", "What to report to us")
                    self._traceback = Words("pre", "", tabindex="0")
                self._facts = Facts()
            with box("section", "aside", aria_label="Remarks"):
                Words("h2", "Remarks")
                self._remarks = Remarks(self._mended)
        stop = desk.listen(while_open(self._client, self._heard))
        self._client.on_delete(lambda: self._left(stop))
        self._say("")
        self._solid.take_apart(APART)
        self._choose(self._view)
        self._show_fields()
        self._ask()
        self._look_closely()

    def _left(self, stop: Any) -> None:
        self._gone = True
        stop()
        if self._pause is not None:
            self._pause.cancel()
        self._shop.no_longer(self._window)
        background_tasks.create(self._shop.close_desk(self._desk.id))

    # --- the picture ---------------------------------------------------------------------------

    def _picture_tabs(self) -> dict[View, Words]:
        tabs: dict[View, Words] = {}
        with box("div", "tabs", role="group", aria_label="Which picture"):
            for view, words in self._shows.pictures:
                tabs[view] = press(words, partial(self._chosen, view), "choice")
        return tabs

    def _chosen(self, view: View) -> None:
        self._choose(view)
        self._ask()

    def _choose(self, view: View) -> None:
        self._view = view
        for name, tab in self._tabs.items():
            tab.props["aria-pressed"] = "true" if name == view else "false"
            tab.update()
        solid = view in SOLID
        self._solid.describe(SOLID.get(view, ""))
        self._sheet.set_visibility(not solid)
        self._solid_frame.set_visibility(solid)
        self._solid_controls.set_visibility(solid)
        self._close.set_visibility(False)
        self._apart.set_visibility(view == "tools")
        self._quantity.set_visibility(view in ("blank", "article"))

    def _build_solid_controls(self) -> None:
        with box("label", "slider") as self._close:
            Words("span", "Folded together")
            slider = box("input", type="range", min=0, max=1, step=0.05, defaultValue=1)
            slider.on("input", lambda e: self._solid.close(float(e.args)), js_handler=VALUE)
        with box("label", "slider") as self._apart:
            Words("span", "Taken apart")
            slider = box("input", type="range", min=0, max=1, step=0.05, defaultValue=APART)
            slider.on("input", lambda e: self._solid.take_apart(float(e.args)), js_handler=VALUE)
        first = "reserve" if self._shows.stage == "leather" else "leather"
        with box("label", "slider") as self._quantity:
            Words("span", "Coloured by")
            with box("select") as choose:
                for value, words in (
                    ("leather", "leather"),
                    ("reserve", "what of its limit is used"),
                    ("stretch", "stretch"),
                    ("thickness", "thickness"),
                ):
                    chosen: dict[str, Any] = {"selected": True} if value == first else {}
                    Words("option", words, value=value, **chosen)
            choose.on("change", lambda e: self._colour(str(e.args)), js_handler=VALUE)
        self._colour(first)

    def _colour(self, quantity: str) -> None:
        for known in get_args(Quantity):
            if known == quantity:
                self._solid.colour_by(known)

    def _asked(self) -> Asked:
        return Asked(
            design=self._desk.id,
            spec=self._desk.spec,
            views=(self._view,),
            figures=self._shows.figures,
            unit=self._shop.unit,
            frame=self._frame,
        )

    def _framed(self, frame: Frame) -> None:
        """Draw for the room there is."""
        if frame != self._frame:
            self._frame = frame
            self._ask()

    def _ask(self) -> None:
        def told(what: Part | Progress | Done) -> None:
            if not self._gone:
                with self._client:
                    self._told(what)

        self._shop.look(self._window, self._asked(), told)

    def _sharpen(self) -> None:
        """Show the picture of the fine pressing in place of the quick one, once that is known."""
        if self._view not in OF_THE_SHEET or not isinstance(self._shop.known(self._desk), Checked):
            return
        of = (self._desk.revision, self._view)

        def told(what: Part | Progress | Done) -> None:
            if not self._gone and isinstance(what, Part):
                with self._client:
                    if of == (self._desk.revision, self._view):
                        self._show(what.value)

        self._shop.look_sharply(self._window, self._asked(), told)

    def _told(self, what: Part | Progress | Done) -> None:
        match what:
            case Part(value=Shown() as shown) if shown.view == self._view:
                self._show(shown)
                if self._pause is not None:  # the maker has only now seen what the edit does
                    self._wait()
                if shown.solid is None:  # else the browser fetches it first
                    self._follow_now()
            case Part(value=Figures() as figures):
                self._figures = figures
                self._show_figures()
                self._show_remarks()
            case Done() if (trouble := trouble_of(what)) is not None:
                self._say(trouble.words, trouble.report)
            case Done():
                self._sharpen()

    def _say(self, why: str, report: str = "") -> None:
        """Say why the picture is not the newest one; nothing when it is."""
        self._why.text = why
        self._traceback.text = report
        self._report.set_visibility(bool(report))

    def _show(self, shown: Shown) -> None:
        self._say(shown.missing)
        if shown.flat is not None:
            self._sheet.show(shown.flat, self._sent, name=shown.view, unit=self._shop.unit)
        else:
            self._sheet.answer(self._sent)
        if shown.solid is not None:
            name = self._shop.hold(shown.solid, "application/octet-stream")
            self._close.set_visibility(shown.moves)
            self._solid.show(f"/held/{name}")

    def _show_figures(self) -> None:
        if self._figures is None:
            return
        chapters = self._figures.chapters
        checked = self._shop.known(self._desk)
        notes: tuple[str, ...] = ()
        if self._shows.stage == "leather":
            if isinstance(checked, Checked):
                self._with_ranges = checked.chapters
                chapters = checked.chapters or chapters
                notes = checked.notes
            else:
                chapters = (*chapters, *before(self._with_ranges))
        if self._shop.unit == "in":
            names = frozenset(names_of(self._desk.spec))
            chapters = tuple(
                (title, tuple((term, INCHES.words(value, names)) for term, value in rows))
                for title, rows in chapters
            )
            notes = tuple(INCHES.words(note, names) for note in notes)
        self._facts.show(chapters, notes)

    # --- edits -----------------------------------------------------------------------------------

    def _edited(self, edit: Edit) -> None:
        refused_before = self._errors.pop(edit.field, "")
        try:
            self._desk.edit(edit.field, edit.text, self._shop.shelf, held=edit.phase == "move")
        except RequestError as refused:
            self._errors[edit.field] = refused.sentence
        if refused_before or self._errors.get(edit.field):
            # also where the value is as it was, of which nobody would hear
            self._show_fields()

    def _dragged(self, drag: Drag) -> None:
        self._sent = max(self._sent, drag.sent)
        self._edited(Edit(field=drag.field, text=f"{drag.value:.3f} mm", phase=drag.phase))
        if drag.field in self._errors:
            self._sheet.answer(self._sent)

    def _mended(self, remedy: Remedy) -> None:
        try:
            self._desk.mend(remedy, self._shop.shelf)
        except RequestError as refused:
            ui.notify(refused.sentence, type="warning")

    def _heard(self, what: What) -> None:
        if what == "design":
            self._ask()
            self._look_closely()
        if self._following is None:
            self._following = asyncio.get_running_loop().call_later(FOLLOW_S, self._follow)

    def _follow_now(self) -> None:
        """Have fields and head follow, now that the picture is there."""
        if self._following is not None:
            self._following.cancel()
            self._following = asyncio.get_running_loop().call_later(0.01, self._follow)

    def _follow(self) -> None:
        """Bring fields and head up to date."""
        self._following = None
        if self._gone:
            return
        with self._client:
            self._tell_frame()
            self._show_fields(anew=True)
            if self._things is not None:
                self._things.show()

    def _show_fields(self, *, anew: bool = False) -> None:
        """Show the fields; what was refused goes when its measure has changed in another way."""
        groups = form_of(self._desk.spec, self._shows.stage, self._shop.shelf, self._shop.unit)
        texts = {one.path: one.text for group in groups for one in group.fields}
        if anew:
            for path in [one for one in self._errors if texts.get(one) != self._texts.get(one)]:
                del self._errors[path]
        self._texts = texts
        self._fields.show(groups, self._errors)

    # --- looking closely -------------------------------------------------------------------------

    def _look_closely(self) -> None:
        self._shop.check_no_more(self._desk)
        self._wait()

    def _wait(self) -> None:
        if self._pause is not None:
            self._pause.cancel()
        self._pause = asyncio.get_running_loop().call_later(PAUSE_S, self._check)

    def _check(self) -> None:
        self._pause = None
        if self._shop.known(self._desk) is None:
            self._shop.check(self._desk, self._found)
        self._found()

    def _found(self) -> None:
        if self._gone:
            return
        with self._client:
            self._show_remarks()
            self._show_figures()
            self._sharpen()

    def _show_remarks(self) -> None:
        remarks, state = self._shop.findings(self._desk, self._quick())
        self._remarks.show(remarks, state, saying(self._desk.spec, self._shop.unit))
        self._sheet.remark(remarks)

    def _quick(self) -> tuple[Remark, ...]:
        return self._figures.remarks if self._figures is not None else ()


def before(chapters: Chapters) -> Chapters:
    """Return what was found before the change in hand: only the figures with a likely range."""
    return tuple(
        (f"{title}, before this change", rows)
        for title, every in chapters
        if (rows := tuple((term, value) for term, value in every if "likely" in value))
    )
