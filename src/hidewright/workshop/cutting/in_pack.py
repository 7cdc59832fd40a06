"""The layouts of a design's pack: checked once more, and left out where the design has changed."""

import math
from collections.abc import Iterable

from hidewright.design.asked_piece import AskedPiece
from hidewright.design.cut_layout import CutLayout, layouts_with
from hidewright.design.cutting import Cutting
from hidewright.design.design import Design
from hidewright.design.hide import Corners, area_of
from hidewright.drawing.tiles import Paper
from hidewright.errors import Remark
from hidewright.units.written import METRIC, Written
from hidewright.workshop.article import LAYOUT
from hidewright.workshop.cutting.files import layout_files
from hidewright.workshop.cutting.layout import check_layout
from hidewright.workshop.cutting.pieces import asked_pieces
from hidewright.workshop.forming_chain import PressedBlanks

#: Outlines as cut that differ by less are those of one version of a design: mm each way, and share
#: of the area. Far less than the knife strays; more than two machines' arithmetic does.
SAME_MM, SAME_SHARE = 0.2, 0.002


def pack_layouts(
    layouts: Iterable[CutLayout],
    design: Design,
    pressed: PressedBlanks,
    paper: Paper,
    written: Written = METRIC,
) -> tuple[dict[str, bytes], tuple[Remark, ...]]:
    """Return the files of the layouts that pieces of a design lie on, by path in its pack.

    Tools on boards are not among them: the pack has cut files of its own for these.

    Args:
        layouts: Some of other designs, perhaps, and some from before this one was changed.
        design: As it is now.
        pressed: Its blanks as they are now.
        paper: To print on.
        written: How measures are written on it.

    Returns:
        The files, and a remark on each layout that was left out: a warning.
    """
    remarks: list[Remark] = []
    sound: list[CutLayout] = []
    for layout in layouts_with(design.name, layouts):
        wrong = _wrong(layout, design, pressed)
        if wrong:
            remarks.append(_left_out(layout, wrong))
        else:
            sound.append(layout)
    files: dict[str, bytes] = {}
    for number, layout in enumerate(sound, start=1):
        folder = f"{LAYOUT}{number}/" if len(sound) > 1 else LAYOUT
        made = layout_files(layout, paper, written)
        files |= {f"{folder}{name}": data for name, data in made.items()}
    return files, tuple(remarks)


def _wrong(layout: CutLayout, design: Design, pressed: PressedBlanks) -> str:
    """Return why a layout may not be cut; nothing when it may."""
    now = {one.name: one for one in asked_pieces(design, pressed, layout.spacing_mm)}
    then = [one for one in layout.pieces if one.name.startswith(f"{design.name}: ")]
    for piece in then:
        if piece.name not in now:
            return f"the design has no {piece.name.removeprefix(f'{design.name}: ')} any more"
        if not _same(piece, now[piece.name]):
            return f"the outline of {piece.name} has changed since"
    wanted = {one.name for one in now.values() if one.material == layout.material}
    missing = sorted(wanted - {piece.name for piece in then})
    if missing:
        return f"{missing[0]} is not on it"
    return "; ".join(check_layout(layout)[:1])


def _same(then: Cutting, now: AskedPiece) -> bool:
    before, after = _rings(then), _rings(now)
    return len(before) == len(after) and all(map(_alike, before, after))


def _rings(piece: Cutting | AskedPiece) -> tuple[Corners, ...]:
    return (piece.outline, *piece.others, *piece.holes)


def _alike(one: Corners, two: Corners) -> bool:
    apart = max(abs(a - b) for a, b in zip(_box(one), _box(two), strict=True))
    return apart <= SAME_MM and math.isclose(area_of(one), area_of(two), rel_tol=SAME_SHARE)


def _box(ring: Corners) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    return (min(xs), min(ys), max(xs), max(ys))


def _left_out(layout: CutLayout, wrong: str) -> Remark:
    return Remark(
        code="layout-left-out",
        severity="warning",
        place="cutting",
        sentence=f"The layout of {layout.title} is not in the pack: {wrong}. Cut it anew.",
    )
