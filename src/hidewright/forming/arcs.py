"""What tools do to the sheet where it runs round an edge: friction, pressure, standing off."""

from dataclasses import dataclass

import numpy as np

from hidewright.forming.energy import Sheet, State
from hidewright.forming.mesh import CROWN, LIP, Layout, Shape, meridians
from hidewright.forming.pattern import Ints
from hidewright.geometry.segment import Floats


@dataclass(frozen=True, eq=False)
class Arcs:
    """The triangles on crown and lip arcs of one formed surface.

    Attributes:
        own: (a,) their numbers.
        corners: (3, a) their points.
        along: (3, a) places of the points along the triangle's meridian, mm.
        crown: (a,) whether it is on a crown arc.
    """

    own: Ints
    corners: Ints
    along: Floats
    crown: "np.ndarray[tuple[int], np.dtype[np.bool_]]"


@dataclass(frozen=True, eq=False)
class Pull:
    """What pulls across the edge.

    Attributes:
        tension: (a,) N for each mm of edge.
        flat: (2, a) the meridian brought back to the flat, F^T m.
    """

    tension: Floats
    flat: Floats


def arcs_of(layout: Layout, shape: Shape) -> Arcs:
    """Return the arcs of a formed surface."""
    own = np.flatnonzero((layout.region == CROWN) | (layout.region == LIP))
    meridian = meridians(layout, shape, own)
    corners = layout.triangles[own].T.copy()
    along = np.stack([(shape.points[one] * meridian).sum(axis=1) for one in corners])
    return Arcs(own=own, corners=corners, along=along, crown=layout.region[own] == CROWN)


def pull_across(arcs: Arcs, sheet: Sheet, state: State) -> Pull:
    """Return the tension across the edge: t/J (F^T m) : S : (F^T m)."""
    slopes = state.slopes[:, :, arcs.own]
    flat = slopes[0] * arcs.along[0] + slopes[1] * arcs.along[1] + slopes[2] * arcs.along[2]
    s11, s22, s12 = (s[arcs.own] for s in state.s)
    c11, c22, c12 = state.c[:, arcs.own]
    j = np.sqrt(c11 * c22 - c12 * c12)
    tension = flat[0] ** 2 * s11 + flat[1] ** 2 * s22 + 2 * flat[0] * flat[1] * s12
    return Pull(tension * sheet.thickness_mm / j, flat)


def column_mean(layout: Layout, values: Floats, hollow: int, region: int) -> Floats:
    """Return (columns,) the mean of (m,) values of triangles in a region of a band, by column."""
    own = (layout.hollow == hollow) & (layout.region == region)
    j, columns = layout.column[own], layout.bands[hollow].columns
    quad = np.bincount(j, weights=values[own], minlength=columns) / np.bincount(
        j, minlength=columns
    )
    mean: Floats = 0.5 * (quad + np.roll(quad, 1))
    return mean


def arc_friction(
    arcs: Arcs, pull: Pull, coefficient: float, pressing: Floats, points: int
) -> Floats:
    """Return (points, 2) friction on the arcs, brought back to the flat, N.

    Tension T along the meridian presses with T kappa; friction holds the sheet back with
    mu T kappa, toward the hollow's middle on the crown and toward the flange on the lip.

    Args:
        arcs: Where.
        pull: Across the edge.
        coefficient: mu.
        pressing: (a,) curvature x formed area, mm.
        points: How many points the mesh has.
    """
    size = coefficient * np.maximum(pull.tension, 0.0) * pressing / 3.0
    size = np.where(arcs.crown, -size, size)
    return _gathered(
        arcs, [np.broadcast_to(size * f, arcs.corners.shape) for f in pull.flat], points
    )


def hoop_under_pressure(arcs: Arcs, pull: Pull, sheet: Sheet, state: State, points: int) -> Floats:
    """Return (points, 2) what pressing through the thickness adds to hoop tension, N.

    A tool's pressure presses through the sheet in all directions, so both tensions are less than
    the law's by the same amount. ``sheet.soften`` takes that off the meridian's as a share; off the
    hoop's it takes the same share where the same amount is due. What is missing acts here as a
    tension round the hoop.
    """
    own = arcs.own
    soften = sheet.soften[own]
    c11, c22, c12 = state.c[:, own]
    # on the flat, what becomes the hoop: w with (F w) at right angles to the meridian
    w = np.stack([-pull.flat[1], pull.flat[0]])
    hoop = np.stack([c11 * w[0] + c12 * w[1], c12 * w[0] + c22 * w[1]])
    length = np.sqrt(w[0] * hoop[0] + w[1] * hoop[1])
    hoop, w = hoop / length, w / length
    s11, s22, s12 = (s[own] for s in state.s)
    j = np.sqrt(c11 * c22 - c12 * c12)
    hooped = hoop[0] ** 2 * s11 + hoop[1] ** 2 * s22 + 2 * hoop[0] * hoop[1] * s12
    missing = (hooped * sheet.thickness_mm / j - pull.tension) * (1.0 / soften - 1.0)
    slopes = state.slopes[:, :, own]
    share = (w[0] * slopes[:, 0] + w[1] * slopes[:, 1]) * missing * sheet.metric.area[own]
    return _gathered(arcs, [share * h for h in hoop], points)


def under_pressure(thickness_over_radius: Floats) -> Floats:
    """Return tension round a tool's edge over that of a sheet with free faces, as stretched.

    Through the sheet d(stress)/d(rho) = S/rho, with S the tension's stress over the stress through
    the sheet, and nothing on the outer face; for an even S the tension is S r ln(1 + h/r). For a
    thin sheet that is 1 - h/(2 r): the pressure's mean, half of it, taken off.

    Args:
        thickness_over_radius: Of the sheet as formed, and of the tool's edge.
    """
    share: Floats = np.log1p(thickness_over_radius) / thickness_over_radius
    return share


def standing_off(radius: Floats, stiffness: Floats, tension: Floats, turn: Floats) -> Floats:
    """Return how far a stiff sheet stands off a tool's face beside the edge it turns round, mm.

    A band of bending stiffness D under tension T leaves a cylinder of radius r where its curvature
    still is 1/r, and straightens over the length l = sqrt(D/T): the line it tends to lies
    l^2/(2 r) off the cylinder's tangent (linear beam under tension). It can leave at most half the
    turn before the edge's end.

    Args:
        radius: (m,) r, mm.
        stiffness: (m,) D, N mm.
        tension: (m,) T, N/mm.
        turn: (m,) of the sheet round the edge, radians.
    """
    length = np.sqrt(stiffness / np.maximum(tension, 1e-9))
    off: Floats = 0.5 * radius * np.minimum(length / radius, turn / 2.0) ** 2
    return off


def evened(values: Floats) -> Floats:
    """Return values round a closed outline, each averaged with its neighbours, twice."""
    for _ in range(2):
        values = 0.5 * values + 0.25 * (np.roll(values, 1) + np.roll(values, -1))
    return values


def _gathered(arcs: Arcs, shares: list[Floats], points: int) -> Floats:
    at = arcs.corners.ravel()
    return np.stack([np.bincount(at, weights=s.ravel(), minlength=points) for s in shares], axis=1)
