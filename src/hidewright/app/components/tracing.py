"""A photo laid flat with outlines over it, to be corrected and drawn on."""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from nicegui import ui
from nicegui.events import GenericEventArguments

from hidewright.app.components.sights import SIGHT
from hidewright.design.hide import Corners
from hidewright.units.length import LengthUnit

#: Looks of the photo and its outlines; each page with one needs it once.
STYLE = (Path(__file__).parent / "tracing.css").read_text(encoding="utf-8")
#: Correct corners; draw an open line, an area, or a line through two points.
Mode = Literal["corners", "line", "area", "two"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """A closed line over the photo.

    Attributes:
        name: Unique among those shown.
        sort: Which look it has: edge, hole, flaw or grade.
        label: What it is, in words.
        points: Corners, mm.
    """

    name: str
    sort: str
    label: str
    points: Corners


class TracedPhoto(ui.element, component="tracing.js", esm=SIGHT):
    """Shows a photo and outlines, and tells what the maker does to them.

    Args:
        on_ring: Called with the name of an outline and its new corners.
        on_drawn: Called with the points of what was drawn.
    """

    def __init__(
        self, on_ring: Callable[[str, Corners], None], on_drawn: Callable[[Corners], None]
    ) -> None:
        super().__init__()

        def ring(event: GenericEventArguments) -> None:
            on_ring(str(event.args["name"]), _corners(event.args["points"]))

        self.on("ring", ring)
        self.on("drawn", lambda event: on_drawn(_corners(event.args["points"])))

    def lay(self, picture: str, box: tuple[float, float, float, float], unit: LengthUnit) -> None:
        """Show a picture of a part of the floor.

        Args:
            picture: Its address.
            box: (left, bottom, right, top) of what it shows, mm.
            unit: In which places are told.
        """
        self._props["picture"] = picture
        self._props["box"] = list(box)
        self._props["unit"] = unit
        self.update()

    def show(self, rings: tuple[Ring, ...]) -> None:
        """Show outlines."""
        self._props["rings"] = [asdict(ring) for ring in rings]
        self.update()

    def work(self, mode: Mode) -> None:
        """Choose what a tap does."""
        self._props["mode"] = mode
        self.update()


def _corners(points: list[list[float]]) -> Corners:
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in points)
