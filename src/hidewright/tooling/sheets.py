"""Parts laid on sheets in rows, largest first: simple, and good enough to cut from today."""

import math
from dataclasses import dataclass, replace
from functools import cache

from hidewright.catalogue.boards import Board
from hidewright.design.part import Part
from hidewright.errors import Remark
from hidewright.geometry.offset import offset
from hidewright.geometry.segment import Point
from hidewright.tooling.kerf import CutPart, cut_outlines
from hidewright.tooling.marks import turned_round

#: Room between parts, and between parts and the sheet's edge, mm.
SPACING_MM = 4.0
EDGE_MM = 5.0
#: Code of the remark on a part that is left out because it is larger than its sheet.
TOO_LARGE = "part-larger-than-sheet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One copy of a part on a sheet: turned about its origin, then shifted.

    Attributes:
        cut: The beam's paths.
        turn: Radians counter-clockwise; 0 or a quarter turn.
        shift: mm, from the sheet's lower left corner.
    """

    cut: CutPart
    turn: float
    shift: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet of a board and what is cut from it."""

    board: Board
    number: int
    placed: tuple[Placed, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lying:
    """A part's box as it will lie: its longer side level where the sheet allows it."""

    cut: CutPart
    width: float
    height: float
    turn: float


def lay_on_sheets(parts: tuple[Part, ...]) -> tuple[tuple[Sheet, ...], tuple[Remark, ...]]:
    """Return the parts laid on as many sheets of their boards as they need.

    Rows are filled from the left, tallest part first; a part is turned by a quarter when it only
    fits that way or lies lower so.

    Returns:
        Sheets, by board in the order first met; remarks for parts larger than their sheet, which
        are left out.
    """
    sheets: list[Sheet] = []
    remarks: list[Remark] = []
    beside = cache(offset)  # plates share outlines and holes
    for board in dict.fromkeys(p.board for p in parts):
        boxes: list[_Lying] = []
        for part in parts:
            if part.board != board:
                continue
            lying = _lying(cut_outlines(part, beside), board)
            if lying is None:
                remarks.append(_too_large(part))
            else:
                boxes += [lying] * part.count
        boxes.sort(key=lambda b: (-b.height, -b.width, b.cut.part))
        sheets += _filled(board, boxes)
    return tuple(sheets), tuple(remarks)


def _filled(board: Board, boxes: list[_Lying]) -> list[Sheet]:
    out: list[Sheet] = []
    placed: list[Placed] = []
    x = y = EDGE_MM
    row = 0.0
    for box in boxes:
        if x + box.width > board.sheet_width_mm - EDGE_MM:
            x, y, row = EDGE_MM, y + row + SPACING_MM, 0.0
        if y + box.height > board.sheet_height_mm - EDGE_MM:
            out.append(Sheet(board=board, number=len(out) + 1, placed=tuple(placed)))
            placed, x, y, row = [], EDGE_MM, EDGE_MM, 0.0
        left, bottom, _, _ = box.cut.outer.rotated(box.turn).bounds
        cut = _legible(box.cut, box.turn)
        placed.append(Placed(cut=cut, turn=box.turn, shift=(x - left, y - bottom)))
        x += box.width + SPACING_MM
        row = max(row, box.height)
    if placed:
        out.append(Sheet(board=board, number=len(out) + 1, placed=tuple(placed)))
    return out


def _legible(cut: CutPart, turn: float) -> CutPart:
    """Return a part with those words turned half round that would stand on their head once turned.

    Words on the sheet then read from below or from the right; a label keeps the room it takes.
    """
    labels = tuple(
        turned_round(label) if _on_its_head(label.angle + turn) else label for label in cut.labels
    )
    return replace(cut, labels=labels)


def _on_its_head(angle: float) -> bool:
    return not -math.pi / 2 + 1e-6 < math.remainder(angle, math.tau) <= math.pi / 2 + 1e-6


def _lying(cut: CutPart, board: Board) -> _Lying | None:
    """Return how a part lies on its sheet, or None if it is too large for it."""
    w, h = cut.outer.width, cut.outer.height
    ways = (
        _Lying(cut=cut, width=w, height=h, turn=0.0),
        _Lying(cut=cut, width=h, height=w, turn=math.pi / 2),
    )
    room_x, room_y = board.sheet_width_mm - 2 * EDGE_MM, board.sheet_height_mm - 2 * EDGE_MM
    fitting = [way for way in ways if way.width <= room_x and way.height <= room_y]
    return min(fitting, key=lambda way: way.height) if fitting else None


def _too_large(part: Part) -> Remark:
    board = part.board
    return Remark(
        code=TOO_LARGE,
        severity="forbids",
        place=part.name,
        amount=max(part.outline.width, part.outline.height),
        limit=max(board.sheet_width_mm, board.sheet_height_mm),
        sentence=(
            f"{part.name} is {part.outline.width:.0f} x {part.outline.height:.0f} mm; the sheet of "
            f"{board.name} is {board.sheet_width_mm:.0f} x {board.sheet_height_mm:.0f} mm: "
            "take larger sheets, or a smaller border or margin"
        ),
    )
