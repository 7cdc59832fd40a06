"""A flat drawing on a page: pan, zoom, lines to switch, and handles that change measures."""

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Literal

from nicegui import ui
from nicegui.events import GenericEventArguments

from hidewright.app.components.sights import SIGHT
from hidewright.errors import Remark
from hidewright.units.length import LengthUnit
from hidewright.workshop.views.svg_view import FlatView, Frame

#: Looks of the sheet and of all flat pictures, thumbnails included; each page needs it once.
STYLE = (Path(__file__).parent / "sheet.css").read_text(encoding="utf-8")
#: Size of the type of a picture that is shown whole, px, and steps of its frame, in that type.
TYPE_PX, STEP = 11.25, 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Drag:
    """A handle dragged by the maker.

    Attributes:
        field: Dotted field of the design file, such as ``measures.width``.
        value: What it is dragged to, mm.
        phase: ``move`` while it is held, ``end`` when it is let go.
        sent: The revision that answers it: until one of at least this is shown, 400 ms at most,
            nothing more is sent.
    """

    field: str
    value: float
    phase: Literal["move", "end"]
    sent: int


class Sheet(ui.element, component="sheet.js", esm=SIGHT):
    """Shows one flat view after another.

    Args:
        on_drag: Called with each drag; afterwards ``show`` is to be called with a revision of at
            least ``sent``, also when nothing could be drawn.
        on_frame: Called with what a picture fills here, at first and when that has changed.
    """

    def __init__(
        self,
        on_drag: Callable[[Drag], None] | None = None,
        on_frame: Callable[[Frame], None] | None = None,
    ) -> None:
        super().__init__()
        self._on_drag = on_drag
        if on_frame is not None:
            self.on("room", lambda event: on_frame(_frame(event.args)))
        self._props["remarks"] = []
        self.on("drag", self._dragged)

    def show(self, view: FlatView, rev: int, *, name: str = "", unit: LengthUnit = "mm") -> None:
        """Show a view.

        Args:
            view: What is drawn.
            rev: Grows with every picture; answers the drags sent before it.
            name: What kind of picture it is; a picture of another name is shown whole again.
            unit: In which the handles tell their values.
        """
        self._props["svg"] = view.svg
        self._props["handles"] = [asdict(handle) for handle in view.handles]
        self._props["layers"] = [list(layer) for layer in view.layers]
        self._props["frame"] = list(view.frame)
        self._props["spots"] = [[place, x, y] for place, (x, y) in view.spots]
        self._props["alt"] = view.alt
        self._props["name"] = name
        self._props["unit"] = unit
        self.answer(rev)

    def remark(self, remarks: Sequence[Remark]) -> None:
        """Show at their places in the picture which remarks stand in the list beside it."""
        told = [
            [one.place, one.severity, one.sentence] for one in remarks if one.severity != "note"
        ]
        if told != self._props["remarks"]:
            self._props["remarks"] = told
            self.update()

    def answer(self, rev: int) -> None:
        """Say that all up to a revision is answered, the picture staying as it is."""
        self._props["rev"] = rev
        self.update()

    def _dragged(self, event: GenericEventArguments) -> None:
        told = event.args
        if self._on_drag is not None:
            self._on_drag(
                Drag(
                    field=str(told["field"]),
                    value=float(told["value"]),
                    phase="end" if told["phase"] == "end" else "move",
                    sent=int(told["sent"]),
                )
            )


def _frame(told: Any) -> Frame:
    """Return what fills so many pixels, in steps, so that pictures are not laid anew for little."""
    wide, high = (max(round(float(told[side]) / TYPE_PX / STEP), 1) * STEP for side in "wh")
    return Frame(wide, high)
