"""What would go wrong with a mould: radii, heights, boards too thin or too small."""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import MouldTool, Part
from hidewright.design.piece import ZONE_DEPTH
from hidewright.design.pressed_zone import PressedZone
from hidewright.errors import Remark, Remedy
from hidewright.geometry.offset import offset_all
from hidewright.geometry.outline import Outline
from hidewright.tooling.crowns import crown_remarks
from hidewright.tooling.divider_blocks import divider_remarks
from hidewright.tooling.plates import ring_room_mm
from hidewright.tooling.stacks import exact_stack

#: A joint that turns less than this is no corner: refitted curves meet that well, radians.
NO_CORNER = math.radians(1.0)
#: From this depth on leather that shrinks grips an upright plug, mm; common practice, no source.
GRIPPING_DEPTH_MM = 12.0
#: Eased edges keep their radius this well, mm; common practice.
EASED_WITHIN_MM = 0.5
SLACK_MM = 1e-6


def mould_remarks(
    blank: Blank,
    zones: Sequence[PressedZone],
    tool: MouldTool,
    leather: Leather,
    choice: ToolingChoice,
) -> tuple[Remark, ...]:
    """Return all remarks on a mould; the strength of vise and plates is checked elsewhere."""
    remarks: list[Remark] = []
    for zone in zones:
        remarks += _radii(zone, tool.gap_mm)
        remarks += _height(zone, choice)
        remarks += _whole_boards(zone, choice)
        remarks += _draft(zone, leather)
        remarks += crown_remarks(zone, choice)
        remarks += _narrow(zone, choice)
        remarks += divider_remarks(zone, choice, tool.gap_mm)
    remarks += _too_near(zones, tool.gap_mm, choice)
    remarks += _one_height(zones, choice)
    for part in tool.parts:
        remarks += _webs(part)
    remarks += _held(zones, tool)
    remarks.append(_easing_note(blank, zones))
    return tuple(remarks)


def tightest_turn(outline: Outline, sign: float) -> float:
    """Return the smallest radius of convex (+1) or concave (-1) turns, mm; 0 at a corner.

    A joint that turns by less than one degree is taken as smooth.
    """
    segments = outline.segments
    radii = [s.radius for s in segments if s.is_arc and s.bulge * sign > 0]
    for one, two in zip(segments, segments[1:] + segments[:1], strict=True):
        (ax, ay), (bx, by) = one.tangent_at(one.length), two.tangent_at(0.0)
        if sign * math.atan2(ax * by - ay * bx, ax * bx + ay * by) > NO_CORNER:
            return 0.0
    return min(radii, default=math.inf)


def thinnest_web(edge: Outline, holes: Sequence[Outline]) -> float:
    """Return the least board between two holes, or between a hole and the edge, mm."""
    inner = [hole.polygon for hole in holes]
    rim = edge.rim
    webs = [float(hole.distance(rim)) for hole in inner]
    webs += [float(one.distance(two)) for one, two in combinations(inner, 2)]
    return min(webs, default=math.inf)


def _radii(zone: PressedZone, gap_mm: float) -> Iterator[Remark]:
    convex = tightest_turn(zone.plug, 1.0)
    lean = math.tan(zone.wall_angle) * (zone.height_mm - zone.crown_radius_mm)
    if convex - lean < zone.crown_radius_mm - SLACK_MM:
        most = max(convex - lean, 0.0)
        yield Remark(
            code="crown-radius-too-large",
            severity="forbids",
            place=zone.place,
            amount=zone.crown_radius_mm,
            limit=most,
            sentence=(
                f"A crown radius of {zone.crown_radius_mm:.2f} mm does not go round an outward "
                f"corner of the hollow of {most:.2f} mm radius"
            ),
            remedies=(
                *(
                    (Remedy(field="measures.crown_radius", value=f"{_down(most)} mm"),)
                    if most >= 0.5
                    else ()
                ),
                Remedy(
                    field="measures.corner_radius", value=f"{_up(zone.crown_radius_mm + lean)} mm"
                ),
            ),
        )
    elif not _is_one(zone.plug, zone.crown_radius_mm + lean - 0.02):
        yield Remark(
            code="crown-radius-too-large",
            severity="forbids",
            place=zone.place,
            amount=zone.crown_radius_mm,
            sentence=(
                f"Crown radii of {zone.crown_radius_mm:.2f} mm from both sides meet in a narrow "
                "part of the hollow: nothing of its flat crown is left there"
            ),
            remedies=(
                Remedy(
                    field="measures.crown_radius", value=f"{_down(zone.crown_radius_mm / 2)} mm"
                ),
            ),
        )
    concave = tightest_turn(zone.plug, -1.0)
    needed = zone.lip_radius_mm + gap_mm / math.cos(zone.wall_angle)
    if concave < needed - SLACK_MM:
        most = max(concave - gap_mm, 0.0)
        yield Remark(
            code="lip-radius-too-large",
            severity="forbids",
            place=zone.place,
            amount=needed,
            limit=concave,
            sentence=(
                f"Lip radius and gap are {needed:.2f} mm together, more than the {concave:.2f} mm "
                "radius of an inward corner of the hollow: round that corner more"
            ),
            remedies=(
                *(
                    (Remedy(field="measures.lip_radius", value=f"{_down(most)} mm"),)
                    if most >= 0.5
                    else ()
                ),
                Remedy(field="measures.inward_radius", value=f"{_up(needed)} mm"),
            ),
        )


def _height(zone: PressedZone, choice: ToolingChoice) -> Iterator[Remark]:
    board = choice.mould_board
    boards = sum(not layer.is_shim for layer in exact_stack(board, 0.0, zone.height_mm))
    if zone.height_mm < board.thickness_mm - 0.05:
        yield Remark(
            code="hollow-shallower-than-board",
            severity="forbids",
            place=zone.place,
            amount=zone.height_mm,
            limit=board.thickness_mm,
            sentence=(
                f"The plug is {zone.height_mm:.2f} mm high, less than one board of "
                f"{board.thickness_mm:g} mm: take a thinner board for the mould"
            ),
        )
    elif board.thickness_tolerance_mm * boards > 0.2:
        yield Remark(
            code="boards-vary",
            severity="note",
            place=zone.place,
            amount=board.thickness_tolerance_mm * boards,
            limit=0.2,
            sentence=(
                f"{boards} boards of {board.thickness_mm:g} mm may differ by "
                f"{board.thickness_tolerance_mm * boards:.1f} mm in all: measure the stack and "
                f"shim or sand it to {zone.height_mm:.2f} mm"
            ),
        )
    if zone.wall_angle > 0:
        step = board.thickness_mm * math.tan(zone.wall_angle)
        yield Remark(
            code="leaning-wall-in-steps",
            severity="warning",
            place=zone.place,
            amount=step,
            sentence=(
                f"A wall leaning {math.degrees(zone.wall_angle):.1f} degrees is cut in steps of "
                f"{step:.2f} mm from board to board: sand them to one slope, plug and frame, or "
                "print plug and frame from their solids"
            ),
        )


def _whole_boards(zone: PressedZone, choice: ToolingChoice) -> Iterator[Remark]:
    """Say which depth whole boards would give, where a shim is over a tenth of a board."""
    board = choice.mould_board
    rest = zone.height_mm % board.thickness_mm
    if zone.height_mm < board.thickness_mm or min(rest, board.thickness_mm - rest) < 0.05:
        return
    if rest < board.thickness_mm / 10:
        return
    boards = math.ceil(zone.height_mm / board.thickness_mm)
    depth = boards * board.thickness_mm * zone.height_dries
    deeper = depth - zone.height_mm * zone.height_dries
    yield Remark(
        code="plug-needs-thick-shim",
        severity="note",
        place=zone.place,
        amount=rest,
        limit=board.thickness_mm / 10,
        sentence=(
            f"A plug {zone.height_mm:.2f} mm high takes a shim of {rest:.2f} mm; {boards} whole "
            f"boards of {board.thickness_mm:g} mm would make the hollow {deeper:.2f} mm deeper"
        ),
        remedies=(Remedy(field=ZONE_DEPTH, value=f"{depth:.2f} mm"),),
    )


def _draft(zone: PressedZone, leather: Leather) -> Iterator[Remark]:
    shrinks = max(leather.shrinkage_along, leather.shrinkage_across)
    if zone.wall_angle > 0 or zone.height_mm <= GRIPPING_DEPTH_MM or shrinks <= 0:
        return
    yield Remark(
        code="leather-grips-plug",
        severity="note",
        place=zone.place,
        amount=zone.height_mm,
        limit=GRIPPING_DEPTH_MM,
        sentence=(
            f"The wall is {zone.height_mm:.1f} mm high without draft and shrinks up to "
            f"{100 * shrinks:.1f} % on the plug: it grips. Wax the plug, and take it off "
            "evenly while the wall is still a little damp"
        ),
        remedies=(Remedy(field="measures.wall_angle", value="2 deg"),),
    )


def _narrow(zone: PressedZone, choice: ToolingChoice) -> Iterator[Remark]:
    web = choice.mould_board.min_web_mm
    if _is_one(zone.plug, web / 2.0):
        return
    wide = _narrowest(zone.plug, web)
    yield Remark(
        code="plug-too-narrow",
        severity="forbids",
        place=zone.place,
        amount=wide,
        limit=web,
        sentence=(
            f"Part of the plug is {wide:.1f} mm wide, narrower than {web:g} mm, the least that "
            f"{choice.mould_board.name} holds: take a thinner or tougher board, or widen the "
            f"hollow there by {web - wide:.1f} mm"
        ),
    )


def _too_near(
    zones: Sequence[PressedZone], gap_mm: float, choice: ToolingChoice
) -> Iterator[Remark]:
    web = choice.mould_board.min_web_mm
    for one, two in combinations(zones, 2):
        apart = float(one.plug.polygon.distance(two.plug.polygon))
        needed = 2.0 * gap_mm + ring_room_mm(one) + ring_room_mm(two) + web
        if apart >= needed - 0.02:
            continue
        yield Remark(
            code="zones-too-near",
            severity="forbids",
            place=one.place,
            amount=apart,
            limit=needed,
            sentence=(
                f"{one.place} and {two.place} are {apart:.1f} mm apart on the blank; gap and ring "
                f"on both sides and {web:g} mm of board between need {needed:.1f} mm"
            ),
        )


def _one_height(zones: Sequence[PressedZone], choice: ToolingChoice) -> Iterator[Remark]:
    heights = [zone.height_mm for zone in zones]
    if choice.cavity_floor and max(heights) - min(heights) > 0.05:
        low = min(zones, key=lambda zone: zone.height_mm)
        yield Remark(
            code="floor-misses-crown",
            severity="warning",
            place=low.place,
            amount=min(heights),
            limit=max(heights),
            sentence=(
                f"The cavity floor presses on the highest crown, {max(heights):.1f} mm, only; this "
                f"one is {min(heights):.1f} mm high"
            ),
            remedies=(Remedy(field="tooling.cavity_floor", value="false"),),
        )


def _webs(part: Part) -> Iterator[Remark]:
    web, least = thinnest_web(part.outline, [h.outline for h in part.holes]), part.board.min_web_mm
    if web >= least - 0.02:
        return
    yield Remark(
        code="web-too-thin",
        severity="forbids",
        place=part.name,
        amount=web,
        limit=least,
        sentence=(
            f"Only {web:.2f} mm of board stay between two cuts, {part.board.name} needs "
            f"{least:g} mm"
        ),
        remedies=(
            Remedy(
                field="tooling.plate_border",
                value=f"{_up(2 * least + _widest_dowel(part))} mm",
            ),
        ),
    )


def _held(zones: Sequence[PressedZone], tool: MouldTool) -> Iterator[Remark]:
    for zone in zones:
        plates = [p for p in tool.parts if p.role == "plug" and f" {zone.name} " in p.name]
        screwed, pushed = (
            all(p.holes_for(purpose) for p in plates) for purpose in ("screw", "push-out")
        )
        if screwed and pushed:
            continue
        lacking = [*([] if screwed else ["three screws"]), *([] if pushed else ["a push-out hole"])]
        done = [
            *([] if screwed else ["glue it within its scored outline, every plate marked face up"]),
            *([] if pushed else ["lift the leather off by the flange"]),
        ]
        yield Remark(
            code="plug-without-screws",
            severity="note",
            place=zone.place,
            sentence=f"The plug is too small for {' and '.join(lacking)}: {' and '.join(done)}",
        )


def _easing_note(blank: Blank, zones: Sequence[PressedZone]) -> Remark:
    radii = sorted({round(r, 2) for z in zones for r in (z.crown_radius_mm, z.lip_radius_mm)})
    return Remark(
        code="edges-eased-by-hand",
        severity="note",
        place=blank.name,
        amount=EASED_WITHIN_MM,
        sentence=(
            f"Edges of {' and '.join(f'{r:g}' for r in radii)} mm radius are eased by hand, to "
            f"within {EASED_WITHIN_MM:g} mm: check them with the radius gauges"
        ),
    )


def _widest_dowel(part: Part) -> float:
    return max((hole.width for hole in part.holes_for("dowel")), default=0.0)


def _is_one(outline: Outline, inset_mm: float) -> bool:
    """Whether an outline stays one piece when cut back this far: no part of it is narrower."""
    return len(offset_all(outline, -inset_mm)) == 1


def _narrowest(outline: Outline, below_mm: float) -> float:
    """Return how wide an outline is where it is narrowest, to 0.01 mm, never too much.

    Args:
        outline: Narrower somewhere than ``below_mm``.
        below_mm: Where to begin.
    """
    low, high = 0.0, below_mm
    while high - low > 0.01:
        middle = (low + high) / 2.0
        low, high = (middle, high) if _is_one(outline, middle / 2.0) else (low, middle)
    return low


def _down(value: float) -> str:
    return f"{math.floor(value * 10 + 1e-6) / 10:g}"


def _up(value: float) -> str:
    return f"{math.ceil(value * 10 - 1e-6) / 10:g}"
