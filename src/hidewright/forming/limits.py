"""How near the solved sheet comes to what its leather bears: cracks, puckers, pinched walls."""

import math
from dataclasses import dataclass

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.forming.answers import stretch_in_triangles
from hidewright.forming.mesh import CROWN, FLANGE, LIP, WALL, meridians, sampled
from hidewright.forming.pattern import Ints
from hidewright.forming.pressing import GivenSurface, Pressing
from hidewright.forming.solved import Pressed
from hidewright.geometry.distance import distances_from_ring
from hidewright.geometry.once import kept
from hidewright.geometry.segment import Floats

#: Buckling of a flange, free outside: critical strain k (t/b)^2, hinged at its inner edge ...
HINGED = 0.425 * math.pi**2 / 9.0
#: ... and clamped there. Plate theory, incompressible sheet (S. Timoshenko, Theory of Elastic
#: Stability: buckling factors 0.425 and 1.277 of a long plate with one edge free).
CLAMPED = 1.277 * math.pi**2 / 9.0
#: Half a wave of a pucker over the flange's width, the inner edge clamped (same source).
HALF_WAVE = 1.64


@dataclass(frozen=True, kw_only=True, eq=False)
class Use:
    """Shares of what the leather bears that are used, in each triangle: (m,), 1 is all of it.

    Attributes:
        stretch: Of the stretch limit of the sheet, by direction.
        grain: Of what the grain face bears, stretch and bending together.
        grain_stretch: Largest stretch of the grain face.
    """

    stretch: Floats
    grain: Floats
    grain_stretch: Floats

    @property
    def most(self) -> Floats:
        """The larger of both shares."""
        return np.maximum(self.stretch, self.grain)

    @property
    def reserve(self) -> Floats:
        """What is left: 1 untouched, 0 at the limit, below that it cracks."""
        return 1.0 - self.most


def use_of(pressed: Pressed, leather: Leather, grain_out: bool = True) -> Use:
    """Return how much of the leather's limits is used.

    The sheet's limit is that of a strip test, by direction (an ellipse of logarithmic strains
    between along and across). A strip narrows by half its strain; where the sheet is gathered
    beyond that, by drawing in, it bears as much more strain as it is gathered more, the limit of
    thinning (forming limit after S. P. Keeler and G. M. Goodwin, left side). On the grain face the
    bend round the arcs is added, 1 + h curvature / 2 on the outside, and compared with
    ``grain_limit``.

    Args:
        pressed: The solved sheet.
        leather: Gives the limits.
        grain_out: The grain faces away from the plug; from an island's block the other side does.
    """
    key = ("use", leather, grain_out)
    return kept(pressed, key, lambda: _use_of(pressed, leather, grain_out))


def _use_of(pressed: Pressed, leather: Leather, grain_out: bool) -> Use:
    stretch = stretch_in_triangles(pressed)
    e1, e2 = np.log(stretch.largest), np.log(stretch.least)
    off = stretch.angle - pressed.pressing.backbone
    along, across = math.log(leather.stretch_limit_along), math.log(leather.stretch_limit_across)
    strip = 1.0 / np.sqrt((np.cos(off) / along) ** 2 + (np.sin(off) / across) ** 2)
    borne = strip + np.maximum(-e2 - 0.5 * strip, 0.0)
    grain = grain_stretch(pressed, grain_out)
    return Use(
        stretch=np.maximum(e1, 0.0) / borne,
        grain=np.maximum(np.log(grain), 0.0) / math.log(leather.grain_limit),
        grain_stretch=grain,
    )


def grain_stretch(pressed: Pressed, grain_out: bool) -> Floats:
    """Return (m,) the largest stretch of the grain face: of the sheet, bent round arcs and corners.

    Bending by curvature k lengthens the outside by 1 + h k/2 in its direction (the middle neutral).
    """
    key = ("grain stretch", grain_out)
    return kept(pressed, key, lambda: _grain_stretch(pressed, grain_out))


def _grain_stretch(pressed: Pressed, grain_out: bool) -> Floats:
    c11, c22, c12 = (v.copy() for v in pressed.state.c)
    pressing = pressed.pressing
    if not isinstance(pressing, GivenSurface):
        own = np.flatnonzero(np.isin(pressed.layout.region, (CROWN, WALL, LIP)))
        side = np.array(pressing.ways)[pressed.layout.hollow[own]] * (1.0 if grain_out else -1.0)
        across = meridians(pressed.layout, pressed.shape, own)
        normal = pressed.shape.normals[pressed.layout.triangles[own]].mean(axis=1)
        hoop = np.cross(normal, across)
        hoop /= np.linalg.norm(hoop, axis=1)[:, None]
        h = pressed.thickness[own]
        bent = pressed.curvature[own] * np.where(pressed.layout.region[own] == LIP, -1.0, 1.0)
        for direction, curvature in ((across, bent), (hoop, _hoop_curvature(pressed, own))):
            pulled = _pulled(pressed, own, direction)
            more = (1.0 + side * 0.5 * h * curvature) ** 2 - 1.0
            c11[own] += more * pulled[0] ** 2
            c22[own] += more * pulled[1] ** 2
            c12[own] += more * pulled[0] * pulled[1]
    largest: Floats = np.sqrt(0.5 * (c11 + c22) + np.hypot(0.5 * (c11 - c22), c12))
    return largest


def _pulled(pressed: Pressed, own: Ints, to: Floats) -> Floats:
    """(2, len) directions of the formed surface brought back to the flat, p = F^T m.

    Chords of an arc are shorter than the arc that C measures: p is scaled to p C^-1 p = 1, as it is
    of a unit m.
    """
    slopes = pressed.state.slopes[:, :, own]
    points = pressed.shape.points[pressed.layout.triangles[own]]
    p1, p2 = np.einsum("aim,mad,md->im", slopes, points, to)
    c11, c22, c12 = pressed.state.c[:, own]
    square = (c22 * p1**2 - 2.0 * c12 * p1 * p2 + c11 * p2**2) / (c11 * c22 - c12**2)
    pulled: Floats = np.stack([p1, p2]) / np.sqrt(square)
    return pulled


def _hoop_curvature(pressed: Pressed, own: Ints) -> Floats:
    """(len,) curvature round the hollow, 1/mm: of the outline, where the sheet stands upright."""
    pressing = pressed.pressing
    assert isinstance(pressing, Pressing)
    layout = pressed.layout
    out = np.zeros(len(own))
    for k, (hollow, band) in enumerate(zip(pressing.hollows, layout.bands, strict=True)):
        mine = layout.hollow[own] == k
        segments = hollow.outline.segments
        bend = np.repeat([seg.curvature for seg in segments], band.counts)
        tri = layout.triangles[own[mine]]
        at, along = sampled(hollow.outline, band.counts)
        j = layout.column[own[mine]]
        middle = pressed.shape.points[tri].mean(axis=1)[:, :2]
        d = ((middle - at[j]) * along[j]).sum(axis=1)
        normal = pressed.shape.normals[tri].mean(axis=1)
        upright = np.linalg.norm(normal[:, :2], axis=1)
        out[mine] = bend[j] / np.maximum(1.0 + bend[j] * d, 0.05) * upright
    return out


@dataclass(frozen=True, kw_only=True, eq=False)
class Puckers:
    """Puckering of the flange, (k,) for its triangles.

    Attributes:
        triangles: Their numbers.
        gathered: Strain by which they are pressed together, positive.
        critical: What they bear flat when nothing lies on them.
        wave_mm: Length of a whole wave.
        height_mm: Height of the wave, from trough to crest, with nothing on the flange.
    """

    triangles: Ints
    gathered: Floats
    critical: Floats
    wave_mm: Floats
    height_mm: Floats


def puckers(pressed: Pressed) -> Puckers:
    """Return where the flange would pucker if nothing lay on it.

    Gathered strain beyond the critical goes into waves: a sine of height a over wave L takes up
    (pi a/L)^2 / 4 of its length (small slopes), so a = 2 L/pi sqrt(strain).
    """
    layout = pressed.layout
    own = np.flatnonzero(layout.region == FLANGE)
    middle = pressed.shape.points[layout.triangles[own]].mean(axis=1)[:, :2]
    lips = [band.grid[:, -1] for band in layout.bands] or [layout.edge]
    to_lip = np.min([_away(pressed, lip, middle) for lip in lips], axis=0)
    wide = np.maximum(to_lip + _away(pressed, layout.edge, middle), 1e-6)
    gathered = np.maximum(-np.log(stretch_in_triangles(pressed).least[own]), 0.0)
    critical = HINGED * (pressed.pressing.thickness_mm / wide) ** 2
    wave = 2.0 * HALF_WAVE * wide
    height = 2.0 * wave / math.pi * np.sqrt(np.maximum(gathered - critical, 0.0))
    return Puckers(
        triangles=own, gathered=gathered, critical=critical, wave_mm=wave, height_mm=height
    )


def _away(pressed: Pressed, ring: Ints, places: Floats) -> Floats:
    """(k,) how far places in the plan are from a ring of points, mm."""
    return distances_from_ring(pressed.shape.points[ring, :2], places)


def pinched(pressed: Pressed) -> tuple[Floats, ...]:
    """Return for each hollow (triangles of its wall,) formed thickness over the gap."""
    pressing, layout = pressed.pressing, pressed.layout
    return tuple(
        pressed.thickness[(layout.hollow == k) & (layout.region == WALL)] / hollow.tools.gap_mm
        for k, hollow in enumerate(pressing.hollows)
    )
