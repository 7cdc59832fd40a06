"""Leather round a fold: how long it lies there, and by how much layers differ."""

import math
from dataclasses import dataclass

from hidewright.errors import RequestError

#: Width kept free of glue beyond the bent strip on either side, mm (common practice, no source).
GLUE_FREE_BESIDE_MM = 3.0
#: A radius may exceed half the height by this much before the strip is refused, mm.
SLACK_MM = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class HingeStrip:
    """The strip of a piece that climbs over a moulded part: a bend, a straight, a bend.

    Attributes:
        height_mm: From the inside face it leaves to the inside face it arrives at: the flesh face
            of a layer that is folded grain out, the grain face of its lining.
        inside_radius_mm: Of both bends.
        bend_mm: Developed width of one quarter bend.
        straight_mm: Height between the two bends; 0 when they make one half circle.
        neutral_mm: Height of the layer that keeps its length above the inside face, K x thickness.
    """

    height_mm: float
    inside_radius_mm: float
    bend_mm: float
    straight_mm: float
    neutral_mm: float

    @property
    def developed_mm(self) -> float:
        """Width of the whole strip when it lies flat, mm."""
        return 2.0 * self.bend_mm + self.straight_mm

    @property
    def glue_free_mm(self) -> float:
        """Width to keep free of glue, centred on the strip, mm."""
        return self.developed_mm + 2.0 * GLUE_FREE_BESIDE_MM


def hinge_strip(
    *, height_mm: float, inside_radius_mm: float, k_factor: float, thickness_mm: float
) -> HingeStrip:
    """Return the strip over a height by two quarter bends with a straight between them.

    Args:
        height_mm: Depth of the part it climbs over plus that part's leather and any room, mm.
        inside_radius_mm: Inside radius of each bend, mm; half the height makes a half circle.
        k_factor: Where the leather keeps its length: 0 the inside face, 0.5 the middle.
        thickness_mm: Of the strip's leather, dry.

    Raises:
        RequestError: When two quarter bends are higher than the height.
    """
    bend = bend_allowance(math.pi / 2, inside_radius_mm, k_factor, thickness_mm)
    straight = height_mm - 2.0 * inside_radius_mm
    if straight < -SLACK_MM:
        raise RequestError(
            f"fold radius {inside_radius_mm:g} mm",
            because=f"two such bends are {2 * inside_radius_mm:g} mm high, and the hinge climbs "
            f"only {height_mm:.2f} mm",
            mend=f"Give a fold radius of at most {math.floor(height_mm / 2 * 100) / 100:g} mm",
        )
    return HingeStrip(
        height_mm=height_mm,
        inside_radius_mm=inside_radius_mm,
        bend_mm=bend,
        straight_mm=max(straight, 0.0),
        neutral_mm=k_factor * thickness_mm,
    )


def strip_round(lining: HingeStrip, *, lining_mm: float, outer_mm: float) -> HingeStrip:
    """Return the strip of the layer that lies round a lining, both of them bent at their middles.

    In each of the two bends it is as much longer as ``lining_shorter_by`` says.

    Args:
        lining: From ``hinge_strip`` with K = 0.5.
        lining_mm: Thickness of the lining, dry.
        outer_mm: Thickness of the layer round it, dry.
    """
    return HingeStrip(
        height_mm=lining.height_mm + 2.0 * lining_mm,
        inside_radius_mm=lining.inside_radius_mm + lining_mm,
        bend_mm=lining.bend_mm + lining_shorter_by(math.pi / 2, outer_mm, lining_mm),
        straight_mm=lining.straight_mm,
        neutral_mm=outer_mm / 2.0,
    )


def bend_allowance(
    angle: float, inside_radius_mm: float, k_factor: float, thickness_mm: float
) -> float:
    """Return the flat length that lies in a bend, mm: angle x (R + K t).

    The sheet-metal bend allowance; for leather K is about 0.5 for a gentle dry bend and 0.3 to 0.4
    for a wet fold with the grain outside, whose inside is squeezed (from memory).

    Args:
        angle: How far it is bent, radians; the sense does not matter.
        inside_radius_mm: Radius on the inside of the bend.
        k_factor: Height of the layer that keeps its length over the thickness, 0 to 1.
        thickness_mm: Of the leather.

    Raises:
        RequestError: For a radius below 0, a thickness of 0 or less, or K outside 0 to 1.

    >>> round(bend_allowance(math.pi / 2, 3.0, 0.44, 2.0), 4)
    6.0947
    """
    _must_bend(inside_radius_mm, thickness_mm)
    if not 0.0 <= k_factor <= 1.0:
        raise RequestError(
            f"K factor {k_factor:g}",
            because="the layer that keeps its length lies inside the leather",
            mend="Give 0 to 1; 0.5 is the middle",
        )
    return abs(angle) * (inside_radius_mm + k_factor * thickness_mm)


def lining_shorter_by(angle: float, outer_mm: float, lining_mm: float) -> float:
    """Return how much shorter a lining is cut than the outer layer it lies inside of, mm.

    angle x (t1 + t2) / 2: the distance between the two middles, turned through the bend. Layers
    sewn or glued together at a bend differ by this, whatever the radius.

    Args:
        angle: How far the fold is bent when closed, radians.
        outer_mm: Thickness of the outer layer.
        lining_mm: Thickness of the lining.
    """
    return abs(angle) * (outer_mm + lining_mm) / 2.0


def _must_bend(inside_radius_mm: float, thickness_mm: float) -> None:
    if inside_radius_mm < 0:
        raise RequestError(
            f"fold radius {inside_radius_mm:g} mm", mend="Give 0 for a sharp fold, or more"
        )
    if thickness_mm <= 0:
        raise RequestError(f"a fold in leather of {thickness_mm:g} mm", mend="Give a thickness")
