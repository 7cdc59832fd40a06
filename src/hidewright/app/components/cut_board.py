"""A hide on a page: pieces to choose and drag, and corners to draw by pointer."""

from collections.abc import Callable
from pathlib import Path

from nicegui import ui
from nicegui.events import GenericEventArguments

from hidewright.app.components.sights import SIGHT
from hidewright.geometry.segment import Point
from hidewright.workshop.views.svg_view import FlatView

#: Looks of the board; a page that shows one needs it.
STYLE = (Path(__file__).parent / "cut_board.css").read_text(encoding="utf-8")


class CutBoard(ui.element, component="cut_board.js", esm=SIGHT):
    """Shows one picture after another.

    Args:
        on_choose: Called with (piece, copy) of what is pressed, or None beside all.
        on_move: Called with (piece, copy) and (x, y) by which it was dragged, mm.
        on_corner: Called with each corner while drawing, mm with y up.
    """

    def __init__(
        self,
        on_choose: Callable[[tuple[int, int] | None], None] = lambda _: None,
        on_move: Callable[[tuple[int, int], Point], None] = lambda _, __: None,
        on_corner: Callable[[Point], None] = lambda _: None,
    ) -> None:
        super().__init__()
        self._on_choose, self._on_move, self._on_corner = on_choose, on_move, on_corner
        self.draws = False
        self.show(None)  # no moment without words for it
        self.draw((), draws=False)
        self.on("choose", self._chosen)
        self.on("shift", self._moved)
        self.on("corner", self._cornered)

    def show(self, view: FlatView | None, name: str = "") -> None:
        """Show a picture, or an empty board; one of another name is shown whole again."""
        self._props["svg"] = view.svg if view else ""
        self._props["frame"] = list(view.frame) if view else [0, -1000, 1500, 1000]
        self._props["alt"] = view.alt if view else "An empty board, 1500 by 1000 mm"
        self._props["name"] = name
        self.update()

    def draw(self, corners: tuple[Point, ...], *, draws: bool) -> None:
        """Show corners that are being drawn; while ``draws`` a press adds one."""
        self.draws = draws
        self._props["corners"] = [list(corner) for corner in corners]
        self._props["draws"] = draws
        self.update()

    def _chosen(self, event: GenericEventArguments) -> None:
        self._on_choose(_key(event.args))

    def _moved(self, event: GenericEventArguments) -> None:
        key = _key(event.args["copy"])
        if key is not None:
            self._on_move(key, (float(event.args["x"]), float(event.args["y"])))

    def _cornered(self, event: GenericEventArguments) -> None:
        self._on_corner((float(event.args["x"]), float(event.args["y"])))


def _key(words: object) -> tuple[int, int] | None:
    piece, _, copy = str(words or "").partition(",")
    return (int(piece), int(copy)) if piece.isdecimal() and copy.isdecimal() else None
