"""Trim template: the clear sheet whose edge the knife follows round a dried, moulded piece."""

from collections.abc import Iterator, Sequence

from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import HolePurpose, Part, PartHole
from hidewright.design.piece import MouldedZone, Piece
from hidewright.errors import Remark
from hidewright.geometry.boolean import Region
from hidewright.geometry.distance import depth_filled, is_parted_by
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import circle
from hidewright.tooling.clamping import finger_fence, waste_clamp
from hidewright.tooling.marks import clearances, marked
from hidewright.tooling.template_sheet import TemplateSheet, template_sheet

#: A mark at the end of a fold line stays this far inside the edge the knife follows, mm.
FOLD_MARK_IN_MM = 4.0
#: A slit that stays uncut for this share of the board's least feature is told: less is no fault.
SLIT_SHARE = 0.9
#: Holes through which an awl marks the leather: punched holes, ends of slits and folds.
AWL_MARK: HolePurpose = "mark"


def trim_template(
    piece: Piece, leather: Leather, choice: ToolingChoice, margin_mm: float | None = None
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the template a piece is trimmed to, with its finger fence and waste clamp.

    How it is used. The dried piece lies flat on its flange on a cutting mat, its moulded side up,
    a support block in the hollow. The template goes down over the wall until it lies on the
    flange: the wall locates it, so the edge agrees with the stitch holes even where the leather
    has shrunk more or less than foreseen. The template's outer edge is the trim line itself,
    uninterrupted, so nothing can be bolted through the template without crossing the knife's way.
    Hence three parts that do one thing each:

    * the template, the piece's outline in clear sheet, lower edge of its window rounded to the lip;
    * a finger fence, glued on it and set back for the knife's handle, that the fingers press
      behind and that stiffens the legs of an open template;
    * a waste clamp, a frame that is bolted down through the leather that falls off, outside the
      knife's way, so that the piece cannot turn with the template.

    The mouth of a moulded piece has been cut before, along the mouth-cut block; there the template
    is open and its two tips show where the mouth's line must lie on the flange. A flat piece has
    no wall: its template is laid on the leather as the layout says, and carries the marks of its
    holes and folds. A piece whose walls are all cut at a height has no flange to lie on and gets a
    height-trim block instead.

    Args:
        piece: The dry piece.
        leather: What it is made of.
        choice: Gives the clear sheet, the bolts' size and the size of the awl marks.
        margin_mm: Leather of the blank beyond the trimmed piece; without it no waste clamp is made.

    Returns:
        Template, fence and clamp as seen from above in use, and remarks. Parts of a piece that
        lies flesh side up are mirrored.
    """
    if piece.zones and not any(has_flange(zone) for zone in piece.zones):
        return (), ()
    sheet, remarks = template_sheet(piece, leather, choice.template_board)
    found = list(remarks)
    parts: list[Part] = []
    for area, suffix in zip(sheet.areas, numbered(len(sheet.areas)), strict=True):
        template = _template(sheet, area, suffix, choice)
        parts.append(template)
        found += _too_fine(piece.name, template)
        marks = template.holes_for(AWL_MARK)
        fence, fence_remarks = finger_fence(sheet, area, suffix, marks, choice.template_board)
        parts += fence
        found += fence_remarks
    found += _unmarked(sheet, choice.prick_hole_mm)
    if piece.zones and margin_mm is not None:
        clamp, clamp_remarks = waste_clamp(sheet.piece, sheet.side, margin_mm, choice)
        parts += clamp
        found += clamp_remarks
    return tuple(parts), tuple(found)


def _too_fine(piece: str, template: Part) -> Iterator[Remark]:
    """Yield what of a piece's edge is too fine to be cut from the sheet: tips, necks and slits."""
    board = template.board
    if is_parted_by(template.outline, board.min_feature_mm / 2):
        yield Remark(
            code="piece-too-thin-for-template",
            severity="warning",
            place=piece,
            limit=board.min_feature_mm,
            sentence=(
                f"{piece} is narrower somewhere than {board.min_feature_mm:g} mm, the least that "
                f"{board.name} holds: cut it by its paper pattern, or draw it wider there"
            ),
        )
    if depth_filled(template.outline, board.kerf_mm / 2) > SLIT_SHARE * board.min_feature_mm:
        yield Remark(
            code="slit-narrower-than-beam",
            severity="warning",
            place=piece,
            limit=board.kerf_mm,
            sentence=(
                f"A slit or notch of {piece} is narrower than the beam cuts {board.name}, "
                f"{board.kerf_mm:g} mm: the template has it less deep; cut it by the paper "
                "pattern, or draw it wider"
            ),
        )


def has_flange(zone: MouldedZone) -> bool:
    """Whether any stretch of a zone's wall ends in a flange that stays on the piece."""
    return any(zone.ending(s.span) == "flange" for s in zone.outline.segments)


def numbered(count: int) -> tuple[str, ...]:
    """Return what sets names of several like parts apart; nothing for one."""
    return ("",) if count == 1 else tuple(f" {i + 1}" for i in range(count))


def awl_marks(
    piece: Piece, area: Region, diameter_mm: float, web_mm: float
) -> tuple[PartHole, ...]:
    """Return the holes through which punched holes, slits and folds are marked with an awl.

    Those that would lie over a window or within a web of an edge are left out.
    """
    holes = []
    for at in _mark_points(piece):
        room = clearances(area.outer, area.holes, [at])[0]
        if room >= diameter_mm / 2 + web_mm:
            holes.append(PartHole(outline=circle(diameter_mm / 2, at, ""), purpose=AWL_MARK))
    return tuple(holes)


def _template(sheet: TemplateSheet, area: Region, suffix: str, choice: ToolingChoice) -> Part:
    board, piece = choice.template_board, sheet.piece
    marks_for_awl = awl_marks(piece, area, choice.prick_hole_mm, board.min_feature_mm)
    holes = (*(PartHole(outline=h, purpose="window") for h in area.holes), *marks_for_awl)
    words = (f"{piece.name} trim{suffix}", f"{sheet.side} side up")
    folds = _fold_lines(piece, area)
    marks = marked(area.outer, [h.outline for h in holes], words, folds)
    return Part(
        name=f"{piece.name} trim template{suffix}",
        role="trim template",
        board=board,
        outline=area.outer,
        holes=holes,
        scores=(*marks.scores, *folds),
        labels=marks.labels,
        count=sheet.plates,
        easings=sheet.easings,
        note=_note(sheet),
    )


def _note(sheet: TemplateSheet) -> str:
    glue = f"Glue {sheet.plates} on one another, the lowest eased. " if sheet.plates > 1 else ""
    grip = "Non-slip film under it; the knife runs along its outside, away from the holding hand"
    if not sheet.windows:
        return f"{glue}Lies {sheet.side} side of the leather up, turned as the layout says. {grip}."
    return f"{glue}Goes down over the moulded wall, {sheet.side} side up. {grip}."


def _mark_points(piece: Piece) -> tuple[Point, ...]:
    points: list[Point] = []
    for hole in piece.holes:
        points.append(hole.at)
        if hole.slit is not None:
            points.append(hole.slit)
    for fold in piece.folds:
        points.append(fold.line.point_at(FOLD_MARK_IN_MM))
        points.append(fold.line.point_at(fold.line.length - FOLD_MARK_IN_MM))
    return tuple(points)


def _fold_lines(piece: Piece, area: Region) -> tuple[Path, ...]:
    """Return fold lines that lie wholly on the sheet, a little short of its edges, to score."""
    lines = []
    for fold in piece.folds:
        length = fold.line.length
        if length <= 4 * FOLD_MARK_IN_MM:
            continue
        score = fold.line.part(1.5 * FOLD_MARK_IN_MM, length - 1.5 * FOLD_MARK_IN_MM)
        if clearances(area.outer, area.holes, score.flat_points(0.1)).min() > 0:
            lines.append(score)
    return tuple(lines)


def _unmarked(sheet: TemplateSheet, diameter_mm: float) -> tuple[Remark, ...]:
    """Return notes on punched holes that no template can mark, as they lie in a moulded zone."""
    return tuple(
        Remark(
            code="hole-on-the-crown",
            severity="note",
            place=sheet.piece.name,
            point=hole.at,
            sentence=(
                f"The hole for the {hole.name} lies in the moulded zone: mark it from inside "
                f"through the {diameter_mm:.1f} mm hole of the support block"
            ),
        )
        for hole in sheet.piece.holes
        if _in_window(hole.at, [w.outline for w in sheet.windows])
    )


def _in_window(point: Point, windows: Sequence[Outline]) -> bool:
    return any(window.contains(point) for window in windows)
