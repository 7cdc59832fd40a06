"""Full-size patterns of pieces and tools: true size, nothing over one another, words to be read."""

import math
from dataclasses import replace
from functools import cache, partial
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
import shapely
import shapely.affinity

from coarse_cache import CACHE
from hidewright.drawing.drawing import Drawing, Layer, Text
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.paper_text import width_of
from hidewright.drawing.pdf import patterns_to_pdf, to_pdf
from hidewright.drawing.pdf_page import Book
from hidewright.drawing.tiles import (
    BOTTOM_STRIP_MM,
    EDGE_MM,
    INSIDE_MM,
    LEFT_STRIP_MM,
    MARK_MM,
    PAPERS_MM,
    Paper,
    tile,
    window_size,
)
from hidewright.geometry.outline import Outline
from hidewright.store.design_file import read_design
from hidewright.units.written import Written
from hidewright.workshop import article
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.patterns import CENTRE, CUT, HOLE, LIE, MAGNET, PUNCH, WALL, ZONE
from hidewright.workshop.tool_patterns import DRILL, INSIDE, LEFT_OUT, MARK, OUTSIDE, tool_drawings
from pdf_read import pages_of

EXAMPLES = sorted(p.stem for p in Path("examples").glob("*.yaml"))
TOOLS = ("mouldings", "trim templates", "pricking templates", "blocks", "jigs")
DRAWINGS = ("piece drawings", "cover drawings", "blank drawings")
PAPERS: tuple[Paper, ...] = ("A4", "Letter")
#: Capitals lower than this cannot be read at the bench, mm: 6 point type, common practice.
LEAST_MM = 1.54


@cache
def values_of(name: str) -> Any:
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    wanted = ("magnets", "forming pictures", *DRAWINGS, *TOOLS)
    return evaluate(article.NODES, inputs_of(spec, "A4"), wanted, CACHE).values


def parts_of(name: str) -> list[Any]:
    """Return the parts that are drawn: of glue jigs and trial blocks neither plates nor shims."""
    values = values_of(name)
    moulds = [part for moulding in values["mouldings"][0] for part in moulding.tool.parts]
    more = [part for node in TOOLS[1:] for part in values[node][0]]
    kept = [part for part in (*moulds, *more) if part.role not in LEFT_OUT]
    return [part for part in kept if not part.name.endswith(" trial shim")]


def test_neither_plates_nor_shims_of_a_trial_block_are_drawn() -> None:
    values = values_of("lens-case")
    every = [part for node in TOOLS[1:] for part in values[node][0]]
    assert any(part.name.endswith(" trial shim") for part in every)
    told = [text.words for drawing in tool_drawings(every, "A4") for text in drawing.texts]
    assert told
    assert not any("trial" in words for words in told)


@pytest.mark.parametrize("name", ["lens-case", "forceps-pocket", "specimen-tray"])
def test_every_part_of_a_pack_is_on_the_tools_paper_or_its_first_page_says_where(name: str) -> None:
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    wanted = ("tool files", "mouldings", *TOOLS[1:])
    values = evaluate(article.NODES, inputs_of(spec, "A4"), wanted, CACHE).values
    ((_, first), *_) = pages_of(values["tool files"]["patterns/tools A4.pdf"])
    heads = [words for words, _, _ in sorted(first, key=lambda one: -one[2])]
    said = " ".join(words for words in heads if "tools" not in words)
    gone = [part for node in TOOLS[1:] for part in values[node][0] if part.role in LEFT_OUT]
    assert ("Not drawn" in said) == bool(gone)
    for part in gone:
        of = part.of_block
        assert (f"{of.partition(' glue jig')[0]} glue jig" if "glue jig" in of else of) in said
    assert said.count(" glue jig") == len(
        {p.name.partition(" glue")[0] for p in gone if " glue jig" in p.name}
    )


def standing(part: Any) -> Any:
    """Return a part's cuts as lines, its left lower corner at the origin, marks left out."""
    cuts = (part.outline, *(h.outline for h in part.holes if h.purpose != "mark"))
    left, bottom, _, _ = part.outline.bounds
    return shapely.MultiLineString([c.moved(-left, -bottom).flat_points(0.05) for c in cuts])


def box(text: Text) -> Any:
    return shapely.Polygon(text.corners)


def lines(drawing: Drawing, *layers: Layer) -> list[Any]:
    """Return the lines on some layers, on all when none is named."""
    return [
        shapely.LineString(s.curve.flat_points(0.05))
        for s in drawing.strokes
        if not layers or s.layer in layers
    ]


@pytest.mark.parametrize("name", EXAMPLES)
def test_words_on_a_piece_can_be_read_and_lie_over_nothing(name: str) -> None:
    for drawing in values_of(name)["piece drawings"]:
        boxes = [box(text) for text in drawing.texts]
        assert min(text.height_mm for text in drawing.texts) >= LEAST_MM, drawing.title
        assert len({text.height_mm for text in drawing.texts[1:]}) == 1, "lines of several sizes"
        for one, two in combinations(boxes, 2):
            assert one.intersection(two).area < 1e-6, drawing.title
        for line in lines(drawing, CUT, PUNCH, HOLE, LIE):
            assert not any(line.intersects(words) for words in boxes), drawing.title


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_arrow_along_the_backbone_crosses_no_line_of_a_piece(name: str) -> None:
    for drawing in values_of(name)["piece drawings"]:
        arrow = shapely.MultiLineString(lines(drawing, LIE))
        others = lines(drawing, CUT, WALL, ZONE, HOLE, PUNCH)
        assert min(line.distance(arrow) for line in others) > 0.75, drawing.title


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_blank_shows_how_it_lies_and_where_its_middle_is(name: str) -> None:
    """All marks are on leather, the arrow along the backbone that it was pressed by."""
    values = values_of(name)
    for moulding, drawing in zip(values["mouldings"][0], values["blank drawings"], strict=True):
        leather = moulding.cut.polygon.buffer(0.05)
        shaft, *_ = arrow = lines(drawing, LIE)
        (x0, y0), (x1, y1) = shaft.coords
        lean = math.atan2(x0 - x1, y1 - y0) - moulding.soaking.angle
        assert math.sin(lean) == pytest.approx(0.0, abs=1e-9)
        ticks = lines(drawing, CENTRE)
        assert len(arrow) == 5
        assert len(ticks) == 4
        assert all(leather.covers(line) for line in (*arrow, *ticks))
        assert all(leather.exterior.distance(line) < 0.1 for line in ticks)
        words = [box(text) for text in drawing.texts]
        assert not any(line.intersects(one) for line in (*arrow, *ticks) for one in words)


@pytest.mark.parametrize("name", EXAMPLES)
def test_no_line_on_a_tool_is_lost_between_dashes(name: str) -> None:
    """An arrow of two short strokes, drawn in dashes, would be one stroke and a dot."""
    drawn = [s for d in tool_drawings(parts_of(name), "A4") for s in d.strokes]
    dashed = [s.curve.length for s in drawn if s.layer.style == "dashed"]
    assert min(dashed) > 15.0
    assert any(s.layer == MARK for s in drawn)


def test_magnets_are_shown_where_they_are_seated() -> None:
    values = values_of("forceps-pocket")
    seats = {}
    for drawing in values["piece drawings"]:
        for line in lines(drawing, MAGNET):
            (x, y), wide = line.centroid.coords[0], line.bounds[2] - line.bounds[0]
            seats[drawing.title] = (round(x, 2), round(y, 2), round(wide, 1))
    wanted = {
        m.piece: (round(m.at[0], 2), round(m.at[1], 2), m.magnet.diameter_mm)
        for m in values["magnets"]
    }
    assert seats == wanted
    assert all(MAGNET.name.encode() in to_dxf(d) for d in values["piece drawings"])
    assert len(seats) == 2


@pytest.mark.parametrize("name", EXAMPLES)
def test_words_of_a_section_stand_clear_of_one_another(name: str) -> None:
    Book("widths")  # carries the letters
    for drawing in (d for one in values_of(name)["forming pictures"] for _, d in one.sections):
        taken = [
            (t.words, shapely.Polygon(t.corners_of(width_of(t.words, t.height_mm))))
            for t in drawing.texts
        ]
        for (one, here), (two, there) in combinations(taken, 2):
            assert not here.intersects(there), f"{drawing.title}: {one!r} over {two!r}"


def full_size(name: str, paper: Paper) -> list[Drawing]:
    """Return all drawings of an article that are printed at full size."""
    values = values_of(name)
    forming = [
        d
        for one in values["forming pictures"]
        for d in (one.pull_in, *(section for _, section in one.sections))
    ]
    own = [d for node in DRAWINGS for d in values[node]]
    return [*own, *tool_drawings(parts_of(name), paper), *forming]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_no_word_crosses_a_seam_and_no_sheet_shows_words_alone(name: str, paper: Paper) -> None:
    """Whatever a sheet shows of words it shows whole, and it shows lines as well."""
    Book("widths")  # carries the letters
    for drawing in full_size(name, paper):
        tiling = tile(drawing, paper, width_of)
        windows = [shapely.box(*w.box) for w in tiling.windows]
        for text in drawing.texts:
            corners = text.corners_of(width_of(text.words, text.height_mm))
            whole = [window.covers(shapely.Polygon(corners)) for window in windows]
            assert any(whole), f"{drawing.title}: {text.words!r} is cut by the edge of a sheet"
        for window in windows:
            inner = shapely.box(*window.buffer(-INSIDE_MM, join_style="mitre").bounds)
            assert any(inner.intersects(line) for line in lines(drawing)), drawing.title


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_names_of_boards_stay_as_they_are_in_inches_wherever_lines_are_broken(
    name: str, paper: Paper
) -> None:
    parts = parts_of(name)
    boards = {part.board.name for part in parts if part.board.material != "card"}
    say = partial(Written(lengths="in").words, names=frozenset(part.board.name for part in parts))
    for drawing in tool_drawings(parts, paper, say):
        told = " ".join(text.words for text in drawing.texts)
        for board in boards:
            told = told.replace(board, "")
        assert " mm" not in told
        assert not any(board.split()[0] in told for board in boards), told


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["forceps-pocket", "specimen-tray"])
def test_words_are_printed_on_the_sheets_that_show_them_whole(name: str, paper: Paper) -> None:
    drawings = tool_drawings(parts_of(name), paper)
    printed = pages_of(patterns_to_pdf(drawings, paper, "tools"))
    sheets = iter(printed[math.ceil(len(drawings) / 6) :])
    for drawing in drawings:
        for window in tile(drawing, paper, width_of).windows:
            told = [words for words, _, _ in next(sheets)[1]]
            box_ = shapely.box(*window.box)
            for text in drawing.texts:
                corners = text.corners_of(width_of(text.words, text.height_mm))
                assert (text.words in told) == box_.covers(shapely.Polygon(corners))
    assert next(sheets, None) is None


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", EXAMPLES)
def test_words_of_tools_lie_over_no_line_and_take_no_sheet_more(name: str, paper: Paper) -> None:
    for drawing in tool_drawings(parts_of(name), paper):
        bare = replace(drawing, texts=())
        assert len(tile(drawing, paper).windows) == len(tile(bare, paper).windows), "a sheet more"
        boxes = [box(text) for text in drawing.texts]
        for line in lines(drawing):
            assert not any(line.intersects(words) for words in boxes), drawing.title


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_tool_is_drawn_once_at_its_true_size(name: str) -> None:
    shapes: list[tuple[Any, Any, set[Any]]] = []  # polygon at the origin, part, marks
    for part in parts_of(name):
        moved = standing(part)
        found = next((one for one in shapes if one[0].equals_exact(moved, 1e-3)), None)
        if found is None:
            found = (moved, part, set())
            shapes.append(found)
        if part.outline == found[1].outline:
            found[2].update(h for h in part.holes if h.purpose == "mark")
    strokes = [s for drawing in tool_drawings(parts_of(name), "A4") for s in drawing.strokes]
    outsides = [s.curve for s in strokes if s.layer == OUTSIDE and isinstance(s.curve, Outline)]
    sizes = sorted((round(p.outline.area, 6), round(p.outline.length, 6)) for _, p, _ in shapes)
    assert sorted((round(c.area, 6), round(c.length, 6)) for c in outsides) == sizes
    cut = [h for _, p, _ in shapes for h in p.holes if h.purpose != "mark"]
    holes = sum(h.outline.length for h in (*cut, *(h for _, _, some in shapes for h in some)))
    inner = sum(s.curve.length for s in strokes if s.layer in (INSIDE, DRILL))
    assert inner == pytest.approx(holes)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["lens-case", "trowel-cover"])
def test_tools_on_a_sheet_lie_beside_one_another_with_their_words(name: str, paper: Paper) -> None:
    counted = 0
    room = window_size(PAPERS_MM[paper])
    for drawing in tool_drawings(parts_of(name), paper):
        shapes = [
            shapely.Polygon(s.curve.flat_points(0.05))
            for s in drawing.strokes
            if s.layer == OUTSIDE
        ]
        boxes = [box(text) for text in drawing.texts]
        captions = [text.words for text in drawing.texts if " in all: " in text.words]
        assert len(captions) == len(shapes)
        # words of a part that is larger than a sheet stand within it
        within = len(shapes) == 1 and boxes[0].bounds[1] > shapes[0].bounds[1]
        for one, two in combinations((*([] if within else shapes), *boxes), 2):
            assert one.intersection(two).area < 1e-6, drawing.title
        if len(shapes) > 1 or (shapes[0].bounds[2] < room[0] - 2 and shapes[0].bounds[3] < 200):
            assert len(tile(drawing, paper).windows) == 1, drawing.title
        counted += sum(int(words.split(" in all: ")[0]) for words in captions)
    assert counted == sum(part.count for part in parts_of(name))


@pytest.mark.parametrize("name", ["trowel-cover", "forceps-pocket"])
def test_what_a_sheet_joins_is_written_clear_of_lines_and_crosses(name: str) -> None:
    origin = (EDGE_MM + LEFT_STRIP_MM, EDGE_MM + BOTTOM_STRIP_MM)
    joins = 0
    # between the mouths that a pull-in shows and a cross there may be no room
    for drawing in (d for d in full_size(name, "A4") if not d.title.endswith("pull-in")):
        tiling = tile(drawing, "A4", width_of)
        taken = [
            *lines(drawing),
            *(shapely.Point(at).buffer(MARK_MM, cap_style="square") for at in tiling.marks),
        ]
        told = [words for _, words in pages_of(to_pdf(drawing, "A4"))[1:]]
        for window, words in zip(tiling.windows, told, strict=True):
            left, bottom = (w - o for w, o in zip(window.box, origin, strict=False))
            for word, x, y in (w for w in words if w[0].startswith("joins ")):
                joins += 1
                wide = width_of(word, 2.0)
                lies = word.split()[1][:-1] != window.name[:-1]
                box = (0.0, 0.0, wide, 2.0) if lies else (-2.0, 0.0, 0.0, wide)
                here = shapely.affinity.translate(shapely.box(*box), x + left, y + bottom)
                assert not any(one.intersects(here) for one in taken), (drawing.title, word)
    assert joins > 10


def test_a_legend_tells_solid_lines_apart_by_their_sample() -> None:
    """A hole, a punched hole, an arrow and a tick each look like themselves."""
    samples = {layer.name: layer.sample for layer in (HOLE, PUNCH, LIE, CENTRE, CUT)}
    assert len(set(samples.values())) == len(samples)
    (front, *_) = values_of("lens-case")["piece drawings"]
    plain = Drawing(
        title=front.title,
        strokes=tuple(s for s in front.strokes if s.layer == CUT),
        texts=front.texts,
    )
    told = [w for w, _, _ in pages_of(to_pdf(front, "A4"))[0][1]]
    assert {"stitch hole", "punch", "backbone direction"} <= set(told)
    assert "stitch hole" not in [w for w, _, _ in pages_of(to_pdf(plain, "A4"))[0][1]]
