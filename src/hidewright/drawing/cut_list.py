"""A cutting list: what is cut from which hide, as a table for the bench and for a spreadsheet."""

import csv
import io
from collections import Counter

from hidewright.design.cut_layout import CutLayout
from hidewright.drawing.cut_layout import letter_of, mark_of, plan_drawings
from hidewright.drawing.drawing import Drawing
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import PAPERS_MM, Paper
from hidewright.units.written import METRIC, Written

MARGIN_MM, ROW_MM = 18.0, 6.5
#: Begins of the columns, mm from the left margin.
COLUMNS_MM = (0.0, 14.0, 80.0, 98.0, 112.0)
HEAD = ("mark", "piece", "pieces", "grade", "hide")


def rows_of(layout: CutLayout) -> tuple[tuple[str, str, int, int, str], ...]:
    """Return (mark, piece, how many, grade, hide) of each piece on each hide."""
    counts = Counter((p.hide, p.piece) for p in layout.placements)
    return tuple(
        (
            letter_of(piece),
            layout.pieces[piece].name,
            count,
            layout.pieces[piece].grade,
            layout.hides[hide].name,
        )
        for (hide, piece), count in sorted(counts.items())
    )


def to_csv(layout: CutLayout) -> bytes:
    """Return every copy with where it lies, as comma-separated values in UTF-8."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(
        ("mark", "piece", "hide", "grade", "angle_deg", "x_mm", "y_mm", "mirrored", "pinned")
    )
    for p in sorted(layout.placements, key=lambda p: (p.hide, p.piece, p.copy)):
        piece = layout.pieces[p.piece]
        table.writerow(
            (
                mark_of(p),
                _plain(piece.name),
                _plain(layout.hides[p.hide].name),
                piece.grade,
                f"{p.angle_deg % 360.0:.3f}",
                f"{p.x_mm:.3f}",
                f"{p.y_mm:.3f}",
                "yes" if p.mirrored else "no",
                "yes" if layout.is_pinned(p.piece, p.copy) else "no",
            )
        )
    return out.getvalue().encode("utf-8-sig")


def _plain(words: str) -> str:
    """Return words that no spreadsheet takes for a formula."""
    return f"'{words}" if words[:1] in "=+-@\t\r" else words


def to_list_pdf(layout: CutLayout, paper: Paper, written: Written = METRIC) -> bytes:
    """Return the cutting list: a table to tick off, yield and waste, a plan of each hide.

    The same rounds and seed give the same bytes: how long the search took is not on it.
    """
    book = Book(f"cutting list: {layout.title}"[:120])
    width, height = PAPERS_MM[paper]
    rows = rows_of(layout)
    fits = int((height - 2 * MARGIN_MM - 60.0) // ROW_MM)
    for first in range(0, max(len(rows), 1), fits):
        with book.page((width, height)) as page:
            y = _head(page, layout, height - MARGIN_MM, written)
            page.pen(0.15)
            for row in (HEAD, *rows[first : first + fits]):
                _row(page, row, y, width)
                y -= ROW_MM
    for plan in plan_drawings(layout):
        with book.page((width, height)) as page:
            _draw_plan(page, plan)
    return book.to_bytes()


def _draw_plan(page: Page, plan: Drawing) -> None:
    width, height = page.size_mm
    top = height - MARGIN_MM
    page.words(plan.title, (MARGIN_MM, top), capital_mm=3.6, room_mm=width - 2 * MARGIN_MM)
    left, bottom, right, _ = plan.bounds
    shift = ((width - (right - left)) / 2 - left, MARGIN_MM - bottom)
    for stroke in plan.strokes:
        page.pen(0.6 * stroke.layer.weight_mm, stroke.layer.style)
        page.curve(stroke.curve, shift)
    for text in plan.texts:
        page.text(text, shift)


def _head(page: Page, layout: CutLayout, y: float, written: Written) -> float:
    room = page.size_mm[0] - 2 * MARGIN_MM
    page.words("Cutting list", (MARGIN_MM, y), capital_mm=5.0)
    lines = (
        layout.title,
        f"{layout.material}; {len(layout.placements)} pieces, "
        f"{written.length(layout.spacing_mm)} apart, "
        f"{written.length(layout.edge_margin_mm)} from the edge",
        f"{written.area(layout.taken_m2)} taken, {written.area(layout.pieces_m2)} pieces: "
        f"{layout.yield_share:.1%} yield, {1.0 - layout.yield_share:.1%} waste",
        f"found in {layout.rounds} rounds with seed {layout.seed}; checked piece by piece",
        "Lay every piece grain side up. The knife moves away from the holding hand.",
    )
    for line in lines:
        y -= 6.5
        page.words(line, (MARGIN_MM, y), capital_mm=2.6, room_mm=room)
    return y - 12.0


def _row(page: Page, row: tuple[object, ...], y: float, width: float) -> None:
    ends = (*COLUMNS_MM[1:], width - 2 * MARGIN_MM)
    for value, begin, end in zip(row, COLUMNS_MM, ends, strict=True):
        at = (MARGIN_MM + begin, y)
        page.words(str(value), at, capital_mm=2.6, room_mm=end - begin - 2.0)
    page.line((MARGIN_MM, y - 1.8), (width - MARGIN_MM, y - 1.8))
