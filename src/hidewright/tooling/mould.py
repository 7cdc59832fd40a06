"""The mould that presses one blank: plug, frame or cavity, base, ring, blocks and gauges."""

from collections.abc import Sequence

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import MouldTool, Part
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.states import SoakedOutline
from hidewright.errors import Remark, RequestError
from hidewright.tooling.crowns import is_stepped
from hidewright.tooling.divider_blocks import divider_parts
from hidewright.tooling.gap import flange_gap_mm
from hidewright.tooling.gauges import radius_gauges
from hidewright.tooling.mould_checks import mould_remarks
from hidewright.tooling.plates import (
    DRAIN_MM,
    base_part,
    drain_places,
    floor_part,
    frame_parts,
    ground_for,
    ring_part,
    ring_room_mm,
    stop_parts,
)
from hidewright.tooling.plug_plates import plug_holes, plug_parts
from hidewright.tooling.stacks import exact_stack, shim_on_top, whole_boards
from hidewright.tooling.strength import closing_force, strength_remarks


def mould_tool(
    blank: Blank,
    zones: Sequence[PressedZone],
    soaked: SoakedOutline,
    leather: Leather,
    choice: ToolingChoice,
    gap_mm: float,
    force_N: tuple[float, float] | None = None,
) -> tuple[MouldTool, tuple[Remark, ...]]:
    """Return everything that presses a blank, and remarks on what must not or should not be made.

    z = 0 is the base's upper face, on which plug and flange stand. Zones pressed towards the flesh
    side are met grain down, so the whole tool is then mirrored left to right.

    The frame is as high as the plug and one gap more, rounded up to whole boards when it is open:
    a flat vise jaw or backer on it then clears the leather over the crown. Under a cavity floor it
    is made up to that height exactly, and the blocks of dividers hang from it.

    Args:
        blank: Gives the name and the margin.
        zones: From ``pressed_zones``, at least one.
        soaked: From ``soaked_blank_outline``.
        leather: What the blank is cut from.
        choice: Board, dowels, border, floor and vise.
        gap_mm: From ``gap_for``.
        force_N: What closes it, (low, high); by a usual pressure when None.
    """
    if not zones:
        raise RequestError(f"blank {blank.name}: nothing on it is moulded, it needs no mould")
    if not zones[0].grain_out:
        zones = [zone.mirrored() for zone in zones]
        soaked = SoakedOutline(soaked.mirrored())
    force = force_N or closing_force(soaked)
    board = choice.mould_board
    flange = flange_gap_mm(leather)
    ground = ground_for(blank.name, soaked, choice)
    stepped = is_stepped(choice)
    stacks = [exact_stack(board, 0.0, zone.height_mm) for zone in zones]
    holes = [
        plug_holes(zone, layers, board, stepped=stepped)
        for zone, layers in zip(zones, stacks, strict=True)
    ]
    plugs: list[Part] = []
    tops: list[float] = []
    for zone, layers, own in zip(zones, stacks, holes, strict=True):
        plugs += plug_parts(blank.name, zone, layers, own, stepped=stepped)
        tops.append(layers[-1].top_mm)
    over = max(tops) + gap_mm - flange
    if choice.cavity_floor:
        # boards first, the shim on top of them under the floor
        stack = exact_stack(board, flange, over)
        frames = frame_parts(ground, zones, gap_mm, shim_on_top(stack))
    else:
        frames = frame_parts(ground, zones, gap_mm, whole_boards(board, flange, over))
    top = max(part.bottom_mm + part.board.thickness_mm for part in frames if part.bottom_mm)
    floor = (floor_part(ground, top, zones, gap_mm),) if choice.cavity_floor else ()
    dividers = divider_parts(blank.name, zones, choice, gap_mm, top) if floor else ()
    keep_off = max(gap_mm + ring_room_mm(zone) for zone in zones) + DRAIN_MM / 2
    drains = drain_places(soaked, blank.margin_mm, zones, keep_off)
    radii = [r for zone in zones for r in (zone.crown_radius_mm, zone.lip_radius_mm)]
    islands = [island for zone in zones for island in zone.islands]
    radii += [r for one in islands for r in (one.top_radius_mm, one.foot_radius_mm)]
    tool = MouldTool(
        blank=blank.name,
        gap_mm=gap_mm,
        plug_height_mm=max(tops),
        flange_gap_mm=flange,
        closed_height_mm=board.thickness_mm + top + (board.thickness_mm if floor else 0.0),
        parts=(
            base_part(ground, zones, [h for own in holes for h in own], soaked, drains),
            *plugs,
            *stop_parts(ground, flange),
            *frames,
            *floor,
            *dividers,
            ring_part(ground, zones, gap_mm),
            *radius_gauges(blank.name, radii, board),
        ),
        force_N=force,
    )
    return tool, (
        *mould_remarks(blank, zones, tool, leather, choice),
        *strength_remarks(blank.name, soaked, ground.outline, choice, force),
    )
