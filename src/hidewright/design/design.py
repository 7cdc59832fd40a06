"""The design: everything that is to be made of one article."""

from dataclasses import dataclass

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.threads import Thread
from hidewright.design.blank import Blank
from hidewright.design.carried import Carried
from hidewright.design.fitting import FittingPlace, MagnetPlace
from hidewright.design.hollow import Hollow
from hidewright.design.piece import Piece
from hidewright.design.pose import Assembly
from hidewright.design.seam import Seam
from hidewright.errors import Remark, RequestError

#: Thickness of a cover that no kind reckons room for: no more than the usual room in depth, mm.
COVER_MM = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """An article, neutral to its kind: what the kinds construct and the crafts work from.

    Attributes:
        name: The maker's name for it.
        kind: The kind that constructed it.
        carried: What goes in.
        leathers: (role, leather) for every role its pieces name.
        pieces: Parts of leather.
        seams: Sewn edges.
        blanks: Rough pieces; every moulded piece lies on at least one.
        hollows: The room for the carried things when closed.
        assembly: How the pieces lie to one another.
        fittings: Small hardware.
        magnets: Closing magnets.
        thread: What it is sewn with.
        cover_mm: What the covers over ends of fittings and over magnets are pared to; 0 for none.
        held_by: What keeps the things in, in words: ``flap with stud``; empty if nothing does.
        notes: What the kind itself has to say about its measures.
    """

    name: str
    kind: str
    carried: tuple[Carried, ...]
    leathers: tuple[tuple[str, Leather], ...]
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...]
    blanks: tuple[Blank, ...]
    hollows: tuple[Hollow, ...]
    assembly: Assembly
    thread: Thread
    fittings: tuple[FittingPlace, ...] = ()
    magnets: tuple[MagnetPlace, ...] = ()
    cover_mm: float = COVER_MM
    held_by: str = ""
    notes: tuple[Remark, ...] = ()

    def __post_init__(self) -> None:
        names = [p.name for p in self.pieces]
        twice = sorted({n for n in names if names.count(n) > 1})
        if twice:
            raise RequestError(f"two pieces are called {twice[0]!r}")
        for seam in self.seams:
            for edge in seam.edges:
                if edge.span not in self.piece(edge.piece).outline.spans:
                    raise RequestError(
                        f"seam {seam.name}: {edge.piece} has no span {edge.span!r}",
                        mend=f"It has: {', '.join(self.piece(edge.piece).outline.spans)}",
                    )

    def piece(self, name: str) -> Piece:
        """Return a piece by name."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise RequestError(
            f"no piece {name!r}", mend=f"The pieces are: {', '.join(p.name for p in self.pieces)}"
        )

    def leather(self, role: str) -> Leather:
        """Return the leather of a role."""
        for known, leather in self.leathers:
            if known == role:
                return leather
        raise RequestError(
            f"no leather for {role!r}", mend=f"Given are: {', '.join(r for r, _ in self.leathers)}"
        )
