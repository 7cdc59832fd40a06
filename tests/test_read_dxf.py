import io
import math
from pathlib import Path as FilePath

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing as DxfDocument
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.drawing.drawing import Drawing, Layer, Stroke
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.read_dxf import read_dxf
from hidewright.drawing.read_outlines import read_outlines
from hidewright.drawing.reading import MAX_BYTES, Reading
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import line
from hidewright.geometry.shapes import arch, circle, rectangle, stadium, teardrop

DATA = FilePath(__file__).parent / "data" / "reading"
TOLERANCE = 0.01
MM = 4
DEE = [(0, 0, 0), (40, 0, 1), (40, 20, 0), (0, 20, 0)]  # a rectangle with a half disc on it
ENTITIES = b"0\nSECTION\n2\nENTITIES\n0\n"
DEE_AREA = 40 * 20 + math.pi * 10**2 / 2


def drawing(units: int = MM) -> DxfDocument:
    return ezdxf.new("R2010", units=units)


def written(doc: DxfDocument) -> bytes:
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()


def read(doc: DxfDocument, unit: str | None = None, close_gaps_mm: float = 0.05) -> Reading:
    return read_dxf(written(doc), name="tray.dxf", unit=unit, close_gaps_mm=close_gaps_mm)


def only(reading: Reading) -> Outline:
    (item,) = reading.outlines
    return item.outline


def refusal(doc: DxfDocument, unit: str | None = None) -> str:
    with pytest.raises(RequestError) as caught:
        read(doc, unit)
    assert str(caught.value).startswith("tray.dxf")
    return str(caught.value)


# units


@pytest.mark.parametrize(("code", "mm"), [(1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0)])
def test_insunits_gives_the_length_of_a_unit(code: int, mm: float) -> None:
    doc = drawing(code)
    doc.modelspace().add_circle((1, 2), 3)
    reading = read(doc)
    assert reading.unit.mm == mm
    assert only(reading).area == pytest.approx(9 * math.pi * mm**2, rel=1e-12)


def test_without_insunits_the_unit_is_asked_for() -> None:
    doc = drawing(0)
    doc.modelspace().add_circle((1, 2), 3)
    assert "Say the unit of the drawing: mm, cm, m, in" in refusal(doc)
    assert "$INSUNITS is missing or 0" in refusal(doc)
    assert only(read(doc, "cm")).width == pytest.approx(60)


def test_units_not_known_here_are_asked_for() -> None:
    doc = drawing(2)  # feet
    assert "$INSUNITS 2: that unit is not known here" in refusal(doc)


def test_a_given_unit_goes_over_that_of_the_file() -> None:
    doc = drawing()
    doc.modelspace().add_circle((0, 0), 1)
    reading = read(doc, "in")
    assert only(reading).width == pytest.approx(2 * 25.4)
    assert reading.unit.source == "--unit in"
    assert "Use one of: mm, cm, m, in" in refusal(doc, "ells")


# entities


def test_a_circle_is_two_true_half_circles() -> None:
    doc = drawing()
    doc.modelspace().add_circle((5, 6), 7)
    shape = only(read(doc))
    assert len(shape.segments) == 2
    for half in shape.segments:
        assert half.centre == pytest.approx((5, 6), abs=1e-12)
        assert half.radius == pytest.approx(7, rel=1e-14)


def test_polylines_of_both_kinds_keep_their_bulges() -> None:
    doc = drawing()
    doc.modelspace().add_lwpolyline(DEE, format="xyb", close=True)
    doc.modelspace().add_polyline2d([(x + 100, y, b) for x, y, b in DEE], format="xyb", close=True)
    doc.modelspace().add_polyline3d([(0, 50, 0), (10, 50, 0), (10, 60, 0)], close=True)
    areas = [item.outline.area for item in read(doc).outlines]
    assert areas == [pytest.approx(v, rel=1e-12) for v in (DEE_AREA, DEE_AREA, 50)]


def test_an_arc_of_over_half_a_turn_stays_true() -> None:
    doc = drawing()
    doc.modelspace().add_arc((0, 0), 10, 20, 350)
    (item,) = read(doc).paths
    assert item.path.length == pytest.approx(10 * math.radians(330), rel=1e-12)
    assert all(s.radius == pytest.approx(10, rel=1e-12) for s in item.path.segments)
    assert item.path.start == pytest.approx(
        (10 * math.cos(math.radians(20)), 10 * math.sin(math.radians(20)))
    )


@pytest.mark.parametrize(("a", "ratio"), [(40, 0.4), (60, 0.98), (80, 0.05)])
def test_an_ellipse_lies_within_a_hundredth(a: float, ratio: float) -> None:
    doc = drawing()
    doc.modelspace().add_ellipse((3, 4), (a * 0.8, a * 0.6), ratio)
    shape = only(read(doc)).moved(-3, -4).rotated(-math.atan2(0.6, 0.8))
    b = a * ratio
    for x, y in shape.flat_points(1e-4).tolist():
        slope = 2 * math.hypot(x / a**2, y / b**2)
        assert abs((x / a) ** 2 + (y / b) ** 2 - 1) / slope <= TOLERANCE * 1.01
    for k in range(720):
        t = math.pi * k / 360
        assert shape.nearest((a * math.cos(t), b * math.sin(t)))[1] <= TOLERANCE
    assert shape.area == pytest.approx(math.pi * a * b, abs=TOLERANCE * shape.length)


def test_part_of_an_ellipse_runs_from_its_first_to_its_last_angle() -> None:
    doc = drawing()
    doc.modelspace().add_ellipse((0, 0), (20, 0), 0.5, start_param=1.0, end_param=0.5)
    (item,) = read(doc).paths
    assert item.path.start == pytest.approx((20 * math.cos(1), 10 * math.sin(1)))
    assert item.path.end == pytest.approx((20 * math.cos(0.5), 10 * math.sin(0.5)))


def test_a_rational_spline_of_a_circle_lies_on_the_circle() -> None:
    # nine control points of degree 2 with weights 1 and cos 45 degrees are an exact circle
    # (Piegl and Tiller, The NURBS Book, 1997, section 7.5)
    w = math.sqrt(0.5)
    square = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    doc = drawing()
    doc.modelspace().add_rational_spline(
        [(20 * x, 20 * y, 0) for x, y in square],
        weights=[1, w, 1, w, 1, w, 1, w, 1],
        degree=2,
        knots=[0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4],
    )
    shape = only(read(doc))
    for x, y in shape.flat_points(1e-4).tolist():
        assert math.hypot(x, y) == pytest.approx(20, abs=TOLERANCE)
    assert shape.area == pytest.approx(math.pi * 400, abs=TOLERANCE * shape.length)


def test_a_spline_through_points_of_a_circle_passes_through_them() -> None:
    points = [(30 * math.cos(k / 4), 30 * math.sin(k / 4), 0) for k in range(15)]
    doc = drawing()
    doc.modelspace().add_spline(fit_points=points)
    (item,) = read(doc).paths
    assert item.path.start == pytest.approx(points[0][:2])
    assert item.path.end == pytest.approx(points[-1][:2])
    for x, y, _ in points:
        assert item.path.nearest((x, y))[1] <= TOLERANCE
    for x, y in item.path.flat_points(1e-3).tolist():
        # away from its free ends a cubic spline through points an angle h apart is off by about
        # h^4 / 384 of the radius (de Boor, A Practical Guide to Splines, 1978, chapter V)
        inner = 1.0 < math.atan2(y, x) < 2.5
        off = TOLERANCE + 30 * 0.25**4 / 384 if inner else 0.15
        assert math.hypot(x, y) == pytest.approx(30, abs=off)


def test_a_spline_without_clamped_ends_keeps_to_its_own_part_of_the_knots() -> None:
    # a uniform quadratic B-spline goes from the middle of the first leg to that of the last
    doc = drawing()
    spline = doc.modelspace().add_spline(degree=2)
    spline.control_points = [(0, 0, 0), (20, 0, 0), (20, 20, 0), (0, 20, 0)]
    spline.knots = [0, 1, 2, 3, 4, 5, 6]
    (item,) = read(doc).paths
    assert item.path.start == pytest.approx((10, 0), abs=1e-9)
    assert item.path.end == pytest.approx((10, 20), abs=1e-9)
    assert item.path.nearest((17.5, 2.5))[1] <= TOLERANCE  # (P0 + 6 P1 + P2) / 8


def test_a_spline_breaks_at_a_knot_as_many_times_over_as_its_degree() -> None:
    doc = drawing()
    doc.modelspace().add_open_spline([(0, 0), (10, 0), (10, 10)], degree=1)
    (item,) = read(doc).paths
    assert [s.end for s in item.path.segments] == [pytest.approx((10, 0)), pytest.approx((10, 10))]


# blocks and the other side


@settings(max_examples=20, deadline=None)
@given(
    st.sampled_from([-2.0, -0.5, 1.0, 1.5]),
    st.sampled_from([-1.0, 0.5, 1.0, 3.0]),
    st.integers(0, 359),
    st.integers(-50, 50),
)
def test_blocks_are_placed_scaled_turned_and_mirrored(
    sx: float, sy: float, turn: int, shift: int
) -> None:
    doc = drawing()
    block = doc.blocks.new("LENS", base_point=(1, 2))
    block.add_lwpolyline(DEE, format="xyb", close=True)
    doc.modelspace().add_blockref(
        "LENS", (shift, 7), dxfattribs={"xscale": sx, "yscale": sy, "rotation": turn}
    )
    shape = only(read(doc))
    assert shape.area == pytest.approx(DEE_AREA * abs(sx * sy), abs=TOLERANCE * shape.length)
    if abs(sx) == abs(sy):
        assert [s.radius for s in shape.segments if s.is_arc] == [pytest.approx(10 * abs(sx))]
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    rim = [(40 + 10 * math.cos(a), 10 + 10 * math.sin(a)) for a in np.linspace(-1.5, 1.5, 31)]
    for x, y in [(0, 0), (20, 0), (0, 20), *rim]:
        px, py = sx * (x - 1), sy * (y - 2)
        there = (c * px - s * py + shift, s * px + c * py + 7)
        assert shape.nearest(there)[1] <= TOLERANCE


def test_blocks_in_rows_and_in_blocks_are_read_each_time_with_their_layer() -> None:
    doc = drawing()
    hole = doc.blocks.new("HOLE")
    hole.add_circle((0, 0), 2)
    hole.add_circle((10, 0), 1, dxfattribs={"layer": "own"})
    doc.blocks.new("HOLES").add_blockref("HOLE", (100, 0))
    doc.modelspace().add_blockref(
        "HOLES",
        (0, 0),
        dxfattribs={
            "layer": "cut inside",
            "column_count": 3,
            "row_count": 2,
            "column_spacing": 30,
            "row_spacing": 40,
        },
    )
    reading = read(doc)
    big = [o for o in reading.outlines if o.outline.width > 3]
    assert {o.layer for o in big} == {"cut inside"}
    assert {o.layer for o in reading.outlines if o not in big} == {"own"}
    corners = sorted((round(o.outline.bounds[0]), round(o.outline.bounds[1])) for o in big)
    assert corners == [(98, -2), (98, 38), (128, -2), (128, 38), (158, -2), (158, 38)]
    assert len({o.name for o in reading.outlines}) == 12


def test_things_drawn_from_behind_are_turned_over() -> None:
    doc = drawing()
    behind = {"extrusion": (0, 0, -1)}
    space = doc.modelspace()
    space.add_lwpolyline(DEE, format="xyb", close=True, dxfattribs=behind)
    space.add_circle((60, 5), 4, dxfattribs=behind)
    space.add_arc((0, 100), 10, 0, 90, dxfattribs=behind)
    reading = read(doc)
    dee, disc = (o.outline for o in reading.outlines)
    assert dee.bounds == pytest.approx((-50, 0, 0, 20))
    assert dee.area == pytest.approx(DEE_AREA, rel=1e-12)
    assert disc.bounds == pytest.approx((-64, 1, -56, 9))
    assert reading.paths[0].path.start == pytest.approx((-10, 100))
    assert reading.paths[0].path.end == pytest.approx((0, 110))


# what is left out


def test_what_is_not_read_is_listed_with_its_reason() -> None:
    doc = drawing()
    space = doc.modelspace()
    space.add_text("front")
    space.add_text("back")
    space.add_point((1, 1))
    space.add_hatch()
    space.add_line((0, 0, 0), (5, 5, 1))
    space.add_circle((0, 0, 3), 2)
    space.add_circle((0, 0), 2, dxfattribs={"extrusion": (0, 1, 1)})
    space.add_circle((0, 0), 9, dxfattribs={"invisible": 1})
    space.add_circle((0, 0), 9, dxfattribs={"layer": "ice"})
    space.add_circle((0, 0), 9, dxfattribs={"layer": "dark"})
    doc.layers.add("ice").freeze()
    doc.layers.add("dark").off()
    doc.blocks.new("B").add_circle((0, 0), 1)
    space.add_blockref("B", (0, 0, 5))
    doc.layout("Layout1").add_line((0, 0), (5, 5))
    space.add_circle((0, 0), 8)
    reading = read(doc)
    assert [o.outline.width for o in reading.outlines] == [pytest.approx(16)]
    flat = "it does not lie flat in the plane z = 0"
    assert [(s.what, s.count, s.why) for s in reading.skipped] == [
        ("TEXT", 2, "words are not outlines"),
        ("POINT", 1, "a point has no length"),
        ("HATCH", 1, "fillings are not outlines"),
        ("LINE", 1, flat),
        ("CIRCLE", 2, flat),
        ("CIRCLE", 1, "it is not shown (invisible)"),
        ("CIRCLE", 1, "its layer 'ice' is frozen"),
        ("CIRCLE", 1, "its layer 'dark' is off"),
        ("INSERT", 1, flat),
        ("paper layout", 1, "only the model space is read"),
    ]


# loose lines


def loose(*lines: tuple[tuple[float, float], tuple[float, float]]) -> DxfDocument:
    doc = drawing()
    for start, end in lines:
        doc.modelspace().add_line(start, end)
    return doc


def test_loose_lines_and_arcs_of_an_old_file_close_and_the_gap_is_reported() -> None:
    data = (DATA / "loose_r12.dxf").read_bytes()
    with pytest.raises(RequestError, match="Say the unit of the drawing"):
        read_outlines(data, name="loose_r12.dxf")
    reading = read_outlines(data, name="loose_r12.dxf", unit="mm")
    (item,) = reading.outlines
    assert item.layer == "CUT"
    assert item.outline.area == pytest.approx(DEE_AREA, abs=0.04 * 40)
    (gap,) = reading.closed_gaps
    assert gap.gap_mm == pytest.approx(0.04)
    assert gap.at == pytest.approx((0, 0.02))
    assert "LINE" in gap.where
    assert [s.what for s in reading.skipped] == ["POINT"]


def test_a_gap_wider_than_asked_for_stays_open() -> None:
    doc = loose(((0, 0), (40, 0)), ((40, 0), (0, 30)), ((0, 30), (0, 0.04)))
    assert [o.outline.area for o in read(doc).outlines] == [pytest.approx(600, abs=1)]
    tight = read(doc, close_gaps_mm=0.03)
    assert (tight.outlines, tight.closed_gaps) == ((), ())
    assert [p.path.length for p in tight.paths] == [pytest.approx(120 - 0.04)]


@settings(max_examples=15, deadline=None)
@given(st.permutations(range(6)), st.lists(st.booleans(), min_size=6, max_size=6))
def test_loose_lines_close_in_any_order_and_sense(order: list[int], turned: list[bool]) -> None:
    # an L of 40 x 30 with its upper right 30 x 20 taken out
    corners = [(0, 0), (40, 0), (40, 10), (10, 10), (10, 30), (0, 30)]
    sides = [(corners[i], corners[(i + 1) % 6]) for i in order]
    doc = loose(*((b, a) if back else (a, b) for (a, b), back in zip(sides, turned, strict=True)))
    shape = only(read(doc))
    assert shape.area == pytest.approx(600)
    assert len(shape.segments) == 6


def test_ends_of_a_line_shorter_than_the_tolerance_are_not_taken_for_a_branch() -> None:
    doc = loose(((0, 0), (40, 0)), ((40, 0), (40, 0.03)), ((40, 0.03), (0, 30)), ((0, 30), (0, 0)))
    reading = read(doc)
    assert len(only(reading).segments) == 4
    assert reading.closed_gaps == ()


def test_a_gap_beside_an_arc_is_closed_without_bending_the_arc() -> None:
    doc = loose(((0, 0), (40, 0.02)), ((0, 20), (40, 20)), ((0, 0), (0, 20)))
    doc.modelspace().add_arc((40, 10), 10, -90, 90)
    bends = [s for s in only(read(doc)).segments if s.is_arc]
    assert sum(s.sweep for s in bends) == pytest.approx(math.pi, rel=1e-12)
    assert all(s.radius == pytest.approx(10, rel=1e-12) for s in bends)


def test_lines_of_different_layers_are_not_joined() -> None:
    doc = loose(((0, 0), (40, 0)), ((40, 0), (0, 30)))
    doc.modelspace().add_line((0, 30), (0, 0), dxfattribs={"layer": "fold"})
    reading = read(doc)
    assert reading.outlines == ()
    assert [(p.layer, len(p.path.segments)) for p in reading.paths] == [("0", 2), ("fold", 1)]


def test_lines_drawn_twice_are_left_out_and_reported() -> None:
    sides = [((0, 0), (40, 0)), ((40, 0), (0, 30)), ((0, 30), (0, 0))]
    doc = loose(*sides, ((40, 0), (0, 0)))
    reading = read(doc)
    assert only(reading).area == pytest.approx(600)
    (double,) = reading.skipped
    assert (double.what, double.where) == ("drawn twice", "LINE 32")
    assert double.why.endswith("LINE 2F")


def test_outlines_drawn_twice_are_left_out_but_neighbours_keep_their_shared_edges() -> None:
    doc = drawing()
    space = doc.modelspace()
    for x in range(3):
        for y in range(3):
            box = [(10 * (x + i), 10 * (y + j)) for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))]
            space.add_lwpolyline(box, close=True)
    space.add_lwpolyline([(10, 20), (20, 20), (20, 10), (10, 10)], close=True)
    space.add_circle((50, 50), 3)
    space.add_circle((50, 50), 3)
    reading = read(doc)
    assert len(reading.outlines) == 10
    assert [s.what for s in reading.skipped] == ["drawn twice", "drawn twice"]


def test_three_ends_in_one_place_are_refused_with_the_place() -> None:
    words = refusal(loose(((0, 0), (40, 0)), ((40, 0.01), (0, 30)), ((40, 0), (80, 0))))
    assert "3 ends meet near (40.00, 0.0" in words
    assert "LINE 2F" in words


def test_crossing_outlines_are_refused_with_their_handle_and_place() -> None:
    doc = drawing()
    doc.modelspace().add_lwpolyline([(0, 0), (40, 0), (0, 30), (40, 30)], close=True)
    assert refusal(doc).startswith(
        "tray.dxf, LWPOLYLINE 2F: the outline crosses or touches itself near (20.00, 15.00) mm"
    )


def test_what_we_write_we_read_back() -> None:
    cut, fold = Layer(name="cut outside"), Layer(name="fold")
    crease = Path((line((0.0, -80.0), (30.0, -80.0)),))
    shapes = (arch(110, 90, 12), stadium(80, 30), rectangle(100, 60, 8), circle(21))
    for shape in (*shapes, teardrop(60, 30, 4)):
        strokes = (Stroke(curve=shape, layer=cut), Stroke(curve=crease, layer=fold))
        reading = read_dxf(to_dxf(Drawing(title="t", strokes=strokes)), name="t.dxf")
        (back,), (run,) = reading.outlines, reading.paths
        assert (back.layer, run.layer) == ("cut outside", "fold")
        assert (run.path.start, run.path.end) == ((0, -80), (30, -80))
        assert back.outline.area == pytest.approx(shape.area, abs=2e-4 * shape.length)
        halved = sum(abs(s.sweep) > math.pi + 1e-9 for s in shape.segments)
        assert len(back.outline.segments) == len(shape.segments) + halved
        for x, y in back.outline.flat_points(1e-3).tolist():
            assert shape.nearest((x, y))[1] < 2e-4
        for x, y in shape.flat_points(1e-3).tolist():
            assert back.outline.nearest((x, y))[1] < 2e-4


# bad input


def test_large_files_are_refused_unread() -> None:
    with pytest.raises(RequestError, match=r"tray.dxf: a file of 20 MB: drawings over 20 MB"):
        read_dxf(b"x" * (MAX_BYTES + 1), name="tray.dxf")
    with pytest.raises(RequestError, match="does not end with EOF"):
        read_dxf(b"x" * MAX_BYTES, name="tray.dxf")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00\x00\x00SECTION", "a binary DXF"),
        (b"hello", "does not end with EOF"),
        (b"hello\n0\nEOF\n", "it cannot be read as DXF"),
        (b"\xff\xfe\x00\n0\nEOF\n", "it cannot be read as DXF"),
        (b"<svg/>\n0\nEOF\n", "it cannot be read as DXF"),
        (ENTITIES + b"LINE\n10\nabc\n0\nENDSEC\n0\nEOF\n", "it cannot be read as DXF"),
        (ENTITIES + b"LINE\n0\nEOF\n", "it cannot be read as DXF"),
    ],
)  # fmt: skip
def test_what_is_no_text_dxf_is_refused_by_name(data: bytes, words: str) -> None:
    with pytest.raises(RequestError) as caught:
        read_dxf(data, name="tray.dxf", unit="mm")
    assert str(caught.value).startswith("tray.dxf: ")
    assert words in str(caught.value)


def test_a_file_cut_short_anywhere_is_refused() -> None:
    doc = loose(((0, 0), (40, 0)))
    whole = written(doc)
    for share in (0.1, 0.5, 0.9, 0.999):
        with pytest.raises(RequestError, match=r"^tray.dxf"):
            read_dxf(whole[: int(len(whole) * share)], name="tray.dxf")


@pytest.mark.parametrize("bad", ["nan", "inf", "1e300"])
@pytest.mark.parametrize("kind", ["LINE", "CIRCLE", "LWPOLYLINE", "SPLINE", "ELLIPSE"])
def test_numbers_that_are_none_are_refused_with_the_handle(kind: str, bad: str) -> None:
    doc = drawing()
    space = doc.modelspace()
    space.add_line((0, 0), (77.125, 1))
    space.add_circle((77.125, 0), 5)
    space.add_lwpolyline([(0, 0), (77.125, 0), (5, 5)])
    space.add_spline([(0, 0), (77.125, 0), (5, 5), (6, 9)])
    space.add_ellipse((77.125, 0), (5, 0), 0.5)
    for entity in list(space):
        if entity.dxftype() != kind:
            space.delete_entity(entity)
    data = written(doc).replace(b"77.125", bad.encode())
    with pytest.raises(RequestError) as caught:
        read_dxf(data, name="tray.dxf")
    assert str(caught.value).startswith(f"tray.dxf, {kind} ")


def test_damaged_entities_are_refused_with_their_handle() -> None:
    body = b"POLYLINE\n5\nA1\n8\nCUT\n0\nVERTEX\n8\nCUT\n0\nSEQEND\n0\nENDSEC\n0\nEOF\n"
    with pytest.raises(RequestError, match=r"^tray.dxf, POLYLINE A1: the entity is damaged"):
        read_dxf(ENTITIES + body, name="tray.dxf", unit="mm")


def test_blocks_that_hold_themselves_are_refused() -> None:
    doc = drawing()
    one, two = doc.blocks.new("ONE"), doc.blocks.new("TWO")
    one.add_blockref("TWO", (0, 0))
    two.add_blockref("ONE", (0, 0))
    doc.modelspace().add_blockref("ONE", (0, 0))
    assert "block 'ONE' holds itself" in refusal(doc)


def test_blocks_that_grow_without_end_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("hidewright.drawing.read_dxf.MAX_ENTITIES", 2000)
    doc = drawing()
    doc.blocks.new("B0").add_text("x")
    for i in range(1, 8):
        block = doc.blocks.new(f"B{i}")
        for _ in range(10):
            block.add_blockref(f"B{i - 1}", (0, 0))
    doc.modelspace().add_blockref("B7", (0, 0))
    assert "over 2000 entities" in refusal(doc)


def test_other_endings_are_refused() -> None:
    with pytest.raises(RequestError, match=r"hide.pdf: a drawing ending in 'pdf'"):
        read_outlines(b"%PDF", name="hide.pdf")
    svg = b'<svg width="9mm" height="9mm" viewBox="0 0 9 9"><circle r="1"/></svg>'
    assert len(read_outlines(svg, name="HOLE.SVG").outlines) == 1
