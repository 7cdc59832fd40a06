"""What lies on the workshop's shelf: how much, how fast it goes, and when to buy again."""

from dataclasses import dataclass
from typing import Literal

from hidewright.errors import Remark, RequestError

StockSort = Literal["sheet", "thread", "dye", "hardware", "glue", "other"]
StockUnit = Literal["sheets", "m", "ml", "pieces", "g"]
#: Unit of each sort, unless the maker says another.
UNITS: dict[StockSort, StockUnit] = {
    "sheet": "sheets",
    "thread": "m",
    "dye": "ml",
    "hardware": "pieces",
    "glue": "g",
    "other": "pieces",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StockItem:
    """One thing in stock, as a row of the book. Hides have rows of their own.

    Attributes:
        sort: What it is.
        name: As the catalogue and the designs name it, such as ``MDF 6 mm``.
        quantity: How much there is.
        unit: Of the quantity.
        reorder_at: Buy again when there is less; 0 for never.
        used: How much was taken in all.
        measured_mm: Thickness of a sheet, measured.
        note: The maker's own words.
    """

    sort: StockSort
    name: str
    quantity: float
    unit: StockUnit
    reorder_at: float = 0.0
    used: float = 0.0
    measured_mm: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise RequestError("stock of nothing", mend="Write what it is", where="name")
        for name in ("quantity", "reorder_at", "used"):
            value = getattr(self, name)
            if not 0.0 <= value <= 1e7:
                raise RequestError(
                    f"{self.name}: {name.replace('_', ' ')} is {value:g}",
                    mend="Give 0 to 10000000",
                    where=name,
                )
        if self.measured_mm is not None and not 0.05 <= self.measured_mm <= 100.0:
            raise RequestError(
                f"{self.name}: {self.measured_mm:g} mm thick",
                mend="Give 0.05 to 100 mm",
                where="measured_mm",
            )

    @property
    def is_short(self) -> bool:
        """Whether it is time to buy."""
        return self.quantity < self.reorder_at


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolingSet:
    """One mould as it was cut, and how often it has been pressed.

    Attributes:
        name: What it presses, such as ``Lens case, pair of shells``.
        design: Id of its design; empty for none.
        pressings: How often it has been pressed.
        life: Pressings that it is good for.
        note: The maker's own words.
    """

    name: str
    design: str = ""
    pressings: int = 0
    life: int = 100
    note: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise RequestError("tooling for nothing", mend="Write what it presses", where="name")
        if self.pressings < 0 or not 1 <= self.life <= 1_000_000:
            raise RequestError(
                f"{self.name}: {self.pressings} of {self.life} pressings",
                mend="Give 0 or more pressings, and a life of 1 to 1000000",
                where="pressings",
            )


def stock_remarks(items: tuple[StockItem, ...]) -> tuple[Remark, ...]:
    """Return a warning for each thing of which there is less than its reorder point."""
    return tuple(
        Remark(
            code="stock-short",
            severity="warning",
            place=item.name,
            amount=item.quantity,
            limit=item.reorder_at,
            sentence=(
                f"{item.name}: {item.quantity:g} {item.unit} left, buy again below "
                f"{item.reorder_at:g}"
            ),
        )
        for item in items
        if item.is_short
    )


def tooling_remarks(sets: tuple[ToolingSet, ...]) -> tuple[Remark, ...]:
    """Return a remark for each mould near or past its life."""
    return tuple(
        Remark(
            code="tooling-worn" if one.pressings >= one.life else "tooling-wears",
            severity="warning" if one.pressings >= one.life else "note",
            place=one.name,
            amount=float(one.pressings),
            limit=float(one.life),
            sentence=(
                f"{one.name}: pressed {one.pressings} times of the {one.life} that it is good for; "
                + (
                    "measure plug and frame, and cut them anew where the edges are round"
                    if one.pressings >= one.life
                    else "look at its edges before the next batch"
                )
            ),
        )
        for one in sets
        if one.pressings >= 0.9 * one.life
    )
