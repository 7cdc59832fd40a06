"""One page of paper in mm, y up: the door to the PDF library."""

import io
import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cache
from importlib.resources import files

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from hidewright.drawing.drawing import LineStyle, Text
from hidewright.drawing.line_styles import CAPITAL_HEIGHT, dashes_mm
from hidewright.drawing.pdf_speed import hurry
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, Segment

#: Points to the mm: 72 to the inch of 25.4 mm.
POINTS_PER_MM = 72 / 25.4
FONT = "DejaVuSans"
#: Largest distance of a written curve from its arc, mm.
CURVE_MM = 5e-4


class Book:
    """A PDF being written, page by page; the same pages give the same bytes.

    Every file asks the reader's printing dialogue for no scaling, and carries its own letters.
    """

    def __init__(self, title: str, subject: str = "paper for the bench") -> None:
        _register_font()
        hurry()
        self._out = io.BytesIO()
        self._canvas = Canvas(
            self._out,
            invariant=1,
            pageCompression=1,
            initialFontName=FONT,  # type: ignore[arg-type]  # the stub says number
        )
        self._canvas.setTitle(title)
        self._canvas.setAuthor("")
        self._canvas.setSubject(subject)
        self._canvas.setCreator("hidewright")
        self._canvas.setViewerPreference("PrintScaling", "None")

    @contextmanager
    def page(self, size_mm: tuple[float, float]) -> Iterator["Page"]:
        """Open a page of this width and height in mm; it ends with the block."""
        self._canvas.setPageSize((size_mm[0] * POINTS_PER_MM, size_mm[1] * POINTS_PER_MM))
        yield Page(self._canvas, size_mm)
        self._canvas.showPage()

    def to_bytes(self) -> bytes:
        """Return the finished file."""
        self._canvas.save()
        return self._out.getvalue()


class Page:
    """Lines and words on one page; every measure in mm from its lower left corner."""

    def __init__(self, canvas: Canvas, size_mm: tuple[float, float]) -> None:
        self._canvas = canvas
        self.size_mm = size_mm
        self._pen: tuple[float, LineStyle, float] | None = None

    def pen(self, width_mm: float, style: LineStyle = "solid", grey: float = 0.0) -> None:
        """Set width, dashes and darkness (0 black, 1 white) of the lines that follow."""
        if (width_mm, style, grey) == self._pen:
            return
        self._pen = (width_mm, style, grey)
        self._canvas.setLineWidth(width_mm * POINTS_PER_MM)
        self._canvas.setDash([v * POINTS_PER_MM for v in dashes_mm(style)])
        self._canvas.setStrokeGray(grey)

    def line(self, start: Point, end: Point) -> None:
        """Draw a straight line."""
        self._canvas.line(*_points(start), *_points(end))

    def box(self, box: tuple[float, float, float, float]) -> None:
        """Draw a rectangle given as (left, bottom, right, top)."""
        left, bottom, right, top = (v * POINTS_PER_MM for v in box)
        self._canvas.rect(left, bottom, right - left, top - bottom)

    def filled(self, boxes: Iterable[tuple[float, float, float, float]]) -> None:
        """Fill rectangles, each given as (left, bottom, right, top), black."""
        self._canvas.setFillGray(0.0)
        path = self._canvas.beginPath()
        for box in boxes:
            left, bottom, right, top = (v * POINTS_PER_MM for v in box)
            path.rect(left, bottom, right - left, top - bottom)
        self._canvas.drawPath(path, stroke=0, fill=1)

    def curve(self, curve: Outline | Path, shift: Point = (0.0, 0.0), scale: float = 1.0) -> None:
        """Draw an outline or path: scaled about the origin, then shifted.

        Numbers have four decimals of a point, 2e-5 mm; all of a curve are written at once, as
        curves are most of what is drawn.
        """
        (x, y), of = _points(shift), scale * POINTS_PER_MM
        closed = isinstance(curve, Outline)
        ways, at = ["%.4f %.4f m"], [curve.segments[0].start]
        for segment in curve.segments:
            if segment.is_arc:
                for bezier in bezier_curves(segment):
                    ways.append("%.4f %.4f %.4f %.4f %.4f %.4f c")
                    at += bezier
            elif not (closed and segment is curve.segments[-1]):
                ways.append("%.4f %.4f l")
                at.append(segment.end)
        told = " ".join(ways) % tuple([v for a, b in at for v in (a * of + x, b * of + y)])
        self._canvas.drawPath(PDFPathObject([f"{told} h" if closed else told]))

    def words(
        self,
        words: str,
        at: Point,
        *,
        capital_mm: float,
        anchor: str = "start",
        angle: float = 0.0,
        grey: float = 0.0,
        room_mm: float = math.inf,
    ) -> None:
        """Write one line of words; smaller type, down to 0.6, then an ellipsis if room is short."""
        size, room = capital_mm / CAPITAL_HEIGHT * POINTS_PER_MM, room_mm * POINTS_PER_MM
        wide = width_at(words, size)
        if wide > room:
            size *= max(0.6, room / wide)
            words = _shortened(words, size, room)
        self._canvas.setFillGray(grey)
        self._canvas.setFont(FONT, size)
        x, y = _points(at)
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
        if back:
            back *= width_at(words, size)
        c, s = math.cos(angle), math.sin(angle)
        text = self._canvas.beginText()
        text.setTextTransform(c, s, -s, c, x - back * c, y - back * s)
        text.textOut(words)
        self._canvas.drawText(text)

    def text(self, text: Text, shift: Point) -> None:
        """Write the words of a drawing at full size, shifted."""
        at = (text.at[0] + shift[0], text.at[1] + shift[1])
        self.words(text.words, at, capital_mm=text.height_mm, anchor=text.anchor, angle=text.angle)

    @contextmanager
    def clipped(self, box: tuple[float, float, float, float]) -> Iterator[None]:
        """Show nothing outside a box while the block lasts; pens set inside end with it."""
        left, bottom, right, top = (v * POINTS_PER_MM for v in box)
        self._canvas.saveState()
        path = self._canvas.beginPath()
        path.rect(left, bottom, right - left, top - bottom)
        self._canvas.clipPath(path, stroke=0, fill=0)
        yield
        self._canvas.restoreState()
        self._pen = None


def bezier_curves(segment: Segment) -> Iterator[tuple[Point, Point, Point]]:
    """Yield the two handles and the end of each Bezier curve along an arc.

    A cubic with handles of 4/3 tan(angle/4) radii strays from its arc outward by about
    2.73e-4 (angle / 90 degrees)^6 radii at most (from memory; the test measures it). Pieces turn
    90 degrees at most, less where the radius is so large that half a micrometre would be passed:
    a hole of 2 mm takes four of them.
    """
    quarter = (CURVE_MM / (2.73e-4 * segment.radius)) ** (1 / 6)
    piece = min(quarter, 1.0) * math.pi / 2
    n = math.ceil(abs(segment.sweep) / piece - 1e-9)
    turn = segment.sweep / n
    reach = 4 / 3 * math.tan(turn / 4)
    (cx, cy), (dx, dy) = segment.centre, segment.start
    dx, dy = dx - cx, dy - cy
    for i in range(n):
        c, s = math.cos(turn), math.sin(turn)
        ex, ey = dx * c - dy * s, dx * s + dy * c
        end = (cx + ex, cy + ey) if i < n - 1 else segment.end
        yield (
            (cx + dx - dy * reach, cy + dy + dx * reach),
            (cx + ex + ey * reach, cy + ey - ex * reach),
            end,
        )
        dx, dy = ex, ey


def width_at(words: str, size: float) -> float:
    """Return the width of words at a size of type, points."""
    _register_font()
    wide: float = pdfmetrics.stringWidth(words, FONT, size)
    return wide


def _points(point: Point) -> tuple[float, float]:
    return (point[0] * POINTS_PER_MM, point[1] * POINTS_PER_MM)


def _shortened(words: str, size: float, room: float) -> str:
    """Return words with an ellipsis; of a heading the sort of paper is kept, and its name cut."""
    name, colon, sort = words.rpartition(": ")
    if not colon or width_at(colon + sort, size) > room / 2:
        name, colon, sort = words, "", ""
    while name and width_at(name + colon + sort, size) > room:
        name = name[:-2].rstrip() + "…" if len(name) > 1 else ""
    return name + colon + sort


@cache
def _register_font() -> None:
    letters = files("hidewright.drawing").joinpath("fonts", "DejaVuSans.ttf").read_bytes()
    pdfmetrics.registerFont(TTFont(FONT, io.BytesIO(letters)))
