"""What the maker chooses about the work, and what the steps must know from other crafts."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.step_rows import WorkTime
from hidewright.design.part import MouldTool, Part
from hidewright.design.piece import EdgeFinish
from hidewright.errors import RequestError
from hidewright.planning.own_step import OwnStep

#: Soaking water above this shrinks and hardens vegetable-tanned leather for good, degrees C: its
#: fibres begin to shrink at 64 (Heritage Science 2019, s40494-019-0292-8, table 3); well below.
WATER_AT_MOST_C = 55.0
#: Shims of every thickness are cut from this together.
CARD = "card"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchChoice:
    """How the maker works.

    Attributes:
        dye: When the leather is dyed.
        dye_base: A water-based dye wets the leather again: what is moulded dries on its plug.
        colour: Of the dye; what the booth is set up for.
        edges: How edges are finished for which the piece itself names nothing.
        paint_coats: Coats on painted edges.
        glue: What seams are glued with.
        water_C: Soaking water.
        air_C: Air that the leather dries in.
        humidity: Of that air, as a share.
        air_speed_m_s: Over the leather; 0 for a still room.
        dry_share: How dry leather comes off its plug, of what it has to give off; drier where it
            would lose size.
        tub_holds: Blanks in the soaking tub at once.
        booth_holds: Pieces in the booth at once.
        new: Whether tool, leather lot or thickness are new: then there is a first-off.
        times: The maker's own times, in the place of the built-in ones.
        own_steps: Changes to the steps of this one article, in order.
    """

    dye: Literal["none", "before moulding", "pieces", "assembled"] = "none"
    dye_base: Literal["spirit", "water"] = "spirit"
    colour: str = "natural"
    edges: EdgeFinish = "bevelled and burnished"
    paint_coats: int = 3
    glue: Literal["water-based", "contact"] = "water-based"
    water_C: float = 30.0
    air_C: float = 20.0
    humidity: float = 0.5
    air_speed_m_s: float = 0.0
    dry_share: float = 0.95
    tub_holds: int = 8
    booth_holds: int = 6
    new: bool = True
    times: tuple[WorkTime, ...] = ()
    own_steps: tuple[OwnStep, ...] = ()

    def __post_init__(self) -> None:
        if not 0.0 < self.water_C <= WATER_AT_MOST_C:
            raise RequestError(
                f"soaking water of {self.water_C:g} °C",
                because=f"above {WATER_AT_MOST_C:g} °C vegetable-tanned leather shrinks for good",
                mend="Take hand-warm water, about 30 °C",
                where="bench.water",
            )
        if not 0.0 < self.dry_share < 1.0:
            raise RequestError(
                f"leather {self.dry_share:g} dry",
                because="it dries ever slower and is never wholly dry",
                mend="Give a share above 0 and below 1, such as 0.95",
                where="bench.dry_share",
            )
        for label, count in (
            ("paint_coats", self.paint_coats),
            ("tub_holds", self.tub_holds),
            ("booth_holds", self.booth_holds),
        ):
            if count < 1:
                raise RequestError(
                    f"{label} of {count}", mend="Give 1 or more", where=f"bench.{label}"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankFacts:
    """What the steps of one blank go by.

    Attributes:
        blank: Its name.
        plug_minutes: On the plug under the ring until it is as dry as is asked for.
        dry_share: How dry it is by then.
        earliest_minutes: Until it may come off at a loss of size that does not matter; no longer.
        earliest_share: How dry it is by then.
        wet_again_minutes: To dry on its plug when a water-based dye has wetted it through.
        soaked_mm: (role, thickness as it is laid in) of each layer, the one on the plug first.
        cut_mm: Width and height of the blank as cut.
        pull_in_mm: Where its edge is drawn in least and most; None when nothing was solved.
        tool: What presses it.
        floors_off_mm: (``piece/zone``, how far the middle of its floor may stand off the plug,
            dry) of each hollow.
        hours_measured: Whether its hours are those that this workshop has measured.
        soak_says, drying_says: What there is to say of the maker's water, and of hours and air.
    """

    blank: str
    plug_minutes: int
    dry_share: float
    earliest_minutes: int
    earliest_share: float
    wet_again_minutes: int
    soaked_mm: tuple[tuple[str, float], ...]
    cut_mm: tuple[float, float]
    pull_in_mm: tuple[float, float] | None
    tool: MouldTool
    floors_off_mm: tuple[tuple[str, float], ...] = ()
    hours_measured: bool = False
    soak_says: tuple[str, ...] = ()
    drying_says: tuple[str, ...] = ()

    def floor_off_mm(self, piece: str, zone: str) -> float:
        """Return how far the middle of a hollow's floor may stand off its plug; 0 if unknown."""
        return dict(self.floors_off_mm).get(f"{piece}/{zone}", 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamFacts:
    """What a seam is sewn with, by name."""

    seam: str
    thread: str
    needle: str
    awl: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardFacts:
    """What the laser cuts out of one kind of board: sheets, metres of cut, and minutes of that."""

    board: str
    sheets: int
    cut_m: float
    laser_minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What the steps must know that other crafts have found.

    Attributes:
        blanks: One for every blank of the design.
        seams: One for every seam.
        boards: What is cut on the laser.
        parts: Templates, blocks and jigs.
        tail_mm: Thread left over at each end.
        slit: How a stitch hole is marked, in words.
    """

    blanks: tuple[BlankFacts, ...]
    seams: tuple[SeamFacts, ...]
    boards: tuple[BoardFacts, ...]
    parts: tuple[Part, ...]
    tail_mm: float
    slit: str

    def floor_off_mm(self, piece: str, zone: str) -> float:
        """Return the same of a hollow in any of the blanks."""
        return max((blank.floor_off_mm(piece, zone) for blank in self.blanks), default=0.0)

    def blank(self, name: str) -> BlankFacts:
        """Return the facts of a blank."""
        return next(b for b in self.blanks if b.blank == name)

    def seam(self, name: str) -> SeamFacts:
        """Return the facts of a seam."""
        return next(s for s in self.seams if s.seam == name)

    def pricked_by(self, piece: str) -> str:
        """Return what a piece's stitch holes are pricked by: its own template, or a mate's."""
        own = f"{piece} pricking template"
        mates = (p.name for p in self.parts if piece in p.turned_over_for)
        if self.has(own):
            return own
        return next((f"{name}, turned over" for name in mates), "paper pattern")

    def has(self, part: str) -> bool:
        """Whether there is a template, block or jig whose name begins so."""
        return any(p.name.startswith(part) for p in self.parts)
