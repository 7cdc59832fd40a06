"""Open tray: one moulded piece, its rim cut at a height or left with a flange, perhaps lined.

The inside measures are those of the finished tray, on the lining if there is one. A tray whose rim
is cut at a height is moulded deeper by that height, since wall and flange below the cut fall off.
"""

from dataclasses import dataclass, replace

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import Room, corner_going_in, room_for
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.island import Island
from hidewright.design.kinds.arches import TURNED_OVER
from hidewright.design.kinds.limits import about, must_be_at_least, raised_to_least
from hidewright.design.kinds.open_tray_dividers import (
    compartments_sized,
    finger_room_mm,
    islands,
    must_be_makeable,
    plans_of,
)
from hidewright.design.kinds.open_tray_measures import OpenTrayMeasures
from hidewright.design.kinds.plans import (
    crown_fits,
    finger_depth_mm,
    plan_outline,
    plan_size,
    walled,
)
from hidewright.design.measure import check_limits
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline

#: Role of the two layers of a tray pressed together, as one leather.
BOTH = "body and lining"


def construct(brief: Brief[OpenTrayMeasures]) -> Design:
    """Return the tray: its piece, its lining, and one blank for each mould."""
    m = brief.measures
    check_limits(m, "measures")
    layers = _layers(m, brief.leather("body"), brief.leather("lining"))
    # round a moulded lining the outer's radius is larger by as much as it lies further out
    deepest = min(m.depth_mm, layers.outer_deep_mm - layers.side_mm)
    crown_fits("crown_radius", m.crown_radius_mm, deepest)
    if m.rim == "flange":
        wall = layers.side_mm + layers.body_mm + m.lip_radius_mm
        must_be_at_least(
            "flange", m.flange_mm, wall, f"wall and lip alone take {wall:.1f} mm of it"
        )
    thickest = layers.side_mm + brief.leather("body").thickness_max_mm
    must_be_makeable(m, layers.lining_deep_mm, thickest)
    pieces, panels = [_tray(m, brief, layers)], [_tray_panel(m, layers)]
    if m.lining == "flat":
        pieces.append(_flat_lining(m))
        panels.append(_lying("lining", -m.depth_mm - layers.lining_mm))
    elif m.lining != "none":
        pieces.append(_moulded_lining(m, brief, layers))
        panels.append(_lying("lining", layers.lining_cut_mm - layers.lining_mm))
    both = m.lining == "pressed together"
    return Design(
        name=brief.name,
        kind=brief.kind,
        carried=brief.carried,
        leathers=(*brief.leathers, (BOTH, pressed_as_one(brief))) if both else brief.leathers,
        pieces=tuple(pieces),
        seams=(),
        blanks=_blanks(m, layers),
        hollows=(_hollow(m, brief.carried),),
        assembly=Assembly(panels=tuple(panels)),
        thread=brief.thread,
        held_by="its walls, while it lies level",
    )


def sized_for(m: OpenTrayMeasures, carried: tuple[Carried, ...]) -> OpenTrayMeasures:
    """Return the measures with the room made to fit what is carried, as they are for nothing."""
    if not carried:
        return m

    corner = corner_going_in(m.corner_radius_mm, m.crown_radius_mm, carried)
    m = replace(m, corner_radius_mm=corner)
    bare = replace(m, dividers_mm=())

    def sized(m: OpenTrayMeasures, room: Room) -> OpenTrayMeasures:
        length, width = plan_size(m.plan, room)
        deep = max(room.depth_mm, m.crown_radius_mm)
        return raised_to_least(replace(m, length_mm=length, width_mm=width, depth_mm=deep))

    def room_of(things: tuple[Carried, ...]) -> Room:
        return room_for(things, lambda room: _hollow(sized(bare, room), things))

    if not m.dividers_mm:
        return sized(m, room_of(carried))
    room, divided = compartments_sized(m, carried, room_of)
    return sized(divided, room)


def pressed_as_one(brief: Brief[OpenTrayMeasures]) -> Leather:
    """Return both layers as the one leather that the gap of a common mould must take.

    Thicknesses add up, soaked as dry; the other changes are the means of both by thickness.
    """
    body, lining = brief.leather("body"), brief.leather("lining")
    share = body.thickness_max_mm / (body.thickness_max_mm + lining.thickness_max_mm)

    def mean(of_body: float, of_lining: float) -> float:
        return share * of_body + (1.0 - share) * of_lining

    return replace(
        body,
        name=f"{body.name} over {lining.name}",
        tannage=body.tannage if lining.tannage == "vegetable" else lining.tannage,
        thickness_min_mm=body.thickness_min_mm + lining.thickness_min_mm,
        thickness_max_mm=body.thickness_max_mm + lining.thickness_max_mm,
        soak_growth_along=mean(body.soak_growth_along, lining.soak_growth_along),
        soak_growth_across=mean(body.soak_growth_across, lining.soak_growth_across),
        soak_growth_thickness=mean(body.soak_growth_thickness, lining.soak_growth_thickness),
        shrinkage_along=mean(body.shrinkage_along, lining.shrinkage_along),
        shrinkage_across=mean(body.shrinkage_across, lining.shrinkage_across),
        stretch_limit_along=min(body.stretch_limit_along, lining.stretch_limit_along),
        stretch_limit_across=min(body.stretch_limit_across, lining.stretch_limit_across),
        source="both layers added up",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Layers:
    """How outer and lining lie to one another, mm; a lining that is not there is 0 thick.

    Attributes:
        body_mm, lining_mm: Thickness of each.
        side_mm: From the lining's inside to the outer's inside, across a wall.
        outer_deep_mm, lining_deep_mm: Depth of each zone over its own flange.
        outer_cut_mm, lining_cut_mm: Height of the rim over each flange; 0 where a flange stays.
    """

    body_mm: float
    lining_mm: float
    side_mm: float
    outer_deep_mm: float
    lining_deep_mm: float
    outer_cut_mm: float
    lining_cut_mm: float


def _layers(m: OpenTrayMeasures, body: Leather, lining: Leather) -> _Layers:
    """Return the layers' depths and heights.

    The floors are a step apart: the lining and the glue under it. Two moulded layers whose flanges
    stay lie flange on flange too, a step apart there as well, so both zones are equally deep.
    Pressed together they lie flange on flange without glue; the rim is one level cut, so it is
    higher over the lining's flange by the lining's thickness. Moulded apart and cut, each flange
    falls off, and the outer zone is the deeper by the step.
    """
    cut = m.cut_height_mm if m.rim == "cut at height" else 0.0
    t = 0.0 if m.lining == "none" else lining.thickness_mm
    step = t + (m.glue_mm if m.lining in ("flat", "moulded") else 0.0)
    together = m.lining == "pressed together"
    lining_cut = cut + t if together and cut else cut
    lining_deep = m.depth_mm + lining_cut
    on_flange = together or (m.lining == "moulded" and not cut)
    return _Layers(
        body_mm=body.thickness_mm,
        lining_mm=t,
        side_mm=step if m.lining in ("moulded", "pressed together") else 0.0,
        outer_deep_mm=lining_deep if on_flange else m.depth_mm + cut + step,
        lining_deep_mm=lining_deep,
        outer_cut_mm=cut,
        lining_cut_mm=lining_cut,
    )


def _plan(m: OpenTrayMeasures) -> Outline:
    return plan_outline(m.plan, m.length_mm, m.width_mm, m.corner_radius_mm)


def _zone(
    m: OpenTrayMeasures,
    outline: Outline,
    depth: float,
    cut: float,
    crown: float,
    lip: float,
    dividers: tuple[Island, ...],
) -> MouldedZone:
    return MouldedZone(
        name="hollow",
        outline=DryOutline(outline),
        depth_mm=depth,
        crown_radius_mm=crown,
        lip_radius_mm=lip,
        edges=(("rim", m.rim),),
        cut_height_mm=cut if m.rim == "cut at height" else None,
        islands=dividers,
    )


def _piece(m: OpenTrayMeasures, name: str, role: str, zone: MouldedZone, leather: Leather) -> Piece:
    if m.rim == "cut at height":
        return walled(name, role, zone, leather.thickness_mm)
    edge = offset(_plan(m), m.flange_mm)  # both layers are trimmed flush
    return Piece(name=name, role=role, outline=DryOutline(edge), zones=(zone,))


def _tray(m: OpenTrayMeasures, brief: Brief[OpenTrayMeasures], layers: _Layers) -> Piece:
    raised = layers.lining_mm + m.glue_mm if m.lining == "flat" else 0.0
    zone = _zone(
        m,
        offset(_plan(m), layers.side_mm),
        layers.outer_deep_mm,
        layers.outer_cut_mm,
        m.crown_radius_mm + layers.side_mm,
        m.lip_radius_mm,
        islands(m, plans_of(m, _plan(m)), layers.side_mm, raised, m.divider_top_radius_mm),
    )
    return _piece(m, "tray", "body", zone, brief.leather("body"))


def _moulded_lining(m: OpenTrayMeasures, brief: Brief[OpenTrayMeasures], layers: _Layers) -> Piece:
    """Return the lining with its grain inside; its flesh side is glued to the outer's."""
    lip, top = m.lip_radius_mm, m.divider_top_radius_mm
    wider = layers.body_mm + layers.side_mm - layers.lining_mm  # than the outer's round its radii
    if m.rim == "flange":  # it lies round the outer's lip
        lip += wider
    if m.lining == "moulded":  # pressed together, both lie on one block
        top += wider
        if m.dividers_mm:
            because = f"over the lining the divider's top is rounded by {top:.1f} mm"
            must_be_at_least("divider_height", m.divider_height_mm, top, because)
    zone = _zone(
        m,
        _plan(m),
        layers.lining_deep_mm,
        layers.lining_cut_mm,
        m.crown_radius_mm,
        lip,
        islands(m, plans_of(m, _plan(m)), 0.0, 0.0, top),
    )
    return _piece(m, "lining", "lining", replace(zone, grain_out=False), brief.leather("lining"))


def _flat_lining(m: OpenTrayMeasures) -> Piece:
    """Return the lining of the flat floor, out to where it turns up at walls and dividers."""
    with about("crown_radius"):
        return Piece(
            name="lining",
            role="lining",
            outline=DryOutline(offset(_plan(m), -m.crown_radius_mm)),
            cut_outs=tuple(
                DryOutline(offset(plan, m.divider_foot_radius_mm)) for plan in plans_of(m, _plan(m))
            ),
        )


def _tray_panel(m: OpenTrayMeasures, layers: _Layers) -> Panel:
    """Return the tray with its opening up and its rim, or the lining's, at z = 0."""
    glue = m.glue_mm if m.lining in ("flat", "moulded") else 0.0
    up = layers.outer_deep_mm - m.depth_mm - layers.lining_mm - glue
    return Panel(name="tray", piece="tray", pose=TURNED_OVER.then(Pose(shift=(0.0, 0.0, up))))


def _lying(piece: str, z: float) -> Panel:
    """Return a piece that lies grain up with its flesh face at a height."""
    return Panel(name=piece, piece=piece, pose=Pose(shift=(0.0, 0.0, z)))


def _blanks(m: OpenTrayMeasures, layers: _Layers) -> tuple[Blank, ...]:
    margin = m.lip_radius_mm + m.held_mm
    if m.lining == "pressed together":
        # one plug, the lining's; the gap takes both layers
        return (
            Blank(
                name="tray over lining",
                places=(PiecePlace(piece="lining"),),
                role=BOTH,
                margin_mm=margin + layers.body_mm,
                over=("tray",),
            ),
        )
    tray = Blank(name="tray", places=(PiecePlace(piece="tray"),), role="body", margin_mm=margin)
    if m.lining != "moulded":
        return (tray,)
    return (
        tray,
        Blank(name="lining", places=(PiecePlace(piece="lining"),), role="lining", margin_mm=margin),
    )


def _hollow(m: OpenTrayMeasures, carried: tuple[Carried, ...]) -> Hollow:
    plan = _plan(m)
    dividers = plans_of(m, plan)
    return Hollow(
        name="tray/hollow",
        outline=DryOutline(plan),
        shells=(
            Shell(depth_mm=0.0, crown_radius_mm=0.0),
            Shell(depth_mm=m.depth_mm, crown_radius_mm=m.crown_radius_mm),
        ),
        is_open=True,
        grip_mm=finger_room_mm(carried, plan, m.depth_mm)
        if dividers
        else finger_depth_mm(carried, plan, m.depth_mm),
        islands=tuple(offset(one, m.divider_foot_radius_mm) for one in dividers),
    )


OPEN_TRAY = Kind(
    name="open tray",
    title="one moulded tray, its rim cut at a height or with a flange, with or without a lining",
    leathers=(
        ("body", "vegetable-tanned shoulder 2.4-2.8 mm"),
        ("lining", "vegetable-tanned shoulder 0.8-1.0 mm"),
    ),
    carries=(),
    measures=OpenTrayMeasures,
    construct=construct,
    sized_for=sized_for,
)
