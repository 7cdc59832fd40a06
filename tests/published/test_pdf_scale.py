"""The scale of the paper patterns, read back from the PDF with an independent library.

A PDF point is 1/72 in (ISO 32000-1, 8.3.2.3); an inch is 25.4 mm; A4 is 210 by 297 mm (ISO 216);
Letter is 8 1/2 by 11 in (ANSI/ASME Y14.1). PrintScaling None asks for no scaling (ISO 32000-1,
table 150).
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np
import pikepdf
import pytest

from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text
from hidewright.drawing.pdf import patterns_to_pdf, to_pdf
from hidewright.drawing.tiles import PAPERS_MM, Paper, tile
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import line
from hidewright.geometry.shapes import circle, rectangle
from hidewright.units.written import Written

MM = 72 / 25.4
CUT = Layer(name="cut outside", weight_mm=0.35)
FOLD = Layer(name="fold", style="dashed")
PAPERS: tuple[Paper, ...] = ("A4", "Letter")


def pattern(width: float = 330.0, height: float = 220.0) -> Drawing:
    return Drawing(
        title="field case, front",
        strokes=(
            Stroke(curve=rectangle(width, height, 25.0), layer=CUT),
            Stroke(curve=circle(40.0), layer=CUT),
            Stroke(curve=Path((line((-width / 2 + 9, 1), (width / 2 - 9, 1)),)), layer=FOLD),
        ),
        texts=(Text(words="grain side → up, š ő", at=(20.0, 50.0), layer=FOLD),),
    )


@dataclass
class Lines:
    """What one page draws, mm: each path as its points, with the width of its pen."""

    paths: list[np.ndarray[tuple[int, ...], np.dtype[np.float64]]] = field(default_factory=list)
    widths: list[float] = field(default_factory=list)


def lines_of(page: pikepdf.Page) -> Lines:
    out, width = Lines(), 0.0
    points: list[list[float]] = []
    for instruction in pikepdf.parse_content_stream(page):
        assert isinstance(instruction, pikepdf.ContentStreamInstruction)
        name = str(instruction.operator)
        values = [v for v in instruction.operands if isinstance(v, (int, float, Decimal))]
        numbers = [float(v) / MM for v in values]
        if name == "cm":  # every coordinate is then the page's own
            assert [float(v) for v in values] == [1, 0, 0, 1, 0, 0]
        elif name == "w":
            width = numbers[0]
        elif name in ("m", "l"):
            points.append(numbers)
        elif name == "c":
            points.append(numbers[4:])  # quarter points of a circle are ends of curves
        elif name == "re":
            x, y, w, h = numbers
            points += [[x, y], [x + w, y + h]]
        elif name in ("S", "s", "n"):
            if name != "n" and points:  # n ends a path that only clips
                out.paths.append(np.array(points))
                out.widths.append(width)
            points = []
    return out


def sheets(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Page]:
    yield from list(pdf.pages)[1:]  # the first is the overview


def opened(data: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(data))


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_is_a_sheet_of_the_paper_upright_or_lying(paper: Paper) -> None:
    size = sorted(PAPERS_MM[paper])
    assert size == pytest.approx({"A4": [210, 297], "Letter": [8.5 * 25.4, 11 * 25.4]}[paper])
    for drawing in (pattern(), pattern(240.0, 120.0)):
        for page in opened(to_pdf(drawing, paper)).pages:
            left, bottom, right, top = (float(page.mediabox[i]) for i in range(4))
            assert (left, bottom) == (0, 0)
            assert sorted((right / MM, top / MM)) == pytest.approx(size, abs=1e-3)


@pytest.mark.parametrize("paper", PAPERS)
def test_every_sheet_has_a_bar_of_a_hundred_millimetres_each_way(paper: Paper) -> None:
    pdf = opened(to_pdf(pattern(), paper))
    assert len(pdf.pages) > 2
    for page in sheets(pdf):
        spans = [np.ptp(p, axis=0) for p in lines_of(page).paths if len(p) == 2]
        level = [s[0] for s in spans if s[1] == 0 and 90 < s[0] < 110]
        upright = [s[1] for s in spans if s[0] == 0 and 90 < s[1] < 110]
        assert level == pytest.approx([100.0], abs=0.01)
        assert upright == pytest.approx([100.0], abs=0.01)


@pytest.mark.parametrize("paper", PAPERS)
def test_in_inches_every_bar_is_four_inches_long_and_parted_in_halves(paper: Paper) -> None:
    """1 in = 25.4 mm exactly (international yard and pound agreement, 1959)."""
    pdf = opened(patterns_to_pdf([pattern()], paper, "kit", Written(lengths="in")))
    for page in sheets(pdf):
        lines = [p for p in lines_of(page).paths if len(p) == 2]
        level = [p for p in lines if np.ptp(p[:, 1]) == 0 and np.ptp(p[:, 0]) > 90]
        bar = next(p for p in level if np.ptp(p[:, 0]) == pytest.approx(4 * 25.4, abs=0.01))
        ticks = {
            round(float(p[0, 0] - bar[0, 0]) / 12.7, 3)
            for p in lines
            if p[0, 0] == p[1, 0] and p[0, 1] == bar[0, 1] and 1.0 < np.ptp(p[:, 1]) < 5.0
        }
        assert ticks == set(range(9))


@pytest.mark.parametrize("paper", PAPERS)
def test_the_outline_spans_its_true_size_on_each_sheet(paper: Paper) -> None:
    pdf = opened(to_pdf(pattern(), paper))
    for page in sheets(pdf):
        drawn = lines_of(page)
        pairs = zip(drawn.paths, drawn.widths, strict=True)
        outlines = [p for p, width in pairs if width == pytest.approx(0.35, abs=1e-4)]
        largest = max((np.ptp(p, axis=0) for p in outlines), key=lambda s: float(s[0]))
        assert largest == pytest.approx([330.0, 220.0], abs=0.01)


def test_the_same_place_of_the_drawing_lies_at_the_same_cross_on_both_sheets() -> None:
    drawing = pattern()
    tiling = tile(drawing, "A4")
    corner = np.array([[-330.0 / 2 + 25.0, -110.0]])  # where the outline begins
    crosses = []
    for page in sheets(opened(to_pdf(drawing, "A4"))):
        drawn = lines_of(page)
        pairs = list(zip(drawn.paths, drawn.widths, strict=True))
        big = next(p for p, w in pairs if w == pytest.approx(0.35, abs=1e-4))
        arms = [p for p, w in pairs if w == pytest.approx(0.15, abs=1e-4) and p[0, 1] == p[1, 1]]
        crosses.append({tuple((p.mean(axis=0) - big[0]).round(2)) for p in arms})
    assert len(tiling.windows) == len(crosses) == 2
    expected = {tuple((np.array(m) - corner[0]).round(2)) for m in tiling.marks}
    assert len(expected) >= 2
    assert crosses[0] == crosses[1] == expected


def test_the_dialogue_is_asked_for_no_scaling_and_every_font_is_inside() -> None:
    pdf = opened(patterns_to_pdf([pattern(), pattern(90.0, 70.0)], "A4", "kit"))
    assert pdf.Root.ViewerPreferences.PrintScaling == pikepdf.Name("/None")
    fonts = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary)]
    fonts = [o for o in fonts if o.get("/Type") == "/Font"]
    assert fonts
    for font in fonts:
        assert "DejaVuSans" in str(font.BaseFont)
        assert "/FontFile2" in font.FontDescriptor
