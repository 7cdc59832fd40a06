"""What a three-dimensional picture is made of, and the bytes it travels in."""

import json
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from hidewright.geometry.segment import Floats
from hidewright.geometry.surface import Ints

Material = Literal["leather", "lining", "thread", "board", "brass", "copper", "steel"]

#: The scalars of a point, in this order: largest stretch, %, thickness of the formed leather, wet,
#: mm, and share used of what the leather bears, % (the rest to 100 is its reserve).
QUANTITIES = ("stretch", "thickness", "reserve")
#: Words and unit of each, for the legend.
WORDS = (
    ("largest stretch", "%"),
    ("thickness of the formed leather, wet", "mm"),
    ("used of what the leather bears", "%"),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolidGroup:
    """One closed part of the picture; n points, m triangles.

    Each triangle runs counter-clockwise seen from outside. Faces do not share points with the walls
    between them, so that each point has one normal.

    Attributes:
        name: Of the panel, plate or layer.
        material: What it is made of.
        points: (n, 3) mm, in the frame that ``poses`` places: a piece's, or the picture's own.
        normals: (n, 3) unit, outward.
        scalars: (n, 3) by ``QUANTITIES``; NaN where nothing was formed.
        triangles: (m, 3).
        lines: (k, 2) points joined by a drawn edge.
        sides: Points before the first number lie on the grain face, before the second on the flesh
            face, the rest on the edges; (n, n) for what has no such faces.
        poses: (r, s, 3, 4) rigid placements, rotation and shift, at s even steps from flat to
            closed.
        rows: (n,) which of the r placements a point goes with; between two whole numbers it goes
            with the mix of both. A bent strip has many, all else one.
        apart_mm: How far up it is moved when the picture is taken apart.
    """

    name: str
    material: Material
    points: Floats
    normals: Floats
    scalars: Floats
    triangles: Ints
    lines: Ints
    sides: tuple[int, int]
    poses: Floats
    rows: Floats
    apart_mm: float = 0.0

    def placed(self, step: int) -> Floats:
        """Return (n, 3) points at one of the steps from flat to closed, mm."""
        below = np.floor(self.rows).astype(np.int64)
        above = np.minimum(below + 1, len(self.poses) - 1)
        share = (self.rows - below)[:, None]
        low, high = (
            np.einsum("nij,nj->ni", at[:, :, :3], self.points) + at[:, :, 3]
            for at in (self.poses[below, step], self.poses[above, step])
        )
        mixed: Floats = low + share * (high - low)
        return mixed


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolidView:
    """A picture of several groups.

    Attributes:
        groups: Each with a name of its own.
    """

    groups: tuple[SolidGroup, ...]

    @property
    def ranges(self) -> tuple[tuple[float, float] | None, ...]:
        """(least, most) of each of ``QUANTITIES`` over all groups; None when nothing is formed.

        Stretch begins at 0; the share used runs from 0 to at least 100.
        """
        values = [g.scalars for g in self.groups]
        every = np.concatenate(values) if values else np.zeros((0, len(QUANTITIES)))
        return tuple(_range(every[:, k], k) for k in range(len(QUANTITIES)))

    @property
    def triangles(self) -> int:
        """How many triangles there are in all."""
        return sum(len(group.triangles) for group in self.groups)

    @property
    def moves(self) -> bool:
        """Whether anything moves between unfolded and closed."""
        return any(np.ptp(group.poses, axis=1).max() > 0.0 for group in self.groups)


def _range(values: Floats, quantity: int) -> tuple[float, float] | None:
    known = values[np.isfinite(values)]
    if not len(known):
        return None
    low, high = float(known.min()), float(known.max())
    if QUANTITIES[quantity] == "reserve":
        return 0.0, max(high, 100.0)
    return (0.0 if QUANTITIES[quantity] == "stretch" else low), high


def encode(view: SolidView) -> bytes:
    """Return a picture as bytes: uint32 length of the head, JSON head, then numbers.

    Everything is little-endian and begins at a multiple of four bytes; the head is padded with
    spaces. It lists the groups with their counts; for each group follow points, normals, scalars,
    poses and, where there is more than one placement, rows as float32, then triangles and lines as
    uint32. A scalar that is not known is NaN. The head says whether anything ``moves``.
    """
    groups: list[dict[str, Any]] = []
    blocks: list[npt.NDArray[Any]] = []
    for group in view.groups:
        bends = len(group.poses) > 1
        groups.append(
            {
                "name": group.name,
                "material": group.material,
                "points": len(group.points),
                "triangles": len(group.triangles),
                "lines": len(group.lines),
                "placements": group.poses.shape[0],
                "steps": group.poses.shape[1],
                "sides": group.sides,
                "apart": group.apart_mm,
            }
        )
        numbers = [group.points, group.normals, group.scalars, group.poses]
        blocks += [a.astype("<f4") for a in (*numbers, *([group.rows] if bends else []))]
        blocks += [a.astype("<u4") for a in (group.triangles, group.lines)]
    quantities = [
        {"key": key, "words": words, "unit": unit, "range": limits}
        for key, (words, unit), limits in zip(QUANTITIES, WORDS, view.ranges, strict=True)
    ]
    told = {"groups": groups, "quantities": quantities, "moves": view.moves}
    head = json.dumps(told, separators=(",", ":")).encode()
    head += b" " * (-len(head) % 4)
    return b"".join(
        [
            len(head).to_bytes(4, "little"),
            head,
            *(np.ascontiguousarray(b).tobytes() for b in blocks),
        ]
    )
