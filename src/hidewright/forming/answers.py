"""What the solved sheet says: stretch, thickness, press force, pull-in, where marks come to lie."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from hidewright.errors import RequestError
from hidewright.forming.darts import widths_mm
from hidewright.forming.law import bending_shear_MPa
from hidewright.forming.mesh import CAP, FLANGE, eased
from hidewright.forming.pattern import Ints
from hidewright.forming.pressing import Pressing
from hidewright.forming.profile import Rows
from hidewright.forming.solved import Pressed
from hidewright.geometry.segment import Bools, Floats, cross

#: A mark this far outside the sheet still counts as on its edge, mm.
ON_EDGE_MM = 0.5
#: Triangles looked at round a point before it is called outside.
NEARBY = 24


@dataclass(frozen=True, kw_only=True, eq=False)
class Stretch:
    """Stretch of the sheet, largest first; each array (k,).

    Attributes:
        largest: Length formed over length flat, in the direction of ``angle``.
        least: The same at a right angle to it.
        angle: Direction of the largest stretch on the flat sheet, radians from the x axis.
    """

    largest: Floats
    least: Floats
    angle: Floats


def stretch_in_triangles(pressed: Pressed) -> Stretch:
    """Return the stretch of each triangle: eigenvalues of C, by their roots."""
    return _principal(pressed.state.c, pressed.pressing.backbone)


def stretch_at_points(pressed: Pressed) -> Stretch:
    """Return the stretch at each point: the mean of C over the triangles round it."""
    return _principal(_at_points(pressed, pressed.state.c), pressed.pressing.backbone)


def thickness_at_points(pressed: Pressed) -> Floats:
    """Return (n,) thickness of the formed sheet at each point, mm."""
    c = _at_points(pressed, pressed.state.c)
    share = (c[0] * c[1] - c[2] ** 2) ** (-0.5 * pressed.sheet.law.thinning_exponent)
    return np.asarray(pressed.pressing.thickness_mm * share)


def press_force_N(pressed: Pressed) -> tuple[float, ...]:
    """Return what presses on each plug, N, before leather and floor are squeezed together.

    At correction level 2 and up what the sheet's stiffness adds is in it, see ``steepened_N``. The
    upward part of the sheet's forces at all points inside a ring half way up the wall; in
    balance it is the section force of the wall. Forces of a triangle on its corners are
    area x thickness x F S slope. Of a given surface it is what its clamped edge holds: all that
    presses on the points inside.
    """
    state, shape = pressed.state, pressed.shape
    tri = pressed.layout.triangles
    height = shape.points[:, 2][tri].T
    slope_z = np.einsum("aim,am->im", state.slopes, height)
    s11, s22, s12 = state.s
    weight = pressed.sheet.thickness_mm * state.area
    pull_1 = weight * (slope_z[0] * s11 + slope_z[1] * s12)
    pull_2 = weight * (slope_z[0] * s12 + slope_z[1] * s22)
    lift = np.zeros(len(shape.points))
    for corner in range(3):
        force = pull_1 * state.slopes[corner, 0] + pull_2 * state.slopes[corner, 1]
        lift += np.bincount(tri[:, corner], weights=force, minlength=len(lift))
    if not pressed.pressing.hollows:
        return (abs(float(lift[pressed.layout.held].sum())),)
    tension = [
        abs(float(lift[within(pressed, k)].sum())) for k in range(len(pressed.pressing.hollows))
    ]
    if pressed.conditions.level < 2:
        return tuple(tension)
    return tuple(force + steepened_N(pressed, k, force) for k, force in enumerate(tension))


def steepened_N(pressed: Pressed, hollow: int, tension_N: float) -> float:
    """Return what the stiffness of the sheet adds to the force of a hollow's wall, N.

    A sheet of bending stiffness D under tension T leaves an arc of radius r on a line that lies
    D/(2 T r) off the arc's tangent (linear beam under tension). Off both arcs, the wall stands
    steeper by the sum of the two over its length L, and its tension lifts by D/2 (1/r + 1/r')
    cos(turn)/L more for each mm of edge. The same is the work of bending round the arcs, D turn/2
    (1/r + 1/r'), by depth. It counts where the arcs are not turned to an upright wall. A wall
    shorter than the sqrt(D/T) over which the sheet straightens is taken as that long.

    Args:
        pressed: The solved sheet.
        hollow: Number of the hollow.
        tension_N: Upward part of the tension in its wall.
    """
    form = pressed.pressing
    assert isinstance(form, Pressing)
    tools, band = form.hollows[hollow].tools, pressed.layout.bands[hollow]
    on, cut = eased(form, hollow, band, pressed.warm.arcs[hollow]), pressed.shape.sections[hollow]
    ends = [band.rows.crown, band.rows.crown + band.rows.wall]
    ring = pressed.shape.points[band.grid[:, ends], :2].mean(axis=1)
    beside = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    length = 0.5 * (beside + np.roll(beside, 1))
    curving = 1.0 / (tools.crown_radius_mm + on.crown_ease + on.crown_h / 2.0)
    curving += 1.0 / (tools.lip_radius_mm + on.lip_h / 2.0)
    stiff = bending_shear_MPa(pressed.conditions.law) * (0.5 * (on.crown_h + on.lip_h)) ** 3 / 3.0
    tension = tension_N / float(length @ np.sin(cut.turn))
    wall = np.maximum(cut.wall, np.sqrt(stiff / max(tension, 1e-9)))
    return float(length @ (0.5 * stiff * curving * np.cos(cut.turn) / wall))


def plate_force_N(pressed: Pressed) -> float:
    """Return what plate or ring holds the flange down with, N: pressure x flange."""
    flange = pressed.layout.region == FLANGE
    return pressed.conditions.plate_pressure_MPa * float(pressed.sheet.metric.area[flange].sum())


def within(pressed: Pressed, hollow: int) -> Bools:
    """Return (n,) which points lie inside the middle of a hollow's wall, those within it too."""
    layout, pressing = pressed.layout, pressed.pressing
    assert isinstance(pressing, Pressing)
    chosen = np.zeros(len(layout.plan), dtype=bool)
    family = [hollow]
    for k, one in enumerate(pressing.hollows):
        parent = pressing.parent(one)
        if parent is not None and parent in family:
            family.append(k)
    for k in family:
        inside = (layout.hollow == k) & (layout.region == CAP)
        chosen[layout.triangles[inside]] = True
        band = layout.bands[k]
        chosen[band.grid if k != hollow else band.grid[:, : _middle(band.rows)]] = True
    return chosen


def _middle(rows: Rows) -> int:
    return rows.crown + rows.wall // 2 + 1


def pull_in(pressed: Pressed) -> tuple[Floats, Floats]:
    """Return ((k, 2) flat places, (k,) mm) of how far the leather's edge was drawn inward.

    Measured along the flat edge's outward normal.
    """
    ring = pressed.layout.edge
    flat, formed = flat_edge(pressed, ring), pressed.shape.points[ring, :2]
    along = np.roll(flat, -1, axis=0) - np.roll(flat, 1, axis=0)
    outward = np.column_stack([along[:, 1], -along[:, 0]])
    outward /= np.linalg.norm(outward, axis=1)[:, None]
    drawn: Floats = ((flat - formed) * outward).sum(axis=1)
    drawn[pressed.layout.held[ring]] = 0.0
    return flat, drawn


def flat_edge(pressed: Pressed, ring: Ints) -> Floats:
    """Return (k, 2) the flat sheet's edge, drawn in by the leather's own factor over the solved.

    Args:
        pressed: The solved sheet.
        ring: (k,) points of its edge.
    """
    flat = pressed.flat[ring]
    drawn = flat - pressed.shape.points[ring, :2]
    edge: Floats = flat + (pressed.conditions.pull_in_factor - 1.0) * drawn
    return edge


def gaping_darts(pressed: Pressed) -> tuple[int, ...]:
    """Return the numbers of relief darts that would gape: the sheet is not gathered there."""
    widths = [widths_mm(pressed.flat, cut) for cut in pressed.layout.cuts]
    return tuple(i for i, wide in enumerate(widths) if wide.min() <= 0.0)


def formed_from_flat(pressed: Pressed, marks: Floats) -> Floats:
    """Return (k, 3) where marks on the soaked flat sheet (k, 2) come to lie, mm.

    Raises:
        RequestError: When a mark lies off the sheet.
    """
    tri, share = _located(pressed.flat, pressed.layout.triangles, marks)
    _must_be_on(share, marks)
    return _mixed(pressed.shape.points, pressed.layout.triangles[tri], share)


def flat_from_plan(pressed: Pressed, places: Floats, outside_edge: bool = False) -> Floats:
    """Return (k, 2) where to mark the soaked flat sheet so that it lands on formed places.

    Args:
        pressed: The solved sheet.
        places: (k, 2) in the mesh's plan, which on flanges and bottoms is the plan of the formed
            sheet.
        outside_edge: Follow the nearest triangle beyond the sheet's edge too.

    Raises:
        RequestError: When a place lies off the sheet.
    """
    tri, share = _located(pressed.shape.plan, pressed.layout.triangles, places)
    if not outside_edge:
        _must_be_on(share, places)
    return _mixed(pressed.flat, pressed.layout.triangles[tri], share)


def thickness_at(pressed: Pressed, marks: Floats) -> Floats:
    """Return (k,) formed thickness at flat places (k, 2), mm."""
    tri, share = _located(pressed.flat, pressed.layout.triangles, marks)
    _must_be_on(share, marks)
    return _mixed(thickness_at_points(pressed)[:, None], pressed.layout.triangles[tri], share)[:, 0]


def _principal(c: Floats, backbone: float) -> Stretch:
    mean, half = 0.5 * (c[0] + c[1]), 0.5 * (c[0] - c[1])
    radius = np.hypot(half, c[2])
    angle = 0.5 * np.arctan2(c[2], half) + backbone
    return Stretch(
        largest=np.sqrt(mean + radius),
        least=np.sqrt(np.maximum(mean - radius, 0.0)),
        angle=np.remainder(angle, np.pi),
    )


def _at_points(pressed: Pressed, values: Floats) -> Floats:
    tri = pressed.layout.triangles
    n = len(pressed.flat)
    weight = np.repeat(pressed.state.area, 3)
    total = np.bincount(tri.ravel(), weights=weight, minlength=n)
    mean: Floats = np.stack(
        [np.bincount(tri.ravel(), weights=weight * np.repeat(v, 3), minlength=n) for v in values]
    ) / np.maximum(total, 1e-300)
    return mean


def _located(places: Floats, triangles: Ints, wanted: Floats) -> tuple[Ints, Floats]:
    """Return (k,) triangles and (k, 3) barycentric shares of points in a flat mesh."""
    corner = places[triangles]
    _, near = cKDTree(corner.mean(axis=1)).query(wanted, k=min(NEARBY, len(triangles)))
    near = near.reshape(len(wanted), -1)
    a, b, c = (corner[near][:, :, i] for i in range(3))
    p = wanted[:, None, :]
    whole = cross(b - a, c - a)
    shares = np.stack([cross(c - b, p - b), cross(a - c, p - c), cross(b - a, p - a)], axis=-1)
    shares = shares / whole[..., None]
    best = shares.min(axis=-1).argmax(axis=1)
    row = np.arange(len(wanted))
    return near[row, best], shares[row, best]


def _must_be_on(share: Floats, wanted: Floats) -> None:
    worst = int(share.min(axis=1).argmin())
    if share[worst].min() < -ON_EDGE_MM:
        x, y = wanted[worst]
        raise RequestError(
            f"the mark at ({x:.1f}, {y:.1f}) mm", because="it does not lie on the leather"
        )


def _mixed(values: Floats, corners: Ints, share: Floats) -> Floats:
    mixed: Floats = np.einsum("kc,kci->ki", share, values[corners])
    return mixed
