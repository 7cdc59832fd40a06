"""Flat pictures of pieces and seams: sizes told are sizes measured, every hole is there once."""

import itertools
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from coarse_cache import CACHE
from hidewright.design.design import Design
from hidewright.design.piece import Piece
from hidewright.design.seam import SewnSeam
from hidewright.design.states import DryOutline
from hidewright.geometry.outline import Outline
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.tooling_chain import Leathers
from hidewright.workshop.views.flat_view import pieces_view
from hidewright.workshop.views.handles import handles_of
from hidewright.workshop.views.rows import Cell, laid_in_rows, laid_within
from hidewright.workshop.views.seams_view import seams_view
from hidewright.workshop.views.svg_view import USUAL, FlatView, Handle
from hidewright.workshop.views.thumbnail import thumbnail

SVG = "{http://www.w3.org/2000/svg}"
NAMES = sorted(demo_designs())
Point = tuple[float, float]


@dataclass(frozen=True)
class Made:
    """A demo design with its seams sewn."""

    name: str
    design: Design
    sewn: tuple[SewnSeam, ...]
    leathers: Leathers
    handles: tuple[Handle, ...]


@pytest.fixture(scope="module", params=NAMES)
def made(request: pytest.FixtureRequest) -> Made:
    return _made(request.param)


@pytest.fixture(scope="module")
def pouch() -> Made:
    return _made("compass-pouch.yaml")


def _made(name: str) -> Made:
    spec = read_design(demo_designs()[name], name=name).specification
    wanted = ("design", "sewn", "all leathers")
    values = evaluate(article.NODES, inputs_of(spec, "A4"), wanted, CACHE).values
    return Made(
        name, values["design"][0], values["sewn"][0], values["all leathers"], handles_of(spec)
    )


def _pieces(made: Made, unit: Any = "mm") -> FlatView:
    return pieces_view(made.design, made.sewn, made.leathers, unit, made.handles)


def layer(view: FlatView, name: str) -> ET.Element:
    return next(g for g in ET.fromstring(view.svg).iter(f"{SVG}g") if g.get("data-layer") == name)


def subpaths(path: ET.Element) -> list[list[Point]]:
    """Return the points that each subpath of a path names, relative ones not followed."""
    found = []
    for data in re.findall(r"M[^M]*", path.get("d", "")):
        numbers = [
            float(v) for v in re.findall(r"-?\d+\.?\d*", re.sub(r"A\S+ \S+ 0 0 \d", "L", data))
        ]
        found.append(list(zip(numbers[::2], numbers[1::2], strict=False)))
    return found


def told_sizes(view: FlatView) -> Iterator[tuple[str, float]]:
    """Yield (words, distance between the tips of its arrowheads) of each size that has two."""
    items = list(layer(view, "size"))
    for one, two in itertools.pairwise(items):
        if one.get("class") == "arrow" and two.tag == f"{SVG}text":
            heads = subpaths(one)
            if len(heads) == 2:
                yield two.text or "", math.dist(heads[0][0], heads[1][0])


def number_of(words: str) -> float:
    return float(re.findall(r"-?\d+\.?\d*", words)[-1])


def shift_of(view: FlatView, made: Made, piece: Piece) -> Point:
    """Return where a piece's origin lies, y down: its leather begins where its outline does."""
    skins = [p for p in layer(view, "leather") if p.get("class") is None]
    x, y = subpaths(skins[made.design.pieces.index(piece)])[0][0]
    u, v = piece.outline.segments[0].start
    return (x - u, y + v)


def measured(outline: Outline) -> tuple[float, float]:
    points = outline.flat_points(1e-5)
    wide, high = np.ptp(points, axis=0)
    return float(wide), float(high)


# -- sizes ----------------------------------------------------------------------------------------


def test_every_size_tells_the_distance_between_its_arrows(made: Made) -> None:
    told = list(told_sizes(_pieces(made)))
    assert len(told) >= 2 * len(made.design.pieces)
    for words, apart in told:
        assert number_of(words) == pytest.approx(apart, abs=0.0501), words


def test_width_and_height_of_every_piece_and_hollow_are_told(made: Made) -> None:
    told = sorted(number_of(words) for words, _ in told_sizes(_pieces(made)))
    outlines = [p.outline for p in made.design.pieces]
    outlines += [z.outline for p in made.design.pieces for z in p.zones]
    for wanted in sorted(v for o in outlines for v in measured(o)):
        near = min(told, key=lambda v: abs(v - wanted))
        assert near == pytest.approx(wanted, abs=0.0501)
        told.remove(near)
    # what is left are the flanges, at most one a piece
    assert len(told) <= len(made.design.pieces)


def test_sizes_in_inches_are_the_same_lengths(pouch: Made) -> None:
    for words, apart in told_sizes(_pieces(pouch, "in")):
        assert words.endswith(" in")
        whole, fraction = re.match(r"(\d*\.?\d*(?!/))?\s?(\d+/\d+)? in", words).groups()  # type: ignore[union-attr]
        part = 0.0
        if fraction:
            part = int(fraction.split("/")[0]) / int(fraction.split("/")[1])
        assert (float(whole or 0) + part) * 25.4 == pytest.approx(apart, abs=0.13), words


# -- holes and lines ------------------------------------------------------------------------------


def test_every_stitch_hole_is_drawn_once_where_it_is(made: Made) -> None:
    if not made.sewn:
        return
    view = _pieces(made)
    drawn = [
        (sum(p[0] for p in s) / 2, sum(p[1] for p in s) / 2)
        for path in layer(view, "stitch")
        for s in subpaths(path)
    ]
    wanted = []
    for seam in made.sewn:
        for one in seam.layers:
            dx, dy = shift_of(view, made, made.design.piece(one.piece))
            wanted += [(h.at[0] + dx, dy - h.at[1]) for h in one.holes]
    away = np.hypot(*(np.array(wanted)[:, None] - np.array(drawn)).T)
    assert away.min(axis=0).max() < 2e-3
    assert sorted(away.argmin(axis=0)) == [*range(len(drawn))]


def test_slits_lean_as_they_are_pricked(pouch: Made) -> None:
    view = _pieces(pouch)
    drawn = {}
    for path in layer(view, "stitch"):
        for (x0, y0), (x1, y1) in subpaths(path):
            at = (round((x0 + x1) / 2, 1), round((y0 + y1) / 2, 1))
            drawn[at] = math.atan2(y0 - y1, x1 - x0)
    for seam in pouch.sewn:
        for one in seam.layers:
            dx, dy = shift_of(view, pouch, pouch.design.piece(one.piece))
            for hole in one.holes:
                x, y = hole.at[0] + dx, dy - hole.at[1]
                _, angle = min((math.dist(p, (x, y)), a) for p, a in drawn.items())
                assert hole.slant is not None
                assert math.remainder(angle - hole.slant, math.pi) == pytest.approx(0.0, abs=1e-3)


def test_punched_holes_folds_and_hollows_are_drawn_once(made: Made) -> None:
    view, pieces = _pieces(made), made.design.pieces
    present = {name for name, _, _ in view.layers}
    folds = sum(len(p.folds) for p in pieces)
    assert ("fold" in present) == (folds > 0)
    if folds:
        assert len(layer(view, "fold")) == folds
    hollows = layer(view, "hollow")
    assert len(hollows.findall(f"{SVG}g")) == sum(len(p.zones) for p in pieces)
    slits = sum(h.slit is not None for p in pieces for h in p.holes)
    holes = sum(len(p.holes) for p in pieces)
    if holes:
        assert len(layer(view, "punch")) == holes + slits


# -- every view -----------------------------------------------------------------------------------


def views(made: Made) -> list[FlatView]:
    seams = seams_view(made.design, made.sewn, "mm")
    return [_pieces(made), *([seams] if seams else [])]


def test_layers_in_the_svg_are_those_told(made: Made) -> None:
    for view in views(made):
        groups = [g.get("data-layer") for g in ET.fromstring(view.svg).iter(f"{SVG}g")]
        assert [g for g in groups if g] == [name for name, _, _ in view.layers]


def test_views_have_words_for_those_who_do_not_see_them(made: Made) -> None:
    for view in views(made):
        assert made.design.name in view.alt
        assert ET.fromstring(view.svg).get("aria-label") == view.alt
    for piece in made.design.pieces:
        assert piece.name in _pieces(made).alt


def test_colour_is_left_to_the_stylesheet(made: Made) -> None:
    for svg in (*(v.svg for v in views(made)), thumbnail(made.design)):
        for element in ET.fromstring(svg).iter():
            assert not {"fill", "stroke", "style", "color"} & set(element.keys())


def test_all_of_a_view_lies_in_its_frame(made: Made) -> None:
    for view in views(made):
        left, top, width, height = view.frame
        root = ET.fromstring(view.svg)
        assert [float(v) for v in root.get("viewBox", "").split()] == pytest.approx(
            view.frame, abs=1e-4
        )
        paths = [p for p in root.iter(f"{SVG}path") if "a" not in p.get("d", "")]
        points = [p for path in paths for s in subpaths(path) for p in s]
        points += [(float(t.get("x", 0)), float(t.get("y", 0))) for t in root.iter(f"{SVG}text")]
        for x, y in points:
            assert left <= x <= left + width
            assert top <= y <= top + height


def test_strokes_keep_their_width_at_every_zoom(made: Made) -> None:
    for view in views(made):
        root = ET.fromstring(view.svg)
        clips = {p for clip in root.iter(f"{SVG}clipPath") for p in clip}
        for path in root.iter(f"{SVG}path"):
            assert path in clips or path.get("vector-effect") == "non-scaling-stroke"


def test_the_same_design_gives_the_same_pictures(made: Made) -> None:
    again = _made(made.name)
    assert [v.svg for v in views(made)] == [v.svg for v in views(again)]
    assert thumbnail(made.design) == thumbnail(again.design)


# -- seams ----------------------------------------------------------------------------------------


def test_seams_tell_count_and_pitch_and_mark_what_is_sewn_back(made: Made) -> None:
    view = seams_view(made.design, made.sewn, "mm")
    if view is None:
        assert not made.sewn
        return
    layers = [(s, one) for s in made.sewn for one in s.layers]
    said = [t.text or "" for t in layer(view, "seam")]
    for seam in made.sewn:
        assert sum(f"{seam.name}: {seam.count} holes" in words for words in said) == len(
            seam.layers
        )
    drawn = [s for path in layer(view, "stitch") for s in subpaths(path)]
    assert len(drawn) == sum(s.count for s, _ in layers)
    back = layer(view, "back")
    assert len(back) == sum(2 * s.reverse_stitches for s, _ in layers)
    rings = [p for p in layer(view, "start") if p.tag == f"{SVG}path"]
    assert len(rings) == len(layers)


def test_stitches_sewn_back_are_the_first_and_the_last(pouch: Made) -> None:
    view = seams_view(pouch.design, pouch.sewn, "mm")
    assert view is not None
    middles = [
        ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        for path in layer(view, "back")
        for a, b in subpaths(path)
    ]
    seam = pouch.sewn[0]
    n, k = seam.count, seam.reverse_stitches
    wanted = []
    for one in seam.layers:
        dx, dy = shift_of(view, pouch, pouch.design.piece(one.piece))
        at = [(h.at[0] + dx, dy - h.at[1]) for h in one.holes]
        pairs = [*range(k), *range(n - 1 - k, n - 1)]
        wanted += [((at[i][0] + at[i + 1][0]) / 2, (at[i][1] + at[i + 1][1]) / 2) for i in pairs]
    assert sorted(middles) == [pytest.approx(p, abs=1e-3) for p in sorted(wanted)]


# -- thumbnails and rows --------------------------------------------------------------------------


def test_a_thumbnail_is_240_by_180_and_holds_all_it_shows(made: Made) -> None:
    root = ET.fromstring(thumbnail(made.design))
    assert (root.get("width"), root.get("height")) == ("240", "180")
    skins = [p for p in root.iter(f"{SVG}path") if p.get("class") == "skin"]
    points = [p for skin in skins for s in subpaths(skin) for p in s]
    assert min(x for x, _ in points) >= 0
    assert max(x for x, _ in points) <= 240
    assert min(y for _, y in points) >= 0
    assert max(y for _, y in points) <= 180
    # as large as the picture takes in one direction
    wide = max(x for x, _ in points) - min(x for x, _ in points)
    high = max(y for _, y in points) - min(y for _, y in points)
    assert wide > 200 or high > 140
    assert any(p.get("class") == "shade" for p in root.iter(f"{SVG}path"))


def test_a_wide_article_is_as_wide_as_its_thumbnail_takes(pouch: Made) -> None:
    back = pouch.design.piece("back")
    lying = replace(back, outline=DryOutline(back.outline.rotated(math.pi / 2)), folds=(), holes=())
    design = replace(pouch.design, pieces=(lying,), seams=(), blanks=(), hollows=(), fittings=())
    (skin,) = ET.fromstring(thumbnail(design)).iter(f"{SVG}path")
    xs = [x for s in subpaths(skin) for x, _ in s]
    assert min(xs) == pytest.approx(12.0, abs=0.01)
    assert max(xs) == pytest.approx(228.0, abs=0.01)


def test_things_in_rows_do_not_overlap_and_keep_their_order() -> None:
    draw = np.random.default_rng(7)
    for n in (1, 2, 3, 5, 9, 14):
        cells = []
        for _ in range(n):
            x, y = draw.uniform(-50, 50, 2)
            w, h = draw.uniform(5, 90, 2)
            cells.append(Cell(box=(x, y, x + w, y + h), room=tuple(draw.uniform(0, 6, 4))))
        widest = max(c.whole[2] - c.whole[0] for c in cells)
        for shifts in (
            laid_in_rows(cells, 2.0, USUAL)[0],
            laid_within(cells, 2.0, 1.5 * widest)[0],
        ):
            boxes = [
                (x0 + dx, y0 + dy, x1 + dx, y1 + dy)
                for (x0, y0, x1, y1), (dx, dy) in zip((c.whole for c in cells), shifts, strict=True)
            ]
            for (i, a), (j, b) in itertools.combinations(enumerate(boxes), 2):
                apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
                assert apart, (i, j)
                assert b[0] >= a[2] - 1e-9 or b[3] <= a[1] + 1e-9, (
                    "later things stand right or below"
                )


def test_every_piece_hollow_and_seam_has_a_spot_on_it_for_remarks(made: Made) -> None:
    view = _pieces(made)
    spots = dict(view.spots)
    left, top, width, height = view.frame
    assert {seam.name for seam in made.sewn} <= spots.keys()
    for piece in made.design.pieces:
        assert piece.name in spots
        dx, dy = shift_of(view, made, piece)
        for zone in piece.zones:
            x, y = spots[f"{piece.name}/{zone.name}"]
            assert zone.outline.contains((x - dx, dy - y))
    for x, y in spots.values():
        assert left <= x <= left + width
        assert top <= y <= top + height


def test_the_flag_of_a_piece_stands_left_of_both_lines_of_its_words(made: Made) -> None:
    """A flag is as high as both; the line of the leather is mostly the longer one."""
    view = _pieces(made)
    spots = dict(view.spots)
    for piece in made.design.pieces:
        x, y = spots[piece.name]
        for leather in {leather.name for _, leather in made.design.leathers} & spots.keys():
            under = spots[leather]
            if abs(under[1] - y) < 1.5 * _type_mm(view) and abs(under[0] - x) < 100.0:
                assert x <= under[0] + 1e-9, piece.name


def test_in_the_picture_of_seams_flags_stand_left_of_all_lines_over_a_piece(made: Made) -> None:
    view = seams_view(made.design, made.sewn, "mm")
    spots = dict(view.spots) if view else {}
    for seam in made.sewn:
        first = seam.layers[0].piece  # where remarks on the seam are shown
        assert spots[first][0] <= spots[seam.name][0] + 1e-9


def _type_mm(view: FlatView) -> float:
    found = re.search(r'font-size="([0-9.]+)"', view.svg)
    assert found
    return float(found[1])
