"""A block of a wanted height as a stack of plates, with a card shim where the board leaves a rest."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from hidewright.catalogue.boards import Board
from hidewright.design.part import Easing, Part, PartHole, PartRole
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point
from hidewright.geometry.shapes import circle
from hidewright.tooling.marks import clearances, marked

#: A rest lower than this is left open, mm: thinner card is not worth cutting.
THINNEST_SHIM_MM = 0.3
#: Card this thin can be bought; it counts where a height must be met, mm.
THINNEST_CARD_MM = 0.1


#: Outer edge and holes of one sheet of a stack.
Plan = tuple[Outline, tuple[PartHole, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One sheet of a stack.

    Attributes:
        board: What it is cut from; card of the thickness left over for a shim.
        bottom_mm: Height of its lower face over the bottom of the stack.
    """

    board: Board
    bottom_mm: float

    @property
    def top_mm(self) -> float:
        """Height of its upper face over the bottom of the stack."""
        return self.bottom_mm + self.board.thickness_mm

    @property
    def is_shim(self) -> bool:
        """Whether it is card under the plates."""
        return self.board.material == "card"


def levels(
    height_mm: float, board: Board, thinnest_shim_mm: float = THINNEST_SHIM_MM
) -> tuple[Level, ...]:
    """Return the sheets that reach a height and do not pass it, a shim lowest.

    As many plates as go in, and card for the rest; a rest thinner than the thinnest shim stays
    open.
    """
    plates = math.floor(height_mm / board.thickness_mm + 1e-9)
    rest = height_mm - plates * board.thickness_mm
    out: list[Level] = []
    low = 0.0
    if rest >= thinnest_shim_mm:
        out.append(Level(board=_card(rest, board), bottom_mm=0.0))
        low = rest
    out += [Level(board=board, bottom_mm=low + i * board.thickness_mm) for i in range(plates)]
    return tuple(out)


def stacked(
    name: str,
    role: PartRole,
    sheets: Sequence[Level],
    plan: Callable[[Level], Plan],
    *,
    words: Sequence[str] = (),
    crown_mm: float = 0.0,
    raised_mm: float = 0.0,
    note: str = "",
) -> tuple[Part, ...]:
    """Return the parts of a stack, numbered from the bottom, marked, the crown's easing on top.

    Args:
        name: Of the stack; the parts are ``name plate 1`` and so on, ``name shim``.
        role: Of its plates; shims have their own.
        sheets: From the bottom up.
        plan: Outer edge and holes of a level, mm.
        words: More lines of words for each plate.
        crown_mm: Radius of the top edge, 0 for none.
        raised_mm: Height of the stack's bottom over the plane of the flange's lower face.
        note: What the maker must know about it.
    """
    parts = []
    plates = [s for s in sheets if not s.is_shim]
    for level in sheets:
        outline, holes = plan(level)
        number = "shim" if level.is_shim else f"plate {plates.index(level) + 1} of {len(plates)}"
        inner = [h.outline for h in holes]
        marks = marked(outline, inner, (name, f"{number}, this side up", *words))
        is_top = level is sheets[-1]
        parts.append(
            Part(
                name=f"{name} {number}",
                role="shim" if level.is_shim else role,
                board=level.board,
                outline=outline,
                holes=holes,
                scores=marks.scores,
                labels=marks.labels,
                bottom_mm=raised_mm + level.bottom_mm,
                easings=(_crown(crown_mm, level.board),) if is_top and crown_mm > 0 else (),
                note=note,
            )
        )
    return tuple(parts)


def dowel_holes(
    outline: Outline, inner: Sequence[Outline], diameter_mm: float, web_mm: float
) -> tuple[PartHole, ...]:
    """Return two dowel holes that line the plates of a block up in one way only, or none.

    They stand as far apart as the block allows and off its middle line, so that a plate turned or
    turned over does not lie flush.

    Args:
        outline: The smallest plate of the stack, mm.
        inner: Holes that are there already.
        diameter_mm: Of the dowels.
        web_mm: Board to be left round each.
    """
    left, bottom, right, top = outline.bounds
    xs, ys = np.linspace(left, right, 49), np.linspace(bottom, top, 49)
    grid: Floats = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    free = grid[clearances(outline, inner, grid) >= diameter_mm / 2 + web_mm]
    if len(free) == 0:
        return ()
    one = free[int(np.argmin(np.round(free @ np.array([1.0, -0.35]), 6)))]
    two = free[int(np.argmax(np.round(free @ np.array([1.0, 0.15]), 6)))]
    if float(np.hypot(*(two - one))) < 2 * diameter_mm + web_mm:
        return ()
    places: tuple[Point, ...] = ((float(one[0]), float(one[1])), (float(two[0]), float(two[1])))
    return tuple(
        PartHole(outline=circle(diameter_mm / 2, at, ""), purpose="dowel") for at in places
    )


def _crown(radius_mm: float, board: Board) -> Easing:
    deep = radius_mm > board.thickness_mm
    return Easing(
        radius_mm=radius_mm,
        face="top",
        edge="outline",
        how=("after gluing the stack: " if deep else "") + "round-over cutter or file, then 180 grit",
    )


def _card(thickness_mm: float, board: Board) -> Board:
    return replace(
        board,
        name=f"card {thickness_mm:.2f} mm",
        material="card",
        thickness_mm=thickness_mm,
        thickness_tolerance_mm=0.1 * thickness_mm,
        kerf_mm=0.0,
        transparent=False,
        source="card and paper to the thickness left over, measured with a calliper",
    )
