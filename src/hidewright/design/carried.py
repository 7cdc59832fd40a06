"""What goes in, how many, and how snugly."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.things import Thing
from hidewright.errors import RequestError

Arrangement = Literal["side by side", "stacked"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """One kind of thing carried in the article.

    Attributes:
        thing: The row of the catalogue, or the maker's own calliper sizes.
        count: How many of it.
        arrangement: How several lie: in a row across the width, or on one another in the depth.
        side_clearance_mm: Room on each side, to the real dry inner surface.
        depth_clearance_mm: Room in all over its thickness.
        mouth_clearance_mm: Room between its end and the mouth; negative if it stands proud.
    """

    thing: Thing
    count: int = 1
    arrangement: Arrangement = "stacked"
    side_clearance_mm: float = 0.5
    depth_clearance_mm: float = 0.5
    mouth_clearance_mm: float = 0.0

    def __post_init__(self) -> None:
        if self.count < 1:
            raise RequestError(f"{self.thing.name}: a count of {self.count}")
