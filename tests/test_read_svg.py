import math
from itertools import pairwise
from pathlib import Path as FilePath

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from svgelements import Path as OraclePath

from hidewright.drawing.drawing import Drawing, Layer, Stroke
from hidewright.drawing.read_svg import read_svg
from hidewright.drawing.reading import MAX_BYTES, Reading
from hidewright.drawing.svg import to_svg
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import arch, circle, rectangle, stadium, teardrop

DATA = FilePath(__file__).parent / "data" / "reading"
TOLERANCE = 0.01
ROOT = 'xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100"'


def read(body: str, root: str = ROOT, unit: str | None = None) -> Reading:
    return read_svg(f"<svg {root}>{body}</svg>".encode(), name="pouch.svg", unit=unit)


def only(reading: Reading) -> Outline:
    (item,) = reading.outlines
    return item.outline


def refusal(body: str, root: str = ROOT, unit: str | None = None) -> str:
    with pytest.raises(RequestError) as caught:
        read(body, root, unit)
    assert str(caught.value).startswith("pouch.svg")
    return str(caught.value)


# sizes and units


@pytest.mark.parametrize(
    ("root", "mm"),
    [
        ('width="120mm" height="80mm" viewBox="0 0 120 80"', 1.0),
        ('width="12cm" height="8cm" viewBox="0 0 120 80"', 1.0),
        ('width="6in" height="4in" viewBox="0 0 6 4"', 25.4),
        ('width="72pt" height="72pt" viewBox="0 0 1 1"', 25.4),
        ('width="6pc" height="6pc" viewBox="0 0 1 1"', 25.4),
        ('width="4Q" height="4Q" viewBox="0 0 1 1"', 1.0),
        ('width="50mm" viewBox="0 0 100 60"', 0.5),
        ('height="30mm" width="100%" viewBox="0 0 100 60"', 0.5),
    ],
)
def test_physical_size_over_viewbox_gives_the_length_of_a_unit(root: str, mm: float) -> None:
    reading = read('<path d="M0 0H3V4z"/>', f'xmlns="http://www.w3.org/2000/svg" {root}')
    assert reading.unit.mm == pytest.approx(mm, rel=1e-12)
    assert only(reading).area == pytest.approx(6 * mm**2, rel=1e-9)


@pytest.mark.parametrize(
    "root",
    [
        'viewBox="0 0 120 80"',
        'width="120" height="80" viewBox="0 0 120 80"',
        'width="120px" height="80px" viewBox="0 0 120 80"',
        'width="100%" height="100%" viewBox="0 0 120 80"',
        'width="120mm" height="80mm"',
        "",
    ],
)
def test_without_a_physical_size_the_unit_is_asked_for(root: str) -> None:
    words = refusal('<path d="M0 0H3V4z"/>', f'xmlns="http://www.w3.org/2000/svg" {root}')
    assert "Say the unit of the drawing: mm, cm, m, in" in words


@pytest.mark.parametrize("size", ["-120mm", "0mm", "-0in"])
@pytest.mark.parametrize("side", ["width", "height"])
def test_a_page_of_no_size_is_refused_though_its_other_side_says_one(side: str, size: str) -> None:
    sides = {"width": "120mm", "height": "80mm", side: size}
    root = " ".join(f'{name}="{value}"' for name, value in sides.items())
    words = refusal('<path d="M0 0H3V4z"/>', f'{root} viewBox="0 0 120 80"')
    assert f"the drawing's {side} is '{size}'" in words


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("m", 1000.0)])
def test_a_given_unit_is_the_length_of_one_user_unit(unit: str, mm: float) -> None:
    reading = read('<rect width="2" height="3"/>', "width='50px' viewBox='0 0 7 9'", unit)
    assert only(reading).bounds == pytest.approx((0.0, 6 * mm, 2 * mm, 9 * mm), rel=1e-12)
    assert reading.unit.source == f"--unit {unit}"


def test_an_unknown_unit_lists_what_is_accepted() -> None:
    assert "Use one of: mm, cm, m, in" in refusal("", unit="furlong")


def test_lower_left_of_the_page_is_the_origin_and_y_runs_up() -> None:
    root = ROOT.replace("0 0 200 100", "-100 -50 200 100")
    assert only(read('<rect x="-100" y="40" width="10" height="10"/>', root)).bounds == (
        0,
        0,
        10,
        10,
    )


@pytest.mark.parametrize(
    ("aspect", "bounds"),
    [  # a square of 10 units on a page of 200 x 100 mm
        ("", (50, 0, 150, 100)),
        ("xMidYMid meet", (50, 0, 150, 100)),
        ("xMinYMid", (0, 0, 100, 100)),
        ("xMaxYMin", (100, 0, 200, 100)),
        ("xMidYMin slice", (0, -100, 200, 100)),
        ("xMidYMax slice", (0, 0, 200, 200)),
        ("none", (0, 0, 200, 100)),
    ],
)
def test_aspect_ratio_is_kept_as_asked(aspect: str, bounds: tuple[float, ...]) -> None:
    root = ROOT.replace("0 0 200 100", "0 0 10 10") + f' preserveAspectRatio="{aspect}"'
    assert only(read('<rect width="10" height="10"/>', root)).bounds == pytest.approx(bounds)


def test_lengths_with_a_unit_are_refused_where_the_drawing_scales_them() -> None:
    assert "r, length '5mm'" in refusal('<circle id="hole" r="5mm"/>')
    assert "circle hole" in refusal('<circle id="hole" r="5mm"/>')


def test_lengths_with_a_unit_are_real_where_units_agree() -> None:
    root = 'width="96in" height="96in" viewBox="0 0 9216 9216"'  # 96 units to the inch
    assert only(read('<circle r="5mm"/>', root)).width == pytest.approx(10.0)
    assert only(read('<circle r="5mm"/>', ROOT, "in")).width == pytest.approx(10.0)


def test_per_cent_are_of_the_viewport() -> None:
    shape = only(read('<rect x="10%" width="50%" height="50%"/>'))
    assert shape.bounds == pytest.approx((20, 50, 120, 100))
    round_ = only(read('<circle r="10%" cx="50%"/>'))
    assert round_.width == pytest.approx(0.2 * math.hypot(200, 100) / math.sqrt(2))


# shapes


def test_a_circle_is_two_true_half_circles() -> None:
    shape = only(read('<circle cx="50" cy="30" r="20"/>'))
    assert len(shape.segments) == 2
    for half in shape.segments:
        assert half.centre == pytest.approx((50, 70), abs=1e-12)
        assert half.radius == pytest.approx(20, rel=1e-14)
    assert shape.area == pytest.approx(math.pi * 20**2, rel=1e-12)


@pytest.mark.parametrize(
    ("radii", "rx", "ry"),
    [("", 0, 0), ('rx="5"', 5, 5), ('ry="5"', 5, 5), ('rx="5" ry="5"', 5, 5)],
)
def test_a_rectangle_has_the_radii_of_its_attributes(radii: str, rx: float, ry: float) -> None:
    shape = only(read(f'<rect x="10" y="20" width="40" height="30" {radii}/>'))
    assert shape.bounds == pytest.approx((10, 50, 50, 80))
    assert shape.area == pytest.approx(40 * 30 - (4 - math.pi) * rx * ry, rel=1e-12)
    assert {round(s.radius, 9) for s in shape.segments if s.is_arc} == ({rx} if rx else set())


@pytest.mark.parametrize(
    ("radii", "rx", "ry"),
    [('rx="10" ry="5"', 10, 5), ('rx="99"', 20, 15), ('rx="99" ry="5"', 20, 5)],
)
def test_unequal_corner_radii_are_quarter_ellipses(radii: str, rx: float, ry: float) -> None:
    shape = only(read(f'<rect width="40" height="30" {radii}/>'))
    expected = 40 * 30 - (4 - math.pi) * rx * ry  # radii are held to half the sides
    assert shape.area == pytest.approx(expected, abs=TOLERANCE * shape.length)


def test_polygons_and_polylines_keep_their_corners() -> None:
    reading = read('<polygon points="0,0 40,0 40-30"/><polyline points="0 50 10 50 10 60"/>')
    assert only(reading).area == pytest.approx(600)
    (run,) = reading.paths
    assert [run.path.start, run.path.end] == [(0, 50), (10, 40)]
    assert run.path.length == pytest.approx(20)


@pytest.mark.parametrize(("a", "b"), [(40, 15), (60, 59), (80, 4), (3, 2)])
@pytest.mark.parametrize("turn", [0, 30, 90])
def test_an_ellipse_lies_within_a_hundredth(a: float, b: float, turn: float) -> None:
    shape = only(
        read(f'<ellipse rx="{a}" ry="{b}" transform="translate(90 50) rotate({turn})"/>')
    ).moved(-90, -50)
    level = shape.rotated(math.radians(turn))
    for x, y in level.flat_points(1e-4).tolist():
        slope = 2 * math.hypot(x / a**2, y / b**2)
        assert abs((x / a) ** 2 + (y / b) ** 2 - 1) / slope <= TOLERANCE * 1.01
    for k in range(720):
        t = math.pi * k / 360
        assert level.nearest((a * math.cos(t), b * math.sin(t)))[1] <= TOLERANCE
    perimeter = level.length
    assert level.area == pytest.approx(math.pi * a * b, abs=TOLERANCE * perimeter)


def test_refitted_curves_join_in_one_tangent() -> None:
    shape = only(read('<ellipse rx="40" ry="15" cx="90" cy="50"/>'))
    for one, two in pairwise((*shape.segments, shape.segments[0])):
        (ax, ay), (bx, by) = one.tangent_at(one.length), two.tangent_at(0.0)
        assert abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)) < 1e-6
    assert all(s.is_arc for s in shape.segments)


@pytest.mark.parametrize(
    ("d", "area"),
    [
        ("M10 10H50V40H10z", 1200),
        ("m10,10 40,0 0,30-40,0z", 1200),
        ("M10 10h40v30h-40Z", 1200),
        ("M10-10L50-10 50 20 10 20z", 1200),
        ("M1e1.1e2 50 1e1 5.e1 4e1 10 40Z", 1200),
        ("M0 50a20 20 0 0140 0z", math.pi * 200),  # flags without spaces
        ("M0 50A20 20 0 0 1 40 50A20,20,0,0,1,0,50", math.pi * 400),
        ("M0 50 a 1 1 0 0 1 40 0 z", math.pi * 200),  # radius too small: enlarged to 20
        ("M0 0 A0 9 0 0 1 40 0 L40 30 0 30z", 1200),  # radius 0: a line
        ("M0 50A30 10 0 0 0 60 50z", math.pi * 150),  # half an ellipse, either way round
        ("M0 50A30 10 0 0 1 60 50z", math.pi * 150),
        ("M0 50 A 20 20 0 1 0 20 30 L 20 50z", math.pi * 300),  # three quarters
        ("M0 0Q30 60 60 0z", 60 * 30 * 2 / 3),  # a parabola: two thirds of its box
        ("M0 30Q15 60 30 30T60 30L60 0 0 0z", 60 * 30),  # the second half mirrors the first
        ("M0 0C0 40 60 40 60 0z", 60 * 40 * 3 / 5),
        ("M0 40C0 60 30 60 30 40S60 20 60 40V0H0z", 60 * 40),
    ],
)
def test_every_path_command_draws_its_area(d: str, area: float) -> None:
    shape = only(read(f'<path d="{d}"/>'))
    assert shape.area == pytest.approx(area, abs=TOLERANCE * shape.length / 2)


def test_subpaths_become_outlines_of_their_own() -> None:
    reading = read('<path id="ring" d="M0 0h30v30h-30zm10 10h10v10h-10zM50 50 60 50"/>')
    assert [(o.name, o.outline.area) for o in reading.outlines] == [("ring", 900), ("ring/2", 100)]
    assert [p.name for p in reading.paths] == ["ring/3"]


def test_drawing_goes_on_from_the_start_after_a_close() -> None:
    reading = read('<path d="M10 10h30v30zl-5 0"/>')
    (run,) = reading.paths
    assert (run.path.start, run.path.end) == ((10, 90), (5, 90))


def test_a_cusp_stays_a_corner() -> None:
    # control points crossing over make a cusp at t = 1/2, by symmetry at (10, 30)
    reading = read('<path d="M0 0C20 40 0 40 20 0"/>')
    tip = read('<path d="M0 0C20 40 0 40 20 0L20 -5 0 -5z"/>')
    (run,) = reading.paths
    turns = [
        abs(
            math.remainder(
                math.atan2(*b.tangent_at(0)) - math.atan2(*a.tangent_at(a.length)), math.tau
            )
        )
        for a, b in pairwise(run.path.segments)
    ]
    assert max(turns) == pytest.approx(math.pi, abs=1e-3)
    assert run.path.nearest((10, 70))[1] < 1e-9
    assert only(tip).height == pytest.approx(35, abs=TOLERANCE)


numbers = st.integers(-40, 40).map(float)
sizes = st.integers(1, 30).map(float)
flags = st.sampled_from("01")
commands = st.one_of(
    st.tuples(st.sampled_from("Ll"), numbers, numbers),
    st.tuples(st.sampled_from("HhVv"), numbers),
    st.tuples(st.sampled_from("Cc"), *[numbers] * 6),
    st.tuples(st.sampled_from("Cc"), *[numbers] * 6, st.sampled_from("Ss"), *[numbers] * 4),
    st.tuples(st.sampled_from("Qq"), *[numbers] * 4),
    st.tuples(st.sampled_from("Qq"), *[numbers] * 4, st.sampled_from("Tt"), numbers, numbers),
    st.tuples(st.sampled_from("Aa"), sizes, sizes, numbers, flags, flags, numbers, numbers),
)
steps = st.lists(
    st.one_of(
        st.tuples(st.just("translate"), numbers, numbers),
        st.tuples(st.just("rotate"), numbers),
        st.tuples(st.just("rotate"), numbers, numbers, numbers),
        st.tuples(st.just("scale"), st.sampled_from([0.5, -1.0, 2.0]), st.sampled_from([1, -0.5])),
        st.tuples(st.just("scale"), st.sampled_from([0.5, -1.0, 1.5])),
        st.tuples(st.sampled_from(["skewX", "skewY"]), st.integers(-50, 50).map(float)),
        st.tuples(st.just("matrix"), *map(st.just, (0.8, 0.6, -0.6, 0.8)), numbers, numbers),
    ),
    max_size=3,
)
Step = tuple[object, ...]


def written(moves: list[Step]) -> str:
    return " ".join(f"{kind}({','.join(map(str, n))})" for kind, *n in moves)


def moved(points: list[Point], moves: list[Step]) -> list[Point]:
    """The points, by the matrices that the standard gives for each kind (SVG 1.1, 7.6)."""
    whole = np.eye(3)
    for kind, *given_numbers in moves:
        n = [float(str(v)) for v in given_numbers]
        angle = math.radians(n[0])
        c, s, t = math.cos(angle), math.sin(angle), math.tan(angle)
        match kind:
            case "translate":
                step = [[1, 0, n[0]], [0, 1, n[1]]]
            case "scale":
                step = [[n[0], 0, 0], [0, n[-1], 0]]
            case "skewX":
                step = [[1, t, 0], [0, 1, 0]]
            case "skewY":
                step = [[1, 0, 0], [t, 1, 0]]
            case "matrix":
                step = [[n[0], n[2], n[4]], [n[1], n[3], n[5]]]
            case _:
                about = np.array(n[1:] or [0.0, 0.0])
                turn = np.array([[c, -s], [s, c]])
                step = np.column_stack([turn, about - turn @ about]).tolist()
        whole = whole @ np.array([*step, [0, 0, 1]], dtype=float)
    rows = np.column_stack([points, np.ones(len(points))]) @ whole.T
    return [(float(x), float(y)) for x, y in rows[:, :2]]


@settings(max_examples=15, deadline=None)
@given(st.lists(commands, min_size=1, max_size=3), steps)
def test_paths_lie_where_an_independent_reader_puts_them(
    drawn: list[tuple[object, ...]], moves: list[Step]
) -> None:
    d = "M3 4" + " ".join(str(word) for command in drawn for word in command)
    sampled = [
        (float(p.x), float(p.y))
        for piece in OraclePath(d).segments()[1:]
        for p in (piece.point(k / 40) for k in range(41))
    ]
    points = [(x, 100 - y) for x, y in moved(sampled, moves)]
    assume(math.dist(points[0], points[-1]) > 0.1)  # else it is a loop, maybe crossed
    reading = read(f'<path d="{d}" transform="{written(moves)}"/>')
    curves = [o.outline for o in reading.outlines] + [p.path for p in reading.paths]
    for point in points:
        assert min(c.nearest(point)[1] for c in curves) <= TOLERANCE + 1e-6
    # nothing more is drawn than that: chords are a little shorter than arcs
    drawn_length = sum(c.length for c in curves)
    chords = sum(math.dist(p, q) for p, q in pairwise(points))
    assert drawn_length == pytest.approx(chords, rel=0.02, abs=0.1)


def test_smooth_commands_after_another_kind_start_with_a_handle_of_no_length() -> None:
    for before, after in (("Q5 9 10 0", "S30 40 30 0"), ("C5 9 9 9 10 0", "T30 20")):
        plain = {"S": "C10 0 30 40 30 0", "T": "L30 20"}[after[0]]
        one, two = (
            read(f'<path d="M0 0{before}{tail}"/>').paths[0].path for tail in (after, plain)
        )
        assert one == two


@settings(max_examples=40, deadline=None)
@given(steps)
def test_a_transform_gives_the_same_outline_as_moved_corners(moves: list[Step]) -> None:
    corners = [(0.0, 0.0), (40.0, 0.0), (30.0, 25.0), (5.0, 20.0)]

    def polygon(points: list[Point], attributes: str = "") -> Outline:
        text = " ".join(f"{x!r},{y!r}" for x, y in points)
        return only(read(f'<polygon points="{text}" {attributes}/>'))

    with_transform, without = (
        polygon(corners, f'transform="{written(moves)}"'),
        polygon(moved(corners, moves)),
    )
    assert [s.start for s in with_transform.segments] == [
        pytest.approx(s.start, abs=1e-9) for s in without.segments
    ]


@settings(max_examples=40, deadline=None)
@given(st.integers(-180, 180), st.sampled_from([0.25, 1.0, 3.0]), st.sampled_from([1, -1]), numbers)
def test_an_even_transform_keeps_arcs_exact(
    turn: int, factor: float, mirror: int, shift: float
) -> None:
    place = f"translate({shift},5) rotate({turn}) scale({factor},{factor * mirror})"
    shape = only(read(f'<path transform="{place}" d="M0 0H20A10 10 0 0 1 20 20H0z"/>'))
    bends = [s for s in shape.segments if s.is_arc]
    assert [s.radius for s in bends] == [pytest.approx(10 * factor, rel=1e-12)] * len(bends)
    assert shape.area == pytest.approx((400 + math.pi * 50) * factor**2, rel=1e-12)
    assert shape.length == pytest.approx((60 + math.pi * 10) * factor, rel=1e-12)


@settings(max_examples=20, deadline=None)
@given(st.floats(0.2, 3), st.floats(-60, 60), st.floats(0.2, 3))
def test_a_squeezed_circle_lies_within_a_hundredth(wide: float, skew: float, high: float) -> None:
    shape = only(
        read(
            f'<circle r="15" transform="translate(0 100) skewX({skew!r})'
            f' scale({wide!r} {high!r})"/>'
        )
    )
    lean = math.tan(math.radians(skew))
    for k in range(180):
        c, s = 15 * math.cos(k * math.pi / 90) * wide, 15 * math.sin(k * math.pi / 90) * high
        assert shape.nearest((c + lean * s, -s))[1] <= TOLERANCE
    assert shape.area == pytest.approx(math.pi * 225 * wide * high, abs=TOLERANCE * shape.length)


# structure


def test_a_drawing_as_programs_write_it_is_read_and_the_rest_is_listed() -> None:
    reading = read_svg((DATA / "two_pieces.svg").read_bytes(), name="two_pieces.svg")
    front, window = reading.outlines
    assert (front.name, front.layer, window.name, window.layer) == (
        "front", "pieces", "window", "small",
    )  # fmt: skip
    assert front.outline.area == pytest.approx(60 * 40 - (4 - math.pi) * 100, rel=1e-12)
    assert front.outline.bounds == pytest.approx((10, 50, 70, 90))
    # 2 x (50, 20) = (100, 40) is the centre of the turn; with the shift it is (110, 50) on the page
    assert window.outline.bounds == pytest.approx((100, 40, 120, 60))
    assert [(p.layer, round(p.path.length, 9)) for p in reading.paths] == [
        ("folds", 60),
        ("folds", 105),
    ]
    assert {(s.what, s.where) for s in reading.skipped} == {
        ("namedview", "view"),
        ("defs", "defs1"),
        ("text", "words"),
        ("rect", "number 1"),
        ("use", "number 1"),
        ("image", "number 1"),
        ("script", "number 1"),
    }
    assert reading.unit.source == "width 20cm height 10cm over viewBox 0 0 200 100"


def test_nested_drawings_scale_into_their_place() -> None:
    inner = '<svg x="20" y="10" width="40" height="40" viewBox="0 0 10 20">{}</svg>'
    shape = only(read(inner.format('<rect width="10" height="20"/>')))
    assert shape.bounds == pytest.approx((30, 50, 50, 90))  # 20 x 40, centred across


def test_hidden_things_are_listed_and_not_read() -> None:
    body = (
        '<g visibility="hidden"><rect id="a" width="5" height="5"/>'
        '<rect id="b" width="6" height="6" visibility="visible"/></g>'
        '<g style="display : none"><rect id="c" width="5" height="5"/></g>'
        '<clipPath id="d"><rect width="5" height="5"/></clipPath>'
        '<rect id="e" width="7" height="7" clip-path="url(#d)"/>'
    )
    reading = read(body)
    assert [o.name for o in reading.outlines] == ["b", "e"]
    assert [(s.what, s.where) for s in reading.skipped] == [
        ("rect", "a"),
        ("g", "number 2"),
        ("clipPath", "d"),
        ("clip-path of a rect", "e"),
    ]


def test_names_are_unique() -> None:
    body = '<rect id="a" width="5" height="5"/><circle id="a" r="9"/><circle r="8"/>'
    assert [o.name for o in read(body).outlines] == ["a", "a/2", "circle 2"]


def test_an_outline_is_found_by_name_or_the_names_are_listed() -> None:
    reading = read('<rect id="a" width="5" height="5"/>')
    assert reading.outline("a").area == pytest.approx(25)
    with pytest.raises(RequestError, match=r"pouch.svg: no closed outline 'b'. It has: a"):
        reading.outline("b")


@pytest.mark.parametrize(
    "shape",
    [
        arch(110, 90, 12),
        stadium(80, 30),
        rectangle(100, 60, 8),
        circle(21),
        teardrop(60, 30, 4),
    ],
)
def test_what_we_write_we_read_back(shape: Outline) -> None:
    cut, fold = Layer(name="cut outside"), Layer(name="fold")
    crease = Path((line((0.0, -80.0), (30.0, -80.0)),))
    drawing = Drawing(
        title="t", strokes=(Stroke(curve=shape, layer=cut), Stroke(curve=crease, layer=fold))
    )
    reading = read_svg(to_svg(drawing), name="t.svg")
    (back,), (run,) = reading.outlines, reading.paths
    assert (back.layer, run.layer) == ("cut-outside", "fold")
    dx, dy = run.path.start[0], run.path.start[1] + 80.0
    assert run.path.length == pytest.approx(30.0)
    moved = back.outline.moved(-dx, -dy)
    assert moved.area == pytest.approx(shape.area, abs=2e-4 * shape.length)
    for x, y in moved.flat_points(1e-3).tolist():
        assert shape.nearest((x, y))[1] < 2e-4
    for x, y in shape.flat_points(1e-3).tolist():
        assert moved.nearest((x, y))[1] < 2e-4


# bad input


def test_a_bomb_of_entities_is_refused_before_it_is_read() -> None:
    levels = "".join(f'<!ENTITY l{i} "{f"&l{i - 1};" * 10}">' for i in range(1, 10))
    bomb = f'<!DOCTYPE svg [<!ENTITY l0 "ha">{levels}]><svg {ROOT}><text>&l9;</text></svg>'
    with pytest.raises(RequestError, match=r"pouch.svg: the file declares entities"):
        read_svg(bomb.encode(), name="pouch.svg")


def test_external_entities_are_refused() -> None:
    evil = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]><svg {ROOT}>&x;</svg>'
    with pytest.raises(RequestError, match=r"pouch.svg: the file declares entities"):
        read_svg(evil.encode(), name="pouch.svg")


def test_a_document_type_with_defaults_inside_is_refused() -> None:
    evil = f'<!DOCTYPE svg [<!ATTLIST rect width CDATA "9">]><svg {ROOT}><rect height="5"/></svg>'
    with pytest.raises(RequestError, match="a document type of its own"):
        read_svg(evil.encode(), name="pouch.svg")


def test_large_files_are_refused_unread() -> None:
    with pytest.raises(RequestError, match=r"pouch.svg: a file of 200 MB: drawings over 20 MB"):
        read_svg(_Long(b"<svg/>"), name="pouch.svg")
    with pytest.raises(RequestError, match="a file of 20 MB"):
        read_svg(b"x" * (MAX_BYTES + 1), name="pouch.svg")
    with pytest.raises(RequestError, match="not well-formed"):
        read_svg(b"x" * MAX_BYTES, name="pouch.svg")


class _Long(bytes):
    """Says that it is 200 MB long; fails when anything in it is looked at."""

    def __len__(self) -> int:
        return 200_000_000

    def strip(self, *_: object) -> bytes:
        raise AssertionError("a file too large was looked at")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b" \n", "the file is empty"),
        (b"\x1f\x8b\x08 compressed", "a compressed SVG"),
        (b"<svg><g></svg>", "not well-formed XML"),
        (b"hello", "not well-formed XML"),
        (b"<html><body/></html>", "outermost element is 'html'"),
        (b'<?xml version="1.0" encoding="x-klingon"?><svg/>', "pouch.svg"),
        (b'<svg width="9mm" viewBox="0 0 9 9"><g id="\xff\xfe"/></svg>', "not well-formed XML"),
    ],
)
def test_what_is_no_svg_is_refused_by_name(data: bytes, words: str) -> None:
    with pytest.raises(RequestError) as caught:
        read_svg(data, name="pouch.svg")
    assert str(caught.value).startswith("pouch.svg")
    assert words in str(caught.value)


@pytest.mark.parametrize("encoding", ["utf-8", "latin-1", "utf-16"])
def test_declared_encodings_are_read(encoding: str) -> None:
    text = f'<?xml version="1.0" encoding="{encoding}"?><svg {ROOT}><circle id="Öse" r="5"/></svg>'
    (item,) = read_svg(text.encode(encoding), name="pouch.svg").outlines
    assert item.name == "Öse"


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ('<path id="p" d="M0 0L nan 5z"/>', "path p: path data at character 7"),
        ('<path id="p" d="M0 0L 5"/>', "path p: path data at character 8"),
        ('<path id="p" d="L 5 5"/>', "path p: path data at character 1"),
        ('<path id="p" d="M0 0A5 5 0 2 1 9 9"/>', "0 or 1 should be"),
        ('<path id="p" d="M0 0L5 5 # 7"/>', "path p: path data at character 10"),
        ('<path id="p" d="M0 0L1e999 5 7 7z"/>', "path p: a coordinate is not a finite number"),
        ('<path id="p" d="M0 0C1e999 5 7 7 8 8z"/>', "path p: a coordinate is not a finite number"),
        ('<path id="p" d="M0 0L1e7 5 7 7z"/>', "path p: a point at (1e+07, 95) mm"),
        ('<circle id="p" r="-3"/>', "circle p: r -3: a size must not be negative"),
        ('<circle id="p" r="NaN"/>', "circle p: r, length 'NaN'"),
        ('<circle id="p" r="1e999"/>', "circle p: a coordinate is not a finite number"),
        ('<polygon id="p" points="0 0 5 x 7 7"/>', "polygon p: points, 'x'"),
        ('<polygon id="p" points="0 0 5"/>', "polygon p: points with 3 numbers"),
        ('<g id="p" transform="scale(2"><circle r="5"/></g>', "g p: transform 'scale(2'"),
        ('<g id="p" transform="scale(0 1)"/>', "g p: transform 'scale(0 1)': it leaves no area"),
        ('<g id="p" transform="spin(3)"/>', "Known are matrix, translate"),
        ('<g id="p" transform="rotate(1 2)"/>', "not as many numbers as it takes"),
        ('<g id="p" style="transform: scale(2)"/>', "g p: style with 'transform'"),
        ('<svg id="p" viewBox="0 0 0 5" width="5" height="5"/>', "viewBox '0 0 0 5'"),
        ('<path id="p" d="M0 0H9Z"/>', "path p: an outline that goes to and fro"),
        (f"{'<g>' * 200}{'</g>' * 200}", "nested over 100 deep"),
    ],
)
def test_what_cannot_be_drawn_is_refused_with_its_place(body: str, words: str) -> None:
    assert words in refusal(body)


def test_a_crossing_outline_is_refused_with_its_element_and_place() -> None:
    words = refusal('<path id="front" d="M10 10H50L10 40H50z"/>')
    assert words.startswith(
        "pouch.svg, path front: the outline crosses or touches itself near (30.00, 75.00)"
    )


def test_scripts_styles_and_foreign_things_are_only_listed() -> None:
    body = (
        '<script href="http://example.com/x.js">alert(1)</script><style>rect{display:none}</style>'
        '<foreignObject><p xmlns="http://www.w3.org/1999/xhtml">x</p></foreignObject>'
        '<rect width="5" height="5" onclick="alert(2)"><animate attributeName="width"/></rect>'
    )
    reading = read(body)
    assert [s.what for s in reading.skipped] == ["script", "style", "foreignObject", "animate"]
    assert only(reading).area == pytest.approx(25)
