"""Pocket with a tray that folds over it: a moulded pocket, and a back with a moulded tray.

The outer piece is back panel, hinge strip and tray in one, grain outside. The pocket is sewn on the
back panel's flesh side, its mouth at the fold. Closed, the hollow of the tray comes down over the
pocket; its wall at the hinge stands beyond the mouth and shuts it.
"""

import math
from dataclasses import replace

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.magnets import Magnet
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import room_for
from hidewright.design.fitting import MagnetPlace
from hidewright.design.folds import HingeStrip
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds.arches import TURNED_OVER, notch_going_in, notched
from hidewright.design.kinds.hinges import HINGE_ROOM_MM, hinge_folds, hinge_panels
from hidewright.design.kinds.limits import about, must_be_at_least, must_be_at_most
from hidewright.design.kinds.pocket_with_tray_closed import (
    BESIDE_MAGNET_MM,
    FLAT_MM,
    ClosedSection,
    across,
    closed_section,
)
from hidewright.design.kinds.pocket_with_tray_measures import PocketWithTrayMeasures
from hidewright.design.kinds.pocket_with_tray_remarks import remarks_on
from hidewright.design.kinds.rims import mouth_to_mouth, rim_seam
from hidewright.design.measure import check_limits
from hidewright.design.piece import Fold, MouldedZone, Piece
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.geometry.outline import Outline, Path, joined
from hidewright.geometry.segment import line
from hidewright.geometry.shapes import arch, polygon

#: A tray is no shallower than the thinnest board its mould is usually made of, mm.
LEAST_TRAY_MM = 3.0


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
        cover_mm=m.cover_mm,
        held_by="tray with magnets" if magnet else "tray folded over the mouth",
        notes=remarks_on(m, brief.carried, section, magnet, lambda: sized_for(m, brief.carried)),
    )


def sized_for(m: PocketWithTrayMeasures, carried: tuple[Carried, ...]) -> PocketWithTrayMeasures:
    """Return the measures with the pocket made to fit what is carried, the tray as much deeper.

    The flanges stay as far apart as they are. Corners and notch are made smaller where they would
    take up the width of a narrow pocket or the height of a low one; what magnets would spoil is
    closed without them.
    """
    spoilt = any(one.thing.magnet_sensitive for one in carried)

    def sized(width: float, height: float, depth: float) -> PocketWithTrayMeasures:
        deep = max(depth, m.crown_radius_mm, 2.0)
        return replace(
            m,
            width_mm=width,
            height_mm=height,
            depth_mm=deep,
            tray_depth_mm=max(round(m.tray_depth_mm + deep - m.depth_mm, 2), LEAST_TRAY_MM),
            closing="none" if spoilt else m.closing,
            corner_radius_mm=min(
                m.corner_radius_mm, max(_up(min(width, 2 * height) / 3), m.crown_radius_mm)
            ),
            mouth_room_mm=min(m.mouth_room_mm, _up(width / 3)),
            notch_radius_mm=min(
                notch_going_in(m.notch_radius_mm, width, m.crown_radius_mm),
                max(height - m.crown_radius_mm, 0.0),
            ),
        )

    room = room_for(carried, lambda r: _hollow(sized(r.width_mm, r.height_mm, r.depth_mm)))
    return sized(room.width_mm, room.height_mm, room.depth_mm)


def _up(mm: float) -> float:
    return math.ceil(mm * 2 - 1e-9) / 2


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
        f"the tray's wall and lip outside the pocket take {flange - FLAT_MM:.1f} mm of it, and "
        f"{FLAT_MM:g} mm stays flat",
    )
    lip = t + m.lip_radius_mm + FLAT_MM
    must_be_at_least(
        "hinge_flange",
        m.hinge_flange_mm,
        lip,
        f"wall and lip alone take {lip - FLAT_MM:.1f} mm, and {FLAT_MM:g} mm stays flat",
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
    y = -m.height_mm - section.tip_mm + m.inset_mm + BESIDE_MAGNET_MM + across(magnet) / 2
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
