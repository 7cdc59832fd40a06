"""Small hardware: studs, press studs, rivets, rings."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_lie_between
from hidewright.errors import RequestError

FittingKind = Literal["stud", "snap", "rivet", "ring"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """A piece of small hardware.

    Attributes:
        name: What the maker calls it.
        kind: A stud takes a slit strap; a snap is a press stud.
        material: In words.
        ferrous: Whether a compass needle or a magnet feels it.
        hole_mm: Diameter of the punched hole; 0 for a ring, which is held by a loop.
        head_diameter_mm: Widest part that shows; for a ring its inside width.
        post_length_mm: Of the post before setting; 0 for a ring.
        stack_min_mm: Thinnest leather it holds.
        stack_max_mm: Thickest leather it holds.
        source: Where the figures come from.
    """

    name: str
    kind: FittingKind
    material: str
    ferrous: bool
    hole_mm: float = 0.0
    head_diameter_mm: float
    post_length_mm: float = 0.0
    stack_min_mm: float = 0.0
    stack_max_mm: float
    source: str

    def __post_init__(self) -> None:
        must_be_named("fitting", self.name, self.source)
        must_lie_between(self.name, 0.5, 200.0, head_diameter_mm=self.head_diameter_mm)
        must_lie_between(self.name, 0.0, 50.0, stack_min_mm=self.stack_min_mm)
        must_lie_between(self.name, 0.1, 50.0, stack_max_mm=self.stack_max_mm)
        held = {"hole_mm": self.hole_mm, "post_length_mm": self.post_length_mm}
        must_lie_between(self.name, 0.0 if self.kind == "ring" else 0.1, 100.0, **held)
        if self.kind != "ring" and self.head_diameter_mm <= self.hole_mm:
            raise RequestError(
                f"{self.name}: a head of {self.head_diameter_mm:g} mm over a hole of "
                f"{self.hole_mm:g} mm",
                because="it would pull through",
            )
        if self.stack_max_mm < self.stack_min_mm:
            raise RequestError(
                f"{self.name}: stack from {self.stack_min_mm:g} down to {self.stack_max_mm:g} mm",
                mend="Give the thinnest stack first",
            )

    def holds(self, stack_mm: float) -> bool:
        """Whether it sets properly through this much leather."""
        return self.stack_min_mm <= stack_mm <= self.stack_max_mm
