"""Things that are carried: their sizes, what they fear and what they pierce."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_lie_between
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline

Shape = Literal["box", "disc", "rod", "outline"]
#: Nothing that goes into an article of small goods is smaller, or larger.
LEAST_MM, MOST_MM = 0.01, 1000.0
Sensitive = Literal["compass", "striped card", "mechanical watch", "hearing aid"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """A thing to be carried, by its outer sizes.

    Attributes:
        name: What it is.
        shape: ``box`` length x width x thickness; ``disc`` diameter x thickness, lying flat;
            ``rod`` diameter x length, lying; ``outline`` a plan outline x thickness.
        length_mm: Longer side in plan of a box, or length of a rod.
        width_mm: Shorter side in plan of a box.
        thickness_mm: Of a box, disc or outline.
        thickness_max_mm: Thickest it may be by its standard; 0 if no standard says.
        diameter_mm: Of a disc or rod.
        outline: Plan of an ``outline``, mm, its length along y.
        edge_radius_mm: Rounding of its edges, seen from the side.
        corner_radius_mm: Rounding of its corners in plan.
        mass_g: 0 when not known.
        magnet_sensitive: What in it a magnet harms.
        sharp_points: Whether it pierces leather and fingers unless it is capped.
        source: Where the figures come from.
    """

    name: str
    shape: Shape
    length_mm: float = 0.0
    width_mm: float = 0.0
    thickness_mm: float = 0.0
    thickness_max_mm: float = 0.0
    diameter_mm: float = 0.0
    outline: Outline | None = None
    edge_radius_mm: float = 0.0
    corner_radius_mm: float = 0.0
    mass_g: float = 0.0
    magnet_sensitive: tuple[Sensitive, ...] = ()
    sharp_points: bool = False
    source: str

    def __post_init__(self) -> None:
        must_be_named("thing", self.name, self.source)
        self._must_have_the_measures_of_its_shape()
        must_lie_between(
            self.name,
            0.0,
            MOST_MM,
            thickness_max_mm=self.thickness_max_mm,
            edge_radius_mm=self.edge_radius_mm,
            corner_radius_mm=self.corner_radius_mm,
        )
        must_lie_between(self.name, 0.0, 20_000.0, mass_g=self.mass_g)
        if 0 < self.thickness_max_mm < self.thickness_mm:
            raise RequestError(
                f"{self.name}: at most {self.thickness_max_mm:g} mm thick, but "
                f"{self.thickness_mm:g} mm is its usual thickness"
            )
        length, width, thickness = self.extents_mm
        if width > length + 1e-9:
            raise RequestError(
                f"{self.name}: {length:g} mm long and {width:g} mm wide",
                mend="Give the longer side as the length",
            )
        if self.corner_radius_mm > width / 2 + 1e-9:
            raise RequestError(
                f"{self.name}: corners of {self.corner_radius_mm:g} mm radius on a width of "
                f"{width:g} mm",
                because=f"half the width, {width / 2:g} mm, is the most a corner can have",
            )
        if self.edge_radius_mm > thickness / 2 + 1e-9:
            raise RequestError(
                f"{self.name}: edges of {self.edge_radius_mm:g} mm radius on a thickness of "
                f"{thickness:g} mm",
                because=f"half the thickness, {thickness / 2:g} mm, is the most an edge can have",
            )

    def _must_have_the_measures_of_its_shape(self) -> None:
        measures = {
            "length_mm": self.length_mm,
            "width_mm": self.width_mm,
            "thickness_mm": self.thickness_mm,
            "diameter_mm": self.diameter_mm,
        }
        wanted = {
            "box": ("length_mm", "width_mm", "thickness_mm"),
            "disc": ("diameter_mm", "thickness_mm"),
            "rod": ("diameter_mm", "length_mm"),
            "outline": ("thickness_mm",),
        }[self.shape]
        must_lie_between(
            self.name, LEAST_MM, MOST_MM, **{field: measures[field] for field in wanted}
        )
        strays = [field for field, value in measures.items() if value and field not in wanted]
        if (self.outline is not None) != (self.shape == "outline"):
            strays.append("outline")
        if strays:
            raise RequestError(
                f"{self.name}: {strays[0]} does not go with a {self.shape}",
                mend=f"A {self.shape} has {' and '.join(wanted)}"
                + (" and an outline" if self.shape == "outline" else ""),
            )
        if self.outline is not None:
            high, wide = self.outline.height, self.outline.width
            if min(high, wide) < LEAST_MM or max(high, wide) > MOST_MM:
                raise RequestError(
                    f"{self.name}: an outline {wide:g} mm wide and {high:g} mm high",
                    because=f"both lie between {LEAST_MM:g} and {MOST_MM:g} mm",
                )

    @property
    def extents_mm(self) -> tuple[float, float, float]:
        """(length, width, thickness) of the box around it as it lies in the article, mm."""
        if self.outline is not None:
            return (self.outline.height, self.outline.width, self.thickness_mm)
        if self.shape == "disc":
            return (self.diameter_mm, self.diameter_mm, self.thickness_mm)
        if self.shape == "rod":
            return (self.length_mm, self.diameter_mm, self.diameter_mm)
        return (self.length_mm, self.width_mm, self.thickness_mm)

    @property
    def thickest_mm(self) -> float:
        """Its thickness as it lies, the most its standard allows, mm."""
        return max(self.thickness_max_mm, self.extents_mm[2])
