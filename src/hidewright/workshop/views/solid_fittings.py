"""What is set and sewn into the leather, as solids: studs, press studs and rivets, and stitches."""

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.spatial import cKDTree

from hidewright.design.design import Design
from hidewright.design.fitting import FittingPlace
from hidewright.design.pose import Assembly
from hidewright.design.seam import SewnEdge, SewnSeam
from hidewright.geometry.segment import Floats
from hidewright.geometry.shapes import circle
from hidewright.geometry.surface import Surface, rounded_prism
from hidewright.workshop.views.solid_group import Material, SolidGroup
from hidewright.workshop.views.solid_panels import poses_of
from hidewright.workshop.views.solid_plates import SAGITTA_MM, solid
from hidewright.workshop.views.solid_sheet import Sheet

#: How high a head stands over its diameter, and how thick the plate behind it is, mm (to look
#: right, no source).
HEAD_SHARE, PLATE_MM = 0.25, 0.6
#: A stitch stands this much of the thread's diameter out of the leather.
OUT_SHARE = 0.6


def fitting_groups(design: Design, sheets: Mapping[str, Sheet], steps: int) -> list[SolidGroup]:
    """Return studs, press studs and rivets where they are set; rings are not drawn.

    A head stands over the grain face of what it is set in, by the leather that it holds besides.

    Args:
        design: Names the fittings.
        sheets: The pieces, each in its own frame.
        steps: Even steps from flat to closed, both ends included.
    """
    return [
        solid(
            _set_in(place, sheets[place.piece]),
            place.name,
            _metal(place.fitting.material),
            _poses(design.assembly, place.piece, place.at, steps),
            0.0,
        )
        for place in design.fittings
        if place.fitting.kind != "ring"
    ]


def _set_in(place: FittingPlace, sheet: Sheet) -> Surface:
    """Plate behind the leather, post through it, head before it, in the piece's frame."""
    at, fitting = place.at, place.fitting
    flesh = float(_faces(sheet, np.array([at]))[0, 0])
    head = flesh + place.stack_mm
    wide = fitting.head_diameter_mm
    high = max(HEAD_SHARE * wide, PLATE_MM)
    parts = (
        _disc(wide, at, flesh - PLATE_MM, flesh, 0.0),
        _disc(fitting.hole_mm, at, flesh - PLATE_MM / 2, head + PLATE_MM / 2, 0.0),
        _disc(wide, at, head, head + high, 0.8 * high),
    )
    first = np.cumsum([0, *(len(part.points) for part in parts[:-1])])
    return Surface(
        np.concatenate([part.points for part in parts]),
        np.concatenate([p.triangles + k for p, k in zip(parts, first, strict=True)]),
    )


def _disc(
    diameter: float, at: tuple[float, float], low: float, high: float, radius: float
) -> Surface:
    edge = circle(diameter / 2.0, at)
    return rounded_prism(edge, low, high, radius, sagitta_mm=SAGITTA_MM)


def _metal(material: str) -> Material:
    return "brass" if "brass" in material else "copper" if "copper" in material else "steel"


def stitch_groups(
    design: Design, sewn: Sequence[SewnSeam], sheets: Mapping[str, Sheet], steps: int
) -> list[SolidGroup]:
    """Return the thread that shows on the outer faces of each seam, a bar for each stitch.

    Args:
        design: Gives the thread, and where the pieces lie.
        sewn: Its seams with their holes.
        sheets: The pieces, each in its own frame.
        steps: Even steps from flat to closed, both ends included.
    """
    groups: list[SolidGroup] = []
    for seam in sewn:
        for layer, face in ((seam.layers[0], "front"), (seam.layers[-1], "back")):
            surface = _bars(layer, sheets[layer.piece], design.thread.diameter_mm)
            name = f"{seam.name} stitches, {face}"
            poses = _poses(design.assembly, layer.piece, layer.holes[0].at, steps)
            groups.append(solid(surface, name, "thread", poses, 0.0))
    return groups


def _bars(layer: SewnEdge, sheet: Sheet, thread_mm: float) -> Surface:
    """Bars from hole to hole on the grain face, half sunk into it."""
    holes = np.array([hole.at for hole in layer.holes])
    ends = np.column_stack([holes, _faces(sheet, holes)[:, 1]])
    a, b = ends[:-1], ends[1:]
    along = b - a
    side = np.cross(along, [0.0, 0.0, 1.0])
    side *= (thread_mm / 2.0) / np.linalg.norm(side, axis=1)[:, None]
    up = np.array([0.0, 0.0, OUT_SHARE * thread_mm])
    low = [a - side - up, a + side - up, b + side - up, b - side - up]
    high = [corner + 2.0 * up for corner in low]
    inward = 0.15 * along + 0.3 * side
    high = [
        high[0] + inward,
        high[1] + 0.15 * along - 0.3 * side,
        high[2] - inward,
        high[3] - 0.15 * along + 0.3 * side,
    ]
    k = len(a)
    box = np.array(_BOX)
    triangles = (box * k)[None] + np.arange(k)[:, None, None]
    return Surface(np.concatenate([*low, *high]), triangles.reshape(-1, 3))


#: Corners of a box, below and above counter-clockwise from above, as triangles seen from outside.
_BOX = (
    *((0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7)),
    *((0, 1, 5), (0, 5, 4), (1, 2, 6), (1, 6, 5)),
    *((2, 3, 7), (2, 7, 6), (3, 0, 4), (3, 4, 7)),
)


def _faces(sheet: Sheet, at: Floats) -> Floats:
    """(k, 2) heights of flesh and grain face where the sheet's points are nearest to places."""
    _, nearest = cKDTree(sheet.points[:, :2]).query(at)
    middle, half = sheet.points[nearest, 2], sheet.across[nearest, 2]
    return np.column_stack([middle - half, middle + half])


def _poses(assembly: Assembly, piece: str, at: tuple[float, float], steps: int) -> Floats:
    return poses_of(assembly, assembly.panel_at(piece, at), steps)
