"""DXF files read back with a DXF library and measured against the true outline.

Bulge of a polyline: tangent of a quarter of the arc's angle, positive to the left (DXF reference,
group code 42 of LWPOLYLINE). Units: $INSUNITS 4 is millimetres, $MEASUREMENT 1 is metric.
"""

import io
import math

import ezdxf
import pytest
from ezdxf.math import bulge_center, bulge_radius

from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text
from hidewright.drawing.dxf import to_dxf
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import arc, line
from hidewright.geometry.shapes import arch, circle, d_shape, rectangle, stadium, teardrop

CUT = Layer(name="cut outside", weight_mm=0.35)
FOLD = Layer(name="fold", style="dash-dot", weight_mm=0.18)
OUTLINES = (
    stadium(90.0, 30.0),
    rectangle(120.0, 80.0, 14.0).rotated(0.3),
    arch(90.0, 110.0, 8.0),
    d_shape(60.0, 40.0, 5.0),
    teardrop(90.0, 40.0, 6.0),
)


def read_back(*strokes: Stroke, texts: tuple[Text, ...] = ()) -> "ezdxf.document.Drawing":
    data = to_dxf(Drawing(title="t", strokes=strokes, texts=texts))
    doc = ezdxf.read(io.StringIO(data.decode("utf-8")))
    assert not doc.audit().errors
    return doc


def test_the_file_is_r2010_in_millimetres() -> None:
    doc = read_back(Stroke(curve=circle(5.0), layer=CUT))
    assert doc.dxfversion == "AC1024"
    assert doc.header["$INSUNITS"] == 4
    assert doc.header["$MEASUREMENT"] == 1


@pytest.mark.parametrize("true", OUTLINES, ids=range(len(OUTLINES)))
def test_an_outline_is_one_closed_polyline_of_its_lines_and_arcs(true: Outline) -> None:
    doc = read_back(Stroke(curve=true, layer=CUT))
    (polyline,) = doc.modelspace()
    assert polyline.dxftype() == "LWPOLYLINE"
    assert polyline.closed
    corners = list(polyline.get_points("xyb"))
    assert len(corners) == len(true.segments)
    for i, (x, y, bulge) in enumerate(corners):
        end = corners[(i + 1) % len(corners)][:2]
        assert true.nearest((x, y))[1] < 1e-4
        segment = true.segments[i]
        assert (bulge != 0) == segment.is_arc
        if bulge:
            radius = bulge_radius((x, y), end, bulge)
            assert radius == pytest.approx(segment.radius, abs=1e-3)
            assert math.dist(bulge_center((x, y), end, bulge), segment.centre) < 1e-3


def test_a_full_circle_is_a_circle() -> None:
    doc = read_back(Stroke(curve=circle(2.5, (10.0, -7.0)), layer=CUT))
    (entity,) = doc.modelspace()
    assert entity.dxftype() == "CIRCLE"
    assert tuple(entity.dxf.center)[:2] == (10.0, -7.0)
    assert entity.dxf.radius == 2.5


def test_a_path_is_an_open_polyline_with_both_ends() -> None:
    path = Path((line((0, 0), (10, 0)), arc((10, 5), (10, 0), math.pi / 2)))
    (entity,) = read_back(Stroke(curve=path, layer=FOLD)).modelspace()
    assert not entity.closed
    points = list(entity.get_points("xyb"))
    assert points[0] == (0, 0, 0)
    assert points[1] == pytest.approx((10, 0, math.tan(math.pi / 8)))
    assert points[2] == pytest.approx((15, 5, 0))


def test_layers_keep_name_line_type_and_weight_and_cutting_order() -> None:
    doc = read_back(
        Stroke(curve=circle(2.0), layer=FOLD),
        Stroke(curve=stadium(9.0, 5.0), layer=CUT),
        Stroke(curve=circle(1.0), layer=FOLD),
    )
    fold, cut = doc.layers.get("fold"), doc.layers.get("cut outside")
    assert (fold.dxf.linetype, fold.dxf.lineweight) == ("DASHDOT", 18)
    assert (cut.dxf.linetype, cut.dxf.lineweight) == ("Continuous", 35)
    assert [e.dxf.layer for e in doc.modelspace()] == ["fold", "cut outside", "fold"]


def test_words_come_back_with_place_height_and_direction() -> None:
    words = Text(
        words="plug 1 → up, š ő", at=(3.0, 4.0), height_mm=2.5, angle=0.5, anchor="end", layer=FOLD
    )
    doc = read_back(Stroke(curve=circle(2.0), layer=CUT), texts=(words,))
    (text,) = doc.modelspace().query("TEXT")
    assert text.dxf.text == words.words
    assert text.dxf.height == 2.5
    assert text.dxf.rotation == pytest.approx(math.degrees(0.5), abs=1e-4)
    alignment, at, _ = text.get_placement()
    assert alignment.name == "RIGHT"
    assert tuple(at)[:2] == (3.0, 4.0)
