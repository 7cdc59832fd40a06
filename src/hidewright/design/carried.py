"""What goes in, how many, and how snugly."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.things import Thing
from hidewright.design.measure import check_limits, choice, measure, switch

Arrangement = Literal["side by side", "stacked", "loose"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """One kind of thing carried in the article.

    Attributes:
        thing: The row of the catalogue, or the maker's own calliper sizes.
        count: How many of it.
        arrangement: How several lie: in a row across the width, on one another in the depth, or
            loose, as coins do.
        across: Whether its length lies across the way in instead of along it.
        side_clearance_mm: Room on each side, to the real dry inner surface.
        depth_clearance_mm: Room in all over its thickness.
        mouth_clearance_mm: Room between its end and the mouth; negative if it stands proud.
    """

    thing: Thing
    count: int = measure("count", 1, "how many", low=1, high=10_000)
    arrangement: Arrangement = choice("stacked", "how several of them lie")
    across: bool = switch(False, "its length lies across the mouth, not along the way in")
    side_clearance_mm: float = measure("length", 0.5, "room on each side", low=0, high=30)
    depth_clearance_mm: float = measure(
        "length", 0.5, "room in all over the thickness", low=0, high=30
    )
    mouth_clearance_mm: float = measure(
        "position",
        0.0,
        "room between its end and the mouth; negative stands proud",
        low=-200,
        high=200,
    )

    def __post_init__(self) -> None:
        check_limits(self, "carried")
