"""Solids are closed, face outwards, and refuse what cannot be rounded."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import circle, polygon, rectangle, stadium
from hidewright.geometry.surface import Surface, framed_plate, loft, prism, rounded_prism

#: An L with a sharp inward corner; its outward corners are round.
ANGLE = polygon(
    [(0, 0), (80, 0), (80, 30), (30, 30), (30, 70), (0, 70)], [6.0, 6.0, 6.0, 0.0, 6.0, 6.0]
)
SHARP = rectangle(40.0, 30.0)


def star(radii: list[float], corner: float) -> Outline:
    """A wavy outline whose corners, outward and inward, all have one radius."""
    n = len(radii)
    angles = [2 * math.pi * i / n for i in range(n)]
    points = [(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)]
    try:
        return polygon(points, corner)
    except RequestError:
        assume(False)
        raise


def rounded_off(outline: Outline, c: float, side: float) -> float:
    """Volume a quarter round takes off the edge of a plug (side -1) or an opening (+1)."""
    return outline.length * c**2 * (1 - math.pi / 4) + side * math.pi * c**3 * (5 / 3 - math.pi / 2)


def must_be_a_solid(surface: Surface) -> None:
    assert surface.is_closed
    assert surface.volume > 0


def test_a_tetrahedron_has_its_volume_and_area_and_is_closed() -> None:
    corners = np.array([[1.0, 0, 0], [0, 1, 0], [0, 0, 1], [0, 0, 0]]) + 7.0
    solid = Surface(corners, np.array([[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]]))
    assert solid.volume == pytest.approx(1 / 6)
    assert solid.area == pytest.approx(1.5 + math.sqrt(3) / 2)
    assert solid.is_closed


def test_a_missing_a_doubled_or_a_turned_triangle_is_not_closed() -> None:
    good = prism(SHARP, 0.0, 5.0)
    rows = good.triangles
    turned = rows.copy()
    turned[0] = turned[0, ::-1]
    for bad in (rows[1:], np.vstack([rows, rows[:1]]), turned):
        assert not Surface(good.points, bad).is_closed


def test_a_surface_does_not_change_with_the_arrays_it_was_made_from() -> None:
    good = prism(SHARP, 0.0, 5.0)
    points = good.points.copy()
    surface = Surface(points, good.triangles)
    points[:] = 0.0
    assert surface.volume == pytest.approx(good.volume)
    with pytest.raises(ValueError, match="read-only"):
        surface.points[0, 0] = 1.0


def test_a_triangle_that_names_a_missing_point_is_refused() -> None:
    with pytest.raises(ValueError, match="not there"):
        Surface(np.zeros((3, 3)), np.array([[0, 1, 3]]))


def test_a_prism_of_straight_sides_with_a_hole_has_its_exact_volume_and_area() -> None:
    hole = rectangle(10.0, 6.0)
    solid = prism(SHARP, 2.0, 9.0, [hole])
    must_be_a_solid(solid)
    floor = 40.0 * 30.0 - 10.0 * 6.0
    assert solid.volume == pytest.approx(7.0 * floor)
    assert solid.area == pytest.approx(2 * floor + 7.0 * (2 * (40 + 30) + 2 * (10 + 6)))


def test_lines_and_curves_are_followed_within_a_hundredth() -> None:
    r, c = 22.0, 6.0
    solid = rounded_prism(circle(r), 0.0, 20.0, c)
    middles = solid.corners.mean(axis=1)
    across, z = np.hypot(middles[:, 0], middles[:, 1]), middles[:, 2]
    on_wall = (z > 0.01) & (z < 14.0)
    on_crown = (z > 14.0) & (z < 20.0 - 1e-9)
    assert on_wall.any()
    assert on_crown.any()
    assert np.abs(across[on_wall] - r).max() < 0.01
    assert np.abs(np.hypot(across[on_crown] - (r - c), z[on_crown] - 14.0) - c).max() < 0.01


def test_a_sharp_inward_corner_is_gone_round_by_the_rounding() -> None:
    c, h, fine = 4.0, 12.0, 5e-5
    solid = rounded_prism(ANGLE, 0.0, h, c, sagitta_mm=fine)
    must_be_a_solid(solid)
    exact = ANGLE.area * h - rounded_off(ANGLE, c, -1.0)
    assert solid.volume == pytest.approx(exact, abs=2 * fine * solid.area)


def test_an_opening_with_sharp_outward_corners_gets_a_lip_that_goes_round_them() -> None:
    c, h, fine = 3.0, 6.0, 5e-5
    outer, opening = rectangle(70.0, 60.0), SHARP
    solid = framed_plate(outer, opening, 0.0, h, c, sagitta_mm=fine)
    must_be_a_solid(solid)
    exact = (outer.area - opening.area) * h - rounded_off(opening, c, 1.0)
    assert solid.volume == pytest.approx(exact, abs=2 * fine * solid.area)


def test_either_face_of_a_frame_rounded_takes_the_same_volume() -> None:
    outer, opening = rectangle(90.0, 80.0, 3.0), rectangle(50.0, 40.0, 9.0)
    top = framed_plate(outer, opening, 0.0, 6.0, 2.5, face="top", holes=[circle(2.0, (38, 33))])
    foot = framed_plate(outer, opening, 0.0, 6.0, 2.5, face="bottom", holes=[circle(2.0, (38, 33))])
    must_be_a_solid(top)
    must_be_a_solid(foot)
    assert top.volume == pytest.approx(foot.volume)
    assert top.points[:, 2].mean() > 3.0 > foot.points[:, 2].mean()


def test_without_rounding_a_rounded_prism_is_a_prism() -> None:
    assert rounded_prism(ANGLE, 0.0, 5.0, 0.0).volume == pytest.approx(
        prism(ANGLE, 0.0, 5.0).volume
    )


def test_a_loft_between_two_squares_is_a_frustum() -> None:
    square = np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]])
    rings = [np.column_stack([square * s, np.full(4, z)]) for s, z in ((6.0, 0.0), (3.0, 9.0))]
    solid = loft(rings)
    must_be_a_solid(solid)
    # Heron's frustum: h / 3 (A + a + sqrt(A a))
    assert solid.volume == pytest.approx(9 / 3 * (144 + 36 + math.sqrt(144 * 36)))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: prism(SHARP, 5.0, 5.0), "no thickness"),
        (lambda: rounded_prism(SHARP, 0.0, 9.0, 2.0), "Give 0 mm"),
        (lambda: rounded_prism(circle(8.0), 0.0, 5.0, 6.0), "Give 5 mm"),
        (lambda: rounded_prism(circle(8.0), 0.0, 20.0, 9.0), "Give 8 mm"),
        (lambda: rounded_prism(circle(8.0), 0.0, 20.0, -1.0), "0 or more"),
        (lambda: rounded_prism(circle(8.0), 0.0, 20.0, math.nan), "0 or more"),
        (lambda: framed_plate(rectangle(99, 99), ANGLE, 0.0, 9.0, 1.0), "Give 0 mm"),
        (lambda: prism(SHARP, 0.0, 5.0, [circle(9.0, (15, 0))]), "not one area"),
    ],
)
def test_what_cannot_be_rounded_is_refused_with_what_could(
    make: Callable[[], Surface], words: str
) -> None:
    with pytest.raises(RequestError, match=words):
        make()


def test_a_waist_narrower_than_two_roundings_is_refused_with_the_largest_that_fits() -> None:
    # two lobes 40 wide joined by a waist 8 wide: half of it is the limit
    half = [(-60, -20), (-20, -20), (-10, -4), (10, -4), (20, -20), (60, -20)]
    waist = polygon([*half, *[(-x, -y) for x, y in half]], 5.0)
    with pytest.raises(RequestError, match=r"Give 3\.99 mm at most|Give 4 mm at most"):
        rounded_prism(waist, 0.0, 20.0, 4.5)
    must_be_a_solid(rounded_prism(waist, 0.0, 20.0, 3.9))


@settings(max_examples=25, deadline=None)
@given(
    radii=st.lists(st.floats(24.0, 40.0), min_size=5, max_size=9),
    corner=st.floats(1.0, 5.0),
    share=st.floats(0.05, 1.0),
)
def test_any_wavy_outline_gives_a_closed_plug_and_frame_of_the_volume_of_steiner(
    radii: list[float], corner: float, share: float
) -> None:
    shape, c, h = star(radii, corner), share * corner, 8.0
    assume(min(shape.min_inside_radius, shape.min_outside_radius) >= c)  # all corners rounded
    plug = rounded_prism(shape, 0.0, h, c)
    must_be_a_solid(plug)
    exact = shape.area * h - rounded_off(shape, c, -1.0)
    assert plug.volume == pytest.approx(exact, abs=0.01 * plug.area)
    outer = circle(60.0)
    frame = framed_plate(outer, shape, 0.0, h, c)
    must_be_a_solid(frame)
    exact = (outer.area - shape.area) * h - rounded_off(shape, c, 1.0)
    assert frame.volume == pytest.approx(exact, abs=0.01 * frame.area)


@settings(max_examples=20, deadline=None)
@given(turn=st.floats(0.0, 6.0), dx=st.floats(-500.0, 500.0), dy=st.floats(-500.0, 500.0))
def test_moving_and_turning_the_outline_changes_no_volume(
    turn: float, dx: float, dy: float
) -> None:
    still = rounded_prism(stadium(60.0, 24.0), 0.0, 9.0, 8.5)
    moved = rounded_prism(stadium(60.0, 24.0).rotated(turn).moved(dx, dy), 0.0, 9.0, 8.5)
    must_be_a_solid(moved)
    assert moved.volume == pytest.approx(still.volume, rel=1e-4)
