"""A hide or sheet in the workshop: what it is, where it came from, whether it is there."""

from dataclasses import dataclass, replace
from typing import Literal

from hidewright.design.hide import Hide
from hidewright.errors import RequestError

#: In stock; cut up, its rest a hide of its own; sold, spoiled or given away.
HideState = Literal["in stock", "cut", "gone"]
MM2_PER_M2 = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class StockHide:
    """A hide, a rest of one, or a sheet of board, as a row of the book.

    Attributes:
        hide: Its shape, flaws, grade and thickness areas and backbone; its name is the maker's.
        material: Name of its leather or board, as in the catalogue.
        lot: What was bought together with it; empty when not noted.
        state: Whether it is there.
        rest_of: Id of the hide that it is the rest of; empty when it came whole.
        rough: Its outline is known no better than by its area, or from a single card in a photo.
        note: The maker's own words.
    """

    hide: Hide
    material: str
    lot: str = ""
    state: HideState = "in stock"
    rest_of: str = ""
    rough: bool = False
    note: str = ""

    def __post_init__(self) -> None:
        if not self.hide.name.strip():
            raise RequestError("a hide without a name", mend="Give it a name")
        if not self.material.strip():
            raise RequestError(f"{self.hide.name} is of no leather", mend="Choose its leather")

    @property
    def area_m2(self) -> float:
        """What there is of it, m2."""
        return self.hide.area_mm2 / MM2_PER_M2

    @property
    def thickness_mm(self) -> tuple[float, float] | None:
        """(Thinnest, thickest) measured; None when it was not."""
        measured = [area.thickness_mm for area in self.hide.thicknesses]
        return (min(measured), max(measured)) if measured else None

    def as_state(self, state: HideState) -> "StockHide":
        """Return it in another state."""
        return replace(self, state=state)

    def rests(self, hides: tuple[Hide, ...], id: str) -> tuple["StockHide", ...]:
        """Return what is left of it as hides in stock.

        Args:
            hides: The rests.
            id: Its own id in the book.
        """
        return tuple(
            StockHide(hide=hide, material=self.material, lot=self.lot, rest_of=id, rough=self.rough)
            for hide in hides
        )
