"""What a free design is told: the maker's own outlines, with zones, seams and blanks assigned."""

import math
from dataclasses import dataclass, field
from typing import Any, Literal

from hidewright.design.kinds import usual
from hidewright.design.measure import choice, measure, switch
from hidewright.geometry.outline import Outline, outline
from hidewright.geometry.segment import Point, Segment
from hidewright.geometry.shapes import arch

#: Coordinates of the maker's outlines are kept to this many decimals of a mm, bulges likewise.
DECIMALS, BULGE_DECIMALS = 6, 10


def _told(says: str, default: Any) -> Any:
    return field(default=default, metadata={"says": says})


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeIsland:
    """A divider in a zone, pressed back from its bottom; its outline in the drawing's frame, mm."""

    name: str = field(metadata={"says": "unique within the zone"})
    height_mm: float = measure(
        "length", 5.0, "of its top over the bottom of the hollow", low=1, high=100
    )
    top_radius_mm: float = measure(
        "length", 1.5, "round its top, of the block that presses it back", low=0.5, high=30
    )
    foot_radius_mm: float = measure(
        "length", 1.5, "inside radius between bottom and foot", low=0.5, high=20
    )
    outline: Outline = field(metadata={"says": "its foot on the bottom of the hollow"})


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeZone:
    """A part of a piece that is moulded; its outline in the drawing's frame, mm."""

    name: str = field(metadata={"says": "unique within the piece"})
    depth_mm: float = measure("length", 10.0, "inside depth", low=1, high=100)
    crown_radius_mm: float = usual.crown_radius(3.0, "inside radius between wall and crown")
    lip_radius_mm: float = usual.lip_radius(2.0, "outside radius between flange and wall")
    wall_angle_rad: float = measure(
        "angle",
        0.0,
        "lean of the wall inwards from upright; 0 is what a laser cuts",
        low=0,
        high=math.radians(15),
    )
    edge: Literal["flange", "cut at height"] = choice(
        "flange",
        "how its wall ends; cut at height all round, the piece's outline is drawn as the zone's",
    )
    cut_height_mm: float = measure(
        "length",
        8.0,
        "how far above the flange a wall is cut that is cut at height",
        low=1,
        high=100,
    )
    mouths: tuple[str, ...] = _told("straight spans on the piece's edge, cut open", ())
    outline: Outline = field(metadata={"says": "inside of the hollow at the flange"})
    islands: tuple[FreeIsland, ...] = _told("dividers that stand up in the hollow", ())


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeHole:
    """A round hole punched through a piece; its centre in the drawing's frame, mm."""

    name: str = field(metadata={"says": "what goes through"})
    at: Point = field(metadata={"says": "centre, mm"})
    diameter_mm: float = measure("length", 4.0, "of the punch", low=0.5, high=60)
    slit: Point | None = field(
        default=None, metadata={"says": "where a slit that begins at the hole ends; none without"}
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeFold:
    """A bent line across a piece; its points in the drawing's frame, mm."""

    name: str = field(metadata={"says": "unique within the piece"})
    line: tuple[Point, Point] = field(
        metadata={"says": "two points of its middle; it runs on to the piece's edge"}
    )
    angle_rad: float = measure(
        "angle",
        math.pi / 2,
        "how far it is folded when closed, towards the flesh side; below 0 towards the grain",
        low=-math.pi,
        high=math.pi,
    )
    inside_radius_mm: float = measure("length", 1.0, "on the inside of the fold", low=0, high=50)
    k_factor: float = measure(
        "number",
        0.5,
        "where the leather keeps its length: 0 inside face, 0.5 middle",
        low=0,
        high=1,
    )
    glue_free_mm: float = measure(
        "length", 3.0, "kept free of glue beyond the bent strip on either side", low=0, high=30
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeCutOut:
    """A window cut out of a piece; its outline in the drawing's frame, mm."""

    name: str = field(metadata={"says": "unique within the piece"})
    outline: Outline = field(metadata={"says": "edge of the window"})


@dataclass(frozen=True, slots=True, kw_only=True)
class FreePiece:
    """A piece as the maker drew it, seen on the grain, its outline in the drawing's frame, mm."""

    name: str = field(metadata={"says": "unique in the article"})
    role: str = _told("which of the leathers it is cut from", "body")
    side: Literal["front", "back"] = choice(
        "front", "a back is turned over in the article, flesh to flesh"
    )
    backbone_rad: float = measure(
        "angle", 0.0, "direction of the backbone, counter-clockwise from upright"
    )
    outline: Outline = field(metadata={"says": "trimmed edge"})
    zones: tuple[FreeZone, ...] = _told("moulded parts", ())
    holes: tuple[FreeHole, ...] = _told("punched holes", ())
    cut_outs: tuple[FreeCutOut, ...] = _told("windows", ())
    folds: tuple[FreeFold, ...] = _told("bent lines, each right across the piece", ())


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeEdge:
    """One layer of a seam."""

    piece: str = field(metadata={"says": "name of the piece"})
    span: str = field(metadata={"says": "name of a span of its outline"})
    backwards: bool = switch(False, "of a front and a back, one runs backwards")


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeSeam:
    """Edges sewn together, the layer that is looked at first."""

    name: str = field(metadata={"says": "unique in the article"})
    inset_mm: float = usual.inset()
    pitch_mm: float = usual.pitch()
    reverse_stitches: int = usual.reverse_stitches()
    edges: tuple[FreeEdge, ...] = field(metadata={"says": "the layers, front first"})


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeBlank:
    """A rough piece of leather and the pieces that are moulded on it."""

    name: str = field(metadata={"says": "unique in the article"})
    pieces: tuple[str, ...] = field(metadata={"says": "names of the pieces on it"})
    pair: bool = switch(False, "mouth to mouth: one piece twice, or two pieces")
    mouth_waste_mm: float = usual.mouth_waste("between or beyond the mouths")
    margin_mm: float = usual.margin("the trimmed pieces")


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeHollow:
    """A room for what is carried: one zone against a flat side, or two against one another."""

    zone: str = field(metadata={"says": "PIECE/ZONE"})
    against: str = _told("PIECE/ZONE of the other shell; none for a flat side", "")
    open_face: bool = switch(False, "its face stays open, as a tray's does")
    grip_mm: float = measure("length", 0.0, "how much of a thing can be gripped", low=0, high=100)


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeFitting:
    """A stud, press stud, rivet or ring; its place in the drawing's frame, mm.

    Its own hole is punched for it. A ring hangs in a loop: its place is on a fold.
    """

    name: str = field(metadata={"says": "unique in the article"})
    fitting: str = field(metadata={"says": "its role in the section fittings"})
    piece: str = field(metadata={"says": "name of the piece it is set in"})
    at: Point = field(metadata={"says": "centre"})
    through: tuple[str, ...] = _told(
        "pieces it holds besides when closed, each with a hole that lies over it", ()
    )
    before_seam: str = _told("seam that closes it off", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeMagnet:
    """One magnet of a closing pair, on a piece's flesh side; its place in the drawing's frame."""

    name: str = field(metadata={"says": "unique in the article"})
    magnet: str = field(metadata={"says": "its role in the section magnets"})
    piece: str = field(metadata={"says": "name of the piece it is glued to"})
    at: Point = field(metadata={"says": "centre"})
    partner: str = field(metadata={"says": "name of the magnet it meets when closed"})
    pole_out: Literal["N", "S"] = choice("N", "the pole that faces its partner")
    before_seam: str = _told("seam that closes it off", "")


def starter_pieces(width_mm: float, height_mm: float, depth_mm: float) -> tuple[FreePiece, ...]:
    """Return a moulded front with an open mouth and its flat back, drawn beside one another."""
    trimmed = arch(width_mm + 26.0, height_mm + 13.0, 23.0)
    beside = (width_mm + 26.0) / 2 + 10.0
    hollow = FreeZone(
        name="hollow",
        depth_mm=depth_mm,
        mouths=("mouth",),
        outline=kept(arch(width_mm, height_mm, 10.0).moved(-beside, 0.0)),
    )
    front = FreePiece(name="front", outline=kept(trimmed.moved(-beside, 0.0)), zones=(hollow,))
    back = FreePiece(name="back", side="back", outline=kept(trimmed.moved(beside, 0.0)))
    return front, back


def kept(drawn: Outline) -> Outline:
    """Return an outline as a design file keeps it: rounded corners' coordinates, exactly closed."""
    corners = [
        (
            (round(s.start[0], DECIMALS) + 0.0, round(s.start[1], DECIMALS) + 0.0),
            round(s.bulge, BULGE_DECIMALS) if s.is_arc else 0.0,
            s.span,
        )
        for s in drawn.segments
    ]
    return from_corners(corners)


def from_corners(corners: list[tuple[Point, float, str]]) -> Outline:
    """Return an outline from (corner, bulge to the next one, span to the next one), in mm."""
    following = corners[1:] + corners[:1]
    return outline(
        Segment(start=at, end=to, bulge=bulge, span=span)
        for (at, bulge, span), (to, _, _) in zip(corners, following, strict=True)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeMeasures:
    """The whole of a free design; its default is a pouch without a flap, to start from."""

    unit: Literal["mm", "in"] = choice("mm", "of coordinates that are written without a unit")
    pieces: tuple[FreePiece, ...] = _told(
        "outlines, each seen on the grain", starter_pieces(62.0, 101.0, 12.0)
    )
    seams: tuple[FreeSeam, ...] = _told(
        "which spans are sewn together",
        (
            FreeSeam(
                name="rim",
                edges=(
                    FreeEdge(piece="front", span="rim"),
                    FreeEdge(piece="back", span="rim", backwards=True),
                ),
            ),
        ),
    )
    blanks: tuple[FreeBlank, ...] = _told(
        "rough pieces for moulding",
        (FreeBlank(name="pair of fronts", pieces=("front",), pair=True),),
    )
    hollows: tuple[FreeHollow, ...] = _told(
        "what the things lie in", (FreeHollow(zone="front/hollow"),)
    )
    fittings: tuple[FreeFitting, ...] = _told("studs, press studs, rivets and rings", ())
    magnets: tuple[FreeMagnet, ...] = _told("closing pairs", ())
    held_by: str = _told("what keeps the things in; leave it out if nothing does", "")
