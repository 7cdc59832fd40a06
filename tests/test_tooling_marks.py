"""Words marked on parts: where their ink lies, by the letters of the typeface that is cut."""

import math
import pathlib
from collections.abc import Sequence
from functools import cache
from importlib import resources

import numpy as np
import pytest
import shapely
from PIL import ImageFont

from coarse_cache import CACHE
from hidewright.design.part import Label
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Floats, line
from hidewright.geometry.shapes import rectangle
from hidewright.store.design_file import read_design
from hidewright.tooling.marks import CLEAR_MM, marked
from hidewright.workshop.article import NODES
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of

EXAMPLES = sorted(path.stem for path in pathlib.Path("examples").glob("*.yaml"))
#: Height of the typeface and of its capitals in its own units.
EM, CAPITAL = 2048, 1493


@cache
def _font() -> ImageFont.FreeTypeFont:
    file = resources.files("hidewright.drawing") / "fonts" / "DejaVuSans.ttf"
    return ImageFont.truetype(str(file), EM)


def ink(label: Label) -> Floats:
    """Points (n, 2) round the ink of every letter, mm, in the frame of the part."""
    scale, x = label.height_mm / CAPITAL, 0.0
    boxes = []
    for letter in label.words:
        left, top, right, bottom = _font().getbbox(letter, anchor="ls")
        if letter != " ":
            boxes.append((x + left, -bottom, x + right, -top))
        x += _font().getlength(letter)
    c, s = math.cos(label.angle), math.sin(label.angle)
    out = []
    for left, low, right, high in boxes:
        for u in np.linspace(left, right, 6):
            for v in np.linspace(low, high, 6):
                along, up = scale * (u - x / 2), scale * (v - CAPITAL / 2)
                out.append((label.at[0] + along * c - up * s, label.at[1] + along * s + up * c))
    return np.array(out)


def clearance(
    label: Label, outline: Outline, holes: Sequence[Outline] = (), scores: Sequence[Path] = ()
) -> float:
    """How far the ink of some words is from the nearest cut or scored line, mm."""
    points = ink(label)
    inside = float(signed_distances(outline, points).min())
    letters = shapely.MultiPoint(points)
    return min(
        [
            inside,
            *(-float(signed_distances(hole, points).max()) for hole in holes),
            *(float(letters.distance(shapely.LineString(one.flat_points()))) for one in scores),
        ]
    )


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_ink_of_all_words_is_clear_of_cuts_and_scored_lines(name: str) -> None:
    path = pathlib.Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    (sheets, _) = evaluate(NODES, inputs_of(spec, "A4"), ("sheets",), CACHE).values["sheets"]
    tight = {
        (cut.part, label.words): clearance(label, cut.outer, cut.inner, cut.scores)
        for cut in (placed.cut for sheet in sheets for placed in sheet.placed)
        for label in cut.labels
    }
    assert len(tight) > 10
    assert {k: v for k, v in tight.items() if v < CLEAR_MM - 0.01} == {}


@pytest.mark.parametrize("high", [5.0, 6.0, 11.0, 12.0, 14.0, 20.0])
@pytest.mark.parametrize("turned", [False, True])
def test_two_lines_are_both_there_smaller_where_they_must_be_and_apart(
    high: float, turned: bool
) -> None:
    outline = rectangle(75.0, high) if not turned else rectangle(high, 75.0)
    lines = ("jiggly tube (trial)", "plate 1 of 2, this side up")
    labels = marked(outline, (), lines).labels
    assert tuple(label.words for label in labels) == (lines if high > 6.0 else lines[:1])
    assert min(clearance(label, outline) for label in labels) >= CLEAR_MM - 0.01
    if len(labels) == 2:
        one, two = (ink(label) for label in labels)
        apart = np.hypot(*(one[:, None] - two[None]).transpose(2, 0, 1)).min()
        assert apart > 0.5


def test_words_and_up_mark_keep_clear_of_what_is_scored() -> None:
    outline = rectangle(75.0, 14.0)
    scores = [rectangle(60.0, 6.0).as_path(), Path((line((-37.5, 0.0), (37.5, 0.0)),))]
    marks = marked(outline, (), ("tube", "this side up"), scores)
    assert len(marks.labels) == 2
    assert min(clearance(one, outline, (), scores) for one in marks.labels) >= CLEAR_MM - 0.01
    up = shapely.MultiLineString([one.flat_points() for one in marks.scores])
    assert min(up.distance(shapely.LineString(one.flat_points())) for one in scores) >= CLEAR_MM
