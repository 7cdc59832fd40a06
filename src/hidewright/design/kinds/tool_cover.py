"""Tool cover: a front moulded to a tool's outline, snug, on a flat back, open at the handle's end.

The tool goes in along its length, its working end first. So the hollow is the tool's own outline as
far as its widest place, and from there runs straight to the mouth, wide enough for that place to
pass. Where the outline has inward corners they are filled to a radius that a frame can have. How
far the tool stands out of the mouth, and how snugly it lies, is said where it is carried.
"""

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from typing import Literal

from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import goes_in
from hidewright.design.fitting import FittingPlace
from hidewright.design.folds import HingeStrip, hinge_strip
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds import usual
from hidewright.design.kinds.arches import TURNED_OVER
from hidewright.design.kinds.hinges import HINGE_ROOM_MM, hinge_folds, hinge_panels
from hidewright.design.kinds.limits import about, must_be_at_least, must_be_at_most
from hidewright.design.kinds.rims import mouth_to_mouth, rim_seam
from hidewright.design.kinds.tool_plan import moved_to_mouth, swept_to_mouth, width_of_neck
from hidewright.design.measure import check_limits, choice, measure
from hidewright.design.piece import MouldedZone, Piece, PunchedHole
from hidewright.design.pose import Assembly, Panel
from hidewright.design.slabs import envelope
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.geometry.offset import offset_path
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import polygon
from hidewright.units.length import WRITTEN_TO_MM

#: A fit holds what is carried by itself with no more room than this, mm (common practice).
SNUG_MM = 0.5
#: Inside corner where the strap leaves the back, mm.
ROOT_RADIUS_MM = 3.0
#: What rounds a hollow may need more room than the tool by this much before it is refused, mm.
MOST_EASE_MM = 60.0
#: What is tried: by tenths while it is little.
EASES_MM = (*(k / 10 for k in range(40)), *map(float, range(4, int(MOST_EASE_MM) + 1)))
#: Least from the mouth to the stud, and by how much it is drawn nearer at a time, mm.
LEAST_DROP_MM, DROP_STEP_MM = 6.0, 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolCoverMeasures:
    """Measures of a tool cover, all of the dry article; its outline is the tool's."""

    depth_mm: float = measure("length", 15.0, "inside depth of the hollow", low=2, high=60)
    ease_mm: float = measure(
        "length",
        2.0,
        "room round the tool beyond its clearance, for the rounding of crown and corners",
        low=0,
        high=MOST_EASE_MM,
    )
    corner_radius_mm: float = measure(
        "length", 6.0, "least plan radius of outward corners of the hollow", low=1, high=100
    )
    inward_radius_mm: float = measure(
        "length",
        9.0,
        "least plan radius of inward corners; the frame needs lip radius and gap",
        low=1,
        high=100,
    )
    crown_radius_mm: float = usual.crown_radius(4.0)
    lip_radius_mm: float = usual.lip_radius(3.0)
    flange_mm: float = usual.flange(13.0)
    inset_mm: float = usual.inset()
    pitch_mm: float = usual.pitch()
    reverse_stitches: int = usual.reverse_stitches()
    handle_mm: float = measure(
        "length", 100.0, "handle beyond the tool's outline, to draw it out by", low=0, high=1000
    )
    closing: Literal["strap and stud", "snug fit", "none"] = choice(
        "strap and stud", "what holds the tool in"
    )
    strap_width_mm: float = measure("length", 14.0, "width of the strap", low=8, high=60)
    strap_beside_mm: float = measure(
        "length",
        18.0,
        "middle of the strap beside the middle of the mouth, so that the handle passes it",
        low=0,
        high=200,
    )
    stud_drop_mm: float = measure(
        "length",
        18.0,
        "how far below the mouth the stud sits on the front",
        low=LEAST_DROP_MM,
        high=300,
    )
    fold_radius_mm: float = usual.fold_radius("inside radius of the two folds of the strap")
    mouth_waste_mm: float = usual.mouth_waste("between the mouths of two fronts moulded as a pair")
    margin_mm: float = usual.margin("the trimmed front")

    @property
    def has_strap(self) -> bool:
        """Whether a strap holds the tool in."""
        return self.closing == "strap and stud"


def construct(brief: Brief[ToolCoverMeasures]) -> Design:
    """Return the cover: moulded front, flat back with a strap, one seam round the rim."""
    m = brief.measures
    check_limits(m, "measures")
    must_be_at_most(
        "crown_radius", m.crown_radius_mm, m.depth_mm, f"the hollow is {m.depth_mm:g} mm deep"
    )
    inside = _inside(m, brief.carried)
    trimmed = _trimmed(m, inside)
    front = _front(m, inside, trimmed)
    back = Piece(name="back", role="body", outline=DryOutline(trimmed.mirrored()))
    strip = _strip(brief) if m.has_strap else None
    fittings: tuple[FittingPlace, ...] = ()
    if strip is not None:
        front, back, fittings = _strapped(brief, front, back, strip)
    return Design(
        name=brief.name,
        kind=brief.kind,
        carried=brief.carried,
        leathers=brief.leathers,
        pieces=(front, back),
        seams=(rim_seam(m, "front", "back"),),
        blanks=(mouth_to_mouth(m, "pair of fronts", "front", "front"),),
        hollows=(_hollow(m, inside),),
        assembly=_assembly(strip),
        thread=brief.thread,
        fittings=fittings,
        held_by=_held_by(m, brief.carried),
        notes=_about_handle(m, brief.carried),
    )


def sized_for(m: ToolCoverMeasures, carried: tuple[Carried, ...]) -> ToolCoverMeasures:
    """Return the measures with depth and ease made to fit, the strap drawn in onto the crown.

    A tool that has no room for it there is held by its snug fit.
    """
    slab = envelope(carried)
    depth = max(math.ceil(round(slab.thickness_mm * 2, 3)) / 2, m.crown_radius_mm, 2.0)
    deep = replace(m, depth_mm=depth)
    below = max(c.mouth_clearance_mm for c in carried)

    def fits(ease: float) -> bool:
        try:
            inside = _inside(replace(deep, ease_mm=ease), carried)
        except RequestError:
            return False  # its radii do not go into so small a hollow
        return goes_in(_hollow(deep, inside), slab, below)

    least = bisect_left(EASES_MM, True, key=fits)
    if least == len(EASES_MM):
        raise RequestError(
            "no hollow round this outline holds the tool",
            mend="Make crown and corner radii smaller",
            where="measures.crown_radius",
        )
    eased = replace(deep, ease_mm=EASES_MM[least])
    return _strap_drawn_in(eased, _inside(eased, carried)) if m.has_strap else eased


def _strap_drawn_in(m: ToolCoverMeasures, inside: Outline) -> ToolCoverMeasures:
    """Return the measures with the strap nearer to the middle and to the mouth where it must be."""
    aside = inside.width / 2 - m.crown_radius_mm - m.strap_width_mm / 2
    beside = min(m.strap_beside_mm, math.floor(aside * 10) / 10)
    drop = m.stud_drop_mm
    while beside >= 0.0 and drop >= LEAST_DROP_MM:
        drawn = replace(m, strap_beside_mm=beside, stud_drop_mm=drop)
        if _ends_on_crown(drawn, inside):
            return drawn
        drop = round(drop - DROP_STEP_MM, 3)
    return replace(m, closing="snug fit")


def _inside(m: ToolCoverMeasures, carried: tuple[Carried, ...]) -> Outline:
    """Return the hollow's inside, spans ``mouth`` on y = 0 and ``rim``, its middle on x = 0.

    Raises:
        RequestError: When nothing is carried, or the tool is still widening at the mouth.
    """
    if not carried:
        raise RequestError(
            "nothing is carried",
            because="a tool cover takes its outline from the tool",
            mend="Add the tool under carried",
            where="carried",
        )
    below = max(c.mouth_clearance_mm for c in carried)
    return swept_to_mouth(
        moved_to_mouth(envelope(carried).plan, below),
        ease_mm=m.ease_mm,
        corner_radius_mm=m.corner_radius_mm,
        inward_radius_mm=m.inward_radius_mm,
    )


def _hollow(m: ToolCoverMeasures, inside: Outline) -> Hollow:
    return Hollow(
        name="front/hollow",
        outline=DryOutline(inside),
        shells=(
            Shell(depth_mm=m.depth_mm, crown_radius_mm=m.crown_radius_mm),
            Shell(depth_mm=0.0, crown_radius_mm=0.0),
        ),
        mouth="mouth",
        grip_mm=m.handle_mm,
    )


def _trimmed(m: ToolCoverMeasures, inside: Outline) -> Outline:
    """Return the trimmed edge: an even flange round the rim, the mouth straight across."""
    with about("flange"):
        first, *middle, last = offset_path(inside.span_path("rim"), m.flange_mm).segments
    left, right = (first.start[0], 0.0), (last.end[0], 0.0)  # exactly on the mouth
    rim = (line(left, first.end, "rim"), *middle, line(last.start, right, "rim"))
    return Outline((line(right, left, "mouth"), *rim))


def _front(m: ToolCoverMeasures, inside: Outline, trimmed: Outline) -> Piece:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(inside),
        depth_mm=m.depth_mm,
        crown_radius_mm=m.crown_radius_mm,
        lip_radius_mm=m.lip_radius_mm,
        edges=(("mouth", "mouth"), ("rim", "flange")),
    )
    return Piece(name="front", role="body", outline=DryOutline(trimmed), zones=(zone,))


def _strip(brief: Brief[ToolCoverMeasures]) -> HingeStrip:
    thickness = brief.leather("body").thickness_mm
    with about("fold_radius"):
        return hinge_strip(
            height_mm=brief.measures.depth_mm + thickness + HINGE_ROOM_MM,
            inside_radius_mm=brief.measures.fold_radius_mm,
            k_factor=0.5,
            thickness_mm=thickness,
        )


def _strapped(
    brief: Brief[ToolCoverMeasures], front: Piece, back: Piece, strip: HingeStrip
) -> tuple[Piece, Piece, tuple[FittingPlace, ...]]:
    """Return front and back with a strap one with the back, the stud and the holes for it."""
    m, stud = brief.measures, brief.fitting("stud")
    at: Point = (m.strap_beside_mm, -m.stud_drop_mm)
    _must_lie_on_the_crown(m, front.zone("hollow"), stud.head_diameter_mm)
    # the strap comes down in front from the hinge, which begins half a mm above the mouth
    x, y = -m.strap_beside_mm, 2 * HINGE_ROOM_MM + strip.developed_mm + m.stud_drop_mm
    half = m.strap_width_mm / 2
    back = replace(
        back,
        outline=DryOutline(_with_strap(back.outline, x, half, y + half)),
        folds=tuple(
            replace(fold, line=fold.line.moved(x, 0.0)) for fold in hinge_folds(strip, half)
        ),
        holes=(
            PunchedHole(
                name="strap",
                at=(x, y),
                diameter_mm=stud.head_diameter_mm / 2,
                slit=(x, y - half + 1.0),
            ),
        ),
    )
    front = replace(front, holes=(PunchedHole(name="stud", at=at, diameter_mm=stud.hole_mm),))
    place = FittingPlace(
        name="stud",
        fitting=stud,
        piece="front",
        at=at,
        stack_mm=2 * brief.leather("body").thickness_mm,
        before_seam="rim",
    )
    return front, back, (place,)


def _must_lie_on_the_crown(m: ToolCoverMeasures, zone: MouldedZone, head_mm: float) -> None:
    """Refuse a strap whose end does not lie on the flat crown."""
    half = m.strap_width_mm / 2
    right = zone.outline.starting_at("mouth").segments[0].start[0]
    flat = right - m.crown_radius_mm
    must_be_at_most(
        "strap_width",
        m.strap_width_mm,
        2 * flat,
        f"the flat crown is {2 * flat:.1f} mm wide at the mouth",
    )
    must_be_at_most(
        "strap_beside",
        m.strap_beside_mm,
        flat - half,
        f"the strap must lie on the flat crown, {2 * flat:.1f} mm wide at the mouth",
    )
    must_be_at_least(
        "stud_drop",
        m.stud_drop_mm,
        3.0 + head_mm / 2,
        "the stud needs leather between its head and the mouth",
    )
    if not _ends_on_crown(m, zone.outline):
        raise RequestError(
            f"stud drop of {m.stud_drop_mm:g} mm",
            because="the strap's end would hang over the rounding of the crown",
            mend="Give less, or bring the strap nearer to the middle",
            where="measures.stud_drop",
        )


def _ends_on_crown(m: ToolCoverMeasures, inside: Outline) -> bool:
    """Whether the round end of the strap lies on the flat crown."""
    x, y, half = m.strap_beside_mm, -m.stud_drop_mm, m.strap_width_mm / 2
    ends = ((x - half, y), (x + half, y), (x, y - half))
    return all(inside.contains(end, m.crown_radius_mm - 1e-6) for end in ends)


def _with_strap(outline: Outline, x: float, half: float, tip: float) -> Outline:
    """Return the back with a round-ended strap standing up from its mouth.

    Args:
        outline: With its straight span ``mouth`` on y = 0.
        x: Middle of the strap.
        half: Half its width.
        tip: Where it ends.
    """
    mouth, *rim = outline.starting_at("mouth").segments
    right, left = mouth.start[0], mouth.end[0]
    root = min(ROOT_RADIUS_MM, right - x - half, x - half - left)
    low = -tip
    corners: tuple[tuple[Point, float, str], ...] = (
        ((right, 0.0), 0.0, "mouth right"),
        ((x + half, 0.0), root, "strap"),
        ((x + half, tip), half, "strap"),
        ((x - half, tip), half, "strap"),
        ((x - half, 0.0), root, "mouth left"),
        ((left, 0.0), 0.0, "away"),
        ((left, low), 0.0, "away"),
        ((right, low), 0.0, "away"),
    )
    points, radii, spans = zip(*corners, strict=True)
    standing = polygon(points, radii, spans)
    return Outline((*(s for s in standing.segments if s.span != "away"), *rim))


def _assembly(strip: HingeStrip | None) -> Assembly:
    front = Panel(name="front", piece="front")
    if strip is None:
        return Assembly(panels=(front, Panel(name="back", piece="back", pose=TURNED_OVER)))
    panels = hinge_panels("back", strip, TURNED_OVER, ("back", "strap over the mouth", "strap end"))
    return Assembly(panels=(front, *panels))


def _held_by(m: ToolCoverMeasures, carried: tuple[Carried, ...]) -> str:
    """Return what holds the tool in; a loose fit does not, whatever was chosen."""
    if m.has_strap:
        return "strap with stud beside the handle"
    loose = any(
        max(c.side_clearance_mm, c.depth_clearance_mm) > SNUG_MM + WRITTEN_TO_MM for c in carried
    )
    return "snug fit" if m.closing == "snug fit" and not loose else ""


def _about_handle(m: ToolCoverMeasures, carried: tuple[Carried, ...]) -> tuple[Remark, ...]:
    """Warn of a strap that lies where the handle comes out, or beside a tool without shoulders."""
    outlines = [c.thing.outline for c in carried if c.thing.outline is not None]
    if not m.has_strap or m.handle_mm <= 0 or not outlines:
        return ()
    neck = max(width_of_neck(outline) for outline in outlines) / 2
    free = m.strap_beside_mm - m.strap_width_mm / 2
    if free >= neck:
        return ()
    beside = neck + m.strap_width_mm / 2
    return (
        Remark(
            code="strap-over-handle",
            severity="warning",
            place="back",
            amount=free,
            limit=neck,
            sentence=(
                f"The strap begins {free:.1f} mm beside the middle, and the handle is "
                f"{neck:.1f} mm wide on that side: move the strap out or make it narrower"
            ),
            remedies=(
                Remedy(
                    field="measures.strap_beside", value=f"{math.ceil(beside * 10) / 10:.1f} mm"
                ),
            ),
        ),
    )


TOOL_COVER = Kind(
    name="tool cover",
    title="a front moulded to a tool's outline on a flat back, with or without a strap",
    leathers=(("body", "vegetable-tanned shoulder 1.8-2.0 mm"),),
    fittings=(("stud", "solid brass stud 6 mm"),),
    carries=("trowel blade",),
    measures=ToolCoverMeasures,
    construct=construct,
    sized_for=sized_for,
)
