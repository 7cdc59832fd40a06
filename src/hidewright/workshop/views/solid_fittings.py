"""What is set and sewn into the leather, as solids: studs, press studs and rivets, and stitches."""

import math
from collections.abc import Mapping, Sequence

import numpy as np
from scipy.spatial import cKDTree

from hidewright.design.design import Design
from hidewright.design.fitting import FittingPlace
from hidewright.design.pose import Assembly
from hidewright.design.seam import SewnEdge, SewnSeam
from hidewright.geometry.segment import Floats
from hidewright.geometry.surface import Surface, loft
from hidewright.workshop.views.solid_group import QUANTITIES, Material, SolidGroup
from hidewright.workshop.views.solid_panels import poses_of
from hidewright.workshop.views.solid_plates import solid
from hidewright.workshop.views.solid_sheet import Sheet

#: How high a head stands over its diameter, and how thick the plate behind it is, mm (to look
#: right, no source).
HEAD_SHARE, PLATE_MM = 0.25, 0.6
#: Corners round a head.
ROUND = 28
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
    """Plate behind the leather, post through it, head before it, turned in one, piece frame."""
    flesh = float(_faces(sheet, np.array([place.at]))[0, 0])
    head = flesh + place.stack_mm
    post, wide = place.fitting.hole_mm / 2.0, place.fitting.head_diameter_mm / 2.0
    high = max(HEAD_SHARE * 2.0 * wide, PLATE_MM)
    rounding = [
        (wide - high * (1.0 - math.cos(a)), head + high * math.sin(a))
        for a in np.linspace(0.0, math.pi / 2.0, 5).tolist()
    ]
    profile = [
        (wide, flesh - PLATE_MM),
        (wide, flesh),
        (post, flesh),
        (post, head),
        *rounding,
    ]
    turn = np.linspace(0.0, 2.0 * math.pi, ROUND, endpoint=False)
    around = np.column_stack([np.cos(turn), np.sin(turn)])
    return loft(
        [
            np.column_stack([place.at + radius * around, np.full(ROUND, height)])
            for radius, height in profile
        ]
    )


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
    return [
        _thread(
            _bars(layer, sheets[layer.piece], design.thread.diameter_mm),
            f"{seam.name} stitches, {face}",
            _poses(design.assembly, layer.piece, layer.holes[0].at, steps),
        )
        for seam in sewn
        for layer, face in ((seam.layers[0], "front"), (seam.layers[-1], "back"))
    ]


def _thread(corners: Floats, name: str, poses: Floats) -> SolidGroup:
    """Triangles (m, 3, 3), each with its own normal, as thread."""
    n = 3 * len(corners)
    face = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    face /= np.linalg.norm(face, axis=1)[:, None]
    return SolidGroup(
        name=name,
        material="thread",
        points=corners.reshape(-1, 3),
        normals=np.repeat(face, 3, axis=0),
        scalars=np.full((n, len(QUANTITIES)), np.nan),
        triangles=np.arange(n).reshape(-1, 3),
        lines=np.zeros((0, 2), dtype=np.int64),
        sides=(n, n),
        poses=poses,
        rows=np.zeros(n),
    )


def _bars(layer: SewnEdge, sheet: Sheet, thread_mm: float) -> Floats:
    """Bars from hole to hole, half sunk into the grain face, as (m, 3, 3) corners of triangles."""
    holes = np.array([hole.at for hole in layer.holes])
    ends = np.column_stack([holes, _faces(sheet, holes)[:, 1]])
    a, b = ends[:-1], ends[1:]
    along = b - a
    side = np.cross(along, [0.0, 0.0, 1.0])
    side *= (thread_mm / 2.0) / np.linalg.norm(side, axis=1)[:, None]
    up = np.array([0.0, 0.0, OUT_SHARE * thread_mm])
    a_top, b_top, narrow = a + 0.15 * along + up, b - 0.15 * along + up, 0.7 * side
    low = (a - side - up, a + side - up, b + side - up, b - side - up)
    high = (a_top - narrow, a_top + narrow, b_top + narrow, b_top - narrow)
    box = np.stack([*low, *high], axis=1)
    corners: Floats = box[:, np.array(_BOX)].reshape(-1, 3, 3)
    return corners


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
