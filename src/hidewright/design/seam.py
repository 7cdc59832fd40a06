"""Where edges are sewn together, and the holes that come of it."""

from dataclasses import dataclass
from typing import Literal

from hidewright.errors import RequestError
from hidewright.geometry.segment import Point

SewingWay = Literal["pricked from templates", "glued, trimmed flush, pricked from the front"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamEdge:
    """One layer of a seam: a span of a piece's outline.

    Attributes:
        piece: Name of the piece.
        span: Name of the span.
        runs_backwards: Whether the seam runs along it against the outline's counter-clockwise
            sense. Two layers that meet grain out, flesh to flesh, are mirror images, so one of
            them runs backwards.
        skip_mm: Length left unsewn at the seam's (first, last) end.
    """

    piece: str
    span: str
    runs_backwards: bool = False
    skip_mm: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """Two or more edges sewn together along one stitch line.

    Attributes:
        name: Unique within the design.
        edges: The layers, front first: its stitches are the ones that are looked at.
        inset_mm: Hole to edge.
        pitch_mm: Wanted distance hole to hole, along the chord.
        reverse_stitches: Stitches sewn back at each end.
        glued: Whether the layers are glued before sewing.
        way: How holes come to meet.
    """

    name: str
    edges: tuple[SeamEdge, ...]
    inset_mm: float
    pitch_mm: float
    reverse_stitches: int = 3
    glued: bool = True
    way: SewingWay = "pricked from templates"

    def __post_init__(self) -> None:
        if len(self.edges) < 2:
            raise RequestError(f"seam {self.name}: one edge", because="a seam joins two or more")
        for label, value in (("inset", self.inset_mm), ("pitch", self.pitch_mm)):
            if value <= 0:
                raise RequestError(f"seam {self.name}: {label} of {value:g} mm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """One stitch hole on one layer, in the piece's frame.

    Attributes:
        at: Centre, dry, mm.
        slant: Direction of the awl's slit, radians from x; None for a round hole.
    """

    at: Point
    slant: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SewnEdge:
    """The holes of one layer, in sewing order."""

    piece: str
    span: str
    holes: tuple[Hole, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SewnSeam:
    """A seam with its holes: hole i of every layer is one stitch hole.

    Attributes:
        name: The seam's name.
        layers: One entry a layer, front first, equally many holes in each.
        pitch_mm: (smallest, largest) chord between neighbouring holes on the front layer.
        anchors: Indices of holes that sit on a corner or an end.
        reverse_stitches: Stitches sewn back at each end.
        stack_mm: Thickness sewn through.
        thread_mm: Thread for the whole seam, both needles, tails included.
    """

    name: str
    layers: tuple[SewnEdge, ...]
    pitch_mm: tuple[float, float]
    anchors: tuple[int, ...]
    reverse_stitches: int
    stack_mm: float
    thread_mm: float

    @property
    def count(self) -> int:
        """Number of stitch holes."""
        return len(self.layers[0].holes)
