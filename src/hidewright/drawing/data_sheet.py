"""The product data sheet: picture, sizes, weight, materials and what fits, on one page."""

from dataclasses import dataclass

from hidewright.drawing.build_sheet import BOTTOM_MM, SIDE_MM, Stamp, head, paper_size
from hidewright.drawing.drawing import Drawing
from hidewright.drawing.paper_text import paragraph
from hidewright.drawing.pdf_page import Book
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError

_TITLE, _WORDS = 2.6, 2.1
#: Room for the picture at most, and of the labels of facts, mm.
PICTURE_MM = (120.0, 90.0)
_LABEL_MM = 48.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DataSheet:
    """What a shop tells of an article.

    Attributes:
        picture: The closed article.
        chapters: (title, rows of label and value).
        notes: Sentences at the end, such as where a figure comes from.
    """

    picture: Drawing
    chapters: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    notes: tuple[str, ...] = ()


def data_sheet_pdf(sheet: DataSheet, stamp: Stamp, paper: Paper) -> bytes:
    """Return the data sheet. Equal input, equal bytes.

    Raises:
        RequestError: When the paper is not known, or there is more than fits on a page.
    """
    size = paper_size(paper)
    book = Book(f"{stamp.title}: data sheet", "data sheet")
    width = size[0] - 2 * SIDE_MM
    left, bottom, right, top = sheet.picture.extent
    scale = min(PICTURE_MM[0] / (right - left), PICTURE_MM[1] / (top - bottom), 1.0)
    with book.page(size) as page:
        at = head(page, stamp, "Data sheet", "page 1 of 1")
        at -= scale * (top - bottom)
        shift = (SIDE_MM + (width - scale * (right - left)) / 2 - scale * left, at - scale * bottom)
        for stroke in sheet.picture.strokes:
            page.pen(stroke.layer.weight_mm, stroke.layer.style)
            page.curve(stroke.curve, shift, scale)
        at -= 6.0
        for title, rows in sheet.chapters:
            at = paragraph(title, width, _TITLE).draw(page, SIDE_MM, at) - 0.6
            for label, value in rows:
                name = paragraph(label, _LABEL_MM - 3.0, _WORDS)
                words = paragraph(value, width - _LABEL_MM, _WORDS)
                name.draw(page, SIDE_MM, at)
                words.draw(page, SIDE_MM + _LABEL_MM, at)
                at -= max(name.height_mm, words.height_mm) + 0.5
            at -= 2.5
        for note in sheet.notes:
            at = paragraph(note, width, 1.8).draw(page, SIDE_MM, at) - 0.6
    if at < BOTTOM_MM:
        raise RequestError("a data sheet that is longer than a page", mend="Name fewer things")
    return book.to_bytes()
