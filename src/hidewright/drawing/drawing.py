"""What a writer needs to know: strokes on named layers and a few words, all in mm."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point

LineStyle = Literal["solid", "dashed", "dotted", "dash-dot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One kind of line, told apart by its name and, in black and white, by its style.

    Attributes:
        name: What is done along the line, such as ``cut inside``; unique in a drawing.
        style: Dash style on screen and paper; cut files use it as line type only.
        weight_mm: Line width on paper and screen, mm.
    """

    name: str
    style: LineStyle = "solid"
    weight_mm: float = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One outline or path on a layer.

    Attributes:
        curve: Lines and true arcs, mm.
        layer: The kind of line.
        part: Name of the part it belongs to, for grouping; may be empty.
    """

    curve: Outline | Path
    layer: Layer
    part: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A line of words.

    Attributes:
        words: The text, one line.
        at: Anchor point, mm, on the base line.
        height_mm: Height of a capital letter, mm.
        angle: Direction of reading, radians counter-clockwise from x.
        anchor: Which point of the line of text the anchor is.
        layer: The layer the words are on.
    """

    words: str
    at: Point
    height_mm: float = 3.0
    angle: float = 0.0
    anchor: Literal["start", "middle", "end"] = "start"
    layer: Layer


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A flat drawing in mm, x to the right and y up, at full size.

    Attributes:
        title: Short name, unique among the drawings of a pack; becomes the file name.
        strokes: Lines in the order in which they are to be cut or drawn.
        texts: Words.
        sheet: (width, height) of the sheet it lies on, from the origin up and right, mm; None for
            a drawing without a sheet, which is as large as its lines.
    """

    title: str
    strokes: tuple[Stroke, ...]
    texts: tuple[Text, ...] = ()
    sheet: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if not self.strokes:
            raise RequestError(f"the drawing {self.title!r} is empty")

    @property
    def layers(self) -> tuple[Layer, ...]:
        """The layers in use, in the order first met."""
        items = (*(s.layer for s in self.strokes), *(t.layer for t in self.texts))
        return tuple(dict.fromkeys(items))

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top) of the sheet, or of the lines when there is none, mm."""
        if self.sheet is not None:
            return (0.0, 0.0, *self.sheet)
        return union_bounds(s.curve.bounds for s in self.strokes)


def union_bounds(
    boxes: Iterable[tuple[float, float, float, float]],
) -> tuple[float, float, float, float]:
    """Return the box round boxes given as (left, bottom, right, top)."""
    lefts, bottoms, rights, tops = zip(*boxes, strict=True)
    return (min(lefts), min(bottoms), max(rights), max(tops))
