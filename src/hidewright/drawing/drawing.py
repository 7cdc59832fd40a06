"""What a writer needs to know: strokes on named layers and a few words, all in mm."""

import math
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point

LineStyle = Literal["solid", "dashed", "dotted", "dash-dot"]

#: Room kept for a letter, over the height of a capital: wider than all but a run of W and M.
LETTER_WIDTH = 0.95
#: Room kept under the base line for g and y, over the height of a capital.
LETTER_DROP = 0.35


Sample = Literal["line", "small ring", "ring", "arrow", "tick"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One kind of line, told apart by its name and, in black and white, by its style.

    Attributes:
        name: What is done along the line, such as ``cut inside``; unique in a drawing.
        style: Dash style on screen and paper; cut files use it as line type only.
        weight_mm: Line width on paper and screen, mm.
        sample: What it looks like in a legend: a line, a small or large ring, an arrow, a tick.
    """

    name: str
    style: LineStyle = "solid"
    weight_mm: float = 0.25
    sample: Sample = "line"


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

    def __post_init__(self) -> None:
        _must_be_one_line("the words", self.words)

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Corners of the room kept for the words, mm, counter-clockwise; an estimate of width."""
        return self.corners_of(LETTER_WIDTH * self.height_mm * len(self.words))

    def corners_of(self, width: float) -> tuple[Point, Point, Point, Point]:
        """Return the corners of the words where they are so wide, mm, counter-clockwise."""
        left = {"start": 0.0, "middle": -width / 2, "end": -width}[self.anchor]
        low, high = -LETTER_DROP * self.height_mm, self.height_mm
        c, s = math.cos(self.angle), math.sin(self.angle)
        x, y = self.at
        box = ((left, low), (left + width, low), (left + width, high), (left, high))
        one, two, three, four = ((x + u * c - v * s, y + u * s + v * c) for u, v in box)
        return one, two, three, four


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
        _must_be_one_line("the title", self.title)
        names = [layer.name for layer in self.layers]
        for name in names:
            _must_be_one_line("the layer's name", name)
            if names.count(name) > 1:
                raise RequestError(
                    f"the drawing {self.title!r} has two kinds of line called {name!r}"
                )
        for part in dict.fromkeys(s.part for s in self.strokes):
            _must_be_one_line("the part's name", part)

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

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top) of the sheet, or of lines and words without one, mm."""
        if self.sheet is not None:
            return self.bounds
        corners = [p for t in self.texts for p in t.corners]
        return union_bounds([self.bounds, *((x, y, x, y) for x, y in corners)])


def union_bounds(
    boxes: Iterable[tuple[float, float, float, float]],
) -> tuple[float, float, float, float]:
    """Return the box round boxes given as (left, bottom, right, top)."""
    lefts, bottoms, rights, tops = zip(*boxes, strict=True)
    return (min(lefts), min(bottoms), max(rights), max(tops))


def _must_be_one_line(what: str, words: str) -> None:
    """Refuse line breaks and control characters, which would break a file into other parts."""
    for letter in words:
        if unicodedata.category(letter) in ("Cc", "Cs", "Cn", "Zl", "Zp"):
            raise RequestError(
                f"{what} {words!r}",
                because=f"the character U+{ord(letter):04X} cannot be drawn",
                mend="Give one line of plain words",
            )
