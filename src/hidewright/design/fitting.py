"""Small hardware in its place, and what closes the article."""

from dataclasses import dataclass

from hidewright.catalogue.fittings import Fitting
from hidewright.catalogue.magnets import Magnet
from hidewright.errors import Remark
from hidewright.geometry.segment import Point


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingPlace:
    """A stud, snap, rivet or ring on a piece.

    Attributes:
        name: Unique within the design.
        fitting: The row of the catalogue.
        piece: Name of the piece it is set in.
        at: Where, in the piece's frame, mm; the piece has a punched hole there.
        stack_mm: Leather it holds: what it is set in, and a strap that closes over it.
        before_seam: Seam that closes it off, so it must be set before; empty if none does.
    """

    name: str
    fitting: Fitting
    piece: str
    at: Point
    stack_mm: float
    before_seam: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetPlace:
    """One magnet of a closing pair, seated on the flesh side of a piece.

    Attributes:
        name: Unique within the design.
        magnet: The row of the catalogue.
        piece: Name of the piece.
        at: Centre, in the piece's frame, mm.
        partner: Name of the magnet it meets when closed.
        pole_out: Which pole is marked and faces the partner.
        leather_between_mm: Leather between this magnet and its partner when closed, its own share.
        before_seam: Seam or lining that closes it off.
    """

    name: str
    magnet: Magnet
    piece: str
    at: Point
    partner: str
    pole_out: str
    leather_between_mm: float
    before_seam: str = ""


def fitting_remarks(fittings: tuple[FittingPlace, ...]) -> tuple[Remark, ...]:
    """Return remarks on fittings whose post does not suit the leather they go through."""
    found: list[Remark] = []
    for place in fittings:
        one = place.fitting
        if one.holds(place.stack_mm):
            continue
        thin = place.stack_mm < one.stack_min_mm
        found.append(
            Remark(
                code="post-too-long" if thin else "post-too-short",
                severity="warning" if thin else "forbids",
                place=place.name,
                amount=place.stack_mm,
                limit=one.stack_min_mm if thin else one.stack_max_mm,
                sentence=(
                    f"{one.name} sets in {one.stack_min_mm:g} to {one.stack_max_mm:g} mm of "
                    f"leather and has {place.stack_mm:.1f} mm to hold: take one with a "
                    f"{'shorter' if thin else 'longer'} post"
                    + (" or put a leather washer under it." if thin else ".")
                ),
            )
        )
    return tuple(found)
