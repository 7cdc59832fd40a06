"""What is asked of the process that reads photos, and what it answers."""

from dataclasses import dataclass

from hidewright.design.hide import Hide
from hidewright.drawing.tiles import Paper

#: Where a photo is sent to, and its bytes at most.
TO, MOST_BYTES = "/bring/photo", 60_000_000
#: (left, bottom, right, top), mm.
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardsAsked:
    """Scale cards to print.

    Attributes:
        paper: To print on.
    """

    paper: Paper


@dataclass(frozen=True, slots=True, kw_only=True)
class CardsDrawn:
    """Scale cards.

    Attributes:
        pdf: The file.
    """

    pdf: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoAsked:
    """A photo to read.

    Attributes:
        data: The file.
        name: Its name.
        ruler_mm: What the ruler on the printed sheet measures.
    """

    data: bytes
    name: str
    ruler_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoRead:
    """What a photo says.

    Attributes:
        hide: Outline and holes, mm.
        found: Whether the outline was found; if not, it is a box to be drawn over.
        rough: Whether the outline is to be measured before it is relied on.
        said: Sentences on area, cards and doubts.
        picture: The photo laid flat, a JPEG file.
        box: What the picture shows, in the hide's frame.
    """

    hide: Hide
    found: bool
    rough: bool
    said: tuple[str, ...]
    picture: bytes
    box: Box
