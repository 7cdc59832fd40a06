"""Glue jigs hold mating edges in the closed pose while glue dries, and magnets to their poles.

The frame of a flat seam's jig is seen from above with the seam's front piece lying grain side down,
so its parts are mirrored against that piece's frame. A lining that runs across a fold is glued
round a block, which is drawn in the lining's own frame.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import ToolingChoice
from hidewright.design.fitting import MagnetPlace
from hidewright.design.part import Easing, Face, Part, PartHole
from hidewright.design.piece import Piece
from hidewright.design.pose import Assembly, Pose
from hidewright.design.seam import Seam, SeamEdge
from hidewright.errors import Remark
from hidewright.geometry.boolean import Region, union
from hidewright.geometry.offset import border_round, offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point
from hidewright.geometry.shapes import circle, rectangle
from hidewright.tooling.marks import marked
from hidewright.tooling.mould_checks import thinnest_web
from hidewright.tooling.stack import filling, pins, rest_round, stacked, widest_web_mm
from hidewright.tooling.stacks import Layer, whole_boards
from hidewright.tooling.take_away import largest, take_away
from hidewright.tooling.wall_window import WallWindow, wall_thickness_mm, wall_window

#: Room between the leather's edge and the fence, mm; common practice.
EDGE_FIT_MM = 0.2
#: Room between the press plate and the fence, to each side, mm; common practice.
PRESS_FIT_MM = 0.5
#: Air under the crown that hangs in the jig, mm; common practice.
UNDER_CROWN_MM = 1.0
#: Pieces that are further than this from lying flat on one another are not jigged, mm.
FLAT_MM = 0.5
#: A fold's ends lie as high as one another within this, mm.
LEVEL_MM = 1e-6
#: A block for a fold reaches beyond the leather by this much, mm; common practice.
BESIDE_MM = 10.0
#: Room of a magnet in its seat and of its keeper in the plate below, mm; common practice.
SEAT_FIT_MM, KEEPER_FIT_MM = 0.4, 0.1


def glue_jig(
    seam: Seam,
    pieces: Sequence[tuple[Piece, Leather]],
    assembly: Assembly,
    choice: ToolingChoice,
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the tray in which the outer layers of a flat seam are glued edge to edge.

    The front piece is laid in grain side down: its crown hangs in the base's window, which holds it
    by the wall, and its edge lies in the fence. Glue, then the back piece goes in on top, grain
    side up, with what has been glued to its flesh side, its edge in the same fence; a press plate
    with a window over its own hollow, if it has one, goes in over it and is clamped. Waxed paper
    above and below. The fence is cut away where either piece runs on beyond the seam, as a flap
    does.

    Args:
        seam: What is glued.
        pieces: The pieces with their leathers.
        assembly: Where they lie when the article is closed.
        choice: Gives board and dowels.

    Returns:
        Base plates, fence and press plate from the bottom up; or none and a note when the two
        layers do not lie flat on one another in the closed article. Where both run across a hinge
        of two folds, the block they are folded round.
    """
    front, *middle, back = seam.edges
    by_name = {piece.name: (piece, leather) for piece, leather in pieces}
    below, below_leather = by_name[front.piece]
    above, above_leather = by_name[back.piece]
    if _run_across_a_hinge((below, front), (above, back)):
        inner = below if below.folds[0].angle < 0 else above
        return _fold_block(seam, inner, choice), ()
    between = math.fsum(by_name[edge.piece][1].thickness_mm for edge in middle)
    turn = (
        None if below is above else _back_in_jig(assembly, (below, front), (above, back), between)
    )
    if turn is None or any(not zone.grain_out for zone in (*below.zones, *above.zones)):
        return (), (_not_flat(seam),)
    board = choice.mould_board
    low_windows = [w.mirrored() for w in _windows(below, below_leather, choice)]
    high_windows = [turn.of(w) for w in _windows(above, above_leather, choice)]
    low_edge, high_edge = below.outline.mirrored(), turn.of(above.outline)
    opening = largest(union(offset(low_edge, EDGE_FIT_MM), offset(high_edge, EDGE_FIT_MM)))
    rest, dowels = rest_round((opening, *low_windows), choice)
    depth = max((z.depth_mm for z in below.zones), default=0.0)
    hangs = depth + UNDER_CROWN_MM  # the crown hangs as far below the flange as the hollow is deep
    base = whole_boards(board, 0.0, hangs)
    high = base[-1].top_mm
    leathers = math.fsum(wall_thickness_mm(by_name[edge.piece][1]) for edge in seam.edges)
    fence = Layer(board=board, bottom_mm=high)
    press = Layer(board=board, bottom_mm=high + leathers)
    name = f"{seam.name} glue jig"
    parts = [
        _plate(
            f"{name} base {i + 1} of {len(base)}",
            layer,
            take_away(rest, low_windows),
            dowels,
            (f"{below.name}: grain side down",),
            _easings(below, "top") if layer is base[-1] else (),
            "Waxed paper over it; the crown hangs free in the window.",
        )
        for i, layer in enumerate(base)
    ]
    parts.append(
        _plate(
            f"{name} fence",
            fence,
            take_away(rest, [opening]),
            dowels,
            (f"{seam.name}: {below.name} and {above.name}",),
            (),
            "Dowelled on the base; both pieces lie in it edge to edge.",
        )
    )
    pressed = max(
        take_away(offset(high_edge, -PRESS_FIT_MM), high_windows), key=lambda region: region.area
    )
    if thinnest_web(pressed.outer, pressed.holes) < board.min_web_mm:
        return tuple(parts), (_no_press_plate(seam),)
    parts.append(
        _plate(
            f"{name} press",
            press,
            (pressed,),
            (),
            (f"{above.name}: grain side up",),
            _easings(above, "bottom"),
            f"Waxed paper under it; stands {leathers:.1f} mm out of the fence when clamped.",
        )
    )
    return tuple(parts), ()


def magnet_jig(
    piece: Piece, magnets: Sequence[MagnetPlace], assembly: Assembly, choice: ToolingChoice
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return two plates between which magnets are glued to a piece, each with its right pole up.

    The keeper plate lies under the grain side and holds one spare magnet, glued in, under each
    place. The seat plate lies on the flesh side. A magnet let into its seat the right way round is
    drawn through the leather by the keeper and stays; the wrong way round it is pushed out. The two
    holes are of two sizes: the keeper is a tight fit, so that it cannot be changed with the loose
    one. A piece without magnets, or with magnets in a moulded zone only, gets none.

    Returns:
        Keeper plate and seat plate, as seen with the flesh side up.
    """
    flat = [m for m in magnets if m.piece == piece.name and not _in_zone(piece, m.at)]
    if not flat:
        return (), ()
    keepers, seats, keeper_words, seat_words = [], [], [], []
    for place in flat:
        at = (-place.at[0], place.at[1])
        size = place.magnet.diameter_mm or math.hypot(place.magnet.length_mm, place.magnet.width_mm)
        keepers.append(PartHole(outline=circle((size + KEEPER_FIT_MM) / 2, at), purpose="magnet"))
        seats.append(PartHole(outline=circle((size + SEAT_FIT_MM) / 2, at), purpose="magnet"))
        on_flesh = _partner_on_flesh(place, magnets, assembly)
        up = place.pole_out if on_flesh else _other(place.pole_out)
        # unlike poles face one another through the leather, so keeper and magnet lie alike
        keeper_words.append(f"{place.name}: {up} up")
        seat_words.append(f"{place.name}: {up} up")
    board = choice.mould_board
    edge = piece.outline.mirrored()
    plate = border_round(edge, board.min_web_mm)
    for seat in seats:  # a large magnet may reach the edge
        plate = largest(union(plate, offset(seat.outline, board.min_web_mm)))
    sheets = (Region(outer=plate),)
    name = f"{piece.name} magnet"
    return (
        _plate(
            f"{name} keepers",
            Layer(board=board, bottom_mm=-board.thickness_mm),
            sheets,
            tuple(keepers),
            (f"{name} keepers", *keeper_words),
            (),
            "Glue one spare magnet in each hole, the marked pole up; lay the piece on it to the "
            "scored line, grain side down.",
            edge,
        ),
        _plate(
            f"{name} seats",
            Layer(board=board, bottom_mm=0.0),
            sheets,
            tuple(seats),
            (f"{name} seats, flesh side up", *seat_words),
            (),
            "Laid to the scored line. Magnets that the keeper pushes out are the wrong way round. "
            "Loose magnets are dangerous if swallowed: count them.",
            edge,
        ),
    ), ()


def _run_across_a_hinge(one: tuple[Piece, SeamEdge], other: tuple[Piece, SeamEdge]) -> bool:
    """Whether two layers are sewn across two level folds, one of them inside the other."""
    for piece, edge in (one, other):
        heights = [y for fold in piece.folds for y in (fold.line.start[1], fold.line.end[1])]
        if len(piece.folds) != 2 or not math.isclose(heights[0], heights[1], abs_tol=LEVEL_MM):
            return False
        _, low, _, high = piece.outline.span_path(edge.span).bounds
        if not math.isclose(heights[2], heights[3], abs_tol=LEVEL_MM):
            return False
        if not low < min(heights) <= max(heights) < high:
            return False
    return one[0].folds[0].angle * other[0].folds[0].angle < 0


def _fold_block(seam: Seam, lining: Piece, choice: ToolingChoice) -> tuple[Part, ...]:
    """Return the block that fills the closed fold, as high as the lining's grain faces are apart.

    The lining is wrapped round its rounded end grain inside, then the other layer round that. The
    block reaches as far as what is folded over, and beyond the piece at the sides, so that clamps
    press all of the edge.
    """
    low, high = sorted(lining.folds, key=lambda fold: fold.line.start[1])
    strip, radius = low.strip_mm, low.inside_radius_mm
    apart = high.line.start[1] - low.line.start[1]
    begins, ends = low.line.start[1] - strip / 2, high.line.start[1] + strip / 2
    left, _, right, top = lining.outline.bounds
    wide, long = right - left + 2 * BESIDE_MM, top - ends + BESIDE_MM + radius
    outline = rectangle(wide, long).moved((left + right) / 2, begins + radius - long / 2)
    layers = filling(apart - strip + 2 * radius, choice)
    dowels = pins(outline, (), choice.dowel_mm, widest_web_mm(layers))
    plates = stacked(
        f"{seam.name} fold block",
        "glue jig",
        layers,
        lambda _: (outline, dowels),
        note="Waxed paper round it. Wrap the lining round its rounded end, grain inside and the "
        "fold lines level with the end, glue all but the strip, lay the other layer round it and "
        "clamp: the fold is glued closed.",
    )
    eased = {plates[0].name: (_rounded("bottom", radius),)}
    eased[plates[-1].name] = (*eased.get(plates[-1].name, ()), _rounded("top", radius))
    return tuple(replace(p, easings=eased.get(p.name, ())) for p in plates)


def _rounded(face: Face, radius_mm: float) -> Easing:
    return Easing(
        radius_mm=radius_mm,
        face=face,
        edge="outline",
        how="after gluing the stack, only along the end the fold lies on: file, then 180 grit",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Turn:
    """Where the back piece's own frame lies in the jig: turned, then shifted."""

    angle: float
    shift: Point

    def of(self, outline: Outline) -> Outline:
        return outline.rotated(self.angle).moved(*self.shift)


def _back_in_jig(
    assembly: Assembly,
    front: tuple[Piece, SeamEdge],
    back: tuple[Piece, SeamEdge],
    between_mm: float,
) -> _Turn | None:
    """Return how the back lies on the front in the closed article; None when not flat on it.

    Args:
        assembly: Where they lie.
        front: The front and its edge.
        back: The back and its edge.
        between_mm: Thickness of the layers between the two.
    """
    at = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    seen = _closed(assembly, *back).of_points(at)
    pose = _closed(assembly, *front)
    inside: Floats = (seen - np.array(pose.shift)) @ np.array(pose.rotation)
    origin, x, z = inside
    if float(np.abs(z - origin - np.array([0.0, 0.0, -1.0])).max()) > 1e-6:
        return None
    if abs(float(origin[2]) + between_mm) > FLAT_MM:
        return None
    # the jig is seen from the front piece's flesh side
    dx, dy = -float(x[0] - origin[0]), float(x[1] - origin[1])
    return _Turn(angle=math.atan2(dy, dx), shift=(-float(origin[0]), float(origin[1])))


def _closed(assembly: Assembly, piece: Piece, edge: SeamEdge) -> Pose:
    span = piece.outline.span_path(edge.span)
    panel = assembly.panel_at(piece.name, span.point_at(span.length / 2))
    return assembly.pose_of(panel, 1.0)


def _windows(piece: Piece, leather: Leather, choice: ToolingChoice) -> tuple[Outline, ...]:
    windows: list[WallWindow] = [
        wall_window(zone, leather, choice.mould_board) for zone in piece.zones
    ]
    return tuple(w.outline for w in windows)


def _easings(piece: Piece, face: str) -> tuple[Easing, ...]:
    lip = max((zone.lip_radius_mm for zone in piece.zones), default=0.0)
    if lip == 0.0:
        return ()
    return (
        Easing(
            radius_mm=lip,
            face="top" if face == "top" else "bottom",
            edge="window",
            how="round-over cutter or file, then 180 grit",
        ),
    )


def _plate(
    name: str,
    layer: Layer,
    regions: Sequence[Region],
    holes: Sequence[PartHole],
    words: Sequence[str],
    easings: tuple[Easing, ...],
    note: str,
    scored: Outline | None = None,
) -> Part:
    region = max(regions, key=lambda r: r.area)
    windows = tuple(PartHole(outline=h, purpose="window") for h in region.holes)
    every = (*windows, *holes)
    lines = [scored.as_path()] if scored else []
    marks = marked(region.outer, [h.outline for h in every], (name, *words), lines)
    return Part(
        name=name,
        role="glue jig",
        board=layer.board,
        outline=region.outer,
        holes=every,
        scores=(*marks.scores, *lines),
        labels=marks.labels,
        bottom_mm=layer.bottom_mm,
        easings=easings,
        note=note,
    )


def _in_zone(piece: Piece, at: Point) -> bool:
    return any(zone.outline.contains(at) for zone in piece.zones)


def _partner_on_flesh(
    place: MagnetPlace, magnets: Sequence[MagnetPlace], assembly: Assembly
) -> bool:
    """Whether the partner lies on the flesh side of a magnet's piece in the closed article."""
    partner = next(m for m in magnets if m.name == place.partner)
    mine = assembly.pose_of(assembly.panel_at(place.piece, place.at), 1.0)
    theirs = assembly.pose_of(assembly.panel_at(partner.piece, partner.at), 1.0)
    there = theirs.of_points(np.array([[*partner.at, 0.0]]))
    local = (there - np.array(mine.shift)) @ np.array(mine.rotation)
    return float(local[0, 2]) < 0.0


def _other(pole: str) -> str:
    return {"N": "S", "S": "N"}.get(pole, f"not {pole}")


def _no_press_plate(seam: Seam) -> Remark:
    return Remark(
        code="no-press-plate",
        severity="note",
        place=seam.name,
        sentence=(
            f"A press plate for the seam {seam.name} would be too narrow beside its window: press "
            "with strips of board and clamps while the glue dries"
        ),
    )


def _not_flat(seam: Seam) -> Remark:
    return Remark(
        code="no-glue-jig",
        severity="note",
        place=seam.name,
        sentence=(
            f"The layers of the seam {seam.name} do not lie flat on one another when closed: hold "
            "them with clips while the glue dries"
        ),
    )
