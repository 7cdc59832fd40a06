"""Meshes: one sheet, the right areas, the same triangles while measures move."""

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from hidewright.errors import RequestError
from hidewright.forming.mesh import CAP, FLANGE, Layout, edge_of, fits, shape
from hidewright.forming.meshing import meshed
from hidewright.forming.pressing import Hollow, Pressing
from hidewright.forming.profile import OnArcs, Tools
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats
from hidewright.geometry.shapes import circle, polygon, rectangle, stadium

TOOLS = Tools(depth_mm=10.0, crown_radius_mm=3.0, lip_radius_mm=3.0, gap_mm=1.6, thickness_mm=1.6)
U_SHAPE = polygon(
    ((-50, -40), (50, -40), (50, 40), (20, 40), (20, -10), (-20, -10), (-20, 40), (-50, 40)),
    (10.0, 10.0, 10.0, 10.0, 19.9, 19.9, 10.0, 10.0),
)


def over(
    outline: Outline, edge: Outline | float, *, tools: Tools = TOOLS, hold: str = "clamped"
) -> Pressing:
    return Pressing(
        hollows=(Hollow(name="plug", outline=outline, tools=tools),),
        edge=edge,
        thickness_mm=tools.thickness_mm,
        hold="clamped" if hold == "clamped" else "free",
    )


def several() -> Pressing:
    """A large hollow with an island, a small one beside it, on a sheet with sharp corners."""
    low = replace(TOOLS, depth_mm=4.0, crown_radius_mm=2.0, lip_radius_mm=2.0)
    return Pressing(
        hollows=(
            Hollow(name="tray", outline=rectangle(70, 60, 12), tools=TOOLS),
            Hollow(name="island", outline=circle(10, (5, 0)), tools=low, within="tray"),
            Hollow(name="seat", outline=circle(8, (60, 10)), tools=low),
        ),
        edge=rectangle(180, 100),
        thickness_mm=TOOLS.thickness_mm,
    )


MAKES = {
    "cup, clamped at the lip": over(circle(25), 4.6),
    "cup, parallel flange": over(circle(25), 25.0),
    "cup on a square": over(circle(25), rectangle(90, 90, 4)),
    "square": over(rectangle(60, 60, 10), 20.0),
    "stadium": over(stadium(90, 40), 4.6),
    "U, a sheet of its own": over(U_SHAPE, rectangle(140, 120, 5)),
    "U, parallel flange": over(U_SHAPE, 6.0),
    "several": several(),
}


def areas(places: Floats, layout: Layout) -> Floats:
    corner = places[layout.triangles]
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    signed: Floats = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    return signed


def limp(layout: Layout, pressing: Pressing) -> list[OnArcs]:
    return [OnArcs.even(pressing.thickness_mm, band.columns) for band in layout.bands]


@pytest.mark.parametrize("size", [4.0, 2.3])
@pytest.mark.parametrize("make", MAKES)
def test_the_triangles_make_one_sheet_whose_only_edge_is_the_leathers(
    make: str, size: float
) -> None:
    layout = meshed(MAKES[make], size)
    sides = [
        (a, b)
        for corners in layout.triangles.tolist()
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
    ]
    count = Counter(sides)
    assert set(count.values()) == {1}
    outer = {(a, b) for a, b in sides if (b, a) not in count}
    ring = layout.edge.tolist()
    assert outer == set(zip(ring, ring[1:] + ring[:1], strict=True))
    # every point is used, and points - sides + triangles = 1: one piece without a hole
    assert np.array_equal(np.unique(layout.triangles), np.arange(len(layout.plan)))
    n_sides = (len(sides) + len(ring)) // 2
    assert len(layout.plan) - n_sides + len(layout.triangles) == 1
    assert areas(layout.plan, layout).min() > 0


@pytest.mark.parametrize("make", MAKES)
def test_every_side_of_every_ring_is_a_side_of_a_triangle(make: str) -> None:
    layout = meshed(MAKES[make], 3.0)
    present = {
        frozenset((a, b))
        for corners in layout.triangles.tolist()
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
    }
    for band in layout.bands:
        for row in band.grid.T.tolist():
            for a, b in zip(row, row[1:] + row[:1], strict=True):
                assert frozenset((a, b)) in present


def exact_areas(pressing: Pressing) -> dict[int, float]:
    """Area of a single hollow's bottom and flange: d outward of an outline A + L d + pi d^2."""
    hollow = pressing.hollows[0]
    tools, outline = hollow.tools, hollow.outline

    def out(d: float) -> float:
        return outline.area + outline.length * d + math.pi * d * d

    edge = pressing.edge
    whole = edge.area if isinstance(edge, Outline) else out(edge)
    return {CAP: out(tools.inner_mm), FLANGE: whole - out(tools.outer_mm)}


@pytest.mark.parametrize("make", ["cup, parallel flange", "cup on a square", "square"])
def test_bottom_and_flange_have_the_outlines_areas_but_for_the_chords_of_second_order(
    make: str,
) -> None:
    pressing = MAKES[make]
    exact = exact_areas(pressing)
    errors = []
    sizes = np.array([4.0, 2.0, 1.0])
    for size in sizes:
        layout = meshed(pressing, size)
        found = areas(layout.plan, layout)
        errors.append([found[layout.region == r].sum() / a - 1 for r, a in exact.items()])
    off = np.abs(errors).max(axis=1)
    # a circle's chord of angle a misses a^2/6 of its area, and a <= 15 degrees: 1.1 %
    assert off[0] < 0.0115
    assert (off < 0.0015 * sizes**2).all()
    order = np.log2(off[0] / off[2]) / 2
    assert order > 1.4


def test_the_formed_surface_has_the_area_of_its_profile_turned_round() -> None:
    # Pappus on a fine cup: disc, quarter torus, upright tube, quarter torus, ring
    pressing = over(circle(25), 25.0)
    layout = meshed(pressing, 0.8)
    placed = shape(layout, pressing, edge_of(layout, pressing), limp(layout, pressing))
    p = placed.points[layout.triangles]
    found = 0.5 * np.linalg.norm(np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]), axis=1).sum()
    r, tube = 3.0 + 0.8, 10.0 - 2 * 3.8
    inner, outer = 25.0 - 3.0, 25.0 + 4.6
    exact = (
        math.pi * inner**2
        + 2 * math.pi * (inner * r * math.pi / 2 + r * r)
        + 2 * math.pi * 25.8 * tube
        + 2 * math.pi * (outer * r * math.pi / 2 - r * r)
        + math.pi * (50.0**2 - outer**2)
    )
    assert found == pytest.approx(exact, rel=1.5e-3)
    assert found < exact
    assert placed.points[:, 2].max() == pytest.approx(10.0)
    assert np.linalg.norm(placed.normals, axis=1) == pytest.approx(np.ones(len(placed.normals)))


@pytest.mark.parametrize("make", MAKES)
def test_a_layout_serves_other_measures_of_the_same_make(make: str) -> None:
    pressing = MAKES[make]
    layout = meshed(pressing, 3.0)
    tools = [
        replace(
            one.tools,
            depth_mm=one.tools.depth_mm * 1.3,
            crown_radius_mm=one.tools.crown_radius_mm * 0.8,
            thickness_mm=1.8,
            gap_mm=2.0,
        )
        for one in pressing.hollows
    ]
    hollows = tuple(
        replace(one, outline=one.outline.scaled(1.02), tools=other)
        for one, other in zip(pressing.hollows, tools, strict=True)
    )
    edge = pressing.edge
    if not isinstance(edge, Outline):  # as wide beyond the lip as before
        edge += tools[0].outer_mm - pressing.hollows[0].tools.outer_mm
    changed = replace(pressing, hollows=hollows, thickness_mm=1.8, edge=edge)
    assert fits(layout, changed)
    placed = shape(layout, changed, edge_of(layout, changed), limp(layout, changed))
    assert areas(placed.plan, layout).min() > 0


def test_other_outlines_other_holds_and_other_hollows_are_another_make() -> None:
    layout = meshed(MAKES["square"], 4.0)
    assert fits(layout, over(rectangle(70, 50, 9), 18.0))
    assert not fits(layout, over(circle(30), 20.0))
    assert not fits(layout, over(rectangle(60, 60, 10), 20.0, hold="free"))
    assert not fits(layout, over(rectangle(60, 60, 10), rectangle(110, 110, 10)))
    assert not fits(layout, over(rectangle(60, 60, 10), 4.6))


def test_the_same_pressing_gives_the_same_mesh() -> None:
    one, two = (meshed(several(), 2.5) for _ in range(2))
    assert np.array_equal(one.triangles, two.triangles)
    assert np.array_equal(one.plan, two.plan)


def test_an_island_stands_in_the_hollows_bottom_and_is_pressed_back() -> None:
    pressing = several()
    layout = meshed(pressing, 2.5)
    placed = shape(layout, pressing, edge_of(layout, pressing), limp(layout, pressing))
    z = placed.points[:, 2]
    bottoms = [z[layout.triangles[(layout.hollow == k) & (layout.region == CAP)]] for k in range(3)]
    for found, level in zip(bottoms, (10.0, 6.0, 4.0), strict=True):
        assert found == pytest.approx(np.full(found.shape, level), abs=1e-9)
    assert z[layout.triangles[layout.region == FLANGE]] == pytest.approx(0.0, abs=1e-9)


def test_a_corner_tighter_than_crown_or_lip_is_refused_with_the_radius_that_would_do() -> None:
    with pytest.raises(RequestError, match=r"radius too small: 2\.50 mm at .* at least 3\.00"):
        meshed(over(rectangle(60, 60, 2.5), 20.0), 2.0)
    meshed(over(rectangle(60, 60, 3.0), 20.0), 2.0)
    tight = polygon(
        ((-50, -40), (50, -40), (50, 40), (20, 40), (20, -10), (-20, -10), (-20, 40), (-50, 40)),
        (10.0, 10.0, 10.0, 10.0, 4.5, 4.5, 10.0, 10.0),
    )
    with pytest.raises(RequestError, match=r"radius too small: 4\.50 mm .*inner corner") as refused:
        meshed(over(tight, rectangle(140, 120)), 2.0)
    assert "at least 4.60 mm" in refused.value.mend


def test_hollows_that_overlap_each_other_or_the_edge_are_refused() -> None:
    pressing = several()
    near = replace(pressing.hollows[2], outline=circle(8, (46, 10)))
    with pytest.raises(RequestError, match="seat and tray run into one another"):
        meshed(replace(pressing, hollows=(*pressing.hollows[:2], near)), 2.0)
    far = replace(pressing.hollows[2], outline=circle(8, (80, 10)))
    with pytest.raises(RequestError, match="seat: its lip reaches beyond the leather's edge"):
        meshed(replace(pressing, hollows=(*pressing.hollows[:2], far)), 2.0)
    wide = replace(pressing.hollows[1], outline=circle(10, (24, 0)))
    with pytest.raises(RequestError, match="island: its lip reaches beyond tray"):
        meshed(replace(pressing, hollows=(pressing.hollows[0], wide)), 2.0)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, 0.01])
def test_a_mesh_size_without_sense_is_refused(bad: float) -> None:
    with pytest.raises(RequestError, match="mesh size"):
        meshed(MAKES["square"], bad)


def test_a_flange_given_as_an_outline_is_the_parallel_flange_but_for_its_triangles() -> None:
    free = meshed(over(rectangle(60, 60, 10), offset(rectangle(60, 60, 10), 20.0)), 2.0)
    rows = meshed(MAKES["square"], 2.0)
    found = [areas(one.plan, one).sum() for one in (free, rows)]
    assert found[0] == pytest.approx(found[1], rel=2e-3)
    assert rows.flange.size > 0
    assert free.flange.size == 0
