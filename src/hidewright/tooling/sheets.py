"""Parts laid on sheets in rows, largest first: simple, and good enough to cut from today."""

import math
from dataclasses import dataclass

from hidewright.catalogue.boards import Board
from hidewright.design.part import Part
from hidewright.errors import Remark
from hidewright.geometry.segment import Point

#: Room between parts, and between parts and the sheet's edge, mm.
SPACING_MM = 4.0
EDGE_MM = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One copy of a part on a sheet: turned about its origin, then shifted.

    Attributes:
        part: Name of the part.
        copy: Which of its copies, from 1.
        turn: Radians counter-clockwise; 0 or a quarter turn.
        shift: mm, from the sheet's lower left corner.
    """

    part: str
    copy: int
    turn: float
    shift: Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet of a board and what is cut from it, in cutting order."""

    board: Board
    number: int
    placed: tuple[Placed, ...]


def lay_on_sheets(
    parts: tuple[Part, ...], boards: tuple[Board, ...]
) -> tuple[tuple[Sheet, ...], tuple[Remark, ...]]:
    """Return the parts laid on as many sheets of their boards as they need.

    Args:
        parts: What is cut; the board of each is found by its name.
        boards: The boards as they lie in the workshop, with true kerf and sheet size.

    Rows are filled from the left, tallest part first; a part is turned by a quarter when it only
    fits that way or lies lower so.

    Returns:
        Sheets, by board in the order first met; remarks for parts larger than their sheet, which
        are left out.
    """
    sheets: list[Sheet] = []
    remarks: list[Remark] = []
    by_name = {board.name: board for board in boards}
    for name in dict.fromkeys(p.board.name for p in parts):
        board = by_name[name]
        mine = [p for p in parts if p.board.name == name]
        boxes: list[tuple[float, float, Part, int, float]] = []
        for part in mine:
            size = _lying(part, board)
            if size is None:
                remarks.append(_too_large(part, board))
                continue
            boxes += [(size[1], size[0], part, copy + 1, size[2]) for copy in range(part.count)]
        boxes.sort(key=lambda b: (-b[0], -b[1], b[2].name, b[3]))
        sheets += _filled(board, boxes)
    return tuple(sheets), tuple(remarks)


def _filled(board: Board, boxes: list[tuple[float, float, Part, int, float]]) -> list[Sheet]:
    out: list[Sheet] = []
    placed: list[Placed] = []
    x = y = EDGE_MM
    row = 0.0
    for height, width, part, copy, turn in boxes:
        if x + width > board.sheet_width_mm - EDGE_MM:
            x, y, row = EDGE_MM, y + row + SPACING_MM, 0.0
        if y + height > board.sheet_height_mm - EDGE_MM:
            out.append(Sheet(board=board, number=len(out) + 1, placed=tuple(placed)))
            placed, x, y, row = [], EDGE_MM, EDGE_MM, 0.0
        left, bottom, _, _ = part.outline.rotated(turn).bounds
        room = board.kerf_mm / 2
        placed.append(
            Placed(part=part.name, copy=copy, turn=turn, shift=(x - left + room, y - bottom + room))
        )
        x += width + SPACING_MM
        row = max(row, height)
    if placed:
        out.append(Sheet(board=board, number=len(out) + 1, placed=tuple(placed)))
    return out


def _lying(part: Part, board: Board) -> tuple[float, float, float] | None:
    """Return (width, height, turn) as it lies on the sheet with its kerf, or None if too large."""
    room_x, room_y = board.sheet_width_mm - 2 * EDGE_MM, board.sheet_height_mm - 2 * EDGE_MM
    w, h = part.outline.width + board.kerf_mm, part.outline.height + board.kerf_mm
    ways = [(w, h, 0.0), (h, w, math.pi / 2)]
    fitting = [way for way in ways if way[0] <= room_x and way[1] <= room_y]
    return min(fitting, key=lambda way: way[1]) if fitting else None


def _too_large(part: Part, board: Board) -> Remark:
    return Remark(
        code="part-larger-than-sheet",
        severity="forbids",
        place=part.name,
        amount=max(part.outline.width, part.outline.height),
        limit=max(board.sheet_width_mm, board.sheet_height_mm),
        sentence=(
            f"{part.name} is {part.outline.width:.0f} x {part.outline.height:.0f} mm; the sheet of "
            f"{board.name} is {board.sheet_width_mm:.0f} x {board.sheet_height_mm:.0f} mm."
        ),
    )
