"""Tooling parts as what is cut from sheets of board, so that they lie closer than in rows."""

from collections import Counter
from collections.abc import Iterable

from hidewright.catalogue.boards import Board
from hidewright.design.asked_piece import AskedPiece
from hidewright.design.hide import Hide
from hidewright.design.stock_hide import StockHide
from hidewright.tooling.sheets import Sheet
from hidewright.workshop.cutting.pieces import corners_of

#: Sorts of parts up to which every angle is tried.
FREELY_TURNED = 6


def sheet_pieces(
    article: str, sheets: Iterable[Sheet], board: Board
) -> tuple[tuple[AskedPiece, int], ...]:
    """Return the parts of one board as the beam goes round them, each with how many are cut.

    Others may lie in their windows. A board has no direction: few parts may be turned by any
    angle, many by quarters.

    Args:
        article: Whose tools they are.
        sheets: As laid in rows; what is on them is laid anew.
        board: Which board.
    """
    cuts = [placed.cut for sheet in sheets if sheet.board == board for placed in sheet.placed]
    counts = Counter(cut.part for cut in cuts)
    free = len(counts) <= FREELY_TURNED
    return tuple(
        (
            AskedPiece(
                article=article,
                piece=cut.part,
                material=board.name,
                outline=corners_of(cut.outer),
                holes=tuple(corners_of(one) for one in cut.inner),
                grade=1,
                clear_of=3,
                lie_deg=None if free else 0.0,
                tolerance_deg=90.0,
                thickness_mm=None,
            ),
            counts[cut.part],
        )
        for cut in {cut.part: cut for cut in cuts}.values()
    )


def boards_of(sheets: Iterable[Sheet]) -> tuple[Board, ...]:
    """Return the boards that parts are cut from, in the order met."""
    return tuple(dict.fromkeys(sheet.board for sheet in sheets))


def whole_sheet(board: Board) -> StockHide:
    """Return a sheet of a board as it is bought."""
    right, top = board.sheet_width_mm, board.sheet_height_mm
    outline = ((0.0, 0.0), (right, 0.0), (right, top), (0.0, top))
    return StockHide(hide=Hide(name=board.name, outline=outline), material=board.name)
