"""One thing cut from a flat sheet: a plate of a mould, a template, a block."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.boards import Board
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point

PartRole = Literal[
    "plug",
    "frame",
    "cavity floor",
    "divider block",
    "base",
    "hold-down ring",
    "stop block",
    "shim",
    "trim template",
    "finger fence",
    "waste clamp",
    "pricking template",
    "height-trim block",
    "mouth-cut block",
    "support block",
    "glue jig",
    "radius gauge",
    "trial block",
]
HolePurpose = Literal[
    "window",
    "pocket",
    "dowel",
    "screw",
    "push-out",
    "drain",
    "bolt",
    "stitch hole",
    "mark",
    "magnet",
    "finger",
]
Face = Literal["top", "bottom"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartHole:
    """A closed cut inside a part."""

    outline: Outline
    purpose: HolePurpose


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words marked on a part's upper face.

    Attributes:
        words: One line.
        at: Middle of the line of words, mm.
        height_mm: Height of a capital letter, mm.
        angle: Direction of reading, radians from x.
    """

    words: str
    at: Point
    height_mm: float = 4.0
    angle: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Easing:
    """An edge to be rounded over by cutter or file after cutting.

    Attributes:
        radius_mm: Radius of the finished edge.
        face: Face of the part whose edge is eased.
        edge: Whether it is the outer edge or the edge of the window.
        how: Tool and grit in words.
    """

    radius_mm: float
    face: Face
    edge: Literal["outline", "window"]
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One flat part at its true finished size; the kerf is allowed for only in the cut file.

    Its frame is the tool's frame, looked at from above with the up side up, so that stacked parts
    lie over one another as drawn.

    Attributes:
        name: Unique within a design, and what is marked on it.
        role: What it is in the tool.
        board: The sheet it is cut from.
        outline: Outer edge, mm.
        holes: Inner edges, mm.
        scores: Lines scored on the face that is worked: the lower one where only that is eased.
        labels: Words marked on that face.
        count: How many are cut.
        bottom_mm: Height of its lower face above the base's upper face in the closed tool; None for
            a part that is not in a stack.
        easings: Edges to round over.
        note: What the maker must know about it, one sentence.
        turned_over_for: Other pieces that it serves, turned over.
    """

    name: str
    role: PartRole
    board: Board
    outline: Outline
    holes: tuple[PartHole, ...] = ()
    scores: tuple[Path, ...] = ()
    labels: tuple[Label, ...] = ()
    count: int = 1
    bottom_mm: float | None = None
    easings: tuple[Easing, ...] = ()
    note: str = ""
    turned_over_for: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.count < 1:
            raise RequestError(f"{self.name}: {self.count} pieces")

    @property
    def of_block(self) -> str:
        """Name of the block that it is a plate or shim of; its own where it is neither."""
        return self.name.split(" plate ")[0].removesuffix(" shim")

    def holes_for(self, purpose: HolePurpose) -> tuple[Outline, ...]:
        """Return the holes cut for one purpose."""
        return tuple(h.outline for h in self.holes if h.purpose == purpose)


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldTool:
    """Everything that presses one blank.

    Attributes:
        blank: Name of the blank it presses.
        gap_mm: Space between plug and frame walls, measured square to the wall.
        plug_height_mm: Height of the plug above the base.
        flange_gap_mm: Space between base and frame, set by the stop blocks.
        closed_height_mm: From the underside of the base to the top of the frame when closed.
        parts: All plates and blocks.
        force_N: Estimated force on the vise, to check vise and plates by; (low, high).
    """

    blank: str
    gap_mm: float
    plug_height_mm: float
    flange_gap_mm: float
    closed_height_mm: float
    parts: tuple[Part, ...]
    force_N: tuple[float, float]
