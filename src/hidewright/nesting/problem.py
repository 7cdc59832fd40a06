"""What is to be cut from what, and where it was laid."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from hidewright.design.hide import Corners, Hide, check_corners
from hidewright.errors import RequestError

Goal = Literal["sets", "length", "hides"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """A piece to be cut and what it asks for.

    Attributes:
        name: Its name.
        outline: Its edge, mm.
        holes: Windows in it, in which other pieces may lie.
        count: How many a set needs; where there are no sets, how many there are.
        rotations_deg: How it may be turned, counter-clockwise; ``None`` is by any angle.
        may_mirror: Whether its other face may be up.
        grade: The worst grade of area that it may lie in.
        clear_of: Flaws of this severity and of worse, which are smaller numbers, it must not touch.
    """

    name: str
    outline: Corners
    holes: tuple[Corners, ...] = ()
    count: int = 1
    rotations_deg: tuple[float, ...] | None = (0.0,)
    may_mirror: bool = False
    grade: int = 1
    clear_of: int = 3

    def __post_init__(self) -> None:
        for ring in (self.outline, *self.holes):
            check_corners(ring, f"piece {self.name}")
        if self.count < 1:
            raise RequestError(f"{self.count} of piece {self.name}", mend="Ask for one or more")
        if self.rotations_deg == ():
            raise RequestError(
                f"piece {self.name} has no rotations", mend="Give at least one, or 0"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What is to be cut from what.

    Attributes:
        goal: ``sets`` is most whole sets, ``length`` least length along x for a number of sets,
            ``hides`` all pieces of one set from the fewest hides.
        hides: What there is; ``sets`` and ``length`` have one.
        pieces: What a set is made of.
        sets: How many are asked for, where that is not the question.
        spacing_mm: Least distance between pieces.
        edge_margin_mm: Least distance from the hide's edge.
    """

    goal: Goal
    hides: tuple[Hide, ...]
    pieces: tuple[Cutting, ...]
    sets: int = 1
    spacing_mm: float = 0.0
    edge_margin_mm: float = 0.0

    def __post_init__(self) -> None:
        if not self.hides or not self.pieces:
            raise RequestError(
                "nothing to cut" if self.hides else "nothing to cut from",
                mend="Give at least one hide and one piece",
            )
        if self.sets < 1:
            raise RequestError(f"{self.sets} sets are asked for", mend="Ask for one or more")
        for name, value in (("spacing", self.spacing_mm), ("edge margin", self.edge_margin_mm)):
            if not 0.0 <= value < float("inf"):
                raise RequestError(f"the {name} is {value} mm", mend="Give 0 or more")


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


@dataclass(slots=True)
class Budget:
    """Rounds of the search that may still be spent, and who may call it off before.

    Attributes:
        rounds: The most.
        called_off: Asked before each round; the search keeps what it has when it is true.
        spent: How many were.
    """

    rounds: int
    called_off: Callable[[], bool] = lambda: False
    spent: int = 0

    @property
    def left(self) -> bool:
        """Whether there is a round left."""
        return self.spent < self.rounds and not self.called_off()

    def spend(self) -> bool:
        """Take one round; return whether there was one left."""
        if not self.left:
            return False
        self.spent += 1
        return True
