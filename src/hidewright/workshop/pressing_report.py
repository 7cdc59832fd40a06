"""What pressing an article comes to: figures with their plausible ends."""

from collections.abc import Iterable
from dataclasses import dataclass

from hidewright.catalogue.leathers import Leather
from hidewright.design.piece import Piece
from hidewright.errors import RequestError
from hidewright.forming.answers import plate_force_N, pull_in
from hidewright.forming.limits import puckers
from hidewright.forming.on_blank import thinnest_dry_mm
from hidewright.learning.belief import Belief
from hidewright.learning.priors import leather_prior
from hidewright.workshop.forming_chain import Layer, OnePressed, PressedBlank
from hidewright.workshop.gathering import joined
from hidewright.workshop.graph import Node
from hidewright.workshop.learned_beliefs import LeatherBeliefs
from hidewright.workshop.learned_ranges import Ranges, ranges_of


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankReport:
    """One layer of one blank.

    Attributes:
        blank: Name of the blank.
        layer: 0 lies on the plug, 1 over it.
        leather: Name of its leather.
        zones: Names of the hollows.
        spread: Force, thickness, stretch, pull-in, use of the limits, drying and dry sizes, each
            with its likely range.
        least_pull_in_mm: Where the edge is drawn in least.
        plate_N: What the plate or ring must hold the flange down with, for the friction reckoned.
        pucker_mm: How high the flange would wave with nothing on it.
        thinnest_dry_mm: Where it is thinnest when it has dried on its plug.
        dry_miss_mm: By how much the dry hollows miss what was asked for.
        triangles: Of the mesh.
        residual: Forces out of balance, as a share.
    """

    blank: str
    layer: int
    leather: str
    zones: tuple[str, ...]
    spread: Ranges
    least_pull_in_mm: float
    plate_N: float
    pucker_mm: float
    thinnest_dry_mm: float
    dry_miss_mm: float
    triangles: int
    residual: float


def report(
    pressed: OnePressed, leathers: tuple[tuple[str, Leather], ...], beliefs: LeatherBeliefs
) -> tuple[BlankReport, ...]:
    """Return what pressing a blank comes to, layer by layer."""
    one, _ = pressed
    of, believed = dict(leathers), dict(beliefs)
    return tuple(
        _of_layer(
            one,
            number,
            layer,
            of[layer.role],
            believed.get(layer.role) or leather_prior(of[layer.role]),
        )
        for number, layer in enumerate(one.layers)
    )


def of_zone(reports: tuple[BlankReport, ...], zone: str) -> tuple[BlankReport, ...]:
    """Return the reports of blanks with a zone of some name."""
    return tuple(r for r in reports if any(zone in name for name in r.zones))


def must_be_a_zone(zone: str, moulded: Iterable[Piece]) -> None:
    """Refuse a name that no ``piece/zone`` holds, before anything is pressed.

    Raises:
        RequestError: With the names there are.
    """
    names = [f"{piece.name}/{one.name}" for piece in moulded for one in piece.zones]
    if not any(zone in name for name in names):
        told = ", ".join(names) or "none"
        raise RequestError(f"no moulded zone {zone!r}", mend=f"There are: {told}")


def _of_layer(
    one: PressedBlank, number: int, layer: Layer, leather: Leather, belief: Belief
) -> BlankReport:
    sheet = layer.sheet
    places = tuple(tuple("/".join(s) for s in zone.sources) for zone in layer.zones)
    heights = puckers(sheet).height_mm
    return BlankReport(
        blank=one.blank.name,
        layer=number,
        leather=leather.name,
        zones=tuple(name for names in places for name in names),
        spread=ranges_of(
            sheet, leather, tuple(zone.grain_out for zone in layer.zones), places, belief
        ),
        least_pull_in_mm=float(pull_in(sheet)[1].min()),
        plate_N=plate_force_N(sheet),
        pucker_mm=float(heights.max()) if len(heights) else 0.0,
        thinnest_dry_mm=thinnest_dry_mm(sheet, leather),
        dry_miss_mm=one.dry_miss_mm,
        triangles=len(sheet.layout.triangles),
        residual=sheet.residual,
    )


NODES = (
    Node(
        name="pressing report",
        needs=("pressed blanks", "all leathers", "leather beliefs"),
        compute=report,
        gather=joined,
        seconds=0.4,
    ),
)
