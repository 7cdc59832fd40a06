"""The rough piece as cut for moulding, and which pieces come out of it."""

import math
from dataclasses import dataclass
from typing import Literal

from hidewright.errors import RequestError
from hidewright.geometry.segment import Point

Hold = Literal["plate", "clamped", "free"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecePlace:
    """Where a piece lies on its blank.

    Attributes:
        piece: Name of the piece.
        turn: Rotation of the piece's frame, radians counter-clockwise.
        shift: Where the piece's origin goes, mm.
    """

    piece: str
    turn: float = 0.0
    shift: Point = (0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A rough piece of leather and the pieces moulded on it.

    Attributes:
        name: Unique within the design.
        places: The pieces on it, seen on the grain; two of them with ``mouth_waste_mm`` between
            their mouths are a pair, moulded as one hollow and cut apart.
        role: Which of the design's leathers it is cut from.
        margin_mm: Leather left beyond the trimmed pieces on every side when it lies pressed, to be
            held; what is drawn in comes on top.
        mouth_waste_mm: Width cut away between the mouths of a pair.
        hold: How the flange is held while pressing.
        relief_dart_mm: Length of the relief darts that are cut into the margin at the outward
            corners of the hollows, so that it comes in more easily there; 0 for none.
        articles: How many articles the pieces of one blank make.
        over: Pieces pressed over the placed ones in the same mould, outermost last; each is cut
            from its own leather to this same blank, and parted from the others when dry.
    """

    name: str
    places: tuple[PiecePlace, ...]
    role: str
    margin_mm: float
    mouth_waste_mm: float = 0.0
    hold: Hold = "plate"
    relief_dart_mm: float = 0.0
    articles: int = 1
    over: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.places:
            raise RequestError(f"blank {self.name}: no piece on it")
        if self.margin_mm <= 0:
            raise RequestError(f"blank {self.name}: margin of {self.margin_mm:g} mm")
        if not (math.isfinite(self.relief_dart_mm) and self.relief_dart_mm >= 0):
            raise RequestError(f"blank {self.name}: relief darts of {self.relief_dart_mm:g} mm")
