"""The closed pocket with a tray in section: how high the tray lies, and the hinge for it.

Seen in section, square to the fold (z from the back panel's flesh face, t the leather)::

    pocket's crown, outside      depth + t
    tray's crown, inside         height + tray depth = depth + t + slide
    so flanges are apart         height = depth + t + slide - tray depth, at least t

A tray as deep as pocket and slide lies with its flange on the pocket's. A shallower one leaves the
flanges apart by height - t, open at the sides; the tray's magnet lies in that gap. The hinge is cut
for that height. Things thicker than the pocket push the tray further up; empty, the tray can be
pressed down to the pocket's flange or the magnet in between: both are checked.
"""

import math
from dataclasses import dataclass, replace

from hidewright.catalogue.magnets import Magnet
from hidewright.design.carried import Carried
from hidewright.design.folds import HingeStrip, hinge_strip
from hidewright.design.kinds.limits import about
from hidewright.design.kinds.pocket_with_tray_measures import PocketWithTrayMeasures
from hidewright.design.slabs import envelope

#: Flat flange that is left outside a lip, mm (common practice, no source).
FLAT_MM = 1.0
#: Leather beside a magnet, to the lip and to the stitch holes, mm (common practice, no source).
BESIDE_MAGNET_MM = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedSection:
    """The closed article cut square to its fold, mm.

    The frame: y along the pocket from its mouth, away from its bottom; z from the back panel's
    flesh face towards the pocket.

    Attributes:
        height_mm: From the back panel's flesh face to the tray flange's flesh face.
        gap_mm: Between the pocket's flange and the tray's.
        fold_y_mm: Where the hinge begins to bend.
        tray_wall_mm: Inside of the tray outside the inside of the pocket: leather and slide.
        swing_mm: What the tray is longer at its end so that it swings over the pocket.
        tray_crown_mm: Crown radius of the tray's inside.
        tip_mm: Width of the pocket's flange at its end.
        strip: The hinge.
    """

    height_mm: float
    gap_mm: float
    fold_y_mm: float
    tray_wall_mm: float
    swing_mm: float
    tray_crown_mm: float
    tip_mm: float
    strip: HingeStrip


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedState:
    """How the tray lies at its highest, over its things, or at its lowest, empty and pressed, mm.

    Attributes:
        height_mm: From the back panel's flesh face to the tray flange's flesh face.
        gap_mm: Between the pocket's flange and the tray's.
        spare_mm: What the hinge is longer than its way over that height; negative when too short.
    """

    height_mm: float
    gap_mm: float
    spare_mm: float


def closed_section(
    m: PocketWithTrayMeasures, thickness_mm: float, magnet: Magnet | None
) -> ClosedSection:
    """Return how the pieces lie in section when the tray is closed, see the file's top.

    Args:
        m: The measures.
        thickness_mm: Of the leather, dry.
        magnet: Of the closure, if one closes it.
    """
    t = thickness_mm
    height = max(m.depth_mm + t + m.slide_mm - m.tray_depth_mm, t)
    fold_y = m.mouth_room_mm + m.hinge_flange_mm
    swing = swing_mm(m, t, height)
    wall = t + m.slide_mm
    beyond_lip = wall + swing + t + m.lip_radius_mm
    tip = max(m.flange_mm, beyond_lip + FLAT_MM)
    if magnet is not None:
        tip = max(tip, beyond_lip + across(magnet) + 2 * BESIDE_MAGNET_MM + m.inset_mm)
    with about("fold_radius"):
        strip = _strip(m, height, t)
    return ClosedSection(
        height_mm=height,
        gap_mm=height - t,
        fold_y_mm=fold_y,
        tray_wall_mm=wall,
        swing_mm=swing,
        tray_crown_mm=min(m.crown_radius_mm + wall, m.tray_depth_mm, m.mouth_room_mm),
        tip_mm=tip,
        strip=strip,
    )


def _strip(m: PocketWithTrayMeasures, height_mm: float, thickness_mm: float) -> HingeStrip:
    """Return the hinge that just reaches over a height."""
    return hinge_strip(
        height_mm=height_mm,
        inside_radius_mm=min(m.fold_radius_mm, height_mm / 2),
        k_factor=0.5,
        thickness_mm=thickness_mm,
    )


def swing_mm(m: PocketWithTrayMeasures, thickness_mm: float, height_mm: float) -> float:
    """Return how much further from the hinge's axis the pocket's crown is than its end, mm.

    The tray swings about the middle of its hinge. The pocket's outer end is a from that axis,
    measured along the back; its rounded crown of radius r has its centre at (a - r, h), so the
    farthest it reaches from the axis is hypot(a - r, h) + r. By that less a the tray's end must
    stand off, or it catches on the crown on its way.
    """
    a = m.mouth_room_mm + m.hinge_flange_mm + m.height_mm + thickness_mm
    r = m.crown_radius_mm + thickness_mm
    h = m.depth_mm + thickness_mm - r - height_mm / 2
    return math.hypot(a - r, h) + r - a


def full_and_empty(
    m: PocketWithTrayMeasures,
    section: ClosedSection,
    thickness_mm: float,
    carried: tuple[Carried, ...],
    magnet: Magnet | None,
) -> tuple[ClosedState, ClosedState]:
    """Return how the tray lies with its things in the pocket, and how it lies empty and pressed.

    Things that are thicker than the pocket raise its crown, and with it the tray once the slide is
    used up. Loose things do not: they spread.
    """
    bare = tuple(
        replace(one, side_clearance_mm=0.0, depth_clearance_mm=0.0)
        for one in carried
        if one.arrangement != "loose"
    )
    thick = envelope(bare).thickness_mm if bare else 0.0
    held_up = magnet.thickness_mm + m.cover_mm if magnet else 0.0

    def at(height: float) -> ClosedState:
        way = _strip(m, height, thickness_mm)
        return ClosedState(
            height_mm=height,
            gap_mm=height - thickness_mm,
            spare_mm=section.strip.developed_mm - way.developed_mm,
        )

    full = max(section.height_mm, thick + thickness_mm - m.tray_depth_mm)
    return at(full), at(min(section.height_mm, thickness_mm + held_up))


def across(magnet: Magnet) -> float:
    """Return a magnet's size along the article, mm; a block lies across it."""
    return magnet.diameter_mm if magnet.shape == "disc" else magnet.width_mm
