"""What is cut from a hide or sheet, and where on it each copy is laid."""

import math
from dataclasses import dataclass, replace

from hidewright.design.hide import Corners, check_corners
from hidewright.errors import RequestError
from hidewright.geometry.segment import Point, turn


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """A piece to be cut and what it asks for.

    Attributes:
        name: Its name.
        outline: Its edge, mm.
        holes: Windows in it, in which other pieces may lie.
        others: Outlines laid with it as they are, mm: what must come from one place is cut
            together, though it falls apart.
        count: How many a set needs; where there are no sets, how many there are.
        rotations_deg: How it may be turned, counter-clockwise from the hide's backbone; ``None``
            is by any angle.
        may_mirror: Whether its other face may be up.
        grade: The worst grade of area that it may lie in.
        clear_of: Flaws of this severity and of worse, which are smaller numbers, it must not touch.
        thickness_mm: (least, most) of the leather it takes; None takes any.
        agrees_mm: By how much at most the leather under a copy, and all laid with it, may differ in
            thickness; None is by any.
        covered: Parts of it that nobody sees, for another part of the article lies over them, mm.
        covered_clear_of: What it must not touch there, told as in ``clear_of``; None is the same as
            elsewhere.
    """

    name: str
    outline: Corners
    holes: tuple[Corners, ...] = ()
    others: tuple[Corners, ...] = ()
    count: int = 1
    rotations_deg: tuple[float, ...] | None = (0.0,)
    may_mirror: bool = False
    grade: int = 1
    clear_of: int = 3
    thickness_mm: tuple[float, float] | None = None
    agrees_mm: float | None = None
    covered: tuple[Corners, ...] = ()
    covered_clear_of: int | None = None

    def __post_init__(self) -> None:
        for ring in (self.outline, *self.holes, *self.others, *self.covered):
            check_corners(ring, f"piece {self.name}")
        if self.count < 1:
            raise RequestError(f"{self.count} of piece {self.name}", mend="Ask for one or more")
        if self.rotations_deg == ():
            raise RequestError(
                f"piece {self.name} has no rotations", mend="Give at least one, or 0"
            )

    @property
    def clear_of_throughout(self) -> int:
        """The flaws that no part of it may touch, covered or not; told as in ``clear_of``."""
        if not self.covered or self.covered_clear_of is None:
            return self.clear_of
        return min(self.clear_of, self.covered_clear_of)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where one copy of a piece lies: mirrored in the y axis, turned about the origin, shifted.

    Attributes:
        piece: Its number among the problem's pieces.
        copy: Its number among the copies of that piece.
        hide: The number of the hide it lies on.
        angle_deg: By how much it is turned, counter-clockwise.
        x_mm: Shift along x.
        y_mm: Shift along y.
        mirrored: Whether its other face is up.
    """

    piece: int
    copy: int
    hide: int
    angle_deg: float
    x_mm: float
    y_mm: float
    mirrored: bool = False


Layout = tuple[Placement, ...]


def turned_copy(
    placement: Placement, by_deg: float, shift: Point, piece: Cutting | None = None
) -> Placement:
    """Return a copy turned about the middle of its box and shifted.

    Args:
        placement: Where it lies.
        by_deg: By how much it is turned, counter-clockwise.
        shift: By how much it is shifted after that, mm.
        piece: What it is a copy of; needed where it is turned.
    """
    x, y = placement.x_mm + shift[0], placement.y_mm + shift[1]
    if piece is not None and by_deg:
        flip = -1.0 if placement.mirrored else 1.0
        xs, ys = [flip * p[0] for p in piece.outline], [p[1] for p in piece.outline]
        middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
        was = turn(middle, math.radians(placement.angle_deg))
        now = turn(middle, math.radians(placement.angle_deg + by_deg))
        x, y = x + was[0] - now[0], y + was[1] - now[1]
    return replace(placement, angle_deg=(placement.angle_deg + by_deg) % 360.0, x_mm=x, y_mm=y)
