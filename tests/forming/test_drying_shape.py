"""The dry shape of a part: axis scalings are found exactly, everything else as the best fit."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.spatial import Delaunay

from hidewright.design.states import REFIT_MM
from hidewright.errors import RequestError
from hidewright.forming.drying import DryShape, FormedSheet, dry_shape
from hidewright.forming.set import DryingBehaviour, log_strain, natural_strain
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.segment import Floats
from hidewright.geometry.shapes import rectangle
from hidewright.geometry.stretch import stretched

ANGLES = st.floats(-3, 3)
SCALES = st.tuples(*[st.floats(0.8, 1.2)] * 3)


def grain_axes(angle: float) -> Floats:
    """Rows: the backbone's direction and the one across it, in the piece's frame."""
    return np.array([[-math.sin(angle), math.cos(angle)], [math.cos(angle), math.sin(angle)]])


def strain_to(points: Floats, flat: Floats, triangles: Any, angle: float) -> Floats:
    """Logarithmic strain from the flat to the points, triangle by triangle, in grain axes."""
    a, b, c = (points[triangles[:, i]] for i in range(3))
    formed = np.stack([b - a, c - a], axis=-1)
    p, q, r = (flat[triangles[:, i]] @ grain_axes(angle).T for i in range(3))
    gradient = formed @ np.linalg.inv(np.stack([q - p, r - p], axis=-1))
    return log_strain(np.swapaxes(gradient, 1, 2) @ gradient)


def sheet_over_a_dome(angle: float = 0.0, turned: float = 0.0, seed: int = 1) -> FormedSheet:
    """A dome 12 mm high on a flange, from a flat of the same plan; the flange is region 0."""
    draw = np.random.default_rng(seed)
    flat = draw.uniform((-50, -40), (60, 40), (160, 2))
    height = 12 * np.maximum(0.0, 1 - (np.hypot(*flat.T) / 30) ** 2)
    triangles = Delaunay(flat).simplices.astype(np.int64)
    regions = (height[triangles].max(axis=1) > 0).astype(np.int64)
    c, s = math.cos(turned), math.sin(turned)
    flat = flat @ np.array([[c, s], [-s, c]])
    points = np.column_stack([flat, height])
    strain = strain_to(points, flat, triangles, angle)
    return FormedSheet(
        points=points, flat=flat, triangles=triangles, strain=strain, regions=regions, angle=angle
    )


def scaled(sheet: FormedSheet, scales: tuple[float, float, float]) -> Floats:
    """The natural strain of a sheet that wants to be its mould, scaled along, across, upwards."""
    axes = grain_axes(sheet.angle)
    in_plan = sheet.points[:, :2] @ axes.T @ np.diag(scales[:2]) @ axes
    wanted = np.column_stack([in_plan, scales[2] * sheet.points[:, 2]])
    return strain_to(wanted, sheet.flat, sheet.triangles, sheet.angle)


@given(SCALES, ANGLES)
@settings(max_examples=25, deadline=None)
def test_a_sheet_that_wants_an_axis_scaling_of_its_mould_gets_it(
    scales: tuple[float, float, float], angle: float
) -> None:
    sheet = sheet_over_a_dome(angle)
    shape = dry_shape(sheet, scaled(sheet, scales))
    assert shape.scales[1] == pytest.approx(scales, rel=1e-8)
    assert shape.scales[0] == pytest.approx((*scales[:2], 1.0), rel=1e-8)
    assert shape.misfit == pytest.approx(0.0, abs=1e-8)
    assert shape.dry_depth(1, 12.0) == pytest.approx(12.0 * scales[2])


def test_a_held_flange_shrinks_by_its_share_along_and_across() -> None:
    sheet = sheet_over_a_dome(0.4)
    behaviour = DryingBehaviour()
    shape = dry_shape(sheet, natural_strain(sheet.strain, behaviour, 0.5))
    left = 1 - 0.5 * behaviour.restraint
    wanted = [math.exp(-left * s) for s in (behaviour.shrink_along, behaviour.shrink_across)]
    assert shape.scales[0, :2] == pytest.approx(wanted, rel=1e-9)


def test_leather_that_sets_wholly_and_shrinks_evenly_dries_to_a_small_copy() -> None:
    sheet = sheet_over_a_dome()
    behaviour = DryingBehaviour(set_ratio=1.0, shrink_along=0.05, shrink_across=0.05)
    shape = dry_shape(sheet, natural_strain(sheet.strain, behaviour, 0.0))
    assert shape.scales[1] == pytest.approx(math.exp(-0.05), rel=1e-9)


def test_less_set_makes_a_lower_dome_that_fits_its_edges_less_well() -> None:
    sheet = sheet_over_a_dome()
    shapes = [
        dry_shape(
            sheet,
            natural_strain(
                sheet.strain, DryingBehaviour(set_ratio=s, shrink_along=0, shrink_across=0), 0.0
            ),
        )
        for s in (1.0, 0.9, 0.8)
    ]
    assert shapes[0].scales[1] == pytest.approx(1.0, rel=1e-9)
    depths = [s.dry_depth(1, 12.0) for s in shapes]
    assert depths[0] > depths[1] > depths[2]
    assert shapes[0].misfit[1] < shapes[1].misfit[1] < shapes[2].misfit[1]


def test_the_scales_are_those_that_miss_the_natural_lengths_least() -> None:
    """The sum is written out edge by edge here, and searched for its least without derivatives."""
    sheet = sheet_over_a_dome(0.7)
    draw = np.random.default_rng(5)
    noise = draw.normal(0, 0.03, sheet.strain.shape)
    natural = (
        natural_strain(sheet.strain, DryingBehaviour(), 0.3) + noise + np.swapaxes(noise, 1, 2)
    )
    shape = dry_shape(sheet, natural)
    axes = grain_axes(sheet.angle)

    def stretch(strain: Floats, edge: Floats) -> float:
        values, vectors = np.linalg.eigh(2 * strain)
        return math.sqrt(edge @ vectors @ np.diag(np.exp(values)) @ vectors.T @ edge)

    rows: list[tuple[float, Floats, float]] = []
    for t in np.flatnonzero(sheet.regions == 1):
        corners = sheet.triangles[t]
        p, q, r = sheet.points[corners]
        area = float(np.linalg.norm(np.cross(q - p, r - p))) / 2
        for i, j in ((0, 1), (1, 2), (2, 0)):
            edge = sheet.points[corners[j]] - sheet.points[corners[i]]
            flat = axes @ (sheet.flat[corners[j]] - sheet.flat[corners[i]])
            long = float(np.linalg.norm(edge))
            wanted = long * stretch(natural[t], flat) / stretch(sheet.strain[t], flat)
            rows.append((area, np.append(axes @ edge[:2], edge[2]), wanted))

    def missed(k: Floats) -> float:
        total = sum(
            area * ((np.sum((k * edge) ** 2) - wanted**2) / (2 * edge @ edge)) ** 2
            for area, edge, wanted in rows
        )
        return float(total / sum(area for area, _, _ in rows))

    best = minimize(
        missed, np.ones(3), method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-14}
    )
    assert shape.scales[1] == pytest.approx(best.x, abs=1e-5)
    assert shape.misfit[1] ** 2 == pytest.approx(best.fun, rel=1e-6)
    assert shape.misfit[1] > 0.01


def test_each_triangle_cut_in_four_changes_nothing() -> None:
    sheet = sheet_over_a_dome(0.2)
    natural = natural_strain(sheet.strain, DryingBehaviour(), 0.3)
    chosen = np.arange(len(sheet.triangles)) % 3 == 0
    t = sheet.triangles[chosen]
    halves = [(i, (i + 1) % 3) for i in range(3)]
    n, m = len(sheet.points), len(t)
    middles = [n + k * m + np.arange(m) for k in range(3)]
    children = [
        t[:, [0]], middles[0][:, None], middles[2][:, None],
        middles[0][:, None], t[:, [1]], middles[1][:, None],
        middles[2][:, None], middles[1][:, None], t[:, [2]],
        middles[0][:, None], middles[1][:, None], middles[2][:, None],
    ]  # fmt: skip
    cut = np.hstack(children).reshape(-1, 3)

    def refined(p: Floats) -> Floats:
        return np.vstack([p, *[(p[t[:, i]] + p[t[:, j]]) / 2 for i, j in halves]])

    def split(values: Any) -> Any:
        return np.concatenate([values[~chosen], np.repeat(values[chosen], 4, axis=0)])

    finer = FormedSheet(
        points=refined(sheet.points),
        flat=refined(sheet.flat),
        triangles=np.vstack([sheet.triangles[~chosen], cut]),
        strain=split(sheet.strain),
        regions=split(sheet.regions),
        angle=sheet.angle,
    )
    coarse, fine = dry_shape(sheet, natural), dry_shape(finer, split(natural))
    assert fine.scales == pytest.approx(coarse.scales, rel=1e-10)
    assert fine.middles == pytest.approx(coarse.middles, abs=1e-10)


@pytest.mark.parametrize("turned", [0.5, math.pi / 2, -2.0])
def test_a_part_turned_with_its_backbone_dries_alike(turned: float) -> None:
    behaviour = DryingBehaviour()
    straight, askew = sheet_over_a_dome(0.3), sheet_over_a_dome(0.3 + turned, turned)
    one = dry_shape(straight, natural_strain(straight.strain, behaviour, 0.2))
    other = dry_shape(askew, natural_strain(askew.strain, behaviour, 0.2))
    assert other.scales == pytest.approx(one.scales, rel=1e-9)
    moved = one.dry_points(1, straight.points[:, :2])
    c, s = math.cos(turned), math.sin(turned)
    assert other.dry_points(1, askew.points[:, :2]) == pytest.approx(
        moved @ np.array([[c, s], [-s, c]]), abs=1e-9
    )


SHAPES = st.builds(
    lambda scales, angle, at: DryShape(
        scales=np.array(scales),
        middles=np.array([(0.0, 0.0), at]),
        misfit=np.zeros(2),
        angle=angle,
    ),
    st.tuples(SCALES, SCALES),
    ANGLES,
    st.tuples(st.floats(-100, 100), st.floats(-100, 100)),
)


@given(SHAPES, st.sampled_from([0, 1]), st.floats(2, 40))
@settings(deadline=None)
def test_what_to_form_is_the_inverse_of_what_a_region_dries_to(
    shape: DryShape, region: int, depth: float
) -> None:
    points = np.array([[0.0, 0.0], [70.0, -30.0], [-45.0, 90.0]])
    dried = shape.dry_points(region, points)
    assert shape.formed_points(region, dried) == pytest.approx(points, abs=1e-10)
    assert shape.formed_depth(region, shape.dry_depth(region, depth)) == pytest.approx(depth)


@given(SHAPES)
@settings(deadline=None)
def test_the_middle_of_a_zone_moves_with_the_flange(shape: DryShape) -> None:
    middle = shape.middles[[1]]
    assert shape.dry_points(1, middle) == pytest.approx(shape.dry_points(0, middle))
    assert shape.dry_points(0, middle) == pytest.approx(shape.change(0).of_points(middle))


def test_an_outline_formed_for_a_dry_one_dries_to_it() -> None:
    """The promise for a hollow, 0.05 mm, refitting to arcs included."""
    sheet = sheet_over_a_dome(0.3)
    shape = dry_shape(sheet, natural_strain(sheet.strain, DryingBehaviour(), 0.6))
    wanted = rectangle(50, 40, 8).moved(4, 3)
    middle, right, up = shape.formed_points(1, np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    matrix = np.column_stack([right - middle, up - middle])
    formed = stretched(wanted, matrix, REFIT_MM)[0].moved(*middle.tolist())
    dried = shape.dry_points(1, formed.flat_points())
    assert np.abs(signed_distances(wanted, dried)).max() <= 0.05
    assert formed.area == pytest.approx(wanted.area / np.prod(shape.scales[1, :2]), rel=1e-3)


def test_the_backbone_lies_along_y_unless_said_otherwise() -> None:
    points = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0]])
    sheet = FormedSheet(
        points=points,
        flat=points[:, :2],
        triangles=np.array([[0, 1, 2]]),
        strain=np.zeros((1, 2, 2)),
        regions=np.array([0]),
    )
    shape = dry_shape(sheet, np.array([np.diag([-0.1, -0.2])]))
    dried = shape.dry_points(0, np.array([[10.0, 0.0], [0.0, 10.0]]))
    assert dried == pytest.approx(np.diag([10 * math.exp(-0.2), 10 * math.exp(-0.1)]))


def test_the_sheet_keeps_its_arrays_from_being_changed_and_leaves_the_callers_alone() -> None:
    points = np.zeros((3, 3))
    sheet = FormedSheet(
        points=points,
        flat=np.zeros((3, 2)),
        triangles=np.array([[0, 1, 2]]),
        strain=np.zeros((1, 2, 2)),
        regions=np.array([0]),
    )
    with pytest.raises(ValueError, match="read-only"):
        sheet.points[0, 0] = 1.0
    points[0, 0] = 1.0


def test_a_region_without_a_triangle_is_refused() -> None:
    sheet = sheet_over_a_dome()
    gap = FormedSheet(
        points=sheet.points,
        flat=sheet.flat,
        triangles=sheet.triangles,
        strain=sheet.strain,
        regions=2 * sheet.regions,
    )
    with pytest.raises(RequestError, match="without a triangle"):
        dry_shape(gap, sheet.strain)


def test_edges_that_want_what_no_scaling_gives_are_refused() -> None:
    """Sides of a square wish to be 2 and 0.45 times as long, the diagonal 1.1 times: no scaling."""
    points = np.array([[0.0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]])
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    sheet = FormedSheet(
        points=points,
        flat=points[:, :2],
        triangles=triangles,
        strain=np.zeros((2, 2, 2)),
        regions=np.array([0, 0]),
    )
    sheared = log_strain(np.array([[[4.0, -0.85], [-0.85, 0.2]]] * 2))
    with pytest.raises(RequestError, match="no shape near its mould"):
        dry_shape(sheet, sheared)
