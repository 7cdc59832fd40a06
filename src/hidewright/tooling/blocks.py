"""Blocks that fill a dry hollow or go round it: support, mouth cut, height trim, trial."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.carried import Carried
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import Part, PartHole
from hidewright.design.piece import MouldedZone, Piece
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.geometry.boolean import intersection
from hidewright.geometry.offset import border_round, offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import circle, rectangle
from hidewright.tooling.marks import clearances, roomiest
from hidewright.tooling.run_on import behind, run_on, walls
from hidewright.tooling.stack import (
    Plan,
    filling,
    pins,
    rest_round,
    stacked,
    widest_web_mm,
)
from hidewright.tooling.stacks import LEAST_SHIM_MM, Layer
from hidewright.tooling.take_away import largest
from hidewright.tooling.trim_template import AWL_MARK
from hidewright.tooling.turned_over import lies_flesh_up, turned_over
from hidewright.tooling.wall_window import fit_mm, wall_thickness_mm

#: Room of a support block in the hollow, to each side and under the crown, mm; common practice.
SUPPORT_ROOM_MM = 0.5
#: Room of a mouth-cut block, which should not shift under the knife, mm; common practice.
MOUTH_ROOM_MM = 0.3
#: A finger goes through a hole of this diameter, mm; two fingertips, a hook or a cord through less.
FINGER_MM = 20.0
LEAST_FINGER_MM = 8.0
#: Board beside the flange on a mouth-cut block's base, for the knife to start and end on, mm.
RUN_OUT_MM = 12.0
#: More card than this in a stack is worth a note, mm; common practice.
MOST_CARD_MM = 1.5


def support_block(
    piece: Piece, zone: MouldedZone, choice: ToolingChoice
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the stack that fills a hollow while the piece is trimmed, pricked, marked and sewn.

    It is half a mm smaller than the hollow on every side and under the crown, and ends half a mm
    inside the mouth, so nothing of it lies under the flange or the stitch line: it may stay in
    while the seam is sewn and comes out through the mouth. Its lower face is flush with the
    flange. Punched holes that lie on the crown go through it as awl holes, to be pricked from
    inside.

    Returns:
        Sheets from the bottom up, and a remark where it cannot be lifted or drawn out.
    """
    lying, zone = _lying(piece, zone)
    board = choice.mould_board
    layers = filling(zone.depth_mm - SUPPORT_ROOM_MM, choice)
    if not layers:
        return (), (_too_low(piece.name, zone, "support block"),)
    smallest = _filled(zone.outline, zone, layers[-1], SUPPORT_ROOM_MM)
    awl = tuple(
        PartHole(outline=circle(choice.prick_hole_mm / 2, hole.at, ""), purpose=AWL_MARK)
        for hole in lying.holes
        if clearances(smallest, (), [hole.at])[0] >= choice.prick_hole_mm / 2 + board.min_feature_mm
    )
    web = widest_web_mm(layers)
    room = _room_of_dividers(zone, SUPPORT_ROOM_MM)
    pinned = pins(smallest, [h.outline for h in (*awl, *room)], choice.dowel_mm, web)
    taken = [h.outline for h in (*awl, *room, *pinned)]
    finger = _finger_hole(smallest, taken, web)
    holes = (*awl, *room, *pinned, *finger)
    parts = stacked(
        f"{_named(piece, zone)} support",
        "support block",
        layers,
        lambda layer: (_filled(zone.outline, zone, layer, SUPPORT_ROOM_MM), holes),
        crown_mm=zone.crown_radius_mm,
        note=f"Fills the hollow, {SUPPORT_ROOM_MM:g} mm short all round; "
        + ("carries the wall while it is cut." if zone.cut_height_mm else "stays in while sewing."),
    )
    found = () if finger else (_no_finger_hole(piece.name, zone),)
    return parts, (*found, *_stays_in(piece.name, zone))


def mouth_cut_block(
    piece: Piece, zone: MouldedZone, choice: ToolingChoice
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the stack over which a hollow is cut off at its mouth.

    The hollow was moulded longer than it is wanted: it runs on beyond the mouth, into its own
    waste or into the other half of a pair. Dropped into the hollow from below and pushed up to the
    closed end, the block ends flush with the mouth line, through walls and crown at once; the base
    under the flange ends on the same line. The knife goes down outside the end face and lies
    against it. A thumb notch in the piece's mouth is in the block too.

    Returns:
        The base and the sheets from the bottom up, as seen with the convex side up.

    Raises:
        RequestError: When the zone has no mouth.
    """
    if not zone.mouths:
        raise RequestError(f"{piece.name}/{zone.name}: no mouth to cut")
    lying, zone = _lying(piece, zone)
    board = choice.mould_board
    layers = filling(zone.depth_mm - MOUTH_ROOM_MM, choice)
    if not layers:
        return (), (_too_low(piece.name, zone, "mouth-cut block"),)
    longer: Outline = zone.outline
    for mouth in zone.mouths:
        longer = run_on(longer, mouth, RUN_OUT_MM)

    def filled(layer: Layer) -> Outline:
        return largest(intersection(_filled(longer, zone, layer, MOUTH_ROOM_MM), lying.outline))

    web = max(widest_web_mm(layers), board.min_web_mm)
    room = _room_of_dividers(zone, MOUTH_ROOM_MM)
    taken = [hole.outline for hole in room]
    pinned = pins(filled(layers[-1]), taken, choice.dowel_mm, web)
    name = f"{_named(piece, zone)} mouth cut"
    base = stacked(
        f"{name} base",
        "mouth-cut block",
        (Layer(board=board, bottom_mm=-board.thickness_mm),),
        lambda _: (_base(lying, zone), pinned),
        note="Under the flange; its edge at the mouth is the line to cut on.",
    )
    block = stacked(
        name,
        "mouth-cut block",
        layers,
        lambda layer: (filled(layer), (*room, *pinned)),
        crown_mm=zone.crown_radius_mm,
        note="The end at the mouth stays square and sharp: ease the crown along the walls only.",
    )
    return (*base, *block), ()


def height_trim_block(
    piece: Piece, zone: MouldedZone, leather: Leather, choice: ToolingChoice
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the ring round a moulded zone on which the knife lies to cut the wall at a height.

    The piece lies on its flange, crown up, a support block in it. The ring goes down over the zone
    and lies on the flange; its top is at the zone's cut height, which counts, as the depth does,
    from the flange's lower face, so the ring is lower than that by the leather's thickness. Sheets
    beside the lip keep clear of it, the ones above come up to the wall.

    Returns:
        Sheets from the bottom up, and remarks where the cut would not meet an upright wall.

    Raises:
        RequestError: When the zone names no height.
    """
    if zone.cut_height_mm is None:
        raise RequestError(
            f"{piece.name}/{zone.name}: no height to cut at", mend="Give a cut height"
        )
    _, zone = _lying(piece, zone)
    thickness = wall_thickness_mm(leather)
    found = _cut_height_remarks(piece.name, zone, zone.cut_height_mm or 0.0, thickness)
    height = (zone.cut_height_mm or 0.0) - thickness
    if height < LEAST_SHIM_MM:
        return (), found
    hollow: Outline = zone.outline
    for mouth in zone.mouths:
        hollow = run_on(hollow, mouth, RUN_OUT_MM)
    near = thickness / math.cos(zone.wall_angle) + fit_mm(leather)
    upper, lower = offset(hollow, near), offset(hollow, near + zone.lip_radius_mm)
    rest, pinned = rest_round((lower,), choice)

    def ring(layer: Layer) -> Plan:
        beside_lip = layer.bottom_mm < thickness + zone.lip_radius_mm - 1e-9
        window = PartHole(outline=lower if beside_lip else upper, purpose="window")
        return rest, (window, *pinned)

    layers = filling(height, choice, thickness)
    parts = stacked(
        f"{_named(piece, zone)} height trim",
        "height-trim block",
        layers,
        ring,
        note=(
            f"Top {zone.cut_height_mm:g} mm over the bench on leather {thickness:.1f} mm thick; "
            "the blade lies flat on it and points away from the holding hand."
        ),
    )
    return parts, (*found, *_card_remark(piece.name, zone, layers))


def trial_block(
    carried: Carried, choice: ToolingChoice, with_room: bool = False
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return a dummy of a carried thing, to try a moulded hollow with or to mould over.

    Args:
        carried: The thing and how many of it. Stacked things are one block; of others one is drawn
            and cut as often as wanted.
        choice: Gives the board.
        with_room: Whether it is larger by the clearances, as a hollow has to be, to mould over;
            without, it is the size of the thing.

    Returns:
        Sheets from the bottom up; edges are rounded as the thing's are.
    """
    thing = carried.thing
    many = carried.count if carried.arrangement == "stacked" else 1
    plan = _plan_of(carried)
    height = thing.thickest_mm * many
    if with_room:
        plan = offset(plan, carried.side_clearance_mm) if carried.side_clearance_mm > 0 else plan
        height += carried.depth_clearance_mm
    layers = filling(height, choice)
    pinned = pins(plan, (), choice.dowel_mm, widest_web_mm(layers))
    parts = stacked(
        f"{thing.name} trial" + (" with room" if with_room else ""),
        "trial block",
        layers,
        lambda _: (plan, pinned),
        crown_mm=thing.edge_radius_mm if thing.shape != "rod" else thing.diameter_mm / 2,
        note=f"{height:.1f} mm high in all; round the lower edge like the upper.",
    )
    return tuple(replace(p, count=carried.count // many) for p in parts), ()


def _lying(piece: Piece, zone: MouldedZone) -> tuple[Piece, MouldedZone]:
    """Return piece and zone as they lie with the convex side up."""
    if not lies_flesh_up(piece):
        return piece, zone
    lying = turned_over(piece)
    return lying, lying.zone(zone.name)


def _named(piece: Piece, zone: MouldedZone) -> str:
    return piece.name if len(piece.zones) == 1 else f"{piece.name} {zone.name}"


def _filled(hollow: Outline, zone: MouldedZone, layer: Layer, room_mm: float) -> Outline:
    """Return a sheet's edge with room to a wall that leans in up to the crown's arc."""
    lean = zone.wall_angle
    crown_from = zone.depth_mm - zone.crown_radius_mm * (1.0 - math.sin(lean))
    inwards = min(layer.top_mm, crown_from) * math.tan(lean) if lean else 0.0
    return offset(hollow, -(room_mm / math.cos(lean) + inwards))


def _room_of_dividers(zone: MouldedZone, room_mm: float) -> tuple[PartHole, ...]:
    """Return the holes into which dividers go, clear of their rounded feet."""
    return tuple(
        PartHole(outline=offset(island.outline, room_mm + island.foot_radius_mm), purpose="pocket")
        for island in zone.islands
    )


def _base(piece: Piece, zone: MouldedZone) -> Outline:
    """Return a board under piece and knife that ends on the straight lines of the mouths."""
    board = border_round(piece.outline, RUN_OUT_MM)
    for mouth in zone.mouths:
        board = behind(board, zone.outline, mouth)
    return board


def _finger_hole(plan: Outline, inner: list[Outline], web_mm: float) -> tuple[PartHole, ...]:
    at, room = roomiest(plan, inner)
    diameter = min(FINGER_MM, 2.0 * (room - web_mm))
    if diameter < LEAST_FINGER_MM:
        return ()
    return (PartHole(outline=circle(diameter / 2, at, ""), purpose="finger"),)


def _plan_of(carried: Carried) -> Outline:
    thing = carried.thing
    if thing.outline is not None:
        return thing.outline
    length, width, _ = thing.extents_mm
    if thing.shape == "disc":
        return circle(width / 2, span="")
    return rectangle(width, length, thing.corner_radius_mm)


def _stays_in(place: str, zone: MouldedZone) -> tuple[Remark, ...]:
    """Return a warning when a hollow widens behind its mouth, so that the block cannot come out."""
    for mouth in zone.mouths:
        wall = walls(zone.outline, mouth)
        (x0, y0), (x1, y1) = wall.end, wall.start
        width = math.dist(wall.end, wall.start)
        ux, uy = (x1 - x0) / width, (y1 - y0) / width
        along = wall.flat_points() @ np.array([ux, uy])
        wider = float(along.max() - along.min()) - width
        if wider > 2 * SUPPORT_ROOM_MM:
            return (
                Remark(
                    code="support-block-stays-in",
                    severity="warning",
                    place=f"{place}/{zone.name}",
                    amount=width + wider,
                    limit=width + 2 * SUPPORT_ROOM_MM,
                    sentence=(
                        f"The hollow is {wider:.1f} mm wider behind its mouth: take the support "
                        "block out before the seam closes, or cut it in two lengthways"
                    ),
                ),
            )
    return ()


def _cut_height_remarks(
    place: str, zone: MouldedZone, height: float, thickness_mm: float
) -> tuple[Remark, ...]:
    low, high = thickness_mm + zone.lip_radius_mm, zone.depth_mm - zone.crown_radius_mm
    if low <= height <= high:
        return ()
    where = "lip" if height < low else "crown"
    return (
        Remark(
            code=f"cut-height-on-the-{where}",
            severity="forbids" if height > high or height <= thickness_mm else "warning",
            place=f"{place}/{zone.name}",
            amount=height,
            limit=low if height < low else high,
            sentence=(
                f"The cut at {height:.1f} mm runs along the {where}'s curve: the wall is upright "
                f"from {low:.1f} to {high:.1f} mm"
            ),
            remedies=(
                (
                    Remedy(
                        field="measures.cut_height", value=f"{min(max(height, low), high):.1f} mm"
                    ),
                )
                if low <= high
                else ()
            ),
        ),
    )


def _card_remark(place: str, zone: MouldedZone, layers: Sequence[Layer]) -> tuple[Remark, ...]:
    """Return a note where much card is built up, with the next lower height that needs none."""
    card = math.fsum(layer.board.thickness_mm for layer in layers if layer.is_shim)
    if card <= MOST_CARD_MM:
        return ()
    lower = (zone.cut_height_mm or 0.0) - card
    has_plates = any(not layer.is_shim for layer in layers)
    return (
        Remark(
            code="height-trim-block-of-card",
            severity="note",
            place=f"{place}/{zone.name}",
            amount=card,
            limit=MOST_CARD_MM,
            sentence=(
                f"{card:.1f} mm of the height-trim block are card glued up, as the boards do not "
                "reach the height: seal and measure it, or cut at another height"
            ),
            remedies=(Remedy(field="measures.cut_height", value=f"{lower:.1f} mm"),)
            if has_plates
            else (),
        ),
    )


def _no_finger_hole(place: str, zone: MouldedZone) -> Remark:
    return Remark(
        code="support-block-without-finger-hole",
        severity="note",
        place=f"{place}/{zone.name}",
        sentence=(
            f"The support block is too small for a hole of {LEAST_FINGER_MM:g} mm: drive a screw "
            "into it to lift it by"
        ),
    )


def _too_low(place: str, zone: MouldedZone, block: str) -> Remark:
    return Remark(
        code="hollow-too-low-for-a-block",
        severity="note",
        place=f"{place}/{zone.name}",
        amount=zone.depth_mm,
        sentence=f"A hollow {zone.depth_mm:g} mm deep is too low for a {block}: use card",
    )
