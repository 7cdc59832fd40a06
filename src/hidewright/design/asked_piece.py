"""What is cut for an article, and what it asks of the leather."""

from dataclasses import dataclass

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Corners

#: Mates are cut from leather that differs by no more than this, mm.
MATES_WITHIN_MM = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedPiece:
    """A rough blank or flat piece as it is cut, and what it asks for; the maker may change that.

    Attributes:
        article: Name of the design.
        piece: Its own name.
        material: Name of its leather.
        outline: Its edge as cut, dry and flat, in its own frame, mm.
        holes: Windows cut out of it.
        others: What is cut with it from one place.
        articles: How many articles one of it makes.
        grade: The worst grade it may lie in.
        clear_of: The mildest flaw it must keep clear of.
        lie_deg: Direction of the backbone in its frame, from its x axis; None lies any way.
        tolerance_deg: How far it may be turned off that.
        may_mirror: Whether it may be cut from the flesh side.
        thickness_mm: (least, most) leather it takes.
        mates: Whether its parts must agree in thickness.
        covered: Parts of it that another part of the article lies over.
        covered_clear_of: The mildest flaw it must keep clear of there; None is as elsewhere.
        why: Why it asks for that, in a few words.
    """

    article: str
    piece: str
    material: str
    outline: Corners
    holes: tuple[Corners, ...] = ()
    others: tuple[Corners, ...] = ()
    articles: int = 1
    grade: int
    clear_of: int
    lie_deg: float | None
    tolerance_deg: float
    may_mirror: bool = False
    thickness_mm: tuple[float, float] | None
    mates: bool = False
    covered: tuple[Corners, ...] = ()
    covered_clear_of: int | None = None
    why: str = ""

    @property
    def name(self) -> str:
        """What it is called among the pieces of a layout."""
        return f"{self.article}: {self.piece}"

    @property
    def clear_of_covered(self) -> int:
        """The mildest flaw it must keep clear of where another part lies over it."""
        return self.clear_of if self.covered_clear_of is None else self.covered_clear_of

    @property
    def rotations_deg(self) -> tuple[float, ...] | None:
        """How it may be turned from a backbone along x: either way along it, and a little off."""
        if self.lie_deg is None:
            return None
        off = (0.0, self.tolerance_deg, -self.tolerance_deg) if self.tolerance_deg else (0.0,)
        return tuple((way - self.lie_deg + o) % 360.0 for way in (0.0, 180.0) for o in off)

    def as_cutting(self, count: int) -> Cutting:
        """Return so many of it as a piece to be laid."""
        return Cutting(
            name=self.name,
            outline=self.outline,
            holes=self.holes,
            others=self.others,
            count=count,
            rotations_deg=self.rotations_deg,
            may_mirror=self.may_mirror,
            grade=self.grade,
            clear_of=self.clear_of,
            thickness_mm=self.thickness_mm,
            agrees_mm=MATES_WITHIN_MM if self.mates else None,
            covered=self.covered,
            covered_clear_of=self.covered_clear_of,
        )
