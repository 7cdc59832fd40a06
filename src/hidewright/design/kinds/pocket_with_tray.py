"""Pocket with a tray that folds over it: a moulded pocket, and a back with a moulded tray.

The outer piece is back panel, hinge strip and tray in one, grain outside. The pocket is sewn on the
back panel's flesh side, its mouth at the fold. Closed, the hollow of the tray comes down over the
pocket; its wall at the hinge stands beyond the mouth and shuts it.

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
from typing import Literal

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.magnets import Magnet
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import room_for
from hidewright.design.fitting import MagnetPlace
from hidewright.design.folds import HingeStrip, hinge_strip
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds.arches import TURNED_OVER, notched
from hidewright.design.kinds.hinges import HINGE_ROOM_MM, hinge_folds, hinge_panels
from hidewright.design.kinds.limits import about, grown_by, must_be_at_least, must_be_at_most
from hidewright.design.kinds.rims import mouth_to_mouth, rim_seam
from hidewright.design.magnets import weak_pair
from hidewright.design.measure import check_limits, choice, measure
from hidewright.design.piece import Fold, MouldedZone, Piece
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.design.slabs import envelope
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.errors import Remark, Remedy
from hidewright.geometry.outline import Outline, Path, joined
from hidewright.geometry.segment import line
from hidewright.geometry.shapes import arch, polygon

#: Flat flange that is left outside a lip, mm (common practice, no source).
FLAT_MM = 1.0
#: Leather beside a magnet, to the lip and to the stitch holes, mm (common practice, no source).
BESIDE_MAGNET_MM = 1.5
#: Flanges nearer than this count as lying on one another, mm.
MEET_MM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class PocketWithTrayMeasures:
    """Measures of a pocket with a tray, all of the dry article."""

    width_mm: float = measure("length", 90.0, "inside width of the pocket", low=12, high=400)
    height_mm: float = measure(
        "length", 110.0, "inside height of the pocket from mouth to bottom", low=15, high=400
    )
    depth_mm: float = measure("length", 16.0, "inside depth of the pocket", low=2, high=60)
    tray_depth_mm: float = measure(
        "length",
        13.7,
        "inside depth of the tray; pocket depth and slide together let the flanges meet",
        low=2,
        high=60,
    )
    slide_mm: float = measure(
        "length",
        0.5,
        "room between tray and pocket, at the walls and over the crown",
        low=0.1,
        high=5,
    )
    corner_radius_mm: float = measure(
        "length", 14.0, "plan radius of the pocket's two bottom corners, inside", low=1, high=200
    )
    crown_radius_mm: float = measure(
        "length",
        4.0,
        "inside radius between wall and crown of the pocket; the tray's follows it",
        low=0.5,
        high=30,
    )
    lip_radius_mm: float = measure(
        "length", 2.0, "outside radius between flange and wall, pocket and tray", low=0.5, high=20
    )
    flange_mm: float = measure(
        "length",
        15.0,
        "width of the pocket's flange, from the inside of the wall to the edge; the end with "
        "magnets is as much wider as they need",
        low=4,
        high=60,
    )
    mouth_room_mm: float = measure(
        "length",
        12.0,
        "how far the tray reaches beyond the pocket's mouth; its corners there have this radius, "
        "or half its width",
        low=3,
        high=80,
    )
    hinge_flange_mm: float = measure(
        "length", 7.0, "flat leather from the inside of the tray's wall to the fold", low=3, high=40
    )
    fold_radius_mm: float = measure(
        "length",
        2.5,
        "inside radius of the hinge's two bends; half the height of the hinge at most",
        low=0.5,
        high=20,
    )
    inset_mm: float = measure("length", 4.0, "stitch hole to edge", low=2, high=15)
    pitch_mm: float = measure("length", 4.0, "stitch hole to stitch hole", low=2, high=10)
    reverse_stitches: int = measure(
        "count", 3, "stitches sewn back at each end of a seam", low=0, high=8
    )
    notch_radius_mm: float = measure(
        "length", 18.0, "thumb notch in the pocket's mouth; 0 mm for none", low=0, high=40
    )
    closing: Literal["magnets", "none"] = choice("magnets", "what holds the tray shut")
    cover_mm: float = measure(
        "length", 0.8, "thin leather glued over the tray's magnet", low=0.3, high=3
    )
    mouth_waste_mm: float = measure(
        "length",
        5.0,
        "cut away between the mouths of two pockets moulded as a pair",
        low=3,
        high=12,
    )
    margin_mm: float = measure(
        "length", 20.0, "leather beyond the trimmed pieces after drawing in, held", low=8, high=80
    )


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


def construct(brief: Brief[PocketWithTrayMeasures]) -> Design:
    """Return the article: pocket and outer piece, one seam round the pocket's rim."""
    m = brief.measures
    check_limits(m, "measures")
    leather = brief.leather("body")
    magnet = brief.magnet("closure") if m.closing == "magnets" else None
    section = closed_section(m, leather.thickness_mm, magnet)
    _must_close(m, section, leather)
    return Design(
        name=brief.name,
        kind=brief.kind,
        carried=brief.carried,
        leathers=brief.leathers,
        pieces=(_pocket(m, section), _outer(m, section)),
        seams=(rim_seam(m, "pocket", "outer"),),
        blanks=(
            mouth_to_mouth(m, "pair of pockets", "pocket", "pocket"),
            Blank(
                name="outer",
                places=(PiecePlace(piece="outer"),),
                role="body",
                margin_mm=m.margin_mm,
            ),
        ),
        hollows=(_hollow(m),),
        assembly=_assembly(section),
        thread=brief.thread,
        magnets=_magnets(m, section, magnet) if magnet else (),
        held_by="tray with magnets" if magnet else "tray folded over the mouth",
        notes=_notes(brief, section, magnet),
    )


def sized_for(m: PocketWithTrayMeasures, carried: tuple[Carried, ...]) -> PocketWithTrayMeasures:
    """Return the measures with the pocket made to fit what is carried, the tray as much deeper.

    The flanges stay as far apart as they are. Corners and notch are made smaller where they would
    take up the width of a narrow pocket.
    """

    def sized(width: float, height: float, depth: float) -> PocketWithTrayMeasures:
        deep = max(depth, m.crown_radius_mm, 2.0)
        return replace(
            m,
            width_mm=width,
            height_mm=height,
            depth_mm=deep,
            tray_depth_mm=max(round(m.tray_depth_mm + deep - m.depth_mm, 2), 2.0),
            corner_radius_mm=min(m.corner_radius_mm, max(_up(width / 3), m.crown_radius_mm)),
            mouth_room_mm=min(m.mouth_room_mm, _up(width / 3)),
            notch_radius_mm=max(min(m.notch_radius_mm, _up(width / 3) - m.crown_radius_mm), 0.0),
        )

    room = room_for(carried, lambda r: _hollow(sized(r.width_mm, r.height_mm, r.depth_mm)))
    return sized(room.width_mm, room.height_mm, room.depth_mm)


def _up(mm: float) -> float:
    return math.ceil(mm * 2 - 1e-9) / 2


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
        tip = max(tip, beyond_lip + _across(magnet) + 2 * BESIDE_MAGNET_MM + m.inset_mm)
    with about("fold_radius"):
        strip = hinge_strip(
            height_mm=height,
            inside_radius_mm=min(m.fold_radius_mm, height / 2),
            k_factor=0.5,
            thickness_mm=t,
        )
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
        way = hinge_strip(
            height_mm=height,
            inside_radius_mm=min(m.fold_radius_mm, height / 2),
            k_factor=0.5,
            thickness_mm=thickness_mm,
        )
        return ClosedState(
            height_mm=height,
            gap_mm=height - thickness_mm,
            spare_mm=section.strip.developed_mm - way.developed_mm,
        )

    full = max(section.height_mm, thick + thickness_mm - m.tray_depth_mm)
    return at(full), at(min(section.height_mm, thickness_mm + held_up))


def _must_close(m: PocketWithTrayMeasures, section: ClosedSection, leather: Leather) -> None:
    t = leather.thickness_mm
    must_be_at_most(
        "crown_radius", m.crown_radius_mm, m.depth_mm, f"the pocket is {m.depth_mm:g} mm deep"
    )
    spread = (leather.thickness_max_mm - leather.thickness_min_mm) / 2
    must_be_at_least(
        "slide",
        m.slide_mm,
        spread,
        f"the thickest {leather.name} is {spread:g} mm over the middle of its range, and the tray "
        "would not go over the pocket",
    )
    flange = section.tray_wall_mm + t + m.lip_radius_mm + FLAT_MM
    must_be_at_least(
        "flange",
        m.flange_mm,
        flange,
        f"the tray's wall and lip outside the pocket take {flange - FLAT_MM:.1f} mm of it",
    )
    lip = t + m.lip_radius_mm + FLAT_MM
    must_be_at_least(
        "hinge_flange", m.hinge_flange_mm, lip, f"wall and lip alone take {lip - FLAT_MM:.1f} mm"
    )


def _pocket(m: PocketWithTrayMeasures, section: ClosedSection) -> Piece:
    with about("corner_radius"):
        inside = arch(m.width_mm, m.height_mm, m.corner_radius_mm)
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(inside),
        depth_mm=m.depth_mm,
        crown_radius_mm=m.crown_radius_mm,
        lip_radius_mm=m.lip_radius_mm,
        edges=(("mouth", "mouth"), ("rim", "flange")),
    )
    trimmed = _rim(m, section)
    if m.notch_radius_mm > 0:
        must_be_at_most(
            "notch_radius",
            m.notch_radius_mm,
            m.height_mm - m.crown_radius_mm,
            f"the flat crown is {m.height_mm - m.crown_radius_mm:.1f} mm high",
        )
        trimmed = notched(trimmed, m.notch_radius_mm, m.width_mm / 2 - m.crown_radius_mm)
    return Piece(name="pocket", role="body", outline=DryOutline(trimmed), zones=(zone,))


def _rim(m: PocketWithTrayMeasures, section: ClosedSection) -> Outline:
    """Return the pocket's trimmed edge, its mouth on y = 0; the end may be wider than the sides."""
    return arch(
        m.width_mm + 2 * m.flange_mm,
        m.height_mm + section.tip_mm,
        m.corner_radius_mm + m.flange_mm,
    )


def _mouth_y(section: ClosedSection) -> float:
    """Return where the pocket's mouth lies in the outer piece's frame, mm.

    That frame has its fold where ``hinge_folds`` puts it, half a mm over the origin.
    """
    return HINGE_ROOM_MM - section.fold_y_mm


def _tray_y(section: ClosedSection, closed_y: float) -> float:
    """Return where a place of the closed tray lies in the flat outer piece's frame, mm."""
    return HINGE_ROOM_MM + section.strip.developed_mm + section.fold_y_mm - closed_y


def _outer(m: PocketWithTrayMeasures, section: ClosedSection) -> Piece:
    """Return back panel, hinge and tray, seen on the grain, the tray upwards of the fold."""
    low, end = _mouth_y(section), _tray_y(section, -m.height_mm - section.tip_mm)
    x = m.width_mm / 2 + m.flange_mm
    rim = _rim(m, section).moved(0.0, low)
    r = m.corner_radius_mm + m.flange_mm
    upper = polygon(
        ((x, low), (x, end), (-x, end), (-x, low)), (0.0, r, r, 0.0), (*("edge",) * 3, "mouth")
    )
    segments = tuple(s for s in (*upper.segments, *rim.segments) if s.span != "mouth")
    return Piece(
        name="outer",
        role="body",
        outline=DryOutline(Outline(joined(segments))),
        zones=(
            MouldedZone(
                name="tray",
                outline=DryOutline(_tray(m, section)),
                depth_mm=m.tray_depth_mm,
                crown_radius_mm=section.tray_crown_mm,
                lip_radius_mm=m.lip_radius_mm,
            ),
        ),
        folds=_folds(section.strip, x),
    )


def _folds(strip: HingeStrip, half_width_mm: float) -> tuple[Fold, ...]:
    """Return the hinge's two folds, or one half turn where they run into one another."""
    if strip.straight_mm >= strip.bend_mm:
        return hinge_folds(strip, half_width_mm)
    y = HINGE_ROOM_MM + strip.developed_mm / 2
    return (
        Fold(
            name="hinge",
            line=Path((line((half_width_mm, y), (-half_width_mm, y)),)),
            angle=math.pi,
            inside_radius_mm=strip.inside_radius_mm,
            k_factor=0.5,
            strip_mm=strip.developed_mm,
            glue_free_mm=(strip.glue_free_mm / 2, strip.glue_free_mm / 2),
        ),
    )


def _tray(m: PocketWithTrayMeasures, section: ClosedSection) -> Outline:
    """Return the tray's inside in the flat outer piece's frame, walled all round."""
    x = m.width_mm / 2 + section.tray_wall_mm
    end = -m.height_mm - section.tray_wall_mm - section.swing_mm
    low, high = _tray_y(section, m.mouth_room_mm), _tray_y(section, end)
    near, far = min(m.mouth_room_mm, x), m.corner_radius_mm + section.tray_wall_mm
    with about("mouth_room"):
        return polygon(
            ((-x, low), (x, low), (x, high), (-x, high)), (near, near, far, far), ("rim",) * 4
        )


def _assembly(section: ClosedSection) -> Assembly:
    """Return the pocket, grain up, on the flesh side of the back; the tray folds over it."""
    behind = TURNED_OVER.then(Pose(shift=(0.0, -_mouth_y(section), 0.0)))
    panels = hinge_panels("outer", section.strip, behind, ("back", "hinge", "tray"))
    return Assembly(panels=(Panel(name="pocket", piece="pocket"), *panels))


def _hollow(m: PocketWithTrayMeasures) -> Hollow:
    return Hollow(
        name="pocket/hollow",
        outline=DryOutline(arch(m.width_mm, m.height_mm, m.corner_radius_mm)),
        shells=(
            Shell(depth_mm=m.depth_mm, crown_radius_mm=m.crown_radius_mm),
            Shell(depth_mm=0.0, crown_radius_mm=0.0),
        ),
        mouth="mouth",
        grip_mm=m.notch_radius_mm,
    )


def _magnets(
    m: PocketWithTrayMeasures, section: ClosedSection, magnet: Magnet
) -> tuple[MagnetPlace, ...]:
    """Return the pair: one under the pocket's flange, sewn in; one in the gap, on the tray's flesh.

    Both lie in the middle of the end, between the tray's lip and the stitch holes.
    """
    y = -m.height_mm - section.tip_mm + m.inset_mm + BESIDE_MAGNET_MM + _across(magnet) / 2
    between = section.height_mm - magnet.thickness_mm
    return (
        MagnetPlace(
            name="pocket magnet",
            magnet=magnet,
            piece="pocket",
            at=(0.0, y),
            partner="tray magnet",
            pole_out="N",
            leather_between_mm=between,
            before_seam="rim",
        ),
        MagnetPlace(
            name="tray magnet",
            magnet=magnet,
            piece="outer",
            at=(0.0, _tray_y(section, y)),
            partner="pocket magnet",
            pole_out="S",
            leather_between_mm=between,
        ),
    )


def _across(magnet: Magnet) -> float:
    """Return a magnet's size along the article, mm; a block lies across it."""
    return magnet.diameter_mm if magnet.shape == "disc" else magnet.width_mm


def _notes(
    brief: Brief[PocketWithTrayMeasures], section: ClosedSection, magnet: Magnet | None
) -> tuple[Remark, ...]:
    m = brief.measures
    t = section.height_mm - section.gap_mm
    full, empty = full_and_empty(m, section, t, brief.carried, magnet)
    return (
        *_about_gaps(m, full, empty),
        *_about_full(m, brief.carried, full),
        *_about_empty(m, section, empty, magnet),
        *_about_fold(m, section, t),
        *_about_proud(m, brief.carried),
        *(_about_magnets(m, brief.carried, section, magnet) if magnet else ()),
    )


def _about_gaps(
    m: PocketWithTrayMeasures, full: ClosedState, empty: ClosedState
) -> tuple[Remark, ...]:
    if full.gap_mm <= MEET_MM:
        return ()
    return (
        Remark(
            code="open-side-gaps",
            severity="note",
            place="outer/tray",
            amount=full.gap_mm,
            limit=0.0,
            sentence=(
                f"Closed over its things, the tray's flange stays {full.gap_mm:.1f} mm over the "
                f"pocket's, open at both sides and the end; empty and pressed, {empty.gap_mm:.1f} "
                "mm. A gusset or a tray as deep as pocket and slide closes it; the fold is then as "
                "tight as its leather, and no magnet goes between"
            ),
            remedies=(
                Remedy(field="measures.tray_depth", value=f"{m.depth_mm + m.slide_mm:.2f} mm"),
            ),
        ),
    )


def _about_full(
    m: PocketWithTrayMeasures, carried: tuple[Carried, ...], full: ClosedState
) -> tuple[Remark, ...]:
    """Forbid a hinge that is too short to close over what is carried."""
    if full.spare_mm >= -MEET_MM:
        return ()
    return (
        Remark(
            code="hinge-short-when-full",
            severity="forbids",
            place="pocket",
            amount=-full.spare_mm,
            limit=0.0,
            sentence=(
                "What is carried is thicker than the pocket and holds the tray "
                f"{full.height_mm:.1f} mm over the back: the hinge is {-full.spare_mm:.1f} mm too "
                "short to climb over it"
            ),
            remedies=grown_by(m, sized_for(m, carried)),
        ),
    )


def _about_empty(
    m: PocketWithTrayMeasures, section: ClosedSection, empty: ClosedState, magnet: Magnet | None
) -> tuple[Remark, ...]:
    """Say how much longer than its way the hinge is when nothing holds the tray up."""
    if empty.spare_mm <= MEET_MM:
        return ()
    onto = "its magnet" if magnet else "the pocket's flange"
    return (
        Remark(
            code="hinge-slack-when-empty",
            severity="note",
            place="outer",
            amount=empty.spare_mm,
            limit=0.0,
            sentence=(
                f"Empty and pressed down onto {onto}, the tray sinks by "
                f"{section.height_mm - empty.height_mm:.1f} mm; the hinge is then "
                f"{empty.spare_mm:.1f} mm longer than its way and bulges"
            ),
            remedies=(
                Remedy(
                    field="measures.tray_depth",
                    value=f"{m.depth_mm + m.slide_mm - empty.gap_mm:.2f} mm",
                ),
            ),
        ),
    )


def _about_fold(
    m: PocketWithTrayMeasures, section: ClosedSection, thickness_mm: float
) -> tuple[Remark, ...]:
    radius = section.strip.inside_radius_mm
    if radius >= thickness_mm - MEET_MM:
        return ()
    shallower = m.depth_mm + m.slide_mm - thickness_mm
    higher = m.fold_radius_mm >= thickness_mm and shallower >= 2.0
    return (
        Remark(
            code="tight-fold",
            severity="warning",
            place="outer",
            amount=radius,
            limit=thickness_mm,
            sentence=(
                f"The hinge is bent to an inside radius of {radius:.2f} mm, less than its leather "
                f"of {thickness_mm:.2f} mm: the grain may crack. Thin the strip to half, fold it "
                "damp round a rod, or take a shallower tray"
            ),
            remedies=(Remedy(field="measures.tray_depth", value=f"{shallower:.2f} mm"),)
            if higher
            else (),
        ),
    )


def _about_proud(m: PocketWithTrayMeasures, carried: tuple[Carried, ...]) -> tuple[Remark, ...]:
    """Forbid what stands so far out of the pocket that the tray does not close over it."""
    proud = max((-c.mouth_clearance_mm for c in carried), default=0.0)
    room = m.mouth_room_mm - m.slide_mm
    if proud <= room:
        return ()
    return (
        Remark(
            code="proud-of-the-tray",
            severity="forbids",
            place="outer/tray",
            amount=proud,
            limit=room,
            sentence=(
                f"What is carried stands {proud:.1f} mm out of the pocket, and the tray has room "
                f"for {room:.1f} mm there"
            ),
            remedies=(Remedy(field="measures.mouth_room", value=f"{proud + m.slide_mm:.1f} mm"),),
        ),
    )


def _about_magnets(
    m: PocketWithTrayMeasures,
    carried: tuple[Carried, ...],
    section: ClosedSection,
    magnet: Magnet,
) -> tuple[Remark, ...]:
    found: list[Remark] = []
    thick = magnet.thickness_mm + m.cover_mm
    if thick > section.gap_mm + MEET_MM:
        depth = m.depth_mm + m.slide_mm - thick
        found.append(
            Remark(
                code="no-room-for-magnet",
                severity="warning",
                place="outer/tray",
                amount=section.gap_mm,
                limit=thick,
                sentence=(
                    f"The tray's magnet and its cover are {thick:.1f} mm thick and the flanges "
                    f"only {section.gap_mm:.1f} mm apart: they would hold the tray open"
                ),
                remedies=(Remedy(field="measures.tray_depth", value=f"{depth:.2f} mm"),)
                if depth >= 2.0
                else (),
            )
        )
    apart = max(section.height_mm - magnet.thickness_mm, 0.0)
    found += weak_pair("pocket magnet", (magnet, magnet), apart, carried)
    return tuple(found)


POCKET_WITH_TRAY = Kind(
    name="pocket with fold-over tray",
    title="a moulded pocket on a back whose moulded tray folds over it",
    leathers=(("body", "vegetable-tanned shoulder 1.4-1.6 mm"),),
    magnets=(("closure", "disc 10 x 2 mm N38"),),
    arrangement="side by side",
    carries=("pointed forceps", "capped pin tube"),
    measures=PocketWithTrayMeasures,
    construct=construct,
    sized_for=sized_for,
    own_fields=(
        ("outer", "measures.depth", "measures.tray_depth"),
        ("outer", "measures.crown_radius", ""),  # it follows the pocket's
        ("outer", "measures.corner_radius", "measures.mouth_room"),
    ),
)
