"""The shape a formed part dries to: its mould, scaled along and across so that its edges fit best.

Spring-back differs from triangle to triangle, so no shape has all edges as long as they would like
to be. Each region (the flange, each zone) is given the even scale along, across and in height that
comes nearest; what is missed is part of the answer. That is an estimate for the size of a hollow,
not for warping.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hidewright.design.size_change import Change
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats

Ints = npt.NDArray[np.int64]

#: A direction in which a region's edges do not reach, as share of the longest reach squared: a
#: flange whose thickness varies is flat for all that.
NO_REACH = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormedSheet:
    """A sheet as it lies on its mould, with the strain that brought it there.

    Attributes:
        points: (n, 3) mm on the mould; x and y lie in the flange plane, in the piece's frame.
        flat: (n, 2) mm, the same points of the soaked, flat sheet, in the same frame.
        triangles: (m, 3) corners of each triangle.
        strain: (m, 2, 2) formed logarithmic strains, grain axes: along the backbone, across.
        regions: (m,) region of each triangle: 0 the flange, 1 and on the zones; each has one.
        angle: Direction of the backbone, radians from the piece's y axis, as in ``Change``.
    """

    points: Floats
    flat: Floats
    triangles: Ints
    strain: Floats
    regions: Ints
    angle: float = 0.0

    def __post_init__(self) -> None:
        for name in ("points", "flat", "triangles", "strain", "regions"):
            seen = getattr(self, name).view()  # the arrays stay the solver's own
            seen.flags.writeable = False
            object.__setattr__(self, name, seen)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DryShape:
    """How each region of a part is scaled when it is dry.

    A region moves with the flange, and is scaled about its own middle.

    Attributes:
        scales: (k, 3) dry over formed: along the backbone, across it, in height; 1 where a region
            does not reach in a direction.
        middles: (k, 2) middle of each region in the plan, formed, mm.
        misfit: (k,) root mean square strain by which edges miss the length they would take.
        angle: Direction of the backbone, radians from the piece's y axis.
    """

    scales: Floats
    middles: Floats
    misfit: Floats
    angle: float

    def __post_init__(self) -> None:
        for array in (self.scales, self.middles, self.misfit):
            array.flags.writeable = False

    def change(self, region: int) -> Change:
        """Return a region's change in the plan, formed to dry."""
        along, across, _ = self.scales[region]
        return Change(along=float(along), across=float(across), angle=self.angle)

    def dry_points(self, region: int, formed: Floats) -> Floats:
        """Return where points of a formed region lie in the flange plane when dry.

        Args:
            region: 0 the flange, else a zone.
            formed: (n, 2) mm in the piece's frame.
        """
        middle = self.middles[[region]]
        moved: Floats = self.change(0).of_points(middle) + self.change(region).of_points(
            formed - middle
        )
        return moved

    def formed_points(self, region: int, dry: Floats) -> Floats:
        """Return where points must be formed to dry at given places: inverse of ``dry_points``."""
        middle = self.middles[[region]]
        formed: Floats = middle + self.change(region).inverse.of_points(
            dry - self.change(0).of_points(middle)
        )
        return formed

    def dry_depth(self, region: int, formed_mm: float) -> float:
        """Return the depth a zone formed to a depth dries to, mm."""
        return formed_mm * float(self.scales[region, 2])

    def formed_depth(self, region: int, dry_mm: float) -> float:
        """Return the depth to form for a depth when dry: the inverse of ``dry_depth``."""
        return dry_mm / float(self.scales[region, 2])


def dry_shape(sheet: FormedSheet, natural: Floats) -> DryShape:
    """Return the shape a formed sheet dries to.

    With a the mould's edge along, across and in height, and l its natural length, the scales k of a
    region minimise sum A [(sum k_j^2 a_j^2 - l^2) / (2 a^2)]^2: linear in k^2, to first order the
    relative misfit of edge lengths weighted by the area A of the triangle, so that a finer mesh
    does not pull harder. A sheet whose edges all want one axis scaling gets it exactly.

    Args:
        sheet: On the mould.
        natural: (m, 2, 2) strains of the dry, free leather, from ``natural_strain``.

    Raises:
        RequestError: No scaling comes near the natural lengths, or a region has no triangle.
    """
    edges = _mould_edges(sheet)
    ratios = _lengthening(sheet, natural)
    areas = _areas(sheet)
    centres = sheet.points[sheet.triangles].mean(axis=1)[:, :2]
    regions = [sheet.regions == r for r in range(int(sheet.regions.max()) + 1)]
    fits = [_fit(edges[here], ratios[here], areas[here]) for here in regions]
    middles = [np.average(centres[here], axis=0, weights=areas[here]) for here in regions]
    return DryShape(
        scales=np.array([scale for scale, _ in fits]),
        middles=np.array(middles),
        misfit=np.array([misfit for _, misfit in fits]),
        angle=sheet.angle,
    )


def _fit(edges: Floats, ratios: Floats, areas: Floats) -> tuple[Floats, float]:
    """Return (3,) scales and the misfit from (m, 3, 3) edges, (m, 3) length ratios, (m,) areas."""
    if len(areas) == 0:
        raise RequestError("a region of the sheet without a triangle")
    squares = (edges**2).reshape(-1, 3)
    lengths = squares.sum(axis=1)
    weights = np.repeat(np.sqrt(areas / (3.0 * areas.sum())), 3)
    rows = weights[:, None] * squares / (2.0 * lengths[:, None])
    wanted = weights * ratios.reshape(-1) ** 2 / 2.0
    reaches = squares.max(axis=0) > NO_REACH * squares.max()
    k2 = np.ones(3)
    k2[reaches] = np.linalg.lstsq(rows[:, reaches], wanted, rcond=None)[0]
    if not (k2 > 0.0).all():
        raise RequestError(
            "a part whose edges want to dry to lengths that no shape near its mould has",
            because="spring-back differs too much from place to place",
            mend="Lessen the depth, or enlarge the radii",
        )
    return np.sqrt(k2), float(np.linalg.norm(rows @ k2 - wanted))


def _mould_edges(sheet: FormedSheet) -> Floats:
    """Return (m, 3, 3) edges of each triangle on the mould: along the backbone, across, height."""
    corners = sheet.points[sheet.triangles]
    edges = np.roll(corners, -1, axis=1) - corners
    return np.concatenate([_in_grain_axes(edges[..., :2], sheet.angle), edges[..., 2:]], axis=-1)


def _lengthening(sheet: FormedSheet, natural: Floats) -> Floats:
    """Return (m, 3) natural over formed length of each edge of each triangle.

    Both are taken from the flat edge, |exp(eps) dX|, so that the mould's own edge is scaled
    and the chord of a curved edge does no harm.
    """
    corners = sheet.flat[sheet.triangles]
    flat = _in_grain_axes(np.roll(corners, -1, axis=1) - corners, sheet.angle)
    lengths = [
        np.hypot(*np.moveaxis(flat @ _exponential(strain), -1, 0))  # stretches are symmetric
        for strain in (natural, sheet.strain)
    ]
    ratios: Floats = lengths[0] / lengths[1]
    return ratios


def _exponential(strain: Floats) -> Floats:
    """(m, 2, 2) exp of symmetric tensors: of the mean, times cosh and sinh of the rest."""
    mean = 0.5 * (strain[:, 0, 0] + strain[:, 1, 1])
    rest = strain - mean[:, None, None] * np.eye(2)
    size = np.hypot(rest[:, 0, 0], rest[:, 0, 1])
    slope = np.divide(np.sinh(size), size, out=np.ones_like(size), where=size > 0.0)
    stretch: Floats = np.exp(mean)[:, None, None] * (
        np.cosh(size)[:, None, None] * np.eye(2) + slope[:, None, None] * rest
    )
    return stretch


def _in_grain_axes(vectors: Floats, angle: float) -> Floats:
    """Return (..., 2) vectors of the piece's frame as (along the backbone, across it)."""
    c, s = np.cos(angle), np.sin(angle)
    turned: Floats = vectors @ np.array([[-s, c], [c, s]])
    return turned


def _areas(sheet: FormedSheet) -> Floats:
    a, b, c = np.moveaxis(sheet.points[sheet.triangles], 1, 0)
    areas: Floats = np.linalg.norm(np.cross(b - a, c - a), axis=-1) / 2.0
    return areas
