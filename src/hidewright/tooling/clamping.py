"""What keeps fingers and leather in place while trimming: a finger fence and a waste clamp."""

import math
from collections.abc import Sequence

from hidewright.catalogue.boards import Board
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import Part, PartHole
from hidewright.design.piece import Piece
from hidewright.errors import Remark, Remedy
from hidewright.geometry.boolean import Region
from hidewright.geometry.offset import border_round, offset, offset_all
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import circle
from hidewright.tooling.marks import clearances, marked, roomiest
from hidewright.tooling.mould_checks import thinnest_web
from hidewright.tooling.run_on import behind
from hidewright.tooling.take_away import largest, take_away
from hidewright.tooling.template_sheet import TemplateSheet, leg_width_mm

#: Room that a knife's handle needs over a template's edge, mm: wanted and least; common practice.
HANDLE_MM = 6.0
LEAST_HANDLE_MM = 4.0
#: Height of the fence over the template, mm; common practice.
FENCE_MM = 10.0
#: Room for blade and handle between the trim line and the waste clamp, mm; common practice.
KNIFE_WAY_MM = 8.0
#: Bolts of the waste clamp stand no further apart than this, mm; common practice.
BOLT_PITCH_MM = 90.0
#: Free round an awl mark of the template, mm; common practice.
AWL_REACH_MM = 5.0
#: Left over so that a web is never a rounding narrower than the board's least, mm.
SLACK_MM = 0.05
#: Distances are measured to chords that lie this near, mm.
CHORD_MM = 0.02


def finger_fence(
    sheet: TemplateSheet, area: Region, suffix: str, awl_marks: Sequence[Outline], board: Board
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the fence that is glued on a trim template, set back from the edge the knife follows.

    It is set back 6 mm for the knife's handle, less where the legs beside the wall are narrow but
    never under 4 mm, and keeps the board's least web. It has the template's windows, and is open
    round the template's awl marks.

    Args:
        sheet: The template.
        area: The stretch of it that gets the fence.
        suffix: Number of that stretch in the names, where there are several.
        awl_marks: Holes of the template that must stay in reach.
        board: What the fence is cut from, the template's own sheet as a rule.

    Returns:
        The fence, or none and a remark where the piece is too narrow for one.
    """
    name = sheet.piece.name
    legs = [leg_width_mm(sheet.piece.outline, w.outline) for w in sheet.windows]
    back = min([HANDLE_MM, *(leg - board.min_web_mm - SLACK_MM for leg in legs)])
    if back < LEAST_HANDLE_MM:
        return (), (_no_fence(name, LEAST_HANDLE_MM + board.min_web_mm + SLACK_MM - min(legs)),)
    wide = _opened(sheet.piece.outline, back, board.min_web_mm)
    if wide is None:
        return (), (_no_fence(name),)
    windows = [w.outline for w in sheet.windows]
    reach = [circle(AWL_REACH_MM, mark.centroid, "") for mark in awl_marks]
    openings = [*windows, *sheet.piece.cut_outs, *reach]
    left = [r for r in take_away(wide, openings) if area.outer.contains(_inside(r))]
    if not left:
        return (), (_no_fence(name),)
    fence = max(left, key=lambda region: region.area)
    edge = _opened(fence.outer, 0.0, board.min_web_mm)
    if edge is None:
        return (), (_no_fence(name),)
    if thinnest_web(edge, fence.holes) < board.min_web_mm - SLACK_MM:
        return (), (_no_fence(name),)  # it must stay open round marks that leave too little of it
    marks = marked(edge, fence.holes, (f"{name} fence{suffix}",))
    part = Part(
        name=f"{name} finger fence{suffix}",
        role="finger fence",
        board=board,
        outline=edge,
        holes=tuple(PartHole(outline=h, purpose="window") for h in fence.holes),
        labels=marks.labels,
        scores=marks.scores,
        count=max(1, math.ceil(FENCE_MM / board.thickness_mm - 1e-9)),
        note=(
            f"Glue on the trim template, {back:.1f} mm inside its edge all round; the fingers "
            "press behind it only."
        ),
    )
    return (part,), ()


def waste_clamp(
    piece: Piece, side: str, margin_mm: float, choice: ToolingChoice
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the frame that is bolted down through the leather that falls off.

    It leaves 8 mm round the trim line free for the knife. Its bolts go through the middle of the
    waste beyond that, and none through leather that stays. At a mouth, which has been cut before
    and has no waste beyond it, the frame is open.

    Args:
        piece: The piece as it lies.
        side: Which side is up.
        margin_mm: Leather of the blank beyond the trimmed piece, before it was pressed.
        choice: Gives the board, the bolts' diameter and the border beyond the blank.
    """
    bolt, board = choice.dowel_mm, choice.mould_board
    web = min(board.min_web_mm, bolt / 2)
    waste = margin_mm - KNIFE_WAY_MM
    if waste < web + bolt:
        return (), (_no_waste(piece.name, margin_mm, KNIFE_WAY_MM + web + bolt),)
    frame = border_round(piece.outline, margin_mm + max(bolt, board.min_web_mm))
    line_of_bolts = offset(piece.outline, KNIFE_WAY_MM + max(waste / 2, web + bolt / 2))
    for zone in piece.zones:
        for mouth in zone.mouths:
            frame = behind(frame, zone.outline, mouth)
    left = take_away(frame, [offset(piece.outline, KNIFE_WAY_MM)])
    ring = max(left, key=lambda region: region.area)
    bolts = _bolts(line_of_bolts, ring, bolt, web)
    marks = marked(
        ring.outer, [*ring.holes, *bolts], (f"{piece.name} waste clamp", f"{side} side up")
    )
    part = Part(
        name=f"{piece.name} waste clamp",
        role="waste clamp",
        board=board,
        outline=ring.outer,
        holes=(
            *(PartHole(outline=h, purpose="window") for h in ring.holes),
            *(PartHole(outline=b, purpose="bolt") for b in bolts),
        ),
        labels=marks.labels,
        scores=marks.scores,
        note=(
            f"Bolts of {bolt:g} mm go through the waste into the bench board, drilled through "
            "these holes; never through leather that stays."
        ),
    )
    return (part,), ()


def _bolts(along: Outline, ring: Region, diameter_mm: float, web_mm: float) -> tuple[Outline, ...]:
    """Return bolt holes spread evenly over the stretches of a line where the frame has board."""
    steps = max(8, math.ceil(along.length / 2.0))
    distances = [along.length * i / steps for i in range(steps)]
    room = clearances(ring.outer, ring.holes, [along.point_at(d) for d in distances])
    free = room >= diameter_mm / 2 + web_mm - CHORD_MM
    if free.all():
        count = max(3, math.ceil(along.length / BOLT_PITCH_MM))
        places = [along.point_at(along.length * i / count) for i in range(count)]
        return tuple(circle(diameter_mm / 2, at, "") for at in places)
    first = next(i for i in range(steps) if not free[i])
    order = [(first + i) % steps for i in range(steps)]
    runs: list[list[int]] = []
    for before, i in zip([first, *order], order, strict=False):
        if free[i] and not free[before]:
            runs.append([])
        if free[i]:
            runs[-1].append(i)
    chosen: list[int] = []
    for run in runs:
        count = max(1, math.ceil(len(run) * along.length / steps / BOLT_PITCH_MM) + 1)
        chosen += {run[round((len(run) - 1) * k / max(count - 1, 1))]: 0 for k in range(count)}
    return tuple(circle(diameter_mm / 2, along.point_at(distances[i]), "") for i in chosen)


def _opened(outline: Outline, back_mm: float, web_mm: float) -> Outline | None:
    """Return an outline set back, without what is then narrower than a web; None if all is."""
    cores = offset_all(outline, -(back_mm + web_mm / 2))
    if not cores:
        return None
    return offset(largest(cores), web_mm / 2)


def _inside(region: Region) -> Point:
    return roomiest(region.outer, region.holes)[0]


def _no_fence(piece: str, missing_mm: float = 0.0) -> Remark:
    wider = f" {missing_mm:.1f} mm more flange would do." if missing_mm > 0 else ""
    return Remark(
        code="no-finger-fence",
        severity="warning",
        place=piece,
        amount=missing_mm or None,
        sentence=(
            f"The trim template has no room for a finger fence {LEAST_HANDLE_MM:g} mm behind the "
            "knife: press with a block on it, not with the fingers, and wear a cut-proof "
            f"glove.{wider}"
        ),
    )


def _no_waste(piece: str, margin_mm: float, wanted_mm: float) -> Remark:
    return Remark(
        code="no-waste-to-clamp",
        severity="note",
        place=piece,
        amount=margin_mm,
        limit=wanted_mm,
        sentence=(
            f"A margin of {margin_mm:g} mm leaves no waste to bolt through beside the knife, "
            f"{wanted_mm:g} mm would: hold the waste with clamps at its corners"
        ),
        remedies=(Remedy(field="measures.margin", value=f"{wanted_mm:g} mm"),),
    )
