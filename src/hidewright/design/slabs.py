"""A carried thing as it lies in a hollow: a slab with rounded corners and edges, and its envelope.

A disc is a slab whose corners meet, a rod one whose edges meet. The *envelope* is the slab grown by
the clearances asked for.
"""

import math
from dataclasses import dataclass, replace

from hidewright.design.carried import Carried
from hidewright.errors import RequestError
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import rectangle


@dataclass(frozen=True, slots=True, kw_only=True)
class Slab:
    """A thing as it lies in the hollow: width along x, length along y (the way in), mm.

    Attributes:
        length_mm: Along y.
        width_mm: Along x.
        thickness_mm: Along z.
        corner_radius_mm: Of its plan corners.
        edge_radius_mm: Of its upper and lower edges.
        outline: Its own outline seen from above, if it is no rounded rectangle; its bounds are the
            length and width.
    """

    length_mm: float
    width_mm: float
    thickness_mm: float
    corner_radius_mm: float = 0.0
    edge_radius_mm: float = 0.0
    outline: Outline | None = None

    def grown(self, side_mm: float, depth_mm: float) -> "Slab":
        """Return it with room all round: each side, and in all over its thickness."""
        edge = self.edge_radius_mm + min(side_mm, depth_mm / 2)
        return Slab(
            length_mm=self.length_mm + 2 * side_mm,
            width_mm=self.width_mm + 2 * side_mm,
            thickness_mm=self.thickness_mm + depth_mm,
            corner_radius_mm=self.corner_radius_mm + side_mm,
            edge_radius_mm=min(edge, (self.thickness_mm + depth_mm) / 2),
            outline=offset(self.outline, side_mm) if self.outline and side_mm else self.outline,
        )

    def inset_at(self, height_mm: float) -> float:
        """Return how far its side has come in at a height over its lower face, mm."""
        e = self.edge_radius_mm
        from_face = min(height_mm, self.thickness_mm - height_mm)
        if from_face >= e:
            return 0.0
        return e - math.sqrt(max(e * e - (e - from_face) ** 2, 0.0))

    @property
    def plan(self) -> Outline:
        """Its outline seen from above, centred on the origin."""
        if self.outline is not None:
            left, bottom, right, top = self.outline.bounds
            return self.outline.moved(-(left + right) / 2, -(bottom + top) / 2)
        short = min(self.length_mm, self.width_mm)
        return rectangle(self.width_mm, self.length_mm, min(self.corner_radius_mm, short / 2))


def slab_of(one: Carried) -> Slab:
    """Return the slab of all pieces of one carried thing as they are arranged, bare."""
    t = one.thing
    thickness = max(t.thickness_mm, t.thickness_max_mm)
    if t.shape == "disc":
        slab = Slab(
            length_mm=t.diameter_mm,
            width_mm=t.diameter_mm,
            thickness_mm=thickness,
            corner_radius_mm=t.diameter_mm / 2,
            edge_radius_mm=t.edge_radius_mm,
        )
    elif t.shape == "rod":
        slab = Slab(
            length_mm=t.length_mm,
            width_mm=t.diameter_mm,
            thickness_mm=t.diameter_mm,
            corner_radius_mm=t.edge_radius_mm,
            edge_radius_mm=t.diameter_mm / 2,
        )
    elif t.shape == "outline" and t.outline is not None:
        slab = Slab(
            length_mm=t.outline.height,
            width_mm=t.outline.width,
            thickness_mm=thickness,
            edge_radius_mm=t.edge_radius_mm,
            outline=t.outline,
        )
    else:
        slab = Slab(
            length_mm=t.length_mm,
            width_mm=t.width_mm,
            thickness_mm=thickness,
            corner_radius_mm=t.corner_radius_mm,
            edge_radius_mm=t.edge_radius_mm,
        )
    if one.across:
        slab = replace(
            slab,
            length_mm=slab.width_mm,
            width_mm=slab.length_mm,
            outline=slab.outline.rotated(math.pi / 2) if slab.outline else None,
        )
    if one.count == 1 or one.arrangement == "loose":
        return slab
    if one.arrangement == "stacked":
        return replace(slab, thickness_mm=slab.thickness_mm * one.count)
    between = one.side_clearance_mm * (one.count - 1)
    return replace(slab, width_mm=slab.width_mm * one.count + between)


def envelope(carried: tuple[Carried, ...]) -> Slab:
    """Return one slab with its clearances that holds everything carried.

    Things side by side make one row across the width; that row and each stacked thing lie over one
    another. Loose things need their own volume and are not in it (see ``fit_remarks``).
    """
    row = [(slab_of(c), c) for c in carried if c.arrangement == "side by side"]
    layers = [
        slab_of(c).grown(c.side_clearance_mm, c.depth_clearance_mm)
        for c in carried
        if c.arrangement == "stacked" or (c.arrangement == "loose" and len(carried) == 1)
    ]
    if row:
        room = [s.grown(c.side_clearance_mm, c.depth_clearance_mm) for s, c in row]
        layers.append(
            Slab(
                length_mm=max(s.length_mm for s in room),
                width_mm=math.fsum(s.width_mm for s in room),
                thickness_mm=max(s.thickness_mm for s in room),
                corner_radius_mm=min(s.corner_radius_mm for s in room),
                edge_radius_mm=min(s.edge_radius_mm for s in room),
            )
        )
    if len(layers) == 1:
        return layers[0]
    if not layers:
        raise RequestError(
            "nothing is carried",
            because="the hollow takes its size from what goes in",
            mend="Add a thing under carried",
        )
    return Slab(
        length_mm=max(s.length_mm for s in layers),
        width_mm=max(s.width_mm for s in layers),
        thickness_mm=math.fsum(s.thickness_mm for s in layers),
        corner_radius_mm=min(s.corner_radius_mm for s in layers),
        edge_radius_mm=min(s.edge_radius_mm for s in layers),
    )
