"""SVG, DXF and STL say what the drawing says, and say it in the same bytes each time."""

import math
import os
import re
import struct
import subprocess
import sys
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.pdf import to_pdf
from hidewright.drawing.stl import to_stl
from hidewright.drawing.svg import path_data, to_svg
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, Segment, arc, line
from hidewright.geometry.shapes import circle, rectangle
from hidewright.geometry.surface import Surface, prism

CUT = Layer(name="cut outside", weight_mm=0.35)
HOLE = Layer(name="cut inside")
FOLD = Layer(name="fold", style="dashed")
SVG = "{http://www.w3.org/2000/svg}"


def sample(sheet: tuple[float, float] | None = None) -> Drawing:
    plate = rectangle(120.0, 80.0, 14.0).moved(70.0, 50.0)
    return Drawing(
        title="tray <plug> & frame",
        strokes=(
            Stroke(curve=circle(3.0, (20.0, 20.0)), layer=HOLE, part="plug 1"),
            Stroke(curve=plate, layer=CUT, part="plug 1"),
            Stroke(curve=Path((line((20.0, 50.0), (120.0, 50.0)),)), layer=FOLD),
        ),
        texts=(Text(words="up → š ő & <2 mm>", at=(40.0, 60.0), layer=HOLE, angle=0.5),),
        sheet=sheet,
    )


def numbers(text: str) -> list[float]:
    return [float(v) for v in re.findall(r"-?\d+\.?\d*(?:e-?\d+)?", text)]


def drawn(data: str) -> list[Segment]:
    """Read path data of M, L, A and Z back, y up: an arc's bulge from its chord and radius."""
    at: Point = (0.0, 0.0)
    first: Point = at
    out: list[Segment] = []
    for letter, rest in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        values = numbers(rest)
        end = first if letter == "Z" else (values[-2], -values[-1])
        if letter == "M":
            first = end
        elif math.dist(at, end) > 1e-9:
            bulge = 0.0
            if letter == "A":
                radius, large, clockwise = values[0], values[3], values[4]
                assert large == 0
                half = min(math.dist(at, end) / 2 / radius, 1.0)
                bulge = math.tan(math.asin(half) / 2) * (-1 if clockwise else 1)
            out.append(Segment(start=at, end=end, bulge=bulge))
        at = end
    return out


def test_svg_has_real_size_and_one_named_group_per_layer() -> None:
    root = ET.fromstring(to_svg(sample(sheet=(300.0, 200.5))))  # our own bytes
    assert (root.get("width"), root.get("height")) == ("300mm", "200.5mm")
    assert root.get("viewBox") == "0 0 300 200.5"
    groups = root.findall(f"{SVG}g")
    assert [g.get("id") for g in groups] == ["cut-inside", "cut-outside", "fold"]
    assert [g.findtext(f"{SVG}title") for g in groups] == ["cut inside", "cut outside", "fold"]
    assert [g.get("stroke-dasharray") for g in groups] == [None, None, "4 2"]
    assert len({g.get("stroke") for g in groups}) == 1
    assert root.findtext(f"{SVG}title") == "tray <plug> & frame"
    assert [t.text for t in root.iter(f"{SVG}text")] == ["up → š ő & <2 mm>"]
    assert {e.tag.rpartition("}")[2] for e in root.iter()} == {"svg", "title", "g", "path", "text"}


def test_svg_without_a_sheet_holds_all_lines_and_words() -> None:
    drawing = sample()
    root = ET.fromstring(to_svg(drawing))
    left, bottom, right, top = drawing.extent
    assert numbers(root.get("viewBox", "")) == pytest.approx(
        [0, 0, right - left + 4, top - bottom + 4], abs=1e-4
    )
    for path in root.iter(f"{SVG}path"):
        for segment in drawn(path.get("d", "")):
            assert 2.0 <= segment.end[0] <= right - left + 2.0
            assert -(top - bottom + 2.0) <= segment.end[1] <= -2.0


def test_an_outline_is_one_closed_path_and_a_line_is_open() -> None:
    data = [p.get("d", "") for p in ET.fromstring(to_svg(sample())).iter(f"{SVG}path")]
    assert [d.count("M") for d in data] == [1, 1, 1]
    assert [d.endswith("Z") for d in data] == [True, True, False]


ANGLES = st.floats(0.02, 6.0).flatmap(lambda a: st.sampled_from((a, -a)))


@settings(max_examples=150, deadline=None)
@given(radius=st.floats(0.3, 400.0), begin=st.floats(0.0, 6.28), sweep=ANGLES)
def test_an_arc_of_any_sweep_is_written_within_a_thousandth(
    radius: float, begin: float, sweep: float
) -> None:
    start = (radius * math.cos(begin), radius * math.sin(begin))
    true = Path((arc((0.0, 0.0), start, sweep),))
    read = Path(tuple(drawn(path_data(true))))
    assert read.length == pytest.approx(true.length, abs=1e-3)
    for along in np.linspace(0.0, 1.0, 23):
        assert math.dist(
            read.point_at(float(along) * read.length), true.point_at(float(along) * true.length)
        ) < (1e-3)


@settings(max_examples=50, deadline=None)
@given(
    shift=st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    turn=st.floats(0, 6.3),
    radius=st.floats(0.5, 20.0),
)
def test_a_rounded_rectangle_comes_back_from_svg_with_its_area(
    shift: Point, turn: float, radius: float
) -> None:
    true = rectangle(100.0, 41.0, radius).rotated(turn).moved(*shift)
    read = Outline(tuple(drawn(path_data(true))))
    assert read.area == pytest.approx(true.area, abs=0.02)
    assert all(true.nearest(s.end)[1] < 1e-4 for s in read.segments)


def test_two_kinds_of_line_with_one_plain_name_get_two_identifiers() -> None:
    layers = [Layer(name=name) for name in ("mark", "Mark!", "1 mm", "→")]
    strokes = tuple(Stroke(curve=circle(2.0 + i), layer=v) for i, v in enumerate(layers))
    root = ET.fromstring(to_svg(Drawing(title="t", strokes=strokes)))
    assert [g.get("id") for g in root.iter(f"{SVG}g")] == ["mark", "mark-2", "layer-1-mm", "layer"]


@pytest.mark.parametrize("words", ["one\ntwo", "null\0", "bell\x07", "line\u2028end", "\ud800"])
def test_words_that_would_break_a_file_are_refused(words: str) -> None:
    with pytest.raises(RequestError, match=r"U\+"):
        Text(words=words, at=(0.0, 0.0), layer=CUT)
    with pytest.raises(RequestError, match=r"U\+"):
        Drawing(title=words, strokes=(Stroke(curve=circle(2.0), layer=CUT),))


def test_two_layers_of_one_name_are_refused() -> None:
    other = Layer(name=CUT.name, style="dotted")
    strokes = tuple(Stroke(curve=circle(2.0), layer=v) for v in (CUT, other))
    with pytest.raises(RequestError, match="two kinds of line called 'cut outside'"):
        Drawing(title="t", strokes=strokes)


def test_a_layer_name_that_dxf_forbids_is_refused() -> None:
    stroke = Stroke(curve=circle(2.0), layer=Layer(name="cut/inside"))
    with pytest.raises(RequestError, match="DXF forbids /"):
        to_dxf(Drawing(title="t", strokes=(stroke,)))


#: Prints a checksum of each kind of file for one drawing.
CHECKSUMS = """
import hashlib, math
from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.pdf import to_pdf
from hidewright.drawing.stl import to_stl
from hidewright.drawing.svg import to_svg
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import line
from hidewright.geometry.shapes import circle, rectangle, stadium
from hidewright.geometry.surface import rounded_prism

layers = [Layer(name=s, style=s) for s in ("solid", "dashed", "dotted", "dash-dot")]
curves = [circle(3.0), rectangle(300.0, 90.0, 14.0), Path((line((0, 0), (50, 9)),)), stadium(9, 4)]
drawing = Drawing(
    title="tray",
    strokes=tuple(Stroke(curve=c, layer=v, part=v.name) for c, v in zip(curves, layers)),
    texts=(Text(words="up \u2192 \u0151", at=(0.0, 9.0), layer=layers[0]),),
)
solid = rounded_prism(stadium(60.0, 30.0), 0.0, 9.0, 3.0)
for data in (to_svg(drawing), to_dxf(drawing), to_pdf(drawing, "A4"), to_stl(solid, "plug")):
    print(hashlib.sha256(data).hexdigest())
"""


def test_the_same_drawing_gives_the_same_bytes_under_any_hash_seed() -> None:
    running = [
        subprocess.Popen(
            [sys.executable, "-c", CHECKSUMS],
            env={**os.environ, "PYTHONHASHSEED": seed},
            stdout=subprocess.PIPE,
            text=True,
        )
        for seed in ("1", "4242")
    ]
    results = [process.communicate()[0].split() for process in running]
    assert len(results[0]) == 4
    assert results[0] == results[1]


def test_a_drawing_written_twice_in_one_run_gives_the_same_bytes() -> None:
    assert to_dxf(sample()) == to_dxf(sample())
    assert to_pdf(sample(), "A4") == to_pdf(sample(), "A4")


def test_stl_is_a_header_a_count_and_fifty_bytes_a_triangle_facing_outwards() -> None:
    solid = prism(rectangle(4.1234, 3.0), 0.0, 2.0)
    data = to_stl(solid, "solid plug – 1")
    assert not data.startswith(b"solid")
    assert struct.unpack_from("<I", data, 80) == (len(solid.triangles),)
    assert len(data) == 84 + 50 * len(solid.triangles)
    rows = np.frombuffer(data[84:], dtype=np.dtype([("v", "<f4", (4, 3)), ("a", "<u2")]))
    normals, corners = rows["v"][:, 0], rows["v"][:, 1:]
    np.testing.assert_allclose(corners, solid.corners, atol=1e-6)
    middle = corners.mean(axis=1) - np.array([0.0, 0.0, 1.0])
    assert np.all(np.sum(normals * middle, axis=1) > 0)
    np.testing.assert_allclose(np.linalg.norm(normals, axis=1), 1.0, atol=1e-6)


def test_an_open_or_inside_out_solid_is_never_written() -> None:
    good = prism(rectangle(4.0, 3.0), 0.0, 2.0)
    with pytest.raises(ValueError, match="open or inside out"):
        to_stl(Surface(good.points, good.triangles[1:]), "plug")
    with pytest.raises(ValueError, match="open or inside out"):
        to_stl(Surface(good.points, good.triangles[:, ::-1]), "plug")
