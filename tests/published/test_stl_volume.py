"""Solids with rounded edges, read back from STL, against volumes of Pappus and Steiner.

Pappus of Alexandria, second theorem: a plane figure turned about an axis sweeps its area times the
way of its centroid. What a quarter round of radius c takes off a square edge has the area
c^2 (1 - pi/4) and its centroid c (10 - 3 pi) / (12 - 3 pi) from either side of the edge: the square
less the quarter disc, whose centroid lies 4 c / (3 pi) from its straight sides.

Steiner: an outline of area A and length L, offset inwards by d, encloses A - L d + pi d^2.

A wall that leans by b comes in by d = z tan b at a height z. The arc of radius c that is tangent to
it and to the top has its centre D = (h - c) tan b + c / cos b in from the foot; up the arc, at an
angle a from level, d = D - c cos a and dz = c cos a da, a from b to a right angle. Round a disc the
wall is the frustum of a cone, pi h (R^2 + R r + r^2) / 3 (Heron, Metrica II).
"""

import io
import math

import numpy as np
import pytest
import trimesh

from hidewright.drawing.stl import to_stl
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import circle, rectangle, stadium
from hidewright.geometry.surface import Face, Surface, framed_plate, rounded_prism

#: Chords of 0.005 mm sagitta along the outline and up the rounding cut off 0.01 mm at most.
CHORDS_MM = 0.01


def read_back(surface: Surface) -> trimesh.Trimesh:
    return trimesh.load(io.BytesIO(to_stl(surface, "solid plug")), file_type="stl")


def taken_off_by_rounding(length: float, c: float) -> float:
    """Integral of L d - pi d^2 up a quarter circle: d = c (1 - cos a), dz = c cos a da."""
    return length * c**2 * (1 - math.pi / 4) - math.pi * c**3 * (5 / 3 - math.pi / 2)


@pytest.mark.parametrize(("r", "h", "c"), [(20.0, 25.0, 3.0), (12.5, 8.0, 8.0), (9.0, 30.0, 0.5)])
def test_a_disc_plug_with_a_rounded_crown_has_the_volume_of_pappus(
    r: float, h: float, c: float
) -> None:
    centroid_from_wall = c * (10 - 3 * math.pi) / (12 - 3 * math.pi)
    taken_off = 2 * math.pi * (r - centroid_from_wall) * c**2 * (1 - math.pi / 4)
    volume = math.pi * r**2 * h - taken_off
    solid = read_back(rounded_prism(circle(r), 0.0, h, c))
    assert solid.is_volume
    assert 0 < volume - solid.volume < CHORDS_MM * solid.area


def test_a_hemisphere_is_a_crown_as_large_as_the_disc() -> None:
    r = 10.0
    solid = read_back(rounded_prism(circle(r), 0.0, r, r))
    assert solid.is_volume
    assert 0 < 2 / 3 * math.pi * r**3 - solid.volume < CHORDS_MM * solid.area


@pytest.mark.parametrize(
    ("outline", "c"),
    [(stadium(90.0, 30.0), 5.0), (stadium(90.0, 30.0), 15.0), (rectangle(110.0, 70.0, 14.0), 4.0)],
)
def test_a_plug_with_a_rounded_crown_has_the_volume_of_steiner(outline: Outline, c: float) -> None:
    h = 18.0
    volume = outline.area * h - taken_off_by_rounding(outline.length, c)
    solid = read_back(rounded_prism(outline, -1.0, h - 1.0, c))
    assert solid.is_volume
    assert 0 < volume - solid.volume < CHORDS_MM * solid.area
    np.testing.assert_allclose(solid.bounds[:, 2], [-1.0, h - 1.0], atol=1e-6)


@pytest.mark.parametrize("face", ["top", "bottom"])
def test_a_frame_with_a_rounded_lip_has_the_volume_of_steiner(face: Face) -> None:
    outer, opening, h, c = rectangle(150.0, 110.0, 6.0), rectangle(90.0, 60.0, 12.0), 9.0, 3.0
    # outwards Steiner adds: A + L d + pi d^2, so the last term changes its sign
    taken_off = opening.length * c**2 * (1 - math.pi / 4) + math.pi * c**3 * (5 / 3 - math.pi / 2)
    volume = (outer.area - opening.area) * h - taken_off
    solid = read_back(framed_plate(outer, opening, 0.0, h, c, face=face))
    assert solid.is_volume
    assert abs(volume - solid.volume) < CHORDS_MM * solid.area
    at_face = solid.vertices[np.abs(solid.vertices[:, 2] - (h if face == "top" else 0.0)) < 1e-6]
    inner = at_face[np.abs(at_face[:, 0]) < 60.0]  # the plate's own edge is at 75
    assert np.abs(inner[:, 0]).max() == pytest.approx(45.0 + c, abs=1e-4)


def inside_a_leaning_wall(
    area: float, length: float, h: float, c: float, lean: float, sense: float
) -> float:
    """Integral over the height of A + sense L d + pi d^2: inwards -1, outwards +1."""
    t, touch = math.tan(lean), h - c * (1 - math.sin(lean))
    wall = area * touch + sense * length * t * touch**2 / 2 + math.pi * t**2 * touch**3 / 3
    centre = (h - c) * t + c / math.cos(lean)
    # integrals of cos, cos^2 and cos^3 from the lean to a right angle
    one = 1 - math.sin(lean)
    two = (math.pi / 2 - lean) / 2 - math.sin(2 * lean) / 4
    three = 2 / 3 - math.sin(lean) + math.sin(lean) ** 3 / 3
    at_centre = area + sense * length * centre + math.pi * centre**2
    slope = -sense * length * c - 2 * math.pi * centre * c
    return wall + c * (at_centre * one + slope * two + math.pi * c**2 * three)


LEANS = [math.radians(2.0), math.radians(8.0), math.radians(25.0)]


@pytest.mark.parametrize("lean", LEANS)
def test_a_leaning_plug_round_a_disc_is_a_frustum_with_a_turned_crown(lean: float) -> None:
    r, h, c = 30.0, 18.0, 4.0
    touch = h - c * (1 - math.sin(lean))
    small = r - touch * math.tan(lean)
    frustum = math.pi * touch / 3 * (r**2 + r * small + small**2)
    # the crown turned about the axis: its arc's centre stands at a radius of its own
    axis = r - (h - c) * math.tan(lean) - c / math.cos(lean)
    one = 1 - math.sin(lean)
    two = (math.pi / 2 - lean) / 2 - math.sin(2 * lean) / 4
    three = 2 / 3 - math.sin(lean) + math.sin(lean) ** 3 / 3
    crown = math.pi * c * (axis**2 * one + 2 * axis * c * two + c**2 * three)
    solid = read_back(rounded_prism(circle(r), 0.0, h, c, lean=lean))
    assert solid.is_volume
    assert solid.is_winding_consistent
    assert 0 < frustum + crown - solid.volume < CHORDS_MM * solid.area
    # both ways of reckoning agree
    steiner = inside_a_leaning_wall(math.pi * r**2, 2 * math.pi * r, h, c, lean, -1.0)
    assert steiner == pytest.approx(frustum + crown, rel=1e-12)


@pytest.mark.parametrize("lean", LEANS)
@pytest.mark.parametrize("outline", [stadium(90.0, 40.0), rectangle(110.0, 70.0, 18.0)])
def test_a_leaning_plug_has_the_volume_of_steiner(outline: Outline, lean: float) -> None:
    h, c = 16.0, 5.0
    volume = inside_a_leaning_wall(outline.area, outline.length, h, c, lean, -1.0)
    solid = read_back(rounded_prism(outline, 0.0, h, c, lean=lean))
    assert solid.is_volume
    assert 0 < volume - solid.volume < CHORDS_MM * solid.area
    # the wall of the solid leans as asked, and stands on the outline itself
    foot = solid.vertices[np.abs(solid.vertices[:, 2]) < 1e-6]
    assert np.ptp(foot[:, 0]) == pytest.approx(outline.width, abs=0.011)
    level = h - c * (1 - math.sin(lean))
    ring = solid.vertices[np.abs(solid.vertices[:, 2] - level) < 1e-4]
    come_in = (outline.width - np.ptp(ring[:, 0])) / 2
    assert come_in == pytest.approx(level * math.tan(lean), abs=0.011)


@pytest.mark.parametrize("face", ["top", "bottom"])
@pytest.mark.parametrize("lean", LEANS)
def test_a_leaning_frame_has_the_volume_of_steiner(lean: float, face: Face) -> None:
    outer, opening = rectangle(170.0, 130.0, 6.0), rectangle(90.0, 60.0, 12.0)
    h, upright, c = 14.0, 3.0, 2.5
    hollow = opening.area * upright + inside_a_leaning_wall(
        opening.area, opening.length, h - upright, c, lean, 1.0
    )
    solid = read_back(
        framed_plate(outer, opening, 1.0, 1.0 + h, c, face=face, lean=lean, upright_mm=upright)
    )
    assert solid.is_volume
    assert abs(outer.area * h - hollow - solid.volume) < CHORDS_MM * solid.area
    narrow = 1.0 if face == "top" else 1.0 + h
    at_face = solid.vertices[np.abs(solid.vertices[:, 2] - narrow) < 1e-6]
    assert np.abs(at_face[np.abs(at_face[:, 0]) < 60.0][:, 0]).max() == pytest.approx(45.0)


def test_the_volume_converges_with_order_two_in_the_length_of_the_chords() -> None:
    outline, h, c = stadium(90.0, 30.0), 18.0, 6.0
    exact = outline.area * h - taken_off_by_rounding(outline.length, c)
    sagittas = 0.04 / 4.0 ** np.arange(4)  # a quarter of the sagitta is half the chord
    errors = [
        exact - rounded_prism(outline, 0.0, h, c, sagitta_mm=float(s)).volume for s in sagittas
    ]
    order = np.polyfit(np.log(np.sqrt(sagittas)), np.log(errors), 1)[0]
    assert order == pytest.approx(2.0, abs=0.1)
