"""The build sheet on paper: every step of one article with its numbers, picture and tick box."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from hidewright.drawing.drawing import Drawing
from hidewright.drawing.paper_text import Paragraph, paragraph, width_of
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import PAPERS_MM, Paper
from hidewright.errors import RequestError

SIDE_MM, TOP_MM, BOTTOM_MM = 14.0, 14.0, 14.0
#: Room for the picture of a step, mm: width, height.
PICTURE_MM = (58.0, 38.0)
BOX_MM = 5.0
_GAP_MM = 4.0
_LINE_MM = 5.0
_TITLE, _WORDS, _SMALL = 3.0, 2.1, 1.8
_GREY = 0.55


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """What stands at the head and foot of every page.

    Attributes:
        title: The article.
        revision: Of its design; may be empty.
        day: On which it was printed or changed, as the maker writes dates.
    """

    title: str
    revision: str
    day: str

    @property
    def told(self) -> str:
        """Revision and day in one line; what is empty is left out."""
        revision = f"revision {self.revision}" if self.revision else ""
        return " · ".join(filter(None, (revision, self.day)))


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetStep:
    """One step as it is shown.

    Attributes:
        title: What is done.
        time: Hands-on, in words.
        how: What to do.
        figures: (label, value).
        cautions: One sentence each.
        wait: What must pass before what follows; may be empty.
        measured: (what and where, what it should be) to be written in by hand.
        picture: Of exactly this step; None for one that has nothing to show. It fits
            ``PICTURE_MM``.
        once: Whether it is done with the first-off only.
    """

    title: str
    time: str
    how: str
    figures: tuple[tuple[str, str], ...] = ()
    cautions: tuple[str, ...] = ()
    wait: str = ""
    measured: tuple[tuple[str, str], ...] = ()
    picture: Drawing | None = None
    once: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A step laid out: (room above, one or two paragraphs beside one another), and its height."""

    number: int
    step: SheetStep
    time_width: float
    paragraphs: tuple[tuple[float, tuple[Paragraph, ...]], ...]
    cautions: tuple[Paragraph, ...]
    height: float


def build_sheet_pdf(stamp: Stamp, lead: str, steps: Sequence[SheetStep], paper: Paper) -> bytes:
    """Return the build sheet; a step is never broken over two pages. Equal input, equal bytes.

    Raises:
        RequestError: When the paper is not known, there is no step, or one is higher than a page.
    """
    size = paper_size(paper)
    if not steps:
        raise RequestError("a build sheet without a step")
    book = Book(f"{stamp.title}: build sheet", "build sheet")
    column = size[0] - 2 * SIDE_MM - BOX_MM - 2 * _GAP_MM - PICTURE_MM[0]
    rows = [_laid_out(step, number, column) for number, step in enumerate(steps, start=1)]
    first = paragraph(lead, size[0] - 2 * SIDE_MM, _WORDS)
    pages = list(_pages(rows, size[1], 12.0 + first.height_mm))
    for number, some in enumerate(pages, start=1):
        with book.page(size) as page:
            top = head(page, stamp, "Build sheet", f"page {number} of {len(pages)}")
            if number == 1:
                top = first.draw(page, SIDE_MM, top) - 2.0
            for row in some:
                _draw(page, row, top)
                top -= row.height
    return book.to_bytes()


def paper_size(paper: Paper) -> tuple[float, float]:
    """Return width and height of a sheet upright, mm; refuse a paper that is not known."""
    if paper not in PAPERS_MM:
        raise RequestError(f"paper {paper!r}", mend=f"Choose {' or '.join(PAPERS_MM)}")
    return PAPERS_MM[paper]


def head(page: Page, stamp: Stamp, what: str, count: str) -> float:
    """Write what the paper is at its head and foot; return where its body begins."""
    width, height = page.size_mm
    top, right = height - TOP_MM, width - SIDE_MM
    page.words(f"{stamp.title}: {what.lower()}", (SIDE_MM, top - 4.0), capital_mm=4.0, room_mm=110)
    page.words(stamp.told, (right, top - 4.0), capital_mm=_WORDS, anchor="end", room_mm=65)
    page.pen(0.4)
    page.line((SIDE_MM, top - 7.0), (right, top - 7.0))
    page.words(count, (right, BOTTOM_MM - 7.0), capital_mm=_SMALL, anchor="end")
    page.words(
        "Estimates until proved on a test piece; the makers' data sheets come first.",
        (SIDE_MM, BOTTOM_MM - 7.0),
        capital_mm=_SMALL,
    )
    return top - 11.0


def _pages(rows: Sequence[_Row], height: float, first: float) -> Iterator[list[_Row]]:
    """Yield the rows of each page, as many as there is room for."""
    whole = height - TOP_MM - BOTTOM_MM - 11.0
    room, page = whole - first, list[_Row]()
    for row in rows:
        if row.height > whole:
            raise RequestError(
                f"the step {row.step.title!r} is higher than a page", mend="Shorten its words"
            )
        if row.height > room:
            yield page
            room, page = whole, []
        page.append(row)
        room -= row.height
    yield page


def _laid_out(step: SheetStep, number: int, column: float) -> _Row:
    time_width = width_of(_timed(step), _WORDS)
    how = paragraph(step.how, column, _WORDS)
    parts: list[tuple[float, tuple[Paragraph, ...]]] = [(2.2, (how,))]
    parts += [(0.4, row) for row in _in_columns(step.figures, column)]
    if step.wait:
        parts.append((0.8, (paragraph(f"Then: {step.wait}", column, _WORDS),)))
    cautions = tuple(paragraph(words, column - 5.0, _SMALL) for words in step.cautions)
    text = 7.0 + sum(above + _highest(row) for above, row in parts)
    text += sum(1.0 + one.height_mm for one in cautions)
    text += sum(_measured_height(one, column) for one in step.measured)
    picture = 4.0 + _high(step.picture) if step.picture else 0.0
    return _Row(
        number=number,
        step=step,
        time_width=time_width,
        paragraphs=tuple(parts),
        cautions=cautions,
        height=max(text, picture) + 5.0,
    )


def _timed(step: SheetStep) -> str:
    return f"{step.time}, first-off only" if step.once else step.time


def _in_columns(
    figures: Sequence[tuple[str, str]], column: float
) -> Iterator[tuple[Paragraph, ...]]:
    """Yield figures two by two where both are short enough for half the column."""
    half = column / 2 - 2.0
    waiting: list[Paragraph] = []
    for label, value in figures:
        words = f"{label}: {value}"
        if width_of(words, _WORDS) <= half:
            waiting.append(paragraph(words, half, _WORDS))
            if len(waiting) == 2:
                yield tuple(waiting)
                waiting = []
            continue
        if waiting:
            yield tuple(waiting)
            waiting = []
        yield (paragraph(words, column, _WORDS),)
    if waiting:
        yield tuple(waiting)


def _highest(beside: Sequence[Paragraph]) -> float:
    return max(one.height_mm for one in beside)


def _high(picture: Drawing) -> float:
    _, low, _, high = picture.extent
    return high - low


def _measured_height(one: tuple[str, str], column: float) -> float:
    return paragraph(_asked(one), column - 26.0, _SMALL).height_mm + 3.0


def _asked(one: tuple[str, str]) -> str:
    what, expected = one
    return f"Measure {what}" + (f": {expected}" if expected else "")


def _draw(page: Page, row: _Row, top: float) -> None:
    step, right = row.step, page.size_mm[0] - SIDE_MM
    page.pen(0.1, grey=_GREY)
    page.line((SIDE_MM, top), (right, top))
    page.pen(0.35)
    page.box((SIDE_MM, top - 2.0 - BOX_MM, SIDE_MM + BOX_MM, top - 2.0))
    left = SIDE_MM + BOX_MM + _GAP_MM
    column = right - PICTURE_MM[0] - _GAP_MM - left
    title, room = f"{row.number}  {step.title}", column - row.time_width - 3.0
    capital = _TITLE * min(1.0, 0.999 * room / width_of(title, _TITLE))
    page.words(title, (left, top - 5.6), capital_mm=capital, room_mm=room)
    page.words(_timed(step), (left + column, top - 5.6), capital_mm=_WORDS, anchor="end")
    y = top - 7.0
    for above, beside in row.paragraphs:
        y -= above
        for i, words in enumerate(beside):
            words.draw(page, left + i * column / 2, y)
        y -= _highest(beside)
    for words in row.cautions:
        y -= 1.0
        _warn(page, left + 1.6, y - 1.0)
        y = words.draw(page, left + 5.0, y)
    for one in step.measured:
        y = _ask(page, one, left, y - 1.0, column)
    if step.picture:
        low = top - 2.0 - _high(step.picture)
        _show(page, step.picture, (right - PICTURE_MM[0], low))


def _warn(page: Page, x: float, y: float) -> None:
    """Draw a small triangle with a stroke in it: the sign of a caution."""
    page.pen(0.25)
    corners = ((x - 1.6, y - 1.2), (x + 1.6, y - 1.2), (x, y + 1.5))
    for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
        page.line(start, end)
    page.pen(0.35)
    page.line((x, y - 0.3), (x, y + 0.7))
    page.line((x, y - 0.85), (x, y - 0.65))


def _ask(page: Page, one: tuple[str, str], left: float, top: float, column: float) -> float:
    """Write what to measure and a box to write it in; return where it ends."""
    words = paragraph(_asked(one), column - 26.0, _SMALL)
    low = words.draw(page, left, top - 0.8) - 0.2
    page.pen(0.2)
    page.box((left + column - 23.0, min(low, top - _LINE_MM), left + column, top))
    return top - words.height_mm - 2.0


def _show(page: Page, drawing: Drawing, corner: tuple[float, float]) -> None:
    """Draw a picture in the middle of its column, as large as it is drawn."""
    left, bottom, right, _ = drawing.extent
    spare = PICTURE_MM[0] - (right - left)
    shift = (corner[0] + spare / 2 - left, corner[1] - bottom)
    for stroke in drawing.strokes:
        page.pen(stroke.layer.weight_mm, stroke.layer.style)
        page.curve(stroke.curve, shift)
    for text in drawing.texts:
        page.text(text, shift)
